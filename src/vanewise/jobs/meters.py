"""What the aircraft's two meters show: readings, a replaced meter, and where the aircraft stands today."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

import msgspec

from vanewise.errors import wrong
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, day_of, now, open_book
from vanewise.quantities import to_centihours
from vanewise.store import journal
from vanewise.store.journal import JournalEntry
from vanewise.watch.due import Now
from vanewise.watch.meters import MeterHistory, MeterReading, MeterReplacement, check_meter, newest_total, totals
from vanewise.watch.types import MeterKind

METERS: Final[Mapping[str, MeterKind]] = MappingProxyType({"tach": "tach", "hour_meter": "hour meter"})


def add_meters(aircraft: str, *, tach: str, hour_meter: str, date: str, author: str, at: str = "") -> JournalEntry:
    """Keep what the meters showed on a day. Raises InputError for hours that run backwards or cannot be read."""
    if not tach and not hour_meter:
        raise wrong("tach", "at least one of the two meters", "neither", "write what a meter shows")
    book = open_book(aircraft)
    day = day_of(date, "date")
    for key, text in (("tach", tach), ("hour_meter", hour_meter)):
        if text:
            check_meter(with_reading(meter(book, key), text, day, key))
    content = {"tach": tach, "hour_meter": hour_meter, "date": day.isoformat()}
    return journal.append(
        aircraft, kinds.METERS, content, author=author, at=at or now(), expected_head=journal.ANY_HEAD
    )


def with_reading(history: MeterHistory, text: str, day: datetime.date, where: str) -> MeterHistory:
    """A meter's history with one more reading, not yet kept."""
    new = MeterReading(date=day, shown_centihours=to_centihours(text, where))
    return msgspec.structs.replace(history, readings=(*history.readings, new))


def replace_meter(
    aircraft: str, *, which: str, date: str, old: str, new: str, author: str, at: str = ""
) -> JournalEntry:
    """Keep that a meter was replaced: what the old one showed last and the new one first. Raises InputError."""
    if which not in METERS:
        raise wrong("meter", " or ".join(METERS), f'"{which}"', "say which meter was replaced")
    book = open_book(aircraft)
    day = day_of(date, "date")
    change = MeterReplacement(
        date=day, old_centihours=to_centihours(old, "old"), new_centihours=to_centihours(new, "new")
    )
    history = meter(book, which)
    check_meter(msgspec.structs.replace(history, replacements=(*history.replacements, change)))
    content = {"meter": which, "date": day.isoformat(), "old": old, "new": new}
    return journal.append(
        aircraft, kinds.METER_REPLACED, content, author=author, at=at or now(), expected_head=journal.ANY_HEAD
    )


def meter(book: Book, key: str) -> MeterHistory:
    """One meter of an aircraft, from its description and every reading and replacement kept since."""
    readings = []
    first = book.description.meters
    shown = first.tach_centihours if key == "tach" else first.hour_meter_centihours
    if shown is not None and first.read_on is not None:
        readings.append(MeterReading(date=first.read_on, shown_centihours=shown))
    for entry in book.of(kinds.METERS):
        if entry.content.get(key):
            day = datetime.date.fromisoformat(str(entry.content["date"]))
            readings.append(MeterReading(date=day, shown_centihours=to_centihours(str(entry.content[key]), key)))
    changes = [
        MeterReplacement(
            date=datetime.date.fromisoformat(str(entry.content["date"])),
            old_centihours=to_centihours(str(entry.content["old"]), "old"),
            new_centihours=to_centihours(str(entry.content["new"]), "new"),
        )
        for entry in book.of(kinds.METER_REPLACED, meter=key)
    ]
    return MeterHistory(kind=METERS[key], readings=tuple(readings), replacements=tuple(changes))


def longest_totals(book: Book) -> list[tuple[datetime.date, int]]:
    """Dated totals of the meter with the most readings."""
    both = [list(totals(meter(book, key))) for key in METERS]
    return max(both, key=len)


def standing(book: Book, today: datetime.date) -> Now:
    """Where the aircraft stands today by its meters."""
    found = {}
    first = book.description.meters
    for key, stated in (("tach", first.tach_centihours), ("hour_meter", first.hour_meter_centihours)):
        newest = newest_total(meter(book, key))
        found[key] = newest[1] if newest else stated
    return Now(today=today, tach_centihours=found["tach"], hour_meter_centihours=found["hour_meter"])


def meters_on(book: Book, day: datetime.date) -> tuple[str, str] | None:
    """Tach and hour meter as they were written on a day, or None."""
    for entry in reversed(book.of(kinds.METERS)):
        if entry.content["date"] == day.isoformat():
            return str(entry.content.get("tach", "")), str(entry.content.get("hour_meter", ""))
    return None
