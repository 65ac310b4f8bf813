"""The line of time: what has a day is on it, in order, and what lies far ahead does not squeeze what is near."""

from __future__ import annotations

import datetime
import re
import xml.etree.ElementTree as ET

from vanewise.watch.due import Now, due_items
from vanewise.watch.types import DueItem, Limit, Work
from vanewise.watch.utilisation import dates_of_hours, utilisation
from vanewise.web.timeline import timeline

TODAY = datetime.date(2031, 3, 14)


def items(*wanted: tuple[str, int | None, int | None]) -> tuple[DueItem, ...]:
    limits = [
        Limit(item=name, nature="own", source="", hours_centi=hours, calendar_months=months, condition="worn")
        for name, hours, months in wanted
    ]
    work = [
        Work(item=limit.item, kind="done", date=datetime.date(2031, 3, 1), tach_centihours=100_000) for limit in limits
    ]
    use = utilisation([], hours_a_year=110.0)
    now = Now(today=TODAY, tach_centihours=100_000)
    return due_items(limits, work, now, dates_of_hours={"tach": dates_of_hours(use, TODAY)})


def test_nothing_with_a_day_draws_nothing() -> None:
    assert timeline(items(("clamps", None, None)), TODAY) == ""


def test_days_are_diamonds_hours_are_strokes_and_far_hours_are_left_out() -> None:
    drawn = timeline(items(("foam & ring", 2_500, None), ("walk-round", None, 6), ("overhaul", 200_000, 12)), TODAY)
    ET.fromstring(drawn)
    assert drawn.count('class="day"') == 2, "the two with a day of the calendar"
    assert drawn.count('class="middle"') == 1, "2,000 h at 110 h a year lie beyond the drawing"
    assert "Foam &amp; ring" in drawn
    places = [float(x) for x in re.findall(r'class="day" d="M([\d.]+)', drawn)]
    assert places == sorted(places) and all(0 <= place <= 390 for place in places)
