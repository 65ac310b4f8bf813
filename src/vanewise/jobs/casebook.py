"""Everything kept about one aircraft, read from its journal into one value that pages and jobs share.

The journal is read whole: a busy aircraft has some hundreds of entries, which takes a few milliseconds, and the last
few books are held in memory by head digest. A book never changes; a new entry makes a new book.
"""

from __future__ import annotations

import datetime
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from threading import Lock
from typing import Any

import msgspec

from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.reading import read_description
from vanewise.errors import InputError, Problem, wrong
from vanewise.jobs import kinds
from vanewise.record.upcast import UPCASTER
from vanewise.store import chains, journal
from vanewise.store.journal import JournalEntry

HELD = 8


@dataclass(frozen=True)
class Version:
    """One description of the aircraft, and from when it holds."""

    entry: str
    toml: str
    valid_from: str
    why: str
    author: str
    at: str

    @property
    def description(self) -> AircraftDescription:
        return parsed(self.toml)


@dataclass(frozen=True)
class Report:
    """One report of something not right, with the evidence gathered since."""

    id: str
    entry: JournalEntry
    evidence: tuple[JournalEntry, ...]
    answers: tuple[JournalEntry, ...]

    @property
    def title(self) -> str:
        return str(self.entry.content.get("title") or "Report")


@dataclass(frozen=True)
class Book:
    """The journal of one aircraft, folded."""

    aircraft: str
    entries: tuple[JournalEntry, ...]
    problems: tuple[Problem, ...] = ()
    """Places where the chain did not hold when the journal was opened; every page of the aircraft says so."""

    @property
    def head(self) -> str:
        return str(self.entries[-1].digest)

    @cached_property
    def standing(self) -> tuple[JournalEntry, ...]:
        """The entries that hold now, corrections applied."""
        return tuple(journal.standing(self.entries))

    def of(self, *wanted: str, **match: str) -> tuple[JournalEntry, ...]:
        """Standing entries of these kinds whose content has these values, in order."""
        return tuple(
            entry
            for entry in self.standing
            if entry.kind in wanted and all(entry.content.get(key) == value for key, value in match.items())
        )

    @cached_property
    def versions(self) -> tuple[Version, ...]:
        """Descriptions by the date they hold from, newest last."""
        found = [
            Version(
                entry=entry.digest,
                toml=str(entry.content["toml"]),
                valid_from=str(entry.content.get("valid_from", "")),
                why=str(entry.content.get("why", "")),
                author=entry.author,
                at=entry.at,
            )
            for entry in self.of(kinds.DESCRIPTION)
        ]
        return tuple(sorted(found, key=lambda version: (version.valid_from, version.at)))

    @property
    def version(self) -> Version:
        """The description that holds now."""
        if not self.versions:
            raise wrong(self.aircraft, "a described aircraft", "no description", "describe it first")
        return self.versions[-1]

    @property
    def description(self) -> AircraftDescription:
        return self.version.description

    @property
    def name(self) -> str:
        entries = self.of(kinds.DESCRIPTION)
        return str(entries[-1].content["name"]) if entries else self.aircraft

    @property
    def invented(self) -> bool:
        entries = self.of(kinds.DESCRIPTION)
        return bool(entries and entries[-1].content.get("invented"))

    @cached_property
    def reports(self) -> tuple[Report, ...]:
        return tuple(
            Report(
                id=str(entry.content["report"]),
                entry=entry,
                evidence=self.of(*kinds.EVIDENCE, report=str(entry.content["report"])),
                answers=self.of(kinds.CAUSES, report=str(entry.content["report"])),
            )
            for entry in self.of(kinds.REPORT)
        )

    def report(self, report_id: str) -> Report:
        """Raises InputError when there is none of that id."""
        for report in self.reports:
            if report.id == report_id:
                return report
        raise wrong("report", f"a report of {self.name}", f'"{report_id}"', "choose one from the list of reports")

    def answer(self, kind: str, **match: str) -> JournalEntry | None:
        """The newest standing entry of a kind, or None."""
        found = self.of(kind, **match)
        return found[-1] if found else None

    def next_id(self, kind: str, key: str, letter: str) -> str:
        """A fresh short id, such as ``r3``, that was never used in this journal, not even by a withdrawn entry."""
        used = {str(entry.content.get(key)) for entry in self.entries if entry.kind == kind}
        number = len(used) + 1
        while f"{letter}{number}" in used:
            number += 1
        return f"{letter}{number}"


_books: OrderedDict[tuple[str, str], Book] = OrderedDict()
_lock = Lock()


def open_book(aircraft: str) -> Book:
    """The book of an aircraft as it stands now. Raises InputError when nothing is kept under that id."""
    head = journal.head(aircraft)
    if not head:
        raise wrong("aircraft", "an aircraft of this home", f'"{aircraft}"', "choose one from the list of aircraft")
    with _lock:
        book = _books.get((aircraft, head))
        if book is not None:
            _books.move_to_end((aircraft, head))
            return book
    entries, problems = chains.checked(aircraft)
    book = Book(aircraft=aircraft, entries=tuple(lifted(entry) for entry in entries), problems=problems)
    with _lock:
        _books[aircraft, book.head] = book
        while len(_books) > HELD:
            _books.popitem(last=False)
    return book


def lifted(entry: JournalEntry) -> JournalEntry:
    """The entry with its content in this version's shape; a correction's content is lifted as the kind it stands for.

    Raises NoAnswer for an entry written by a newer program.
    """
    content = entry.content
    if entry.kind == journal.CORRECTION:
        if "content" not in content:
            return entry
        inner = UPCASTER.lift(str(content["kind"]), int(content["schema"]), content["content"])
        return msgspec.structs.replace(entry, content={**content, "content": inner})
    return msgspec.structs.replace(entry, content=UPCASTER.lift(entry.kind, entry.schema_version, content))


@lru_cache(maxsize=32)
def parsed(toml: str) -> AircraftDescription:
    """A kept description. It was checked before it was kept, so only its reading can still fail."""
    return read_description(toml, "the kept description", checked=False)


def now() -> str:
    """The time as entries carry it: UTC, to the second."""
    return datetime.datetime.now(datetime.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def item_of(entry: JournalEntry) -> Mapping[str, Any]:
    """The table an evidence entry holds."""
    item: Mapping[str, Any] = entry.content.get("item", {})
    return item


def day_of(text: str, where: str) -> datetime.date:
    """A day as people write it, year-month-day. Raises InputError naming ``where``."""
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise InputError(wrong(where, "a date, year-month-day", f'"{text}"', "write it so").problems) from None


def keep_item(aircraft: str, kind: str, item: Mapping[str, str], *, author: str, at: str = "") -> JournalEntry:
    """Keep one item of its own, whatever else was kept meanwhile: its texts, the empty ones left out."""
    content = {"item": {key: value for key, value in item.items() if value}}
    return journal.append(aircraft, kind, content, author=author, at=at or now(), expected_head=journal.ANY_HEAD)
