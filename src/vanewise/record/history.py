"""The whole history of an aircraft: what holds now, what stays with it, and a file that can be read in again.

The file carries every entry's canonical text as it was written, with its digests, so that nothing is lost on the way
and the chain can be checked at the other end. A CSV carries the same texts beside columns that a person can sort.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

import msgspec

from vanewise.errors import InputError, Problem, wrong
from vanewise.record.canon import canonical, from_canonical
from vanewise.record.chain import Link, verify
from vanewise.record.jurisdiction import Jurisdiction, Keeping

FORMAT: Final = "vanewise history"
VERSION: Final = 1
CORRECTION: Final = "correction"
COLUMNS: Final = ("number", "at", "author", "kind", "summary", "digest", "prev_digest", "text")


class HistoryEntry(msgspec.Struct, frozen=True, kw_only=True):
    """One entry as read from its canonical text, beside the text and digests it was read from."""

    number: int
    aircraft: str
    kind: str
    schema: int
    at: str
    author: str
    content: Mapping[str, Any]
    link: Link

    @property
    def replaces(self) -> str:
        """Digest of the entry that this one corrects, or nothing."""
        return str(self.content.get("replaces", "")) if self.kind == CORRECTION else ""


class Reading(msgspec.Struct, frozen=True, kw_only=True):
    """An entry as it holds now: its content, and the entry it was corrected by, if any."""

    entry: HistoryEntry
    corrected_by: HistoryEntry | None = None


def entries(links: Iterable[Link]) -> tuple[HistoryEntry, ...]:
    """Entries of a chain. Raises :class:`InputError` for text that is not an entry."""
    out = []
    for number, link in enumerate(links, start=1):
        value = from_canonical(link.text)
        fields = ("aircraft", "at", "author", "content", "kind", "schema")
        if not isinstance(value, Mapping) or set(value) != set(fields) or not isinstance(value["content"], Mapping):
            raise wrong(f"entry {number}", f"an entry with {', '.join(fields)}", link.text[:80], "restore the file")
        out.append(
            HistoryEntry(
                number=number,
                aircraft=str(value["aircraft"]),
                kind=str(value["kind"]),
                schema=int(value["schema"]),
                at=str(value["at"]),
                author=str(value["author"]),
                content=value["content"],
                link=link,
            )
        )
    return tuple(out)


def standing(history: Sequence[HistoryEntry]) -> tuple[Reading, ...]:
    """Every entry that is no correction, with the newest correction of it.

    A correction of a correction corrects the first entry. Nothing is taken out: what was written stays readable.
    """
    by_digest = {entry.link.digest: entry for entry in history}
    newest: dict[str, HistoryEntry] = {}
    for entry in history:
        if entry.replaces:
            target = entry
            while target.replaces and target.replaces in by_digest:
                target = by_digest[target.replaces]
            newest[target.link.digest] = entry
    return tuple(
        Reading(entry=entry, corrected_by=newest.get(entry.link.digest))
        for entry in history
        if entry.kind != CORRECTION
    )


def correction_problems(history: Sequence[HistoryEntry]) -> tuple[Problem, ...]:
    """Corrections that name no earlier entry of this history."""
    known: set[str] = set()
    problems = []
    for entry in history:
        if entry.kind == CORRECTION and entry.replaces not in known:
            problems.append(
                Problem(
                    where=f"entry {entry.number}, correction",
                    expected="the digest of an earlier entry",
                    found=entry.replaces[:12] or "nothing",
                    next_step="look for the entry it was meant for; write a new correction that names it",
                )
            )
        known.add(entry.link.digest)
    return tuple(problems)


def keeping_of(kind: str, rules: Jurisdiction) -> Keeping | None:
    """How long a kind of entry is kept by a jurisdiction pack; None where the pack says nothing of it."""
    return next((keeping for keeping in rules.keeping if kind in keeping.kinds), None)


def goes_with_aircraft(history: Iterable[HistoryEntry], rules: Jurisdiction) -> tuple[HistoryEntry, ...]:
    """The entries that must go with the aircraft when it changes hands, by a jurisdiction pack."""
    kept = []
    for entry in history:
        keeping = keeping_of(entry.kind, rules)
        if keeping is not None and keeping.with_aircraft:
            kept.append(entry)
    return tuple(kept)


def to_json(aircraft: str, links: Sequence[Link], program: str) -> str:
    """The whole history as one text. The same history gives the same bytes."""
    return canonical(
        {
            "aircraft": aircraft,
            "entries": [{"digest": k.digest, "prev_digest": k.prev_digest, "text": k.text} for k in links],
            "format": FORMAT,
            "program": program,
            "version": VERSION,
        }
    )


def from_json(text: str) -> tuple[str, tuple[Link, ...]]:
    """Aircraft and chain of a history file.

    Raises :class:`InputError` when it is no such file, is of another version, or its chain does not hold.
    """
    try:
        value = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise wrong("history file", "a history as JSON", f"text that cannot be read: {error}", _AGAIN) from None
    if not isinstance(value, Mapping) or value.get("format") != FORMAT:
        raise wrong("history file", f'"format": "{FORMAT}"', "another kind of file", "choose an exported history")
    if value.get("version") != VERSION:
        raise wrong(
            "history file", f"version {VERSION}", value.get("version"), "open it with the program that wrote it"
        )
    try:
        links = tuple(msgspec.convert(item, Link) for item in value["entries"])
    except (KeyError, TypeError, msgspec.ValidationError) as error:
        raise wrong("history file, entries", "text and digests of each entry", error, _AGAIN) from None
    return str(value.get("aircraft", "")), _whole(links)


_AGAIN: Final = "export it again from where it came from"


def _whole(links: tuple[Link, ...]) -> tuple[Link, ...]:
    problems = verify(links, name="history file")
    if problems:
        raise InputError(problems)
    return links


def to_csv(links: Sequence[Link]) -> str:
    """The history as comma-separated values, one entry a row; the last column is the text it stands on.

    Cells that a spreadsheet would take for a formula are led by an apostrophe; the text column never starts so.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for entry in entries(links):
        cells = (entry.number, entry.at, entry.author, entry.kind, summary(entry))
        row = [_cell(str(cell)) for cell in cells]
        writer.writerow([*row, entry.link.digest, entry.link.prev_digest, entry.link.text])
    return out.getvalue()


