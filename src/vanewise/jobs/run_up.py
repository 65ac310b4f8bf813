"""The reading at run-up, in twenty seconds: gauge, lamp, meters and what was timed, kept together or not at all."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

import msgspec

from vanewise.errors import InputError, Locked, wrong
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, day_of, item_of, now, open_book
from vanewise.jobs.evidence import check_items
from vanewise.jobs.meters import METERS, meter, standing, with_reading
from vanewise.jobs.trends import check_figure, day_said
from vanewise.quantities import to_centihours, to_si
from vanewise.store import journal
from vanewise.store.journal import JournalEntry
from vanewise.watch import meters as core_meters
from vanewise.watch.run_up import LastTime, ThisTime, doubts

UNITS: Final = {
    "gauge": "inHg",
    "rpm": "rpm",
    "lamp_out": "rpm",
    "tach": "h",
    "hour_meter": "h",
    "erection": "min",
    "wander": "inHg",
    "drift": "deg",
    "altitude": "ft",
    "temperature": "C",
}
"""Unit of each figure where the person left it out."""


class RunUp(msgspec.Struct, frozen=True, kw_only=True):
    """What a person wrote at run-up, each a text with its unit, empty where it was not looked at."""

    date: str
    rpm: str = ""
    gauge: str = ""
    lamp_out: str = ""
    tach: str = ""
    hour_meter: str = ""
    erection: str = ""
    wander: str = ""
    drift: str = ""
    altitude: str = ""
    temperature: str = ""
    sound: bool = False


class Doubtful(Locked):
    """Something looks wrong; nothing was kept. The person corrects it, or says that it is right as written."""


def keep(aircraft: str, told: RunUp, *, sure: bool = False, author: str, at: str = "") -> tuple[JournalEntry, ...]:
    """Keep a reading at run-up. All of it is read first: either all is kept or nothing.

    Raises InputError for what cannot be read, and :class:`Doubtful` for a wrong meter, an odd figure or a gap in the
    readings, until ``sure``.
    """
    book = open_book(aircraft)
    day = day_of(told.date, "date")
    items = _items(told, day)
    if not items:
        raise wrong("gauge", "at least one figure", "nothing", "write what the gauge shows, or when the lamp went out")
    check_items(book, [(kind, item) for kind, item in items if kind in (kinds.READING, kinds.LAMP)])
    for kind, item in items:
        if kind == kinds.FIGURE:
            check_figure(item)
    if not sure:
        found = doubts(_this(book, told, day), last_time(book, told.rpm, day).known)
        if found:
            raise Doubtful(found)
    for key in METERS:
        if getattr(told, key):
            core_meters.check_meter(with_reading(meter(book, key), getattr(told, key), day, key))
    at = at or now()
    out = []
    if told.tach or told.hour_meter:
        content = {"tach": told.tach, "hour_meter": told.hour_meter, "date": day.isoformat()}
        out.append(
            journal.append(aircraft, kinds.METERS, content, author=author, at=at, expected_head=journal.ANY_HEAD)
        )
    for kind, item in items:
        kept: dict[str, Any] = {"report": "", "item": item, "tach": told.tach}
        out.append(journal.append(aircraft, kind, kept, author=author, at=at, expected_head=journal.ANY_HEAD))
    return tuple(out)


def _items(told: RunUp, day: datetime.date) -> list[tuple[str, dict[str, Any]]]:
    """What is to be kept, each as an item of its kind."""
    when: dict[str, Any] = {"when": day.isoformat()}
    if told.sound:
        when["sound"] = True
    place = {key: getattr(told, key) for key in ("altitude", "temperature") if getattr(told, key)}
    found: list[tuple[str, dict[str, Any]]] = []
    if told.gauge:
        if not told.rpm:
            raise wrong("rpm", "the engine speed it was read at", "nothing", "write it beside the gauge")
        item = {**when, **place, "reading": told.gauge, "rpm": told.rpm, "direction": "steady"}
        found.append((kinds.READING, item))
    if told.lamp_out:
        found.append((kinds.LAMP, {**when, "rpm": told.lamp_out, "direction": "rising"}))
    found += [
        (kinds.FIGURE, {"when": day.isoformat(), "what": what, "value": getattr(told, what)})
        for what in ("erection", "wander", "drift")
        if getattr(told, what)
    ]
    return found


def _this(book: Book, told: RunUp, day: datetime.date) -> ThisTime:
    totals = {
        key: core_meters.total(meter(book, key), to_centihours(getattr(told, key), key), day)
        if getattr(told, key)
        else None
        for key in METERS
    }
    return ThisTime(
        date=day,
        tach_centihours=totals["tach"],
        hour_meter_centihours=totals["hour_meter"],
        gauge_pa=to_si(told.gauge, "pressure", "gauge") if told.gauge else None,
    )


@dataclass(frozen=True)
class Last:
    """What was written last time, as written, for the page; and as values, to compare with."""

    known: LastTime
    gauge: str = ""
    rpm: str = ""
    gauge_on: datetime.date | None = None
    lamp_out: str = ""
    lamp_on: datetime.date | None = None
    figures: Mapping[str, tuple[str, datetime.date]] = field(default_factory=dict)


def last_time(book: Book, rpm: str, today: datetime.date) -> Last:
    """The newest readings before or on ``today``; the gauge at about the speed ``rpm`` where one is given."""
    at = standing(book, today)
    newest: dict[str, JournalEntry] = {}
    figures: dict[str, tuple[str, datetime.date]] = {}
    speed = _speed(rpm)
    same: JournalEntry | None = None
    for entry in sorted(book.of(kinds.READING, kinds.LAMP, kinds.FIGURE), key=day_said):
        item = item_of(entry)
        if entry.kind == kinds.FIGURE:
            figures[str(item["what"])] = (str(item["value"]), day_said(entry))
        elif not (item.get("high") or item.get("low") or item.get("under")):
            newest[entry.kind] = entry
            if entry.kind == kinds.READING and _is_at(item, speed):
                same = entry
    gauge, lamp = same, newest.get(kinds.LAMP)
    read = max(newest.values(), key=day_said, default=None)
    days = [day for key in METERS if (found := core_meters.newest_total(meter(book, key))) for day in (found[0],)]
    return Last(
        known=LastTime(
            date=max(days, default=None),
            tach_centihours=at.tach_centihours,
            hour_meter_centihours=at.hour_meter_centihours,
            gauge_pa=to_si(str(item_of(gauge)["reading"]), "pressure", "reading") if gauge and speed else None,
            read_on=day_said(read) if read else None,
            read_at_centihours=to_centihours(str(read.content["tach"]), "tach")
            if read and read.content.get("tach")
            else None,
        ),
        gauge=str(item_of(gauge)["reading"]) if gauge else "",
        rpm=str(item_of(gauge)["rpm"]) if gauge else "",
        gauge_on=day_said(gauge) if gauge else None,
        lamp_out=str(item_of(lamp)["rpm"]) if lamp else "",
        lamp_on=day_said(lamp) if lamp else None,
        figures=figures,
    )


def _speed(rpm: str) -> float | None:
    try:
        return to_si(rpm, "rpm", "rpm") if rpm else None
    except InputError:
        return None


def _is_at(item: Mapping[str, Any], speed: float | None) -> bool:
    return speed is None or abs(to_si(str(item["rpm"]), "rpm", "rpm") - speed) < 60.0
