"""The quick reading at run-up: what is doubtful about it, before it is kept.

A doubt is no refusal: the four parts say what looks wrong, and the person either corrects it or says that it is right
as written. What cannot be (hours that run backwards) is refused elsewhere.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator

import msgspec

from vanewise.errors import Problem
from vanewise.quantities import PA_PER_INHG
from vanewise.watch.meters import text

LONG_GAP_H = 50.0
LONG_GAP_DAYS = 120
"""Without any reading for so long, a change in between has no date: judgement."""
WRONG_METER_H = 15.0
"""A figure this near to the other meter's last one is probably that meter's: judgement."""
PER_DAY_H = 4.0
"""More than this on every single day since the last reading is doubted: judgement."""
ODD_CHANGE_PA = 1.5 * PA_PER_INHG
MOST_PA = 12.0 * PA_PER_INHG


class LastTime(msgspec.Struct, frozen=True, kw_only=True):
    """What was known before: the newest day and total of each meter, and the gauge at the same speed."""

    date: datetime.date | None = None
    tach_centihours: int | None = None
    hour_meter_centihours: int | None = None
    gauge_pa: float | None = None
    read_on: datetime.date | None = None
    """Day of the newest reading of the gauge or the lamp."""
    read_at_centihours: int | None = None


class ThisTime(msgspec.Struct, frozen=True, kw_only=True):
    """What is being entered: day, meters as totals, gauge."""

    date: datetime.date
    tach_centihours: int | None = None
    hour_meter_centihours: int | None = None
    gauge_pa: float | None = None


def doubts(this: ThisTime, last: LastTime) -> tuple[Problem, ...]:
    """What looks wrong about a reading at run-up, in four parts each."""
    return (*_meters(this, last), *_gauge(this, last), *_gap(this, last))


def _meters(this: ThisTime, last: LastTime) -> Iterator[Problem]:
    pairs = (
        ("tach", this.tach_centihours, last.tach_centihours, "hour meter", last.hour_meter_centihours),
        ("hour_meter", this.hour_meter_centihours, last.hour_meter_centihours, "tach", last.tach_centihours),
    )
    for where, now, before, other, other_before in pairs:
        if now is None or before is None:
            continue
        jump = now - before
        near_other = other_before is not None and 0 <= now - other_before <= WRONG_METER_H * 100
        if near_other and abs(jump) > WRONG_METER_H * 100:
            yield Problem(
                where=where,
                expected=f"a little more than {text(before)}, as it showed last",
                found=f"{text(now)}, which is about what the {other} showed",
                next_step=f"look which meter that is: it may be the {other}",
            )
            continue
        days = max((this.date - last.date).days, 1) if last.date else None
        if days is not None and jump > PER_DAY_H * 100 * days + 1000:
            yield Problem(
                where=where,
                expected=f"not much more than {text(before)}, as it showed {_ago(days)}",
                found=f"{text(now)}: {text(jump)} more",
                next_step="look for a slipped digit or the other meter; enter a replaced meter as one",
            )


def _ago(days: int) -> str:
    return "a day ago" if days == 1 else f"{days} days ago"


def _gauge(this: ThisTime, last: LastTime) -> Iterator[Problem]:
    if this.gauge_pa is None:
        return
    shown = f"{this.gauge_pa / PA_PER_INHG:.1f} inHg"
    if not 0.0 <= this.gauge_pa <= MOST_PA:
        yield Problem(
            where="gauge",
            expected=f"0 to {MOST_PA / PA_PER_INHG:.0f} inHg",
            found=shown,
            next_step="look for a slipped point or another unit",
        )
    elif last.gauge_pa is not None and abs(this.gauge_pa - last.gauge_pa) > ODD_CHANGE_PA:
        yield Problem(
            where="gauge",
            expected=f"something like the {last.gauge_pa / PA_PER_INHG:.1f} inHg of last time, at the same speed",
            found=shown,
            next_step="look at the gauge again; if it is right, write a report: something has changed",
        )


def _gap(this: ThisTime, last: LastTime) -> Iterator[Problem]:
    if last.read_on is None:
        return
    days = (this.date - last.read_on).days
    hours = None
    if this.tach_centihours is not None and last.read_at_centihours is not None:
        hours = this.tach_centihours - last.read_at_centihours
    if days > LONG_GAP_DAYS or (hours is not None and hours > LONG_GAP_H * 100):
        gap = f"{days} days" + (f" and {text(hours)}" if hours is not None else "")
        yield Problem(
            where="readings since last time",
            expected=f"a reading at least every {LONG_GAP_H:.0f} h, or every {LONG_GAP_DAYS} days",
            found=f"none for {gap}, since {last.read_on}",
            next_step="enter what was written on paper meanwhile, or say that there is nothing more",
        )
