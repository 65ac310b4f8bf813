"""'What next, by when, why', by example."""

from __future__ import annotations

import datetime
from typing import Any

import pytest

from vanewise.errors import InputError
from vanewise.watch.calendar_events import due_events
from vanewise.watch.due import Now, check_limit, check_put_off, due_items
from vanewise.watch.meters import MeterHistory, MeterReading, MeterReplacement, check_meter, newest_total, text
from vanewise.watch.types import Limit, PutOff, Work
from vanewise.watch.utilisation import dates_of_hours, utilisation


def day(value: str) -> datetime.date:
    return datetime.date.fromisoformat(value)


FILTER = Limit(
    item="central filter",
    nature="custom",
    source="common practice, no source",
    hours_centi=50_000,
    calendar_months=12,
    counted_from="fitted",
)
FITTED = Work(item="central filter", kind="fitted", date=day("2030-08-31"), tach_centihours=120_000)

# One row a case: hours now, day now, what the list says. Due at 1,700 h or at the end of August 2031.
TABLE = """
1650.0  2031-03-14   later     hours     50.0 h or 170 days
1695.0  2031-03-14   soon      hours     5.0 h or 170 days
1700.0  2031-03-14   due       hours     0.0 h or 170 days
1700.1  2031-03-14   overdue   hours     0.1 h over or 170 days
1300.0  2031-08-10   soon      calendar  400.0 h or 21 days
1300.0  2031-08-31   due       calendar  400.0 h or 0 days
1300.0  2031-09-30   overdue   calendar  400.0 h or 30 days over
1701.0  2031-09-30   overdue   calendar  1.0 h over or 30 days over
"""


@pytest.mark.parametrize("row", [line for line in TABLE.splitlines() if line.strip()])
def test_whichever_comes_first(row: str) -> None:
    hours, today, state, by, left = row.split(maxsplit=4)
    now = Now(today=day(today), tach_centihours=round(float(hours) * 100))
    (item,) = due_items([FILTER], [FITTED], now)
    assert (item.state, item.by, item.left) == (state, by, left)
    assert item.due_centihours == 170_000
    assert item.due_date == day("2031-08-31")
    assert not item.mandatory


def test_why_names_interval_start_and_whose_word_it_is() -> None:
    (item,) = due_items([FILTER], [FITTED], Now(today=day("2031-03-14"), tach_centihours=165_000))
    assert item.why == (
        "every 500.0 h (tach) or every 12 calendar months, to the end of the month, whichever comes first; "
        "last fitted 2030-08-31 at 1,200.0 h; common practice (common practice, no source)"
    )


def test_without_a_record_it_is_unknown_and_says_what_to_enter() -> None:
    (item,) = due_items([FILTER], [], Now(today=day("2031-03-14"), tach_centihours=165_000))
    assert item.state == "unknown"
    assert "no record of when it was last fitted: enter it" in item.why
    half = Work(item="central filter", kind="fitted", date=day("2031-01-31"))
    (item,) = due_items([FILTER], [half], Now(today=day("2031-03-14"), tach_centihours=165_000))
    assert item.state == "unknown" and "hours of that not written" in item.why


def test_work_other_than_what_starts_the_count_does_not_reset_it() -> None:
    looked = Work(item="central filter", kind="done", date=day("2031-02-01"), tach_centihours=160_000)
    (item,) = due_items([FILTER], [FITTED, looked], Now(today=day("2031-03-14"), tach_centihours=165_000))
    assert item.due_centihours == 170_000


def test_an_overhaul_resets_what_counts_from_it_and_starts_a_first_interval() -> None:
    look = Limit(
        item="wear port",
        nature="maker",
        source="the pump's manual",
        hours_centi=10_000,
        first_hours_centi=50_000,
        counted_from="done",
    )
    history = [
        Work(item="wear port", kind="fitted", tach_centihours=100_000),
        Work(item="wear port", kind="done", tach_centihours=150_000),
        Work(item="wear port", kind="done", tach_centihours=160_500),
        Work(item="wear port", kind="overhauled", tach_centihours=165_000),
    ]
    now = Now(today=day("2031-03-14"), tach_centihours=166_000)
    found = [due_items([look], history[:count], now)[0].due_centihours for count in (1, 2, 3, 4)]
    assert found == [150_000, 160_000, 170_500, 215_000]


def test_a_limit_on_condition_is_listed_last_with_its_condition() -> None:
    clamps = Limit(item="clamps", nature="custom", source="", condition="loose, cracked or rusted")
    items = due_items([clamps, FILTER], [FITTED], Now(today=day("2031-03-14"), tach_centihours=165_000))
    assert [item.item for item in items] == ["central filter", "clamps"]
    assert items[1].state == "condition" and "loose, cracked" in items[1].why


def test_hour_meter_and_tach_are_not_mixed() -> None:
    limit = Limit(item="oil", nature="own", source="", hours_centi=5_000, meter="hour meter")
    work = Work(item="oil", kind="done", tach_centihours=100_000, hour_meter_centihours=120_000)
    (item,) = due_items(
        [limit], [work], Now(today=day("2031-03-14"), tach_centihours=104_000, hour_meter_centihours=125_100)
    )
    assert item.due_centihours == 125_000 and item.state == "overdue"


def put_off(**more: Any) -> PutOff:
    settings: dict[str, Any] = {
        "item": "central filter",
        "name": "A. Person",
        "reason": "part on order",
        "decided_on": day("2031-08-25"),
        "until_date": day("2031-10-31"),
        **more,
    }
    return PutOff(**settings)


NOW = Now(today=day("2031-09-10"), tach_centihours=165_000)


