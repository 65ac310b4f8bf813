"""Ask for the causes of a report, and keep the answer with what it was computed from.

The computing is done outside any transaction; the writing checks that no evidence came in meanwhile.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import TYPE_CHECKING

from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, Report, now, open_book
from vanewise.jobs.compute import engine
from vanewise.jobs.evidence import baseline, evidence_of, of_sisters
from vanewise.jobs.stored import answer_of, stamped
from vanewise.store import journal
from vanewise.store.journal import JournalEntry

if TYPE_CHECKING:
    from vanewise.diagnosis.types import Causes


def request(
    aircraft: str,
    report_id: str,
    *,
    author: str,
    refine: bool = True,
    seed: int = 0,
    at: str = "",
    opened: Sequence[str] = (),
) -> JournalEntry:
    """Work out the causes of a report and keep the answer. Raises HeadMoved when evidence was added meanwhile.

    ``opened`` is the access that is open already: checks behind it are charged their own minutes only.
    """
    from vanewise import pipeline

    book = open_book(aircraft)
    report = book.report(report_id)
    answer = pipeline.infer(
        book.description,
        evidence_of(book, report),
        seed=seed,
        refine=refine,
        engine=engine(),
        today=datetime.datetime.now(datetime.UTC).date(),
        opened=opened,
    )
    content = stamped(answer, book.description, report=report_id, seed=seed, evidence_head=evidence_head(book, report))
    if opened:
        content["opened"] = list(opened)
    return journal.append(
        aircraft,
        kinds.CAUSES,
        content,
        author=author,
        at=at or now(),
        expected_head=book.head,
        clashes=lambda entry: entry.kind in (*kinds.EVIDENCE, kinds.DESCRIPTION, journal.CORRECTION),
    )


def first(aircraft: str, report_id: str, *, seed: int = 0) -> Causes:
    """The answer of the bank alone, for the moment until the refined one is there. It is not kept."""
    from vanewise import pipeline

    book = open_book(aircraft)
    return pipeline.first_causes(
        book.description, evidence_of(book, book.report(report_id)), seed=seed, engine=engine()
    )


def make_ready(aircraft: str, report_id: str, *, seed: int = 0) -> None:
    """Build the bank of states of a report's aircraft ahead of the question."""
    from vanewise.diagnosis.infer import make_ready as built

    book = open_book(aircraft)
    built(book.description, evidence_of(book, book.report(report_id)), seed=seed, engine=engine())


def evidence_head(book: Book, report: Report) -> str:
    """A mark of the evidence an answer rests on: the digests of its items and of the description, in order."""
    from vanewise.record.chain import entry_digest

    used = (*baseline(book), *of_sisters(book), *report.evidence)
    # A correction leaves an item's digest as it was, so its newest correction counts too.
    corrections = [entry.digest for entry in book.entries if entry.replaces in {item.digest for item in used}]
    return entry_digest("", "\n".join([book.version.entry, *(item.digest for item in used), *corrections]))


def latest(book: Book, report: Report) -> tuple[Causes, JournalEntry] | None:
    """The newest kept answer of a report, or None."""
    from vanewise.diagnosis.types import Causes

    if not report.answers:
        return None
    entry = report.answers[-1]
    return answer_of(entry, Causes), entry


def is_current(book: Book, report: Report, entry: JournalEntry) -> bool:
    """True while no evidence and no description came in since that answer."""
    return str(entry.content.get("evidence_head")) == evidence_head(book, report)
