"""The whole history of an aircraft: what stays with it, its files out and in again, and pages for a buyer."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from vanewise import __version__
from vanewise.errors import Problem, wrong
from vanewise.jobs.casebook import Book, open_book
from vanewise.jobs.rules import rules
from vanewise.record.chain import verify
from vanewise.record.history import (
    HistoryEntry,
    Reading,
    correction_problems,
    entries,
    from_csv,
    from_json,
    keeping_of,
    standing,
    summary,
    to_csv,
    to_json,
)
from vanewise.store import chains


@dataclass(frozen=True)
class Told:
    """One entry as a person reads it: what it says, whether it was corrected, and whether it goes with the aircraft."""

    number: int
    at: str
    author: str
    kind: str
    says: str
    digest: str
    corrected_at: str
    corrected_by: str
    now_says: str
    with_aircraft: bool


@dataclass(frozen=True)
class History:
    """The history of an aircraft as it stands, and everything that does not hold about it."""

    told: tuple[Told, ...]
    head: str
    problems: tuple[Problem, ...]

    @property
    def staying(self) -> tuple[Told, ...]:
        """What must go with the aircraft when it changes hands."""
        return tuple(item for item in self.told if item.with_aircraft)


def history(aircraft: str) -> History:
    """The whole history, its chain checked. Raises InputError where an entry cannot be read at all."""
    chain = chains.links(aircraft)
    found = entries(chain)
    return History(
        told=tuple(_told(reading) for reading in standing(found)),
        head=chain[-1].digest if chain else "",
        problems=(*verify(chain, name=f"journal of {aircraft}"), *correction_problems(found)),
    )


def _told(reading: Reading) -> Told:
    entry, newer = reading.entry, reading.corrected_by
    keeping = keeping_of(entry.kind, rules())
    return Told(
        number=entry.number,
        at=entry.at,
        author=entry.author,
        kind=entry.kind,
        says=_says(entry),
        digest=entry.link.digest,
        corrected_at=newer.at if newer else "",
        corrected_by=newer.author if newer else "",
        now_says=_corrected(newer) if newer else "",
        with_aircraft=keeping is not None and keeping.with_aircraft,
    )


def _says(entry: HistoryEntry) -> str:
    """The plain texts of an entry, those of its table among them."""
    item = entry.content.get("item")
    inner: Mapping[str, object] = item if isinstance(item, Mapping) else {}
    more = "; ".join(f"{key.replace('_', ' ')}: {value}" for key, value in inner.items() if str(value).strip())
    return "; ".join(part for part in (summary(entry), more) if part)[:600] or "no plain text"


def _corrected(entry: HistoryEntry) -> str:
    content = entry.content.get("content")
    reason = str(entry.content.get("reason", ""))
    if not isinstance(content, Mapping):
        return f"withdrawn: {reason}"
    flat = content.get("item") if isinstance(content.get("item"), Mapping) else content
    assert isinstance(flat, Mapping)
    says = "; ".join(f"{k}: {v}" for k, v in flat.items() if not isinstance(v, Mapping | list) and str(v).strip())
    return f"{says[:500]} ({reason})"


FORMS: Final = ("json", "csv", "pdf")


def file(book: Book, form: str, *, dated: datetime.date, page: str = "a4") -> bytes:
    """The history as JSON, CSV or PDF. The first two can be taken in again without loss. Raises InputError."""
    if form == "json":
        return to_json(book.aircraft, chains.links(book.aircraft), __version__).encode()
    if form == "csv":
        return to_csv(chains.links(book.aircraft)).encode()
    if form != "pdf":
        raise wrong("history", " or ".join(FORMS), f'"{form}"', "choose one of these")
    from vanewise.prints import history_pdf

    told = [vars(item) for item in history(book.aircraft).told]
    return history_pdf(told, aircraft=book.name, head=book.head, dated=dated, page=page)


def take_in(text: str, where: str) -> tuple[str, int]:
    """Take an exported history (JSON or CSV) into this home: the aircraft's id and how many entries were new.

    Raises InputError for what is no history, whose chain does not hold, or which parts from the one kept here.
    """
    start = text.lstrip("\ufeff \r\n")[:1]
    if not start:
        raise wrong(where, "an exported history", "an empty file", "export it again from where it came from")
    links = from_json(text)[1] if start == "{" else from_csv(text.lstrip("\ufeff"))
    aircraft, added = chains.take_in(links)
    open_book(aircraft)
    return aircraft, added
