"""From hours to dates: how much the aircraft flies, month by month, with its season and its scatter.

Hours flown over a spell are taken as gamma distributed with the mean and variance of the months in it, so that the date
on which so many hours are reached has a spread. Few months of record lean on the yearly figure that the owner gives.
"""

from __future__ import annotations

import calendar
import datetime
import itertools
import math
from collections.abc import Callable, Sequence

import msgspec
import numpy as np
from scipy.special import gammaincc

from vanewise.errors import wrong
from vanewise.watch.arrays import Floats
from vanewise.watch.calendar_rules import months_later

MONTHS_AHEAD = 240
SEASON_WEIGHT = 2.0
"""Years of even flying that the season's shape is shrunk towards: one odd month must not make a season."""
PRIOR_CV = 0.6
"""Scatter of one month's hours about its mean, before any record: judgement."""
PRIOR_CV_MONTHS = 6.0
PRIOR_MONTHS = 3.0
"""Months of record that the owner's yearly figure counts for."""
LONGEST_GAP_DAYS = 62
"""Between two readings further apart than this nothing is said of single months."""


class MonthFlown(msgspec.Struct, frozen=True, kw_only=True):
    """Hours flown in one calendar month, in hundredths of an hour."""

    year: int
    month: int
    centihours: int


class Utilisation(msgspec.Struct, frozen=True, kw_only=True):
    """Mean hours of each calendar month, January first, and the coefficient of variation of one month."""

    month_hours: tuple[float, ...]
    month_cv: float
    months_seen: int

    @property
    def hours_a_year(self) -> float:
        return sum(self.month_hours)


def utilisation(months: Sequence[MonthFlown], hours_a_year: float | None = None) -> Utilisation:
    """Utilisation from whole months of record and the owner's own yearly figure; at least one of them is needed.

    Raises :class:`InputError` without either, for negative hours, or for a month given twice.
    """
    _check(months, hours_a_year)
    hours = np.array([m.centihours / 100.0 for m in months])
    place = np.array([m.month - 1 for m in months], dtype=np.int64)
    seen = float(len(months))
    stated = hours_a_year / 12.0 if hours_a_year is not None else float(hours.mean())
    lean = PRIOR_MONTHS if hours_a_year is not None else 0.0
    mean = (float(hours.sum()) + lean * stated) / (seen + lean)
    flown = np.bincount(place, hours, 12) if len(months) else np.zeros(12)
    count = np.bincount(place, minlength=12) if len(months) else np.zeros(12)
    season = (flown + SEASON_WEIGHT * mean) / np.maximum((count + SEASON_WEIGHT) * mean, 1e-9)
    season = season / season.mean()
    expected = mean * season
    spread = PRIOR_CV_MONTHS * PRIOR_CV**2
    if len(months):
        spread += float((((hours - expected[place]) / np.maximum(expected[place], 1e-9)) ** 2).sum())
    cv = math.sqrt(spread / (PRIOR_CV_MONTHS + seen))
    return Utilisation(month_hours=tuple(float(h) for h in expected), month_cv=cv, months_seen=len(months))


def months_of(totals: Sequence[tuple[datetime.date, int]]) -> tuple[MonthFlown, ...]:
    """Hours of whole calendar months from dated totals in hundredths of an hour, spread evenly between two readings.

    A month inside a gap of more than ``LONGEST_GAP_DAYS`` between readings is left out: spread over a season it would
    say that there is none.
    """
    points = sorted(totals)
    if len(points) < 2:
        return ()
    found = []
    month = points[0][0].replace(day=1)
    while month <= points[-1][0]:
        after = months_later(month, 1, "same day")
        ends = _total_at(points, month), _total_at(points, after)
        if ends[0] is not None and ends[1] is not None:
            hours = max(0, round(ends[1] - ends[0]))
            found.append(MonthFlown(year=month.year, month=month.month, centihours=hours))
        month = after
    return tuple(found)


def _total_at(points: Sequence[tuple[datetime.date, int]], day: datetime.date) -> float | None:
    """The total at the start of a day, between two readings that stand close enough; None elsewhere."""
    for (before, low), (after, high) in itertools.pairwise(points):
        if before <= day <= after and before < after:
            if (after - before).days > LONGEST_GAP_DAYS:
                return None
            return low + (high - low) * (day - before).days / (after - before).days
    return None


def rate_a_year(totals: Sequence[tuple[datetime.date, int]]) -> float | None:
    """Hours a year over the whole span of dated totals; None where that is under two months or nothing was flown."""
    points = sorted(totals)
    days = (points[-1][0] - points[0][0]).days if points else 0
    flown = (points[-1][1] - points[0][1]) / 100.0 if points else 0.0
    return flown / days * 365.25 if days >= 60 and flown > 0 else None


