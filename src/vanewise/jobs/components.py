"""Component cards: a part with a serial number, across every aircraft of this home that it was fitted to."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from typing import Any

import msgspec

from vanewise.errors import wrong
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, day_of, item_of, keep_item, open_book
from vanewise.jobs.meters import standing
from vanewise.quantities import to_centihours
from vanewise.record.components import ComponentCard, ComponentEvent, component_card
from vanewise.record.entry import Hours
from vanewise.record.tags import removed_tag
from vanewise.record.types import Tag
from vanewise.store import chains
from vanewise.store.journal import JournalEntry

WHAT = ("made", "fitted", "removed", "overhauled", "scrapped")


def add(aircraft: str, item: Mapping[str, str], *, author: str, at: str = "") -> JournalEntry:
    """Keep something that happened to a component. Raises InputError naming the field.

    ``item``: ``serial``, ``part``, ``kind`` (one of :data:`WHAT`), ``date``, ``tach``, ``since_new``, ``note``.
    """
    open_book(aircraft)
    event = _event(aircraft, item)
    if event.kind == "removed" and not event.note.strip():
        raise wrong("note", "why it came off", "nothing", "write it: a part without its story is waste")
    return keep_item(aircraft, kinds.COMPONENT, item, author=author, at=at)


def _event(aircraft: str, item: Mapping[str, Any]) -> ComponentEvent:
    serial, kind = str(item.get("serial", "")).strip(), str(item.get("kind", ""))
    if not serial:
        raise wrong("serial", "the serial number on the part", "nothing", "read it off its plate or its tag")
    if kind not in WHAT:
        raise wrong("kind", " or ".join(WHAT), f'"{kind}"', "choose one of these")
    return ComponentEvent(
        serial=serial,
        kind=kind,  # type: ignore[arg-type]
        date=day_of(str(item.get("date", "")), "date"),
        part=str(item.get("part", "")),
        aircraft=aircraft if kind in ("fitted", "removed") else "",
        total_centihours=to_centihours(str(item["tach"]), "tach") if item.get("tach") else None,
        since_new_centihours=to_centihours(str(item["since_new"]), "since_new") if item.get("since_new") else None,
        note=str(item.get("note", "")),
    )


def cards(book: Book) -> tuple[ComponentCard, ...]:
    """The card of every component that is or was in this aircraft, with its stays in others of this home."""
    kept = [(entry.aircraft, _event(entry.aircraft, item_of(entry))) for entry in chains.of_kinds(kinds.COMPONENT)]
    own = [*described(book), *(event for where, event in kept if where == book.aircraft)]
    serials = sorted({event.serial for event in own})
    events = _once([*described(book), *(event for _, event in kept if event.serial in serials)])
    others = {event.aircraft for event in events if event.aircraft and event.aircraft != book.aircraft}
    totals: dict[str, int] = {}
    for aircraft in (book.aircraft, *sorted(others)):
        other = book if aircraft == book.aircraft else open_book(aircraft)
        total = standing(other, datetime.date.min).tach_centihours
        if total is not None:
            totals[aircraft] = total
    return tuple(component_card(serial, events, totals) for serial in serials)


def described(book: Book) -> Iterator[ComponentEvent]:
    """What the descriptions say was fitted, and taken off when a later one has another serial in its place."""
    before: dict[str, str] = {}
    for version in book.versions:
        for part in version.description.parts:
            serial = part.fitted.serial.strip()
            if not serial or part.fitted.date is None:
                continue
            if before.get(part.id, serial) != serial:
                yield ComponentEvent(
                    serial=before[part.id],
                    kind="removed",
                    date=part.fitted.date,
                    part=part.label,
                    aircraft=book.aircraft,
                    total_centihours=part.fitted.tach_centihours,
                    note=version.why,
                )
            if before.get(part.id) != serial:
                yield ComponentEvent(
                    serial=serial,
                    kind="fitted",
                    date=part.fitted.date,
                    part=part.label,
                    aircraft=book.aircraft,
                    total_centihours=part.fitted.tach_centihours,
                )
            before[part.id] = serial


def _once(events: list[ComponentEvent]) -> list[ComponentEvent]:
    """Each event once: what a person entered goes before what the description says of the same fitting."""
    found: dict[tuple[str, str, datetime.date, str], ComponentEvent] = {}
    for event in events:
        key = (event.serial, event.kind, event.date, event.aircraft)
        old = found.get(key)
        found[key] = (
            event
            if old is None
            else msgspec.structs.replace(
                event,
                part=event.part or old.part,
                total_centihours=event.total_centihours if event.total_centihours is not None else old.total_centihours,
            )
        )
    return list(found.values())


def card(book: Book, serial: str) -> ComponentCard:
    """The card of one component. Raises InputError when this aircraft never had it."""
    found = next((card for card in cards(book) if card.serial == serial), None)
    if found is None:
        raise wrong("serial", f"a component of {book.name}", f'"{serial}"', "choose one from its list")
    return found


def tag_of_removed(book: Book, serial: str) -> Tag:
    """The tag of a component that came off this aircraft. Raises InputError while it is fitted."""
    found = card(book, serial)
    removed = [
        event
        for event in (*described(book), *(_event(e.aircraft, item_of(e)) for e in book.of(kinds.COMPONENT)))
        if event.serial == serial and event.kind == "removed"
    ]
    if not removed:
        raise wrong("serial", "a component that was taken off", f'"{serial}" is fitted', "enter its removal first")
    last = max(removed, key=lambda event: event.date)
    return removed_tag(
        book.name,
        found.part or "component",
        Hours(tach_centihours=last.total_centihours),
        last.date,
        reason=last.note,
        serial=serial,
        since_new_centihours=found.since_new_centihours,
    )
