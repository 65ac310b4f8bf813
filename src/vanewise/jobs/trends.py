"""Readings over time: every figure that is followed, what it says, and work that starts a new baseline."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from vanewise import pipeline
from vanewise.errors import wrong
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, day_of, item_of, now, open_book
from vanewise.jobs.flying import flying
from vanewise.jobs.meters import longest_totals
from vanewise.quantities import to_centihours, to_si
from vanewise.store import journal
from vanewise.store.journal import JournalEntry
from vanewise.watch.followed import FOLLOWED, Airframe, Followable, Followed, Taken, TimedFigure
from vanewise.watch.trend import Trend

#: What each timed figure is measured in.
DIMENSIONS: Mapping[str, str] = {"erection": "minutes", "drift": "angle", "wander": "pressure"}


@dataclass(frozen=True)
class Line:
    """One figure over time: its readings with their days, and what they say."""

    key: str
    followed: Followed
    source: Followable
    trend: Trend

    @property
    def newest(self) -> tuple[datetime.date | None, float]:
        last = max(self.source.series.readings, key=lambda r: (r.date or datetime.date.min, r.hours))
        return last.date, last.value


@dataclass(frozen=True)
class Baseline:
    """Work after which earlier readings are no measure: the day, the hours, why, and the entry that says so."""

    date: datetime.date
    hours: float
    why: str
    digest: str


def lines(book: Book, today: datetime.date) -> tuple[Line, ...]:
    """Every figure of this aircraft that has a reading, with what it says."""
    from vanewise.network.atmosphere import pressure

    clock = Clock(book, today)
    described = book.description
    airframe = Airframe(
        field_m=described.field.elevation.number,
        run_up_rpm=described.engine.run_up_rpm.number,
        cruise_rpm=described.engine.cruise_rpm.number,
        latitude_deg=described.field.latitude.number if described.field.latitude else None,
        in_pressure=described.duty == "pressure",
        gauge_card=gauge_card(book),
    )
    found = pipeline.watch_readings(
        taken(book, clock), timed(book, clock), airframe, pressure, [b.hours for b in baselines(book, clock)]
    )
    return tuple(
        Line(key=source.key, followed=FOLLOWED[source.key], source=source, trend=trend) for source, trend in found
    )


class Clock:
    """Hours of the aircraft on any day, between and beyond its meter readings."""

    def __init__(self, book: Book, today: datetime.date) -> None:
        points = dict(longest_totals(book))
        self._days = np.array([day.toordinal() for day in sorted(points)], dtype=float)
        self._hours = np.array([points[day] / 100.0 for day in sorted(points)])
        self._a_day = flying(book, today).use.hours_a_year / 365.25
        self.counts = bool(points)

    def hours(self, day: datetime.date, written: str = "") -> float:
        """Hours on a day: as written with the reading, else between the meter readings around it.

        Without any meter reading hours are reckoned from how much it flies, from an arbitrary start.
        """
        if written and self.counts:
            return to_centihours(written, "tach") / 100.0
        place = float(day.toordinal())
        if not self.counts:
            return place * self._a_day
        if place < self._days[0]:
            return float(self._hours[0] - (self._days[0] - place) * self._a_day)
        if place > self._days[-1]:
            return float(self._hours[-1] + (place - self._days[-1]) * self._a_day)
        return float(np.interp(place, self._days, self._hours))


def day_said(entry: JournalEntry) -> datetime.date:
    """The day a kept item is about: its own, else that of the entry."""
    return datetime.date.fromisoformat(str(item_of(entry).get("when") or entry.at[:10]))


def taken(book: Book, clock: Clock) -> tuple[Taken, ...]:
    """Every reading of the panel gauge in normal running, and of the lamp as it went out."""
    found = []
    for entry in book.of(kinds.READING, kinds.LAMP):
        item = item_of(entry)
        if item.get("high") or item.get("low") or item.get("under") or item.get("sister") or not item.get("rpm"):
            continue
        if entry.kind == kinds.LAMP and item.get("direction") == "falling":
            continue
        day = day_said(entry)
        found.append(
            Taken(
                date=day,
                hours=clock.hours(day, str(entry.content.get("tach", ""))),
                engine_rpm=to_si(str(item["rpm"]), "rpm", "rpm"),
                gauge_pa=to_si(str(item["reading"]), "pressure", "reading") if entry.kind == kinds.READING else None,
                altitude_m=_number(item, "altitude", "length"),
                temperature_k=_number(item, "temperature", "temperature"),
            )
        )
    return tuple(found)


def _number(item: Mapping[str, Any], key: str, dimension: str) -> float | None:
    return to_si(str(item[key]), dimension, key) if item.get(key) else None


def timed(book: Book, clock: Clock) -> tuple[TimedFigure, ...]:
    """Every figure that was timed or seen."""
    found = []
    for entry in book.of(kinds.FIGURE):
        item = item_of(entry)
        day = day_said(entry)
        found.append(
            TimedFigure(
                what=item["what"],
                date=day,
                hours=clock.hours(day, str(entry.content.get("tach", ""))),
                value=to_si(str(item["value"]), DIMENSIONS[str(item["what"])], "value"),
                minutes=_number(item, "minutes", "minutes") or 15.0,
            )
        )
    return tuple(found)


def check_figure(item: Mapping[str, Any]) -> None:
    """Raise InputError for a timed figure that cannot be kept."""
    what = str(item.get("what", ""))
    if what not in DIMENSIONS:
        raise wrong("what", " or ".join(DIMENSIONS), f'"{what}"', "choose one of these")
    value = to_si(str(item.get("value", "")), DIMENSIONS[what], what)
    if what != "drift" and value < 0.0:
        raise wrong(what, "0 or more", str(item["value"]), "write it without a sign")
    if item.get("minutes") and not to_si(str(item["minutes"]), "minutes", "minutes") > 0.0:
        raise wrong("minutes", "minutes above 0", str(item["minutes"]), "15 minutes is usual")


def gauge_card(book: Book) -> tuple[tuple[float, float], ...]:
    """What the panel gauge showed against a calibrated one: pairs of shown and true [Pa], the newest at each figure."""
    pairs = {}
    for entry in book.of(kinds.GAUGE_CARD):
        shown, true = (to_si(str(entry.content[key]), "pressure", key) for key in ("shown", "true"))
        pairs[round(shown)] = (shown, true)
    return tuple(pairs.values())


def compare_gauge(aircraft: str, *, shown: str, true: str, author: str, at: str = "") -> JournalEntry:
    """Keep one point of the gauge's comparison card. Raises InputError."""
    open_book(aircraft)
    off = abs(to_si(shown, "pressure", "shown") - to_si(true, "pressure", "true"))
    if off > 1.5 * 3386.389:
        raise wrong("true", "a gauge within 1.5 inHg of a calibrated one", f"{shown} against {true}", "read both again")
    content = {"shown": shown, "true": true}
    return journal.append(
        aircraft, kinds.GAUGE_CARD, content, author=author, at=at or now(), expected_head=journal.ANY_HEAD
    )


