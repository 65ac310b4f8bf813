"""The job: a work package made from a cause, and every tick, count and closure against it.

What was done is a list of small entries; the log is what they add up to, through the same pure functions that check
each before it is kept. Two people can tick at once: only entries about the same thing stand in each other's way.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

import msgspec

from vanewise.errors import InputError, Problem, VanewiseError, wrong
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, now, open_book
from vanewise.jobs.stored import answer_of
from vanewise.store import journal
from vanewise.store.journal import JournalEntry
from vanewise.work import log as logbook
from vanewise.work.gates import GateState, gate_states
from vanewise.work.types import Closure, FittingRecord, JobLog, Override, PartDocument, WorkPackage

Step = Callable[[WorkPackage, JobLog, Mapping[str, Any]], JobLog]


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
    log, lost = replay(package, book.of(kinds.STEP, package=package.id))
    return Job(entry=entry, package=package, log=log, gates=gate_states(package, log), lost=lost)


def replay(package: WorkPackage, steps: tuple[JournalEntry, ...]) -> tuple[JobLog, tuple[str, ...]]:
    """The log that the kept steps add up to, and the steps that no longer hold."""
    log, lost = logbook.start(package), []
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
    return journal.append(
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


def _subject(content: Mapping[str, Any]) -> tuple[str, ...]:
    """What a step is about; a tick and its taking back are about the same task."""
    what = str(content.get("what"))
    family = "task" if what in ("done", "not done", "left out") else what
    keys = [key for key in ("task", "count", "suspect", "line", "fitting", "part") if key in content]
    about = str(content[keys[0]]) if keys else ""
    return (str(content.get("package")), family, about)


def _done(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    return logbook.tick(package, log, str(said["task"]))


def _not_done(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    return logbook.untick(package, log, str(said["task"]))


def _left_out(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    return logbook.leave_out(package, log, str(said["task"]), str(said.get("reason", "")))


def _count(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    name = str(said["count"])
    out, back = _whole(said, "out"), _whole(said, "in")
    if out is None and back is None:
        raise wrong("count", "how many came out, or went back in", "neither", "count, and write the number")
    return logbook.count(package, log, {} if out is None else {name: out}, {} if back is None else {name: back})


def _whole(said: Mapping[str, Any], key: str) -> int | None:
    text = str(said.get(key, "")).strip()
    if not text:
        return None
    if not text.isdigit():
        raise wrong(key, "a whole number, 0 or more", f'"{text}"', "count again and write the number")
    return int(text)


def _closed(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    closure = Closure(
        suspect=str(said["suspect"]),
        how=said.get("how", ""),
        method=str(said.get("method", "")),
        proof=str(said.get("proof", "")),
        by=str(said.get("by", "")),
        when=_day(said.get("when")),
    )
    return logbook.close_suspect(package, log, closure)


def _connected(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    return logbook.connect(package, log, str(said["line"]), (str(said.get("start", "")), str(said.get("end", ""))))


def _tags(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    hung = tuple((int(number), str(port)) for number, port in said.get("hung", ()))
    return logbook.hang_tags(package, log, hung)


def _angle(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    name = str(said["fitting"])
    known = next((record for record in package.fittings if record.id == name), None)
    base = log.fittings.get(name) or known or FittingRecord(id=name, port="")
    clock, tight = _degrees(said, "clock"), _degrees(said, "hand_tight")
    record = msgspec.structs.replace(
        base,
        clock_deg=base.clock_deg if clock is None else clock,
        hand_tight_deg=base.hand_tight_deg if tight is None else tight,
    )
    return logbook.record_fitting(package, log, record)


def _degrees(said: Mapping[str, Any], key: str) -> float | None:
    """An angle written as a clock ("4 o'clock", "4:30") or in degrees."""
    text = str(said.get(key, "")).strip().lower().removesuffix("o'clock").removesuffix("o’clock").strip()
    if not text:
        return None
    try:
        if text.endswith("deg"):
            return float(text.removesuffix("deg")) % 360.0
        hour, _, minute = text.partition(":")
        return ((int(hour) % 12) * 30.0 + (int(minute) if minute else 0) * 0.5) % 360.0
    except ValueError:
        raise wrong(key, 'a clock position like "4" or "4:30", or "135 deg"', f'"{text}"', "write it so") from None


def _turns(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    text = str(said.get("turns", "")).strip()
    try:
        top, _, bottom = text.partition("/")
        turns = float(top) / (float(bottom) if bottom else 1.0)
    except (ValueError, ZeroDivisionError):
        raise wrong("turns", 'turns past hand-tight, like "0.75" or "3/4"', f'"{text}"', "write it so") from None
    return logbook.turned(package, log, str(said["fitting"]), turns)


def _torque(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    return logbook.torque(package, log, str(said["line"]), str(said.get("applied", "")))


def _received(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    document = PartDocument(
        part=str(said["part"]),
        serial_on_part=str(said.get("serial_on_part", "")),
        serial_on_document=str(said.get("serial_on_document", "")),
        status=str(said.get("status", "")),
        dated=_day(said.get("dated")),
        signed=bool(said.get("signed")),
        reference=str(said.get("reference", "")),
        test_figures=str(said.get("test_figures", "")),
    )
    return logbook.receive(package, log, document)


def _found(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    words = str(said.get("words", "")).strip()
    if not words:
        raise wrong("finding", "what was found, in words", "nothing", "write it, or leave the field alone")
    return logbook.note(package, log, words)


def _passed(package: WorkPackage, log: JobLog, said: Mapping[str, Any]) -> JobLog:
    entry = Override(what=str(said.get("gate", "")), name=str(said.get("name", "")), reason=str(said.get("reason", "")))
    return logbook.override(package, log, entry)


def _day(text: Any) -> datetime.date | None:
    if not text:
        return None
    try:
        return datetime.date.fromisoformat(str(text))
    except ValueError:
        raise InputError(
            Problem(where="date", expected="a date, year-month-day", found=f'"{text}"', next_step="write it so")
        ) from None


STEPS: Final[Mapping[str, Step]] = MappingProxyType(
    {
        "done": _done,
        "not done": _not_done,
        "left out": _left_out,
        "count": _count,
        "closed": _closed,
        "connected": _connected,
        "tags hung": _tags,
        "angle": _angle,
        "turns": _turns,
        "torque": _torque,
        "received": _received,
        "found": _found,
        "passed": _passed,
    }
)


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
    from vanewise.jobs import causes as causes_job
    from vanewise.jobs.stored import stamped
    from vanewise.jobs.tracing import scope_of

    book = open_book(aircraft)
    report = book.report(report_id)
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