def _cell(text: str) -> str:
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def from_csv(text: str) -> tuple[Link, ...]:
    """The chain of a CSV written by :func:`to_csv`. Raises :class:`InputError` as :func:`from_json` does."""
    rows = list(csv.reader(io.StringIO(text, newline="")))
    if not rows or tuple(rows[0]) != COLUMNS:
        raise wrong("history as CSV", f"the columns {', '.join(COLUMNS)}", "others", "choose an exported history")
    bad = next((i for i, row in enumerate(rows[1:], start=2) if len(row) != len(COLUMNS)), None)
    if bad is not None:
        raise wrong(f"history as CSV, line {bad}", f"{len(COLUMNS)} columns", len(rows[bad - 1]), _AGAIN)
    return _whole(tuple(Link(digest=row[5], prev_digest=row[6], text=row[7]) for row in rows[1:]))


def summary(entry: HistoryEntry) -> str:
    """The plain texts of an entry in one line, for a list."""
    parts = [
        f"{name.replace('_', ' ')}: {value}"
        for name, value in entry.content.items()
        if isinstance(value, (str, int)) and not isinstance(value, bool) and str(value).strip() and len(str(value)) < 80
    ]
    return "; ".join(parts)[:240]


def history_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a history file."""
    digest = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
    entry = {
        "type": "object",
        "required": ["digest", "prev_digest", "text"],
        "properties": {
            "digest": digest,
            "prev_digest": {"anyOf": [digest, {"const": ""}]},
            "text": {"type": "string", "description": "canonical text of the entry, as written"},
        },
        "additionalProperties": False,
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "History of one aircraft",
        "type": "object",
        "required": ["aircraft", "entries", "format", "program", "version"],
        "properties": {
            "aircraft": {"type": "string"},
            "entries": {"type": "array", "items": entry},
            "format": {"const": FORMAT},
            "program": {"type": "string"},
            "version": {"const": VERSION},
        },
        "additionalProperties": False,
    }
