"""Reports and the evidence gathered for them, each item as a table of the evidence file, in people's words and units.

An item is read by the evidence file's own parser before it is kept, so a form, a file and a later reading of the
journal say the same about the same text.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from vanewise.aircraft.description import AircraftDescription
from vanewise.errors import InputError, wrong
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, Report, item_of, now, open_book
from vanewise.store import journal
from vanewise.store.journal import JournalEntry

if TYPE_CHECKING:
    from vanewise.diagnosis.types import Evidence

SECTIONS: Final[Mapping[str, str]] = MappingProxyType(
    {
        kinds.READING: "readings",
        kinds.LAMP: "lamp",
        kinds.REMARK: "remarks",
        kinds.EVENT: "events",
        kinds.CHECK: "checks",
    }
)
"""Kind of entry -> its list in the evidence file."""

SISTERS: Final = "sisters"
"""Stands in place of a report's id for what was read on sister aircraft."""


def open_report(
    aircraft: str,
    words: str,
    *,
    author: str,
    when: str = "",
    altitude: str = "",
    temperature: str = "",
    symptoms: Sequence[Mapping[str, Any]] = (),
    at: str = "",
) -> str:
    """Open a report with what was noticed, and return its id. ``symptoms`` are remark items, kept with it."""
    book = open_book(aircraft)
    if not words.strip() and not symptoms:
        raise wrong("words", "what was noticed, in words or as a tick", "nothing", "write what you saw, or tick it")
    check_items(book, [(kinds.REMARK, item) for item in symptoms])
    report = book.next_id(kinds.REPORT, "report", "r")
    content = {
        "report": report,
        "title": _title(words, symptoms),
        "words": words.strip(),
        "when": when,
        "altitude": altitude.strip(),
        "temperature": temperature.strip(),
    }
    _check_conditions(book, content)
    at = at or now()
    journal.append(
        aircraft,
        kinds.REPORT,
        content,
        author=author,
        at=at,
        expected_head=book.head,
        clashes=lambda entry: entry.kind == kinds.REPORT,
    )
    add(aircraft, report, [(kinds.REMARK, item) for item in symptoms], author=author, at=at)
    return report


def _title(words: str, symptoms: Sequence[Mapping[str, Any]]) -> str:
    """The first sentence of the words, else the first symptom."""
    first = words.strip().splitlines()[0] if words.strip() else ""
    if not first and symptoms:
        from vanewise.diagnosis.vocabulary import SYMPTOMS

        first = SYMPTOMS[str(symptoms[0]["symptom"])].words
    sentence = first.split(". ")[0].rstrip(".")
    return sentence if len(sentence) <= 90 else sentence[:88].rsplit(" ", 1)[0] + " …"


def add(
    aircraft: str, report: str, items: Sequence[tuple[str, Mapping[str, Any]]], *, author: str, at: str = ""
) -> tuple[JournalEntry, ...]:
    """Keep pieces of evidence, each a fact by itself. All are read first: either all are kept or none.

    ``report`` empty keeps them for the aircraft: a baseline, or a routine reading. What was read on a sister aircraft
    is kept apart, whatever the report: it is evidence for every report, and no reading of this aircraft. Raises
    InputError naming the field.
    """
    book = open_book(aircraft)
    if report:
        book.report(report)
    check_items(book, items)
    at = at or now()
    return tuple(
        journal.append(
            aircraft,
            kind,
            {"report": SISTERS if item.get("sister") else report, "item": dict(item)},
            author=author,
            at=at,
            expected_head=journal.ANY_HEAD,
        )
        for kind, item in items
    )


def check_items(book: Book, items: Sequence[tuple[str, Mapping[str, Any]]]) -> None:
    """Read items as the evidence file's parser does, and hold them against the aircraft.

    Raises InputError whose paths count the items of a kind in the order given: ``readings[3].reading``.
    """
    tables: dict[str, Any] = {}
    for number, (kind, item) in enumerate(items):
        if kind != kinds.NOTE:
            tables.setdefault(SECTIONS[kind], []).append({"id": f"new {number}", **item})
        elif not str(item.get("text", "")).strip():
            raise wrong("text", "a few words", "nothing", "write the note, or leave it")
    if tables:
        read_tables(book.description, tables)


def _check_conditions(book: Book, content: Mapping[str, str]) -> None:
    read_tables(book.description, _conditions(content))


def _conditions(content: Mapping[str, Any]) -> dict[str, Any]:
    found = {key: content[key] for key in ("altitude", "temperature") if content.get(key)}
    return {"conditions": found} if found else {}


def read_tables(description: AircraftDescription, tables: Mapping[str, Any]) -> Evidence:
    """Tables of the evidence file, read by its parser and held against the aircraft. Raises InputError."""
    from vanewise import pipeline
    from vanewise.diagnosis.evidence import prepare

    evidence = pipeline.observe(json.dumps(tables), "evidence")
    prepare(description, evidence)
    return evidence


def evidence_tables(book: Book, report: Report) -> dict[str, Any]:
    """The evidence of a report as an evidence file holds it: its own items, and the aircraft's sound baseline."""
    tables: dict[str, Any] = _conditions(report.entry.content)
    for entry in (*baseline(book), *of_sisters(book), *report.evidence):
        if entry.kind == kinds.NOTE:
            tables.setdefault("notes", []).append(str(item_of(entry).get("text", "")))
            continue
        item = {"id": entry.digest[:12], **item_of(entry)}
        tables.setdefault(SECTIONS[entry.kind], []).append(item)
    return tables


def baseline(book: Book) -> tuple[JournalEntry, ...]:
    """Readings kept for the aircraft itself and taken while it was believed sound."""
    return tuple(entry for entry in book.of(kinds.READING, kinds.LAMP, report="") if item_of(entry).get("sound"))


def of_sisters(book: Book) -> tuple[JournalEntry, ...]:
    """Sound readings of sister aircraft of the same layout."""
    return book.of(kinds.READING, report=SISTERS)


def evidence_of(book: Book, report: Report) -> Evidence:
    """The evidence of a report as a value. Raises InputError when what was kept cannot be read any more."""
    return read_tables(book.description, evidence_tables(book, report))


def evidence_text(book: Book, report: Report) -> str:
    """The evidence of a report as an evidence file (JSON), for the command line or another program."""
    return json.dumps(evidence_tables(book, report), indent=1, ensure_ascii=False)


def replace(
    aircraft: str, digest: str, item: Mapping[str, Any], *, reason: str, author: str, expected_head: str
) -> JournalEntry:
    """Correct a piece of evidence: a new entry that names the old one. Raises InputError, HeadMoved."""
    book = open_book(aircraft)
    old = journal.entry(digest)
    if old.aircraft != aircraft or old.kind not in kinds.EVIDENCE:
        raise InputError(
            wrong("entry", "a piece of evidence of this aircraft", old.kind, "choose one from its report").problems
        )
    check_items(book, [(old.kind, item)])
    content = {"report": old.content.get("report", ""), "item": dict(item)}
    return journal.correct(digest, content, reason=reason, author=author, at=now(), expected_head=expected_head)
