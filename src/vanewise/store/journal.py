"""The journal: one chain of entries for each aircraft, which only grows.

An entry's canonical text holds everything a person said and when (aircraft, kind, schema version, author, time,
content); its digest is over that text and the digest of the entry before. So a change to any of it, or to the order,
shows. A chain proves order and wholeness, not authorship: anyone with the file could write it anew from the start,
which is why the head digest is printed on the paper record.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

import msgspec

from vanewise.errors import InputError, Locked, Problem, VanewiseError, wrong
from vanewise.record.canon import canonical
from vanewise.record.chain import entry_digest
from vanewise.record.upcast import UPCASTER

ANY_HEAD: Final = "any head"
"""For ``expected_head``: a fact that stands by itself (a reading taken) whatever else was written meanwhile."""
NO_HEAD: Final = ""
"""The head of a journal that has no entry yet."""
CORRECTION: Final = "correction"
PAGE = 500
TRIES = 3


class JournalEntry(msgspec.Struct, frozen=True, kw_only=True):
    """One entry as a value. ``content`` holds strings, integers, booleans, lists and mappings of these."""

    aircraft: str
    position: int
    kind: str
    schema_version: int
    content: Mapping[str, Any]
    author: str
    at: str
    digest: str
    prev_digest: str

    @property
    def replaces(self) -> str:
        """The digest of the entry that this correction replaces, or nothing."""
        return str(self.content.get("replaces", "")) if self.kind == CORRECTION else ""


class HeadMoved(Locked):
    """Someone wrote to this journal after the page was made. ``since`` holds what they wrote; nothing was lost."""

    def __init__(self, problem: Problem, head: str, since: tuple[JournalEntry, ...]):
        super().__init__(problem)
        self.head = head
        self.since = since


class NotKept(VanewiseError):
    """The disk or the database did not take the entry. It was not acknowledged and is not there."""


class Verification(msgspec.Struct, frozen=True, kw_only=True):
    """What :func:`verify` found."""

    aircraft: int
    entries: int
    heads: Mapping[str, str]
    problems: tuple[Problem, ...]
    """Chains that do not hold. Nothing is repaired: these need a person and a backup."""
    rebuilt: tuple[str, ...]
    """Aircraft whose read model differed from the journal and was written anew."""


def append(
    aircraft: str,
    kind: str,
    content: Mapping[str, Any],
    *,
    author: str,
    at: str,
    expected_head: str,
    clashes: Callable[[JournalEntry], bool] | None = None,
) -> JournalEntry:
    """Add one entry and return it; when this returns, the entry is on disk.

    ``at`` is UTC, ISO 8601. ``expected_head`` is the head the writer saw, or ``ANY_HEAD``. When the head has moved,
    ``clashes`` decides for each entry written since whether it touches the same thing; without it every one does.
    Raises HeadMoved with the entries since when there is a clash, InputError for text that cannot be kept, NotKept
    when the disk is full or the database busy beyond its timeout.
    """
    from django.db import Error, IntegrityError, transaction

    if not author.strip():
        raise wrong("who", "a name", "nothing", "write your name")
    try:
        for attempt in range(TRIES):
            try:
                with transaction.atomic():
                    return _append(aircraft, kind, content, author.strip(), at, expected_head, clashes)
            except IntegrityError:
                # Two first entries at once: PostgreSQL had no row to lock yet, and the constraint let one through. A
                # fact that stands by itself goes after it; another is refused by the head, which now differs.
                if attempt == TRIES - 1:
                    raise
        raise AssertionError("unreachable")
    except Error as error:
        raise NotKept(
            Problem(
                where="journal",
                expected="an entry written to disk",
                found=f"the database said: {error}",
                next_step="nothing was kept and nothing before it was lost: free disk space, then send it again",
            )
        ) from error


def _append(
    aircraft: str,
    kind: str,
    content: Mapping[str, Any],
    author: str,
    at: str,
    expected_head: str,
    clashes: Callable[[JournalEntry], bool] | None,
) -> JournalEntry:
    """The locked part: read the head, compare, write the entry and move the head."""
    from vanewise.store.models import AircraftRow, Entry

    # SQLite's transaction began IMMEDIATE and so holds the only write lock; PostgreSQL locks this row.
    row = AircraftRow.objects.select_for_update().filter(aircraft=aircraft).first()
    head, length = (row.head, row.length) if row else (NO_HEAD, 0)
    if expected_head not in (ANY_HEAD, head):
        _refuse_moved_head(aircraft, kind, expected_head, head, clashes)
    schema_version = UPCASTER.newest(kind)
    text = canonical(
        {
            "aircraft": aircraft,
            "at": at,
            "author": author,
            "content": dict(content),
            "kind": kind,
            "schema": schema_version,
        }
    )
    digest = entry_digest(head, text)
    Entry.objects.create(
        aircraft=aircraft,
        position=length + 1,
        kind=kind,
        schema_version=schema_version,
        text=text,
        prev_digest=head,
        digest=digest,
        author=author,
        at=at,
    )
    entry = value_of(aircraft, length + 1, text, head, digest)
    write_row(aircraft, _reading(row, entry))
    return entry


def _refuse_moved_head(
    aircraft: str, kind: str, expected: str, head: str, clashes: Callable[[JournalEntry], bool] | None
) -> None:
    since = tuple(entry for entry in read(aircraft, after=expected))
    if clashes is not None and since and not any(clashes(entry) for entry in since):
        return
    wrote = "; ".join(f"{entry.kind} by {entry.author} at {entry.at}" for entry in since) or "another journal"
    raise HeadMoved(
        Problem(
            where=kind,
            expected="the journal as it was when this page was made",
            found=f"since then: {wrote}",
            next_step="look at what was added, then keep or change what you entered; it is still in the form",
        ),
        head,
        since,
    )


def read(aircraft: str, *, after: str = NO_HEAD) -> Iterator[JournalEntry]:
    """The entries of one aircraft in order, or those after the entry with digest ``after``."""
    from vanewise.store.models import Entry

    rows = Entry.objects.filter(aircraft=aircraft).order_by("position")
    if after:
        seen = Entry.objects.filter(aircraft=aircraft, digest=after).values_list("position", flat=True).first()
        rows = rows.filter(position__gt=seen or 0)
    for row in rows.iterator(chunk_size=PAGE):
        yield value_of(row.aircraft, row.position, row.text, row.prev_digest, row.digest)


def entry(digest: str) -> JournalEntry:
    """The entry with that digest. Raises InputError when there is none."""
    from vanewise.store.models import Entry

    row = Entry.objects.filter(digest=digest).first()
    if row is None:
        raise wrong("entry", "the digest of an entry of this home", digest, "take it from the journal page")
    return value_of(row.aircraft, row.position, row.text, row.prev_digest, row.digest)


def head(aircraft: str) -> str:
    """The digest of the newest entry, or ``NO_HEAD``."""
    from vanewise.store.models import AircraftRow

    return AircraftRow.objects.filter(aircraft=aircraft).values_list("head", flat=True).first() or NO_HEAD


def correct(
    replaces: str,
    content: Mapping[str, Any] | None,
    *,
    reason: str,
    author: str,
    at: str,
    expected_head: str,
) -> JournalEntry:
    """Add an entry that replaces another: with ``content`` in its place, or with nothing when that is None.

    The replaced entry stays where it is. Raises InputError when it is itself a correction's target already, when it
    is a correction (correct what it replaced by correcting the newest), or when no reason is given.
    """
    old = entry(replaces)
    if not reason.strip():
        raise wrong("reason", "a few words why", "nothing", "write why it is corrected; both versions stay readable")
    if old.kind == CORRECTION:
        raise wrong("entry", "an entry, not a correction of one", old.kind, "correct the entry that now stands")
    for later in read(old.aircraft, after=replaces):
        if later.replaces == replaces:
            raise HeadMoved(
                Problem(
                    where="entry",
                    expected="an entry that still stands",
                    found=f"{later.author} corrected it at {later.at}",
                    next_step="look at that correction; to undo it, enter the fact again",
                ),
                head(old.aircraft),
                (later,),
            )
    body: dict[str, Any] = {"replaces": replaces, "kind": old.kind, "reason": reason.strip()}
    body["schema"] = old.schema_version
    if content is not None:
        body["content"] = dict(content)
    return append(old.aircraft, CORRECTION, body, author=author, at=at, expected_head=expected_head)


def standing(entries: Iterator[JournalEntry] | tuple[JournalEntry, ...]) -> tuple[JournalEntry, ...]:
    """The entries that hold now: replaced ones with their new content in the old place, withdrawn ones gone.

    An entry keeps its own digest, author and time; who corrected it is found in the correction.
    """
    found = tuple(entries)
    corrections = {later.replaces: later for later in found if later.replaces}
    result = []
    for item in found:
        if item.kind == CORRECTION:
            continue
        correction = corrections.get(item.digest)
        if correction is None:
            result.append(item)
        elif "content" in correction.content:
            result.append(msgspec.structs.replace(item, content=correction.content["content"]))
    return tuple(result)


def aircraft_rows() -> tuple[tuple[str, str, bool, str, int, str], ...]:
    """(id, name, invented, head, length, time of the newest entry) of every aircraft, by name."""
    from vanewise.store.models import AircraftRow

    return tuple(AircraftRow.objects.values_list("aircraft", "name", "invented", "head", "length", "last_at"))


def verify(*, repair: bool = True) -> Verification:
    """Walk every chain, compare every digest and column, and rebuild the read models from the journal.

    With ``repair`` False read models are only compared. A broken chain is reported, never mended.
    """
    from vanewise.store.models import AircraftRow, Entry

    names = sorted(set(Entry.objects.order_by().values_list("aircraft", flat=True).distinct()))
    problems: list[Problem] = []
    heads: dict[str, str] = {}
    rebuilt: list[str] = []
    count = 0
    for aircraft in names:
        length, row, found = verify_chain(aircraft)
        count += length
        problems.extend(found)
        if row is None:
            continue
        heads[aircraft] = row["head"]
        if not AircraftRow.objects.filter(aircraft=aircraft, **row).exists():
            rebuilt.append(aircraft)
            if repair and not found:
                write_row(aircraft, row)
    for orphan in AircraftRow.objects.exclude(aircraft__in=names):
        rebuilt.append(orphan.aircraft)
        if repair:
            orphan.delete()
    return Verification(
        aircraft=len(names), entries=count, heads=heads, problems=tuple(problems), rebuilt=tuple(rebuilt)
    )


def verify_chain(aircraft: str) -> tuple[int, dict[str, Any] | None, list[Problem]]:
    """Length, read model and problems of one chain."""
    from vanewise.store.models import Entry

    previous, position, row = NO_HEAD, 0, None
    problems: list[Problem] = []

    def broken(expected: str, found: str) -> None:
        problems.append(
            Problem(
                where=f"journal of {aircraft}, entry {position}",
                expected=expected,
                found=found,
                next_step="keep this home as it is, and restore the newest backup into another folder",
            )
        )

    for stored in Entry.objects.filter(aircraft=aircraft).order_by("position").iterator(chunk_size=PAGE):
        position += 1
        if stored.position != position:
            broken(f"entry number {position}", f"number {stored.position}: an entry is missing")
            position = stored.position
        if stored.prev_digest != previous:
            broken(f"the digest before it to be {previous[:12] or 'nothing'}", stored.prev_digest[:12] or "nothing")
        if entry_digest(stored.prev_digest, stored.text) != stored.digest:
            broken("a text that gives its digest", "another digest: a byte of the text was changed")
        previous = stored.digest
        try:
            value = value_of(aircraft, position, stored.text, stored.prev_digest, stored.digest)
        except InputError as error:
            broken("text that can be read", error.problems[0].found)
            continue
        columns = (stored.aircraft, stored.kind, stored.schema_version, stored.author, stored.at)
        if columns != (value.aircraft, value.kind, value.schema_version, value.author, value.at):
            broken("columns that say what the text says", "another kind, author, time or aircraft")
        row = _reading_of(row, value)
    return position, row, problems


def value_of(aircraft: str, position: int, text: str, prev_digest: str, digest: str) -> JournalEntry:
    try:
        body = json.loads(text)
        return JournalEntry(
            aircraft=str(body["aircraft"]),
            position=position,
            kind=str(body["kind"]),
            schema_version=int(body["schema"]),
            content=body["content"],
            author=str(body["author"]),
            at=str(body["at"]),
            digest=digest,
            prev_digest=prev_digest,
        )
    except (ValueError, KeyError, TypeError) as error:
        raise wrong(
            f"journal of {aircraft}, entry {position}",
            "an entry's canonical text",
            f"text that cannot be read ({error})",
            "run vanewise verify, and restore the newest backup into another folder",
        ) from error


def _reading(row: Any, entry: JournalEntry) -> dict[str, Any]:
    known = None if row is None else {"name": row.name, "invented": row.invented}
    return _reading_of(known, entry)


def _reading_of(known: Mapping[str, Any] | None, entry: JournalEntry) -> dict[str, Any]:
    """The read model after ``entry``: an aircraft is called what its newest description calls it."""
    name, invented = (known["name"], known["invented"]) if known else (entry.aircraft, False)
    content: Mapping[str, Any] = entry.content
    kind = entry.kind
    if kind == CORRECTION:
        kind, content = str(content.get("kind", "")), content.get("content", {})
    if kind == "description":
        name, invented = str(content.get("name", name))[:200], bool(content.get("invented", False))
    return {
        "name": name,
        "invented": invented,
        "head": entry.digest,
        "length": entry.position,
        "last_at": entry.at,
    }


def write_row(aircraft: str, row: Mapping[str, Any]) -> None:
    from vanewise.store.models import AircraftRow

    AircraftRow.objects.update_or_create(aircraft=aircraft, defaults=dict(row))
