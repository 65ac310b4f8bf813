"""Due points against published questions and rules. Provenance is told beside each row.

* FAA knowledge-test questions on 100-hour, annual and transponder intervals, read as copied into question banks; the
  issuing page itself was not seen.
* Code of Federal Regulations, title 14, 91.409(a) and (b): text read. 91.411 and 91.413: 24 calendar months, text read.
* US Army TM 1-1500-328-23 (scheduling of inspections): text read; a different rule set, which must not be mixed with
  the civil one.
"""

from __future__ import annotations

import datetime

import pytest

from vanewise.watch.calendar_rules import months_later
from vanewise.watch.due import Now, due_items, due_point, next_date, next_hours
from vanewise.watch.types import Limit, Overrun, Work

HUNDRED_HOUR = Limit(
    item="100-hour inspection",
    nature="regulation",
    source="14 CFR 91.409(b)",
    hours_centi=10_000,
    late="excess counts",
    overrun=Overrun(
        centihours=1_000,
        when="while en route to a place where the inspection can be done",
        source="14 CFR 91.409(b)",
    ),
)


def day(text: str) -> datetime.date:
    return datetime.date.fromisoformat(text)


@pytest.mark.parametrize(
    ("due", "done", "expected"),
    [
        pytest.param(330_250, 330_950, 340_250, id="test question: due 3302.5, done 3309.5, next 3402.5"),
        pytest.param(10_000, 10_500, 20_000, id="flown to 105 h for the inspection: next at 200, not 205 (secondary)"),
        pytest.param(10_000, 9_750, 19_750, id="early: from the work (our stated choice; no published example seen)"),
    ],
)
def test_hundred_hour_excess_counts_in_the_next_interval(due: int, done: int, expected: int) -> None:
    assert next_hours(HUNDRED_HOUR, done, due) == expected


@pytest.mark.parametrize(
    ("done", "months", "expected"),
    [
        pytest.param("2025-07-12", 12, "2026-07-31", id="test question: annual of 12 July"),
        pytest.param("2014-09-01", 24, "2016-09-30", id="test question: transponder of 1 September 2014"),
        pytest.param("2025-06-06", 12, "2026-06-30", id="annual signed 6 June: through 30 June (two forums)"),
        pytest.param("2018-06-01", 12, "2019-06-30", id="started 29 May, signed 1 June 2018: the signing governs"),
        pytest.param("2023-02-15", 24, "2025-02-28", id="calculated: February, no leap year"),
        pytest.param("2024-02-29", 12, "2025-02-28", id="calculated: from a leap day"),
    ],
)
def test_calendar_months_run_to_the_end_of_the_month(done: str, months: int, expected: str) -> None:
    assert months_later(day(done), months, "end of month") == day(expected)


def test_a_100_hour_history_through_the_whole_list() -> None:
    """The test question's chain of work, through due_items: 3202.5 done, 3302.5 due, done 3309.5, next 3402.5."""
    history = [
        Work(item=HUNDRED_HOUR.item, kind="done", date=day("2025-01-10"), tach_centihours=320_250),
        Work(item=HUNDRED_HOUR.item, kind="done", date=day("2025-04-02"), tach_centihours=330_950),
    ]
    assert due_point(HUNDRED_HOUR, history[:1]).centihours == 330_250
    (item,) = due_items([HUNDRED_HOUR], history, Now(today=day("2025-05-01"), tach_centihours=339_000))
    assert item.due_centihours == 340_250
    assert item.mandatory and item.state == "later"
    assert item.left == "12.5 h"


def test_ten_hours_only_en_route_are_named_and_no_more() -> None:
    history = [Work(item=HUNDRED_HOUR.item, kind="done", tach_centihours=320_250)]
    (within,) = due_items([HUNDRED_HOUR], history, Now(today=day("2025-05-01"), tach_centihours=330_950))
    assert within.state == "overdue"
    assert "up to 10.0 h, only while en route" in within.note and "91.409(b)" in within.note
    (beyond,) = due_items([HUNDRED_HOUR], history, Now(today=day("2025-05-01"), tach_centihours=331_300))
    assert "More than the 10.0 h" in beyond.note


ARMY = {"item": "inspection", "nature": "own", "source": "US Army TM 1-1500-328-23", "late": "window"}


@pytest.mark.parametrize(
    ("interval", "due", "done", "expected"),
    [
        pytest.param(7_500, 160_940, 160_600, 168_440, id="75 h, due 1609.4, done within 1604.4-1614.4"),
        pytest.param(7_500, 160_940, 161_440, 168_440, id="the same at the late end of the window"),
        pytest.param(5_000, 130_640, 129_990, 134_990, id="50 h, due 1306.4, done early at 1299.9"),
    ],
)
def test_a_window_keeps_the_cycle(interval: int, due: int, done: int, expected: int) -> None:
    limit = Limit(**ARMY, hours_centi=interval, window_centihours=500)  # type: ignore[arg-type]
    assert next_hours(limit, done, due) == expected


def test_a_window_of_days_keeps_the_cycle() -> None:
    """TM 1-1500-328-23: six months, due 31 January 1999, window 18 days; done inside it, next 31 July 1999."""
    limit = Limit(**ARMY, calendar_months=6, window_days=18)  # type: ignore[arg-type]
    for done in ("1999-01-31", "1999-01-15", "1999-02-10"):
        assert next_date(limit, day(done), day("1999-01-31")) == day("1999-07-31")