def test_putting_off_is_a_decision_with_a_name() -> None:
    decision = put_off()
    check_put_off(FILTER, decision, NOW)
    (item,) = due_items([FILTER], [FITTED], NOW, put_off=[decision])
    assert item.due_date == day("2031-10-31") and item.state == "later"
    assert "Put off until 2031-10-31 by A. Person on 2031-08-25: part on order" in item.note
    assert "It was due at 1,700.0 h or 2031-08-31" in item.note


def test_what_was_put_off_comes_back_by_itself_and_work_makes_it_void() -> None:
    late = Now(today=day("2031-11-02"), tach_centihours=165_000)
    (item,) = due_items([FILTER], [FITTED], late, put_off=[put_off()])
    assert item.state == "overdue"
    renewed = Work(item="central filter", kind="fitted", date=day("2031-09-20"), tach_centihours=166_000)
    (item,) = due_items([FILTER], [FITTED, renewed], late, put_off=[put_off()])
    assert item.due_date == day("2032-09-30") and not item.note


@pytest.mark.parametrize(
    ("nature", "more", "found"),
    [
        ("regulation", {}, "by regulation"),
        ("directive", {}, "airworthiness directive"),
        ("type design", {}, "type design"),
        ("custom", {"name": " "}, "name ''"),
        ("custom", {"reason": ""}, "reason ''"),
        ("custom", {"until_date": day("2031-09-01")}, "2031-09-01"),
    ],
)
def test_what_may_not_be_put_off(nature: str, more: dict[str, Any], found: str) -> None:
    limit = Limit(item="central filter", nature=nature, source="a text", calendar_months=12)  # type: ignore[arg-type]
    with pytest.raises(InputError) as caught:
        check_put_off(limit, put_off(**more), NOW)
    assert found in caught.value.problems[0].found


def test_a_mandatory_limit_is_never_moved_by_a_decision_that_slipped_in() -> None:
    limit = Limit(item="central filter", nature="regulation", source="a text", calendar_months=12)
    (item,) = due_items([limit], [FITTED], NOW, put_off=[put_off()])
    assert item.due_date == day("2031-08-31") and item.state == "overdue" and item.mandatory


def test_a_mandatory_limit_names_its_text_and_every_limit_says_something() -> None:
    with pytest.raises(InputError, match="no source"):
        check_limit(Limit(item="x", nature="directive", source=" ", hours_centi=100))
    with pytest.raises(InputError, match="none of these"):
        check_limit(Limit(item="x", nature="own", source=""))
    with pytest.raises(InputError, match="above 0"):
        check_limit(Limit(item="x", nature="own", source="", hours_centi=0))
    check_limit(FILTER)


def test_hours_become_a_spread_of_dates_and_decide_what_comes_first() -> None:
    use = utilisation([], hours_a_year=195.0)
    now = Now(today=day("2031-03-14"), tach_centihours=168_000)
    (item,) = due_items([FILTER], [FITTED], now, dates_of_hours={"tach": dates_of_hours(use, now.today)})
    assert item.by == "hours"
    assert item.expected_from is not None and item.expected_to is not None
    # 20 h at 16.25 h a month is about five weeks off.
    assert day("2031-04-01") < item.expected_from < day("2031-04-25")
    assert day("2031-04-20") < item.expected_to < day("2031-07-10")
    slow = Now(today=day("2031-08-20"), tach_centihours=168_000)
    (item,) = due_items([FILTER], [FITTED], slow, dates_of_hours={"tach": dates_of_hours(use, slow.today)})
    assert item.by == "calendar"


def test_due_items_become_calendar_events_that_keep_their_name() -> None:
    use = utilisation([], hours_a_year=195.0)
    now = Now(today=day("2031-03-14"), tach_centihours=168_000)
    items = due_items([FILTER], [FITTED], now, dates_of_hours={"tach": dates_of_hours(use, now.today)})
    (event,) = due_events("the club aircraft", items, now.today)
    assert event.is_estimate and event.date == items[0].expected_from
    assert "By 1,700.0 h (tach), about April to" in event.description
    later = due_items([FILTER], [FITTED], Now(today=day("2031-10-01"), tach_centihours=168_500))
    (moved,) = due_events("the club aircraft", later, day("2031-10-01"))
    assert moved.uid == event.uid and moved.date == day("2031-10-01") and not moved.is_estimate


def reading(date: str, shown: float) -> MeterReading:
    return MeterReading(date=day(date), shown_centihours=round(shown * 100))


def test_a_replaced_meter_goes_on_with_the_total() -> None:
    history = MeterHistory(
        kind="tach",
        readings=(reading("2031-01-01", 2100.0), reading("2031-03-01", 12.5)),
        replacements=(MeterReplacement(date=day("2031-02-01"), old_centihours=211_050, new_centihours=0),),
    )
    check_meter(history)
    assert newest_total(history) == (day("2031-03-01"), 212_300)


@pytest.mark.parametrize(
    ("readings", "found"),
    [
        ((("2031-01-01", 2100.0), ("2031-03-01", 12.5)), "12.5 h"),
        ((("2031-01-01", 2100.0), ("2031-01-02", 2200.0)), "2,200.0 h"),
        ((("2031-01-01", -1.0),), "-1.0 h"),
    ],
)
def test_hours_that_cannot_be_are_refused(readings: tuple[tuple[str, float], ...], found: str) -> None:
    history = MeterHistory(kind="tach", readings=tuple(reading(d, h) for d, h in readings))
    with pytest.raises(InputError) as caught:
        check_meter(history)
    assert caught.value.problems[0].found == found
    assert "replaced meter" in caught.value.problems[0].next_step


def test_hours_read_as_people_write_them() -> None:
    assert text(340_250) == "3,402.5 h"
    assert text(340_255) == "3,402.55 h"
    assert text(-50) == "-0.5 h"
