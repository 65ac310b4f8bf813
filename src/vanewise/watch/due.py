"""What next, by when, why: the one place where due points are worked out.

Integer hundredths of an hour and dates only. Whichever comes first is due; both clocks stay visible. A limit says what
starts its count and what late or early work does to the next one; nothing else in the tool computes a due point.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Literal

import msgspec

from vanewise.errors import InputError, Problem
from vanewise.watch.calendar_rules import months_later
from vanewise.watch.meters import text
from vanewise.watch.types import DueItem, DueState, Limit, MeterKind, PutOff, Work

TITLE = "What next, by when, why"

_STARTS: Mapping[str, tuple[str, ...]] = {
    "done": ("done", "fitted", "overhauled"),
    "fitted": ("fitted",),
    "overhauled": ("overhauled", "fitted"),
    "manufactured": ("manufactured",),
}
_URGENCY: Mapping[DueState, int] = {"overdue": 0, "due": 1, "soon": 2, "unknown": 3, "later": 4, "condition": 5}

By = Literal["hours", "calendar", "condition", "cycles"]
DatesOfHours = Callable[[int], tuple[datetime.date, datetime.date, datetime.date]]
"""From hundredths of an hour left to an early, a middle and a late date."""


class Now(msgspec.Struct, frozen=True, kw_only=True):
    """Where the aircraft stands: the day, and its totals in hundredths of an hour."""

    today: datetime.date
    tach_centihours: int | None = None
    hour_meter_centihours: int | None = None
    cycles: int | None = None

    def total(self, meter: MeterKind) -> int | None:
        return self.tach_centihours if meter == "tach" else self.hour_meter_centihours


class DuePoint(msgspec.Struct, frozen=True, kw_only=True):
    """Where a limit falls due by each clock that it has; None where a clock is not limited or not known."""

    centihours: int | None = None
    date: datetime.date | None = None
    cycles: int | None = None
    counted_from: Work | None = None
    missing: tuple[str, ...] = ()
    """Clocks that are limited but whose start nobody entered."""


def next_hours(limit: Limit, done: int, due: int | None) -> int:
    """Hours at which the next interval ends, when work due at ``due`` (None for the first) was done at ``done``."""
    interval = limit.hours_centi
    assert interval is not None
    return _start(limit, done, due, limit.window_centihours) + interval


def _start(limit: Limit, done: int, due: int | None, window: int) -> int:
    """Where the next interval starts. Early work starts it at the work, late work as the limit's own rule says."""
    if due is None or limit.late == "from done":
        return done
    if limit.late == "window" and done < due - window:
        return done
    if limit.late == "excess counts" and done <= due:
        return done
    return due


def next_date(limit: Limit, done: datetime.date, due: datetime.date | None) -> datetime.date | None:
    """Day on which the next interval ends, when work due on ``due`` (None for the first) was done on ``done``."""
    start = done
    if due is not None and limit.late == "window" and abs((done - due).days) <= limit.window_days:
        start = due
    ends = []
    if limit.calendar_months is not None:
        ends.append(months_later(start, limit.calendar_months, limit.calendar_rule))
    if limit.calendar_days is not None:
        ends.append(start + datetime.timedelta(days=limit.calendar_days))
    return min(ends, default=None)


def due_point(limit: Limit, history: Iterable[Work]) -> DuePoint:
    """Where ``limit`` falls due after all the work of its item, in order of date and hours."""
    starts = [w for w in history if w.item == limit.item and w.kind in _STARTS[limit.counted_from]]
    starts.sort(key=lambda w: (w.date or datetime.date.min, _hours(w, limit.meter) or 0))
    point = DuePoint(missing=_clocks(limit))
    for number, work in enumerate(starts):
        point = _after(limit, work, point, is_first=number == 0)
    return point


def _after(limit: Limit, work: Work, before: DuePoint, is_first: bool) -> DuePoint:
    """The due point after one more piece of work. A new or overhauled part starts afresh, whatever was due."""
    afresh = is_first or (work.kind in ("fitted", "overhauled", "manufactured"))
    hours, date = _hours(work, limit.meter), work.date
    missing = []
    centihours = due_date = cycles = None
    if limit.hours_centi is not None:
        if hours is None:
            missing.append("hours")
        elif afresh and limit.first_hours_centi is not None:
            centihours = hours + limit.first_hours_centi
        else:
            centihours = next_hours(limit, hours, None if afresh else before.centihours)
    if limit.calendar_months is not None or limit.calendar_days is not None:
        if date is None:
            missing.append("date")
        else:
            due_date = next_date(limit, date, None if afresh else before.date)
    if limit.cycles is not None:
        if work.cycles is None:
            missing.append("cycles")
        else:
            cycles = work.cycles + limit.cycles
    return DuePoint(centihours=centihours, date=due_date, cycles=cycles, counted_from=work, missing=tuple(missing))


