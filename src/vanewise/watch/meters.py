"""Hours of the aircraft from what its meters show, in hundredths of an hour.

A meter that is replaced starts at some other number; the aircraft's total goes on. So a total is what the meter shows
plus the sum, over the replacements before, of what the old one showed last less what the new one showed first.
"""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Iterator, Sequence

import msgspec

from vanewise.errors import InputError, Problem
from vanewise.watch.types import MeterKind

MOST_CENTIHOURS_A_DAY = 2400


class MeterReading(msgspec.Struct, frozen=True, kw_only=True):
    """What a meter showed on a day."""

    date: datetime.date
    shown_centihours: int


class MeterReplacement(msgspec.Struct, frozen=True, kw_only=True):
    """The day a meter was replaced: the old one's last reading and the new one's first."""

    date: datetime.date
    old_centihours: int
    new_centihours: int


class MeterHistory(msgspec.Struct, frozen=True, kw_only=True):
    """One meter of one aircraft. A reading on the day of a replacement is the new meter's."""

    kind: MeterKind
    readings: tuple[MeterReading, ...] = ()
    replacements: tuple[MeterReplacement, ...] = ()
    start_total_centihours: int | None = None
    """The aircraft's total when this history starts; None where it is what the first meter shows."""
    start_shown_centihours: int = 0
    """What the meter showed then."""


def offset(history: MeterHistory, on: datetime.date) -> int:
    """Total less shown, in hundredths of an hour, on a day."""
    start = 0
    if history.start_total_centihours is not None:
        start = history.start_total_centihours - history.start_shown_centihours
    return start + sum(r.old_centihours - r.new_centihours for r in history.replacements if r.date <= on)


def total(history: MeterHistory, shown_centihours: int, on: datetime.date) -> int:
    """The aircraft's total, in hundredths of an hour, when this meter shows so much on that day."""
    return shown_centihours + offset(history, on)


def newest_total(history: MeterHistory) -> tuple[datetime.date, int] | None:
    """Day and total of the newest reading; None without readings."""
    if not history.readings:
        return None
    newest = max(history.readings, key=lambda r: (r.date, r.shown_centihours))
    return newest.date, total(history, newest.shown_centihours, newest.date)


def check_meter(history: MeterHistory) -> None:
    """Raise :class:`InputError` where totals go backwards, or rise by more than 24 h a day."""
    problems = [*_backwards(history), *_negative(history)]
    if problems:
        raise InputError(problems)


def _negative(history: MeterHistory) -> Iterator[Problem]:
    for reading in history.readings:
        if reading.shown_centihours < 0:
            yield _problem(history, reading.date, "hours of 0 or more", text(reading.shown_centihours))


def _backwards(history: MeterHistory) -> Iterator[Problem]:
    for before, after in itertools.pairwise(totals(history)):
        if after[1] < before[1]:
            yield _problem(
                history, after[0], f"a total of at least {text(before[1])}, as on {before[0]}", f"{text(after[1])}"
            )
        elif after[1] - before[1] > MOST_CENTIHOURS_A_DAY * ((after[0] - before[0]).days + 1):
            yield _problem(
                history,
                after[0],
                f"no more than 24 h a day since {before[0]}, when the total was {text(before[1])}",
                text(after[1]),
            )


def totals(history: MeterHistory) -> Sequence[tuple[datetime.date, int]]:
    """Days and totals in order, those of replacements included."""
    points = [(r.date, total(history, r.shown_centihours, r.date)) for r in history.readings]
    points += [(r.date, total(history, r.new_centihours, r.date)) for r in history.replacements]
    # Several readings of one day may be entered in any order; only from day to day must the total not fall.
    return sorted(points)


def _problem(history: MeterHistory, date: datetime.date, expected: str, found: str) -> Problem:
    return Problem(
        where=f"{history.kind}, {date}",
        expected=expected,
        found=found,
        next_step="check which meter was read; enter a replaced meter with its last and first reading",
    )


def text(centihours: int) -> str:
    """Hundredths of an hour as people read them: 340250 gives ``3,402.5 h``, 340255 gives ``3,402.55 h``."""
    whole, rest = divmod(abs(centihours), 100)
    sign = "-" if centihours < 0 else ""
    digits = f"{rest:02d}".rstrip("0") or "0"
    return f"{sign}{whole:,}.{digits} h"
