"""Results of one check at one place that cannot both be so: named, so that somebody looks again.

A repeat after work on that part is no contradiction, where dates say that the work lay between.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from itertools import combinations
from typing import TYPE_CHECKING, Final

from vanewise.diagnosis.check_errors import (
    COVER_SD_INHG,
    FLOW_RELATIVE_SD,
    FLOW_SD_CFM,
    disagree,
)
from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.parts_changed import may_differ_after
from vanewise.diagnosis.types import Event
from vanewise.quantities import M3S_PER_CFM, PA_PER_INHG

if TYPE_CHECKING:
    from vanewise.diagnosis.evidence import CheckItem

_GRIT: Final = "regulator_seat_dirty"
"""The mode by whose wander the rise of one leaking seat differs from one day to the next."""
_SAME_RPM: Final = 100.0
"""Cover tests further apart in engine speed [rpm] than this are two measurements (judgement)."""
_SAME_SUCTION: Final = 0.1
"""So are suction flows whose suctions differ by more than this share (judgement)."""

_GROWS_IN: Final = datetime.timedelta(days=30)
"""A graver outcome this long after a milder one is wear or dirt that grew, and contradicts nothing (judgement)."""


def disagreeing(checks: Sequence[CheckItem], events: Sequence[Event]) -> tuple[tuple[str, str], ...]:
    """Pairs of ids, each two results of one check at one place that cannot both be so; in order of id."""
    found = []
    for one, other in combinations(sorted(checks, key=lambda item: item.id), 2):
        same = (one.check, one.place) == (other.check, other.place)
        if same and _differ(one, other) and not _work_between(one, other, events):
            found.append((one.id, other.id))
    return tuple(found)


def _differ(one: CheckItem, other: CheckItem) -> bool:
    kind = CHECKS[one.check].kind
    if kind == "table":
        return one.outcome != other.outcome and not _grown_worse(one, other)
    if one.value is None or other.value is None:
        return False
    if kind == "cover test":
        same = abs(one.points[0].rpm - other.points[0].rpm) <= _SAME_RPM
        return same and _beyond(one, other, PA_PER_INHG, COVER_SD_INHG, MODES[_GRIT].wander)
    if one.suction is None or other.suction is None or one.suction.under != other.suction.under:
        return False
    gap = abs(one.suction.suction_pa - other.suction.suction_pa)
    same = gap <= _SAME_SUCTION * max(one.suction.suction_pa, other.suction.suction_pa)
    return same and _beyond(one, other, M3S_PER_CFM, FLOW_SD_CFM, FLOW_RELATIVE_SD)


def _grown_worse(one: CheckItem, other: CheckItem) -> bool:
    """Whether the later result is the graver, long enough after: wear and dirt only grow."""
    if one.when is None or other.when is None or CHECKS[one.check].by_source:
        return False
    first, last = sorted((one, other), key=lambda item: item.when or datetime.date.min)
    order = [outcome.id for outcome in CHECKS[one.check].outcomes]
    long_after = (last.when or datetime.date.min) - (first.when or datetime.date.min) >= _GROWS_IN
    return long_after and order.index(last.outcome) > order.index(first.outcome)


def _beyond(one: CheckItem, other: CheckItem, unit: float, sd: float, relative: float) -> bool:
    own = max(sd if item.sd is None else item.sd / unit for item in (one, other))
    return disagree((one.value or 0.0) / unit, (other.value or 0.0) / unit, own, relative)


def _work_between(one: CheckItem, other: CheckItem, events: Sequence[Event]) -> bool:
    if one.when is None or other.when is None or one.when == other.when:
        return False
    first, last = sorted((one.when, other.when))
    return any(
        event.when is not None and first <= event.when <= last and may_differ_after(event, one.check, one.place)
        for event in events
    )