def baselines(book: Book, clock: Clock) -> tuple[Baseline, ...]:
    """Work that starts a new baseline: jobs written up, pumps and regulators fitted, and what a person says does."""
    found = []
    for entry in book.of(kinds.RECORD):
        if entry.content.get("tach"):
            day = datetime.date.fromisoformat(entry.at[:10])
            found.append(
                Baseline(day, clock.hours(day, str(entry.content["tach"])), "a job was written up", entry.digest)
            )
    for part in book.description.parts:
        if part.kind in ("pump", "regulator") and part.fitted.date is not None and part.fitted.tach_centihours:
            hours = part.fitted.tach_centihours / 100.0
            found.append(Baseline(part.fitted.date, hours, f"{part.label} fitted", book.version.entry))
    for entry in book.of(kinds.BASELINE):
        day = datetime.date.fromisoformat(str(entry.content["when"]))
        hours = clock.hours(day, str(entry.content.get("tach", "")))
        found.append(Baseline(day, hours, str(entry.content["why"]), entry.digest))
    return tuple(sorted(found, key=lambda b: b.hours))


def start_baseline(aircraft: str, *, when: str, why: str, tach: str = "", author: str, at: str = "") -> JournalEntry:
    """Keep that work was done after which earlier readings are no measure. Raises InputError."""
    open_book(aircraft)
    if not why.strip():
        raise wrong("why", "what was done", "nothing", "write the work after which readings start anew")
    if tach:
        to_centihours(tach, "tach")
    content = {"when": day_of(when, "when").isoformat(), "why": why.strip(), "tach": tach}
    return journal.append(
        aircraft, kinds.BASELINE, content, author=author, at=at or now(), expected_head=journal.ANY_HEAD
    )


def line(book: Book, key: str, today: datetime.date) -> Line:
    """One figure by its key. Raises InputError when it has no reading."""
    found = next((line for line in lines(book, today) if line.key == key), None)
    if found is None:
        known = ", ".join(FOLLOWED)
        raise wrong("figure", f"one with a reading, of {known}", f'"{key}"', "choose from the list")
    return found