def _check(months: Sequence[MonthFlown], hours_a_year: float | None) -> None:
    if not months and hours_a_year is None:
        raise wrong("hours a year", "months of record, or hours flown a year", "neither", "give a rough yearly figure")
    if hours_a_year is not None and not 0.0 < hours_a_year <= 5000.0:
        raise wrong("hours a year", "hours above 0 and up to 5,000", hours_a_year, "give a rough yearly figure")
    known = set()
    for m in months:
        if m.centihours < 0 or not 1 <= m.month <= 12 or m.centihours > 74400:
            raise wrong(f"hours of {m.year}-{m.month:02d}", "0 to 744 h in a month", m.centihours / 100, "correct it")
        if (m.year, m.month) in known:
            raise wrong(f"hours of {m.year}-{m.month:02d}", "each month once", "twice", "add the two together")
        known.add((m.year, m.month))
    if hours_a_year is None and not any(m.centihours for m in months):
        raise wrong("hours flown", "some hours in the record", "0 h in every month", "give a rough yearly figure")


def flown_by(use: Utilisation, today: datetime.date, months: int = MONTHS_AHEAD) -> tuple[Floats, Floats]:
    """Mean and variance (``months``,) of hours flown from ``today`` to the end of this month, the next, and so on."""
    mean, variance = np.zeros(months), np.zeros(months)
    total = spread = 0.0
    year, month = today.year, today.month
    for index in range(months):
        share = 1.0
        if index == 0:
            length = calendar.monthrange(year, month)[1]
            share = (length - today.day) / length
        hours = use.month_hours[month - 1] * share
        total += hours
        # A part of a month scatters as a part of its days would.
        spread += (use.month_cv * use.month_hours[month - 1]) ** 2 * share
        mean[index], variance[index] = total, spread
        month, year = (1, year + 1) if month == 12 else (month + 1, year)
    return mean, variance


def hours_until(use: Utilisation, today: datetime.date, until: datetime.date) -> float:
    """Mean hours flown from the end of ``today`` to the end of ``until``; 0 for a day that has passed."""
    if until <= today:
        return 0.0
    total = 0.0
    for count in range(today.year * 12 + today.month, until.year * 12 + until.month + 1):
        year, month = divmod(count - 1, 12)
        length = calendar.monthrange(year, month + 1)[1]
        first = today.day if (year, month + 1) == (today.year, today.month) else 0
        last = until.day if (year, month + 1) == (until.year, until.month) else length
        total += use.month_hours[month] * (last - first) / length
    return total


def chance_by_month(
    use: Utilisation, today: datetime.date, hours: Floats, masses: Floats | None = None, months: int = MONTHS_AHEAD
) -> Floats:
    """P(the hours are reached by the end of this month, the next, ...), shape (``months``,).

    ``hours`` (R,): hours from now, with probability ``masses`` (R,) where they are uncertain themselves (hours left to
    the wear limit). Hours of 0 or less are reached already.
    """
    masses = np.full(len(hours), 1.0 / len(hours)) if masses is None else masses
    return _reached(*flown_by(use, today, months), hours, masses)


def _reached(mean: Floats, variance: Floats, hours: Floats, masses: Floats) -> Floats:
    shape = mean**2 / np.maximum(variance, 1e-12)
    scale = variance / np.maximum(mean, 1e-12)
    wanted = np.maximum(hours, 1e-9)[None, :] / np.maximum(scale, 1e-12)[:, None]
    reached = gammaincc(np.maximum(shape, 1e-9)[:, None], wanted)
    reached[mean <= 0.0] = 0.0
    reached[:, hours <= 0.0] = 1.0
    return np.asarray(reached @ masses)


def date_at(chances: Floats, p: float, today: datetime.date) -> datetime.date | None:
    """The day by which the chance reaches ``p``, spread evenly over its month; None beyond the months looked at."""
    if chances[-1] < p:
        return None
    index = int(np.searchsorted(np.maximum.accumulate(chances), p))
    start = today if index == 0 else months_later(today.replace(day=1), index, "same day")
    end = months_later(today.replace(day=1), index, "end of month")
    before = 0.0 if index == 0 else float(chances[index - 1])
    share = (p - before) / max(float(chances[index]) - before, 1e-12)
    days = (end - start).days
    return start + datetime.timedelta(days=min(days, max(0, round(share * days))))


def dates_of_hours(
    use: Utilisation, today: datetime.date
) -> Callable[[int], tuple[datetime.date, datetime.date, datetime.date]]:
    """From hundredths of an hour left to the days by which 1, 5 and 9 of 10 spells of flying like this reach them.

    Beyond the months looked at the answer is the last of them.
    """
    horizon = months_later(today, MONTHS_AHEAD, "end of month")
    flown = flown_by(use, today)

    def dates(centihours: int) -> tuple[datetime.date, datetime.date, datetime.date]:
        if centihours <= 0:
            return today, today, today
        chances = _reached(*flown, np.array([centihours / 100.0]), np.ones(1))
        found = [date_at(chances, p, today) or horizon for p in (0.1, 0.5, 0.9)]
        return found[0], found[1], found[2]

    return dates


def span_words(early: datetime.date, late: datetime.date) -> str:
    """``about March to June 2026``, ``about December 2025 to February 2026``, ``about May 2026``."""
    first, last = (f"{calendar.month_name[d.month]}" for d in (early, late))
    if (early.year, early.month) == (late.year, late.month):
        return f"about {first} {early.year}"
    if early.year == late.year:
        return f"about {first} to {last} {late.year}"
    return f"about {first} {early.year} to {last} {late.year}"
