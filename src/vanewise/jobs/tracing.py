"""What got dirty: the shedding events and barrier findings of a report, and the scope that follows from them."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Final

import msgspec

from vanewise.aircraft.description import AircraftDescription
from vanewise.contamination import Told
from vanewise.contamination.types import BarrierFinding, Finding, FrontFinding, Scope, SheddingEvent
from vanewise.diagnosis.types import Evidence
from vanewise.errors import wrong
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, Report, item_of, now, open_book, parsed
from vanewise.jobs.evidence import evidence_text
from vanewise.quantities import to_si
from vanewise.store import journal
from vanewise.store.journal import JournalEntry

_YES_NO: Final = MappingProxyType({"yes": True, "no": False})


def add_event(aircraft: str, report: str, item: Mapping[str, Any], *, author: str, at: str = "") -> JournalEntry:
    """Keep that a part released debris in an event. Raises InputError for a part or words it does not know."""
    return _add(aircraft, report, kinds.SHEDDING, item, author, at)


def add_finding(aircraft: str, report: str, item: Mapping[str, Any], *, author: str, at: str = "") -> JournalEntry:
    """Keep a barrier as found, or how far into a line the traces go. Raises InputError."""
    return _add(aircraft, report, kinds.FINDING, item, author, at)


def _add(aircraft: str, report: str, kind: str, item: Mapping[str, Any], author: str, at: str) -> JournalEntry:
    book = open_book(aircraft)
    found = book.report(report)
    events, findings = _kept(found, book)
    new = (kind, msgspec.json.encode(dict(item), order="sorted").decode())
    if kind == kinds.SHEDDING:
        events = (*events, new[1])
    else:
        findings = (*findings, new[1])
    if events:
        # Tracing it now shows any word or part that does not fit, before it is kept.
        _scope(book.version.toml, events, findings, evidence_text(book, found))
    return journal.append(
        aircraft,
        kind,
        {"report": report, "item": dict(item)},
        author=author,
        at=at or now(),
        expected_head=journal.ANY_HEAD,
    )


def _kept(report: Report, book: Book) -> tuple[tuple[str, ...], tuple[str, ...]]:
    def texts(kind: str) -> tuple[str, ...]:
        return tuple(
            msgspec.json.encode(dict(item_of(entry)) | {"entered": entry.at[:10]}, order="sorted").decode()
            for entry in book.of(kind, report=report.id)
        )

    return texts(kinds.SHEDDING), texts(kinds.FINDING)


def scope_of(book: Book, report: Report) -> Scope | None:
    """What got dirty by the events kept so far and by what the evidence says; None where neither speaks of dirt."""
    return _scope(book.version.toml, *_kept(report, book), evidence_text(book, report))


def asked_of(book: Book, report: Report) -> tuple[str, ...]:
    """What the evidence leaves open about dirt: where it was seen, whether a pump stopped."""
    from vanewise import pipeline

    return _told(book.description, pipeline.observe(evidence_text(book, report), "evidence.json")).questions


def _told(description: AircraftDescription, evidence: Evidence) -> Told:
    from vanewise import pipeline

    return pipeline.told_of_dirt(description, evidence)


@lru_cache(maxsize=16)
def _scope(toml: str, events: tuple[str, ...], findings: tuple[str, ...], evidence: str) -> Scope | None:
    from vanewise import pipeline
    from vanewise.jobs.compute import air_of

    description = parsed(toml)
    known = pipeline.observe(evidence, "evidence.json")
    shed = tuple(_event(msgspec.json.decode(text), number) for number, text in enumerate(events, start=1))
    found = tuple(_finding(msgspec.json.decode(text)) for text in findings)
    if not shed and not _told(description, known).events:
        return None
    return pipeline.trace(description, air_of(description, shed), shed, found, known)


def _event(item: Mapping[str, Any], number: int) -> SheddingEvent:
    """An event from its texts: ``part``, ``kind``, ``altitude``, ``suction``, ``turns_back``, ``ran_on`` and the rest.

    What is left empty is not known, and is no number.
    """

    def quantity(key: str, dimension: str) -> float | None:
        text = str(item.get(key, "")).strip()
        return to_si(text, dimension, key) if text else None

    try:
        return msgspec.convert(
            {
                "id": f"event {number}",
                "part": item.get("part", ""),
                "kind": item.get("kind", ""),
                "altitude_m": quantity("altitude", "length"),
                "engine_rpm": quantity("rpm", "rpm"),
                "suction_pa": quantity("suction", "pressure"),
                "turns_back": quantity("turns_back", "ratio"),
                "ran_on_minutes": quantity("ran_on", "minutes"),
                "when": item.get("when") or None,
                "known_by": item.get("entered") or None,
                "other_source_used": _YES_NO.get(str(item.get("other_source_used", ""))),
                "fragments_complete": _YES_NO.get(str(item.get("fragments_complete", ""))),
            },
            SheddingEvent,
        )
    except msgspec.ValidationError as error:
        expected = "a part, and running, stop, cross-feed, turned backwards or maintenance"
        raise wrong("event", expected, error, "choose one of these") from error


def _finding(item: Mapping[str, Any]) -> Finding:
    """A finding from its texts: a barrier (``part``, ``state``, ``right_way_round``), or a front in a ``line``.

    Either with ``when``, and ``as_it_was`` (yes or no): whether it is the one that was on at the event.
    """
    seen = {"when": item.get("when") or None, "as_it_was": _YES_NO.get(str(item.get("as_it_was", "")))}
    if item.get("line"):
        return _front(item, seen)
    try:
        right = _YES_NO.get(str(item.get("right_way_round", "")))
        return msgspec.convert(
            {
                **seen,
                "finding": "barrier",
                "part": item.get("part", ""),
                "state": item.get("state", ""),
                "right_way_round": right,
                "note": str(item.get("note", "")),
            },
            BarrierFinding,
        )
    except msgspec.ValidationError as error:
        raise wrong("state", "intact, breached, absent, reversed or unknown", error, "choose one of these") from error


def _front(item: Mapping[str, Any], seen: Mapping[str, Any]) -> FrontFinding:
    try:
        return msgspec.convert(
            {
                **seen,
                "finding": "front",
                "line": str(item["line"]),
                "clean_from_m": to_si(str(item.get("clean_from", "")), "length", "clean_from"),
                "proof": str(item.get("proof", "")),
                "by": str(item.get("by", "")),
            },
            FrontFinding,
        )
    except msgspec.ValidationError as error:
        raise wrong("when", "a day, YYYY-MM-DD", error, "write the day it was looked at, or leave it") from error