def _hours(work: Work, meter: MeterKind) -> int | None:
    return work.tach_centihours if meter == "tach" else work.hour_meter_centihours


def _clocks(limit: Limit) -> tuple[str, ...]:
    out = []
    if limit.hours_centi is not None:
        out.append("hours")
    if limit.calendar_months is not None or limit.calendar_days is not None:
        out.append("date")
    if limit.cycles is not None:
        out.append("cycles")
    return tuple(out)


def due_items(
    limits: Sequence[Limit],
    history: Sequence[Work],
    now: Now,
    *,
    put_off: Sequence[PutOff] = (),
    dates_of_hours: Mapping[MeterKind, DatesOfHours] | None = None,
) -> tuple[DueItem, ...]:
    """The list 'What next, by when, why', most urgent first.

    ``dates_of_hours`` turns hours left into dates, by meter (see :mod:`vanewise.watch.utilisation`); with it hours and
    dates stand in one order, by the day on which each may fall due. Without it what is limited by dates comes first,
    then what is limited by hours alone, fewest left first.
    """
    points = due_points(limits, history)
    return items_at(tuple(zip(limits, points, strict=True)), now, put_off=put_off, dates_of_hours=dates_of_hours)


def due_points(limits: Sequence[Limit], history: Sequence[Work]) -> tuple[DuePoint, ...]:
    """Where each limit falls due: what does not change from day to day, only with new work."""
    by_item: dict[str, list[Work]] = {}
    for work in history:
        by_item.setdefault(work.item, []).append(work)
    return tuple(due_point(limit, by_item.get(limit.item, ())) for limit in limits)


def items_at(
    points: Sequence[tuple[Limit, DuePoint]],
    now: Now,
    *,
    put_off: Sequence[PutOff] = (),
    dates_of_hours: Mapping[MeterKind, DatesOfHours] | None = None,
) -> tuple[DueItem, ...]:
    """The list as :func:`due_items` gives it, from due points that were worked out before."""
    items = [_item(limit, point, now, put_off, dates_of_hours or {}) for limit, point in points]
    return in_order(items, now, by_day=bool(dates_of_hours))


def in_order(items: Iterable[DueItem], now: Now, *, by_day: bool) -> tuple[DueItem, ...]:
    """Due items, most urgent first. ``by_day``: hours have days too, so what is ahead stands by its day alone."""

    def order(item: DueItem) -> tuple[int, datetime.date, int, str]:
        rank = _URGENCY["later" if by_day and item.state == "soon" else item.state]
        return rank, _when(item, now), _hours_left(item, now), item.item

    return tuple(sorted(items, key=order))


def _when(item: DueItem, now: Now) -> datetime.date:
    dates = [d for d in (item.due_date, item.expected_from) if d is not None]
    return min(dates, default=datetime.date.max if item.state != "overdue" else now.today)


def _hours_left(item: DueItem, now: Now) -> int:
    total = now.total(item.meter)
    return 10**9 if item.due_centihours is None or total is None else item.due_centihours - total


def when_words(item: DueItem) -> str:
    """By when, in words: ``by 612 h (tach), about March to June 2031; or by 2031-06-30``. Empty where no clock says."""
    from vanewise.watch.utilisation import span_words

    parts = []
    if item.due_centihours is not None:
        about = ""
        if item.state not in ("overdue", "due") and item.expected_from is not None and item.expected_to is not None:
            about = f", {span_words(item.expected_from, item.expected_to)}"
        parts.append(f"by {text(item.due_centihours)} ({item.meter}){about}")
    if item.due_date is not None:
        parts.append(f"by {item.due_date.day} {item.due_date:%B %Y}")
    if item.due_cycles is not None:
        parts.append(f"by {item.due_cycles:,} cycles")
    return "; or ".join(parts)


def _item(
    limit: Limit,
    point: DuePoint,
    now: Now,
    decisions: Sequence[PutOff],
    dates_of_hours: Mapping[MeterKind, DatesOfHours],
) -> DueItem:
    limited = point
    decision = _decision(limit, point, decisions)
    if decision is not None:
        point = msgspec.structs.replace(point, centihours=decision.until_centihours, date=decision.until_date)
    clocks = _clocks_now(limit, point, now, dates_of_hours)
    unread = len(limited.missing) + sum(
        due is not None and name not in clocks for name, due in (("hours", point.centihours), ("cycles", point.cycles))
    )
    by, state = _first(limit, clocks, unread)
    hours = clocks.get("hours")
    return DueItem(
        item=limit.item,
        due_centihours=point.centihours,
        due_date=point.date,
        due_cycles=point.cycles,
        by=by,
        why=_why(limit, limited),
        nature=limit.nature,
        mandatory=limit.is_mandatory,
        left=_left(clocks) or ("on condition" if state == "condition" else "not known"),
        state=state,
        source=limit.source,
        meter=limit.meter,
        expected_from=hours.early if hours else None,
        expected_to=hours.late if hours else None,
        note=_note(limit, limited, now, decision),
    )


