"""Laws of due points."""

from __future__ import annotations

import datetime

from hypothesis import given
from hypothesis import strategies as st

from vanewise.watch.calendar_rules import last_day, months_later
from vanewise.watch.due import Now, due_items, due_point
from vanewise.watch.meters import MeterHistory, MeterReplacement, total
from vanewise.watch.types import Limit, Work

days = st.dates(datetime.date(1990, 1, 1), datetime.date(2060, 12, 31))


@st.composite
def limits(draw: st.DrawFn) -> Limit:
    hours = draw(st.none() | st.integers(100, 200_000))
    months = draw(st.none() | st.integers(1, 120))
    if hours is None and months is None:
        months = 12
    return Limit(
        item="it",
        nature=draw(st.sampled_from(["regulation", "maker", "custom", "own"])),
        source="a text",
        hours_centi=hours,
        calendar_months=months,
        calendar_days=draw(st.none() | st.integers(10, 4000)),
        calendar_rule=draw(st.sampled_from(["end of month", "same day"])),
        late=draw(st.sampled_from(["from done", "excess counts", "window"])),
        window_centihours=draw(st.integers(0, 2000)),
        window_days=draw(st.integers(0, 60)),
    )


@st.composite
def works(draw: st.DrawFn) -> list[Work]:
    day, hours = draw(days), draw(st.integers(0, 500_000))
    out = []
    for _ in range(draw(st.integers(1, 5))):
        out.append(Work(item="it", kind="done", date=day, tach_centihours=hours))
        day += datetime.timedelta(days=draw(st.integers(0, 800)))
        hours += draw(st.integers(0, 60_000))
    return out


_LONGEST_MONTH = 31


@given(limits(), works())
def test_work_done_never_makes_anything_due_earlier(limit: Limit, history: list[Work]) -> None:
    """Under a window by no more than that window: work inside it keeps the cycle, as if done at the due point, and more
    work right after, outside the next one, starts afresh at the work (Army TM 1-1500-328-23 has both: done inside
    1604.4 to 1614.4 next at 1684.4; done early at 1299.9 next at 1349.9)."""
    in_window = limit.late == "window"
    hours = limit.window_centihours if in_window else 0
    days = limit.window_days + _LONGEST_MONTH if in_window and limit.window_days else 0
    for count in range(1, len(history)):
        before, after = due_point(limit, history[:count]), due_point(limit, history[: count + 1])
        if before.centihours is not None and after.centihours is not None:
            assert after.centihours >= before.centihours - hours
        if before.date is not None and after.date is not None:
            assert after.date >= before.date - datetime.timedelta(days=days)


@given(limits(), works())
def test_late_work_wins_no_hours_where_the_excess_counts(limit: Limit, history: list[Work]) -> None:
    """With 'excess counts' n late intervals end no later than n intervals from the start."""
    if limit.late != "excess counts" or limit.hours_centi is None:
        return
    first = history[0].tach_centihours
    assert first is not None
    due = due_point(limit, history).centihours
    last = history[-1].tach_centihours
    assert due is not None and last is not None
    assert due <= max(first + len(history) * limit.hours_centi, last + limit.hours_centi)
    assert (due - first) % 1 == 0 and isinstance(due, int)


@given(limits(), works(), days, st.integers(0, 900_000))
def test_the_list_always_says_what_when_and_why(
    limit: Limit, history: list[Work], today: datetime.date, h: int
) -> None:
    (item,) = due_items([limit], history, Now(today=today, tach_centihours=h))
    assert item.left and item.why and item.item == "it"
    assert item.mandatory == (limit.nature == "regulation")
    over_hours = item.due_centihours is not None and h > item.due_centihours
    over_date = item.due_date is not None and today > item.due_date
    assert (item.state == "overdue") == (over_hours or over_date)


@given(limits(), works(), days, st.integers(0, 900_000), st.randoms(use_true_random=False))
def test_the_order_of_entry_does_not_matter(
    limit: Limit, history: list[Work], today: datetime.date, h: int, random: object
) -> None:
    shuffled = list(history)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    now = Now(today=today, tach_centihours=h)
    assert due_items([limit], history, now) == due_items([limit], shuffled, now)


@given(days, st.integers(0, 240), st.sampled_from(["end of month", "same day"]))
def test_calendar_months_are_whole_and_never_skip_a_month(date: datetime.date, months: int, rule: str) -> None:
    end = months_later(date, months, rule)  # type: ignore[arg-type]
    assert (end.year - date.year) * 12 + end.month - date.month == months
    assert end <= last_day(end)
    assert months_later(date, months + 1, rule) > end  # type: ignore[arg-type]


@given(st.integers(0, 500_000), st.integers(0, 500_000), st.integers(0, 100_000), days)
def test_a_replaced_meter_does_not_change_the_total(old: int, new: int, more: int, day: datetime.date) -> None:
    before = MeterHistory(kind="tach")
    after = MeterHistory(
        kind="tach", replacements=(MeterReplacement(date=day, old_centihours=old, new_centihours=new),)
    )
    assert total(after, new + more, day) == total(before, old, day) + more
