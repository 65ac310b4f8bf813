"""Calendar arithmetic as limits state it. Dates only, whole months and days."""

from __future__ import annotations

import calendar
import datetime
from typing import Literal

from vanewise.errors import wrong

CalendarRule = Literal["end of month", "same day"]


def last_day(date: datetime.date) -> datetime.date:
    """The last day of the month of ``date``."""
    return date.replace(day=calendar.monthrange(date.year, date.month)[1])


def months_later(date: datetime.date, months: int, rule: CalendarRule) -> datetime.date:
    """The day on which an interval of calendar months ends.

    ``end of month``: 'within the preceding n calendar months' holds to the last day of the month, n months on.
    ``same day``: the same day of the month, or its last day where the month is shorter.
    Raises :class:`InputError` beyond the year 9999.
    """
    count = date.year * 12 + (date.month - 1) + months
    year, month = divmod(count, 12)
    if not datetime.MINYEAR <= year <= datetime.MAXYEAR:
        raise wrong("calendar months", "a date that a calendar has", f"{months} months from {date}", "correct them")
    first = datetime.date(year, month + 1, 1)
    end = last_day(first)
    return end if rule == "end of month" else first.replace(day=min(date.day, end.day))