class _Clock(msgspec.Struct, frozen=True, kw_only=True):
    """One clock of one limit now: what is left in its unit, in words, as a share of its interval, and by which day."""

    by: By
    left: int
    words: str
    share: float
    state: DueState
    early: datetime.date | None = None
    late: datetime.date | None = None


def _clocks_now(
    limit: Limit, point: DuePoint, now: Now, dates_of_hours: Mapping[MeterKind, DatesOfHours]
) -> dict[str, _Clock]:
    """The clocks that can be read now, by name."""
    out: dict[str, _Clock] = {}
    total = now.total(limit.meter)
    if point.centihours is not None and total is not None:
        left = point.centihours - total
        dates = dates_of_hours[limit.meter](max(left, 0)) if limit.meter in dates_of_hours else None
        out["hours"] = _Clock(
            by="hours",
            left=left,
            words=text(left) if left >= 0 else f"{text(-left)} over",
            share=left / max(limit.hours_centi or left, 1),
            state=_state(left, limit.soon_centihours),
            early=dates[0] if dates else None,
            late=dates[2] if dates else None,
        )
    if point.date is not None:
        left = (point.date - now.today).days
        out["calendar"] = _Clock(
            by="calendar",
            left=left,
            words=_days(left) if left >= 0 else f"{_days(-left)} over",
            share=left / ((limit.calendar_months or 0) * 30 or limit.calendar_days or max(left, 1)),
            state=_state(left, limit.soon_days),
            early=point.date,
            late=point.date,
        )
    if point.cycles is not None and now.cycles is not None:
        left = point.cycles - now.cycles
        out["cycles"] = _Clock(
            by="cycles",
            left=left,
            words=f"{left} cycles" if left >= 0 else f"{-left} cycles over",
            share=left / max(limit.cycles or 1, 1),
            state=_state(left, max((limit.cycles or 0) // 10, 1)),
        )
    return out


def _days(days: int) -> str:
    return "1 day" if days == 1 else f"{days} days"


def _state(left: int, soon: int) -> DueState:
    if left < 0:
        return "overdue"
    if left == 0:
        return "due"
    return "soon" if left <= soon else "later"


def _first(limit: Limit, clocks: Mapping[str, _Clock], unread: int) -> tuple[By, DueState]:
    """Which clock comes first, and its state: the most urgent, then the earlier day, then the smaller share."""
    limited = _clocks(limit)
    if not clocks:
        if not limited:
            return "condition", "condition"
        return ("hours" if "hours" in limited else "calendar" if "date" in limited else "cycles"), "unknown"

    def order(clock: _Clock) -> tuple[int, datetime.date, float]:
        dated = all(other.early is not None for other in clocks.values())
        day = clock.early if dated and clock.early is not None else datetime.date.max
        return (_URGENCY[clock.state], day, clock.share)

    first = min(clocks.values(), key=order)
    # A clock that runs but cannot be read may hide an earlier due point, so nothing better than 'unknown' is claimed.
    if unread and first.state == "later":
        return first.by, "unknown"
    return first.by, first.state


def _left(clocks: Mapping[str, _Clock]) -> str:
    return " or ".join(clock.words for clock in clocks.values())


def _why(limit: Limit, point: DuePoint) -> str:
    """The limit in words: interval, what it counts from, and whose word it is."""
    parts = []
    if limit.hours_centi is not None:
        parts.append(f"every {text(limit.hours_centi)} ({limit.meter})")
    if limit.calendar_months is not None:
        end = ", to the end of the month" if limit.calendar_rule == "end of month" else ""
        parts.append(f"every {limit.calendar_months} calendar months{end}")
    if limit.calendar_days is not None:
        parts.append(f"every {_days(limit.calendar_days)}")
    if limit.cycles is not None:
        parts.append(f"every {limit.cycles} cycles")
    clocks = " or ".join(parts) + (", whichever comes first" if len(parts) > 1 else "")
    words = [clocks] if clocks else []
    if limit.condition:
        words.append(f"on condition: {limit.condition}")
    work = point.counted_from
    if work is not None:
        at = [str(work.date)] if work.date else []
        hours = _hours(work, limit.meter)
        at += [f"at {text(hours)}"] if hours is not None else []
        words.append(f"last {work.kind} {' '.join(at) or 'on an unknown day'}")
    elif _clocks(limit):
        words.append(f"no record of when it was last {limit.counted_from}: enter it")
    if work is not None and point.missing:
        words.append(f"{' and '.join(point.missing)} of that not written: enter it")
    words.append(_nature_words(limit))
    if limit.why:
        words.append(limit.why)
    return "; ".join(words)


def _nature_words(limit: Limit) -> str:
    names = {
        "regulation": "by regulation",
        "directive": "by airworthiness directive",
        "type design": "a limit of the type design",
        "maker": "as its maker recommends",
        "custom": "common practice",
        "own": "own limit",
    }
    return f"{names[limit.nature]} ({limit.source})" if limit.source else names[limit.nature]


def _note(limit: Limit, point: DuePoint, now: Now, decision: PutOff | None) -> str:
    if decision is not None:
        until = [text(decision.until_centihours)] if decision.until_centihours is not None else []
        until += [str(decision.until_date)] if decision.until_date is not None else []
        was = [text(point.centihours)] if point.centihours is not None else []
        was += [str(point.date)] if point.date is not None else []
        return (
            f"Put off until {' or '.join(until)} by {decision.name} on {decision.decided_on}: {decision.reason}. "
            f"It was due at {' or '.join(was)}."
        )
    total = now.total(limit.meter)
    overrun = limit.overrun
    if overrun is None or point.centihours is None or total is None:
        return ""
    over = total - point.centihours
    if over > overrun.centihours:
        return f"More than the {text(overrun.centihours)} that may be exceeded ({overrun.source})."
    return (
        f"May be exceeded by up to {text(overrun.centihours)}, only {overrun.when}; "
        f"the excess counts in the next interval ({overrun.source})."
    )


def _decision(limit: Limit, point: DuePoint, decisions: Sequence[PutOff]) -> PutOff | None:
    """The newest decision that puts this very due point off; work done since has made older ones void."""
    fitting = [
        d
        for d in decisions
        if d.item == limit.item
        and not limit.is_mandatory
        and (point.counted_from is None or point.counted_from.date is None or d.decided_on >= point.counted_from.date)
    ]
    return max(fitting, key=lambda d: d.decided_on, default=None)


def check_put_off(limit: Limit, decision: PutOff, now: Now) -> None:
    """Raise :class:`InputError` unless ``decision`` may put this limit off: a name, a reason, a point ahead.

    A regulation, a directive or a limit of the type design is not put off here: only its own text can allow more.
    """
    problems = []
    if limit.is_mandatory:
        problems.append(
            Problem(
                where=f"putting off {limit.item}",
                expected="an item that its owner may put off",
                found=f"a limit {_nature_words(limit)}",
                next_step="do the work, or ask the authority; no entry here makes it later",
            )
        )
    if not decision.name.strip() or not decision.reason.strip():
        problems.append(
            Problem(
                where=f"putting off {limit.item}",
                expected="the name of the person who decides and the reason",
                found=f"name '{decision.name.strip()}', reason '{decision.reason.strip()}'",
                next_step="write both: putting something off is a decision and goes into the record",
            )
        )
    total = now.total(limit.meter)
    ahead_h = decision.until_centihours is not None and (total is None or decision.until_centihours > total)
    ahead_d = decision.until_date is not None and decision.until_date > now.today
    if not (ahead_h or ahead_d):
        problems.append(
            Problem(
                where=f"putting off {limit.item}",
                expected="hours or a day still ahead, until which it is put off",
                found=f"{decision.until_date or 'no day'}, "
                + (text(decision.until_centihours) if decision.until_centihours is not None else "no hours"),
                next_step="say until when; it comes back on the list by itself",
            )
        )
    if problems:
        raise InputError(problems)


def check_limit(limit: Limit) -> None:
    """Raise :class:`InputError` for a limit that says nothing, or claims to be mandatory without naming its text."""
    problems = []
    if not limit.item.strip() or not (_clocks(limit) or limit.condition.strip()):
        problems.append(
            Problem(
                where=f"limit on {limit.item or 'an item without a name'}",
                expected="an item, and hours, calendar months, days, cycles or a condition",
                found="none of these",
                next_step="write what the source of the limit says",
            )
        )
    for name in ("hours_centi", "calendar_months", "calendar_days", "cycles", "first_hours_centi"):
        value = getattr(limit, name)
        if value is not None and value <= 0:
            problems.append(
                Problem(
                    where=f"limit on {limit.item}, {name}",
                    expected="a whole number above 0",
                    found=str(value),
                    next_step="correct it or leave it out",
                )
            )
    if limit.is_mandatory and not limit.source.strip():
        problems.append(
            Problem(
                where=f"limit on {limit.item}",
                expected=f"the text that makes it a {limit.nature}",
                found="no source",
                next_step="name the rule, directive or document and its date, or call it maker, custom or own",
            )
        )
    if problems:
        raise InputError(problems)
