"""The job: a work package made from a cause, and every tick, count and closure against it.

What was done is a list of small entries; the log is what they add up to, through the same pure functions that check
each before it is kept. Two people can tick at once: only entries about the same thing stand in each other's way.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from vanewise.errors import VanewiseError, wrong
from vanewise.jobs import evidence, kinds
from vanewise.jobs.casebook import Book, now, open_book
from vanewise.jobs.steps import STEPS, document_of
from vanewise.jobs.stored import answer_of
from vanewise.store import journal
from vanewise.store.journal import JournalEntry
from vanewise.work import log as logbook
from vanewise.work.gates import GateState, gate_states
from vanewise.work.reports import evidence_from_report
from vanewise.work.types import JobLog, WorkPackage


@dataclass(frozen=True)
class Job:
    """A package and what was done of it so far."""

    entry: JournalEntry
    package: WorkPackage
    log: JobLog
    gates: tuple[GateState, ...]
    lost: tuple[str, ...]
    """Steps that no longer hold because something they stood on was taken back, in words."""

    @property
    def key(self) -> str:
        """The package as its address names it."""
        return self.package.id[:12]


def jobs_of(book: Book) -> tuple[Job, ...]:
    """Every job of an aircraft, newest last."""
    return tuple(_job(book, entry) for entry in book.of(kinds.PACKAGE))


def job(book: Book, key: str) -> Job:
    """The job whose package id starts with ``key``. Raises InputError when there is none."""
    for entry in book.of(kinds.PACKAGE):
        if key and str(entry.content["package"]).startswith(key):
            return _job(book, entry)
    raise wrong("job", f"a job of {book.name}", f'"{key}"', "choose one from the list of jobs")


def _job(book: Book, entry: JournalEntry) -> Job:
    package = answer_of(entry, WorkPackage)
    log, lost = replay(package, book.of(kinds.STEP, package=package.id), _carried(book, entry, package))
    return Job(entry=entry, package=package, log=log, gates=gate_states(package, log), lost=lost)


def _carried(book: Book, entry: JournalEntry, package: WorkPackage) -> JobLog | None:
    """What a package takes over from the one it took the place of, as that stood when this one was made."""
    if not package.parent:
        return None
    for older in book.of(kinds.PACKAGE, package=package.parent):
        parent = answer_of(older, WorkPackage)
        steps = book.of(kinds.STEP, package=parent.id)
        before = tuple(step for step in steps if step.position < entry.position)
        log, _ = replay(parent, before, _carried(book, older, parent))
        return logbook.carry_over(package, parent, log)
    return None


def replay(
    package: WorkPackage, steps: tuple[JournalEntry, ...], base: JobLog | None = None
) -> tuple[JobLog, tuple[str, ...]]:
    """The log that the kept steps add up to, from ``base`` or nothing, and the steps that no longer hold."""
    log, lost = base or logbook.start(package), []
    for entry in steps:
        try:
            log = STEPS[str(entry.content["what"])](package, log, entry.content)
        except (VanewiseError, KeyError, ValueError) as error:
            words = error.problems[0].found if isinstance(error, VanewiseError) else str(error)
            lost.append(f"{entry.content.get('what')} by {entry.author}, {entry.at}: {words}")
    return log, tuple(lost)


def do(
    aircraft: str,
    key: str,
    what: str,
    particulars: Mapping[str, Any],
    *,
    author: str,
    expected_head: str,
    at: str = "",
) -> JournalEntry:
    """Keep one step of a job: ``what`` is one of ``STEPS``, ``particulars`` its texts.

    Raises Locked while a gate or an earlier task holds it, InputError for what cannot be taken, HeadMoved when someone
    kept a step about the same thing meanwhile.
    """
    found = job(open_book(aircraft), key)
    if what not in STEPS:
        raise wrong("step", f"one of {', '.join(STEPS)}", f'"{what}"', "choose one of these")
    content = {"package": found.package.id, "what": what, **particulars}
    STEPS[what](found.package, found.log, content)
    subject = _subject(content)
    kept = journal.append(
        aircraft,
        kinds.STEP,
        content,
        author=author,
        at=at or now(),
        expected_head=expected_head,
        clashes=lambda entry: (
            (entry.kind == kinds.STEP and _subject(entry.content) == subject) or entry.kind == journal.CORRECTION
        ),
    )
    if what == "received":
        _hear_the_shop(found, content, author, at)
    return kept


def _hear_the_shop(found: Job, said: Mapping[str, Any], author: str, at: str) -> None:
    """What an instrument shop found goes into the evidence of the report the job came from: it may name the source."""
    report_id = str(found.entry.content.get("report", ""))
    remark = evidence_from_report(document_of(said))
    if remark is None or not report_id or not said.get("report_read_by"):
        return
    item = {"symptom": remark.symptom, "present": remark.present, "about": remark.about, "note": remark.note}
    item |= {"who": remark.who} | ({"when": remark.when.isoformat()} if remark.when else {})
    evidence.add(found.entry.aircraft, report_id, [(kinds.REMARK, item)], author=author, at=at)


def _subject(content: Mapping[str, Any]) -> tuple[str, ...]:
    """What a step is about; a tick and its taking back are about the same task."""
    what = str(content.get("what"))
    family = "task" if what in ("done", "not done", "left out") else what
    keys = [key for key in ABOUT if key in content]
    about = str(content[keys[0]]) if keys else ""
    return (str(content.get("package")), family, about)


ABOUT = ("task", "count", "suspect", "line", "fitting", "part", "photo", "gate", "look", "item")
"""Names under which a step says what it is about."""


def make_package(
    aircraft: str,
    report_id: str,
    cause: str,
    *,
    author: str,
    place: str = "",
    parent: str = "",
    today: datetime.date | None = None,
    at: str = "",
) -> WorkPackage:
    """Plan the work for a cause of a report and keep the package.

    ``cause`` is a mode id, or empty for the answer's leading cause (further checks only, while it is undecided).
    ``parent`` is the package it takes the place of. Raises InputError for an unknown cause or place, HeadMoved when
    evidence or description changed while it was made.
    """
    from vanewise import pipeline
    from vanewise.contamination.told import new_pump_remarks
    from vanewise.jobs import causes as causes_job
    from vanewise.jobs.evidence import evidence_of
    from vanewise.jobs.stored import stamped
    from vanewise.jobs.tracing import scope_of

    book = open_book(aircraft)
    report = book.report(report_id)
    if parent:
        parent = job(book, parent).package.id
    latest = causes_job.latest(book, report)
    if not cause and latest is None:
        raise wrong("cause", "a cause to plan for", "none", "work out the causes first, or choose one")
    chosen = _cause_of(latest[0] if latest else None, cause)
    package = pipeline.plan(
        book.description,
        chosen,
        scope_of(book, report),
        place=place,
        today=today or datetime.datetime.now(datetime.UTC).date(),
        report=tuple(text for text in (str(report.entry.content.get("words", "")),) if text),
        parent=parent,
        warnings=new_pump_remarks(evidence_of(book, report)),
    )
    content = stamped(package, book.description, report=report_id, package=package.id, parent=parent)
    journal.append(
        aircraft,
        kinds.PACKAGE,
        content,
        author=author,
        at=at or now(),
        expected_head=book.head,
        clashes=lambda entry: (
            entry.kind in (*kinds.EVIDENCE, kinds.DESCRIPTION, kinds.SHEDDING, kinds.FINDING, journal.CORRECTION)
        ),
    )
    return package


def _cause_of(answer: Any, cause: str) -> Any:
    """The cause as the planner takes it: one of the answer's where it is one, so that its place comes along."""
    if answer is None:
        return cause
    if not cause:
        return answer
    return next((item for item in answer.causes if item.id == cause), cause)
