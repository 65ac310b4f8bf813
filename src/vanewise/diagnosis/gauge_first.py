"""Two gauges that disagree: the panel gauge is put right before anything it showed counts (common practice, no source).

A panel gauge that reads right over weak air, because it is wrong or because the regulator was set by it, hides every
fault of the supply. So where another gauge beside it says otherwise, the page says it first.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis.check_errors import BEYOND_ERRORS
from vanewise.diagnosis.evidence import PANEL, GaugeGroup, GaugeItem, Prepared

_SAME_SPEED: Final = 0.05
_SAME_AIR: Final = 0.03
"""Shares by which engine speed and air density may differ for two readings to be side by side (judgement)."""
_Read = tuple[GaugeGroup, GaugeItem]


def disagreements(description: AircraftDescription, prepared: Prepared) -> tuple[tuple[str, str], ...]:
    """Ids of readings of the panel gauge and of another gauge, across the same two points at the same engine speed and
    in the same air, that differ by more than three standard deviations."""
    return tuple(
        (one.id, other.id)
        for (ours, one), (theirs, other) in _pairs(description, prepared)
        if abs(one.value - other.value) > BEYOND_ERRORS * math.hypot(_sd(ours, one), _sd(theirs, other))
    )


def proved(description: AircraftDescription, prepared: Prepared) -> bool:
    """True when the panel gauge agreed with a test gauge, or with another gauge read beside it, and none disagreed."""
    compared = {item.outcome for item in prepared.checks if item.check == "test_gauge"}
    if "differs" in compared or disagreements(description, prepared):
        return False
    return "agrees" in compared or any(_pairs(description, prepared))


def _pairs(description: AircraftDescription, prepared: Prepared) -> Iterator[tuple[_Read, _Read]]:
    """Readings of the panel gauge and of another, side by side, each with its gauge."""
    own = [group for group in prepared.gauges if not group.sister]
    for ours in (group for group in own if group.instrument == PANEL):
        for theirs in (group for group in own if group.instrument != PANEL):
            for one, other in _side_by_side(description, ours, theirs):
                yield (ours, one), (theirs, other)


def _side_by_side(
    description: AircraftDescription, panel: GaugeGroup, other: GaugeGroup
) -> Iterator[tuple[GaugeItem, GaugeItem]]:
    across = {(None, None), (description.gauge.high, description.gauge.low)}
    for one in panel.items:
        for two in other.items:
            if (two.high, two.low) in across and not (one.point.before or two.point.before) and _same(one, two):
                yield one, two


def _same(one: GaugeItem, two: GaugeItem) -> bool:
    return (
        one.point.under == two.point.under
        and abs(one.point.rpm - two.point.rpm) <= _SAME_SPEED * one.point.rpm
        and abs(one.point.density - two.point.density) <= _SAME_AIR * one.point.density
    )


def _sd(group: GaugeGroup, item: GaugeItem) -> float:
    return math.hypot(group.bias_sd, group.scale_sd * item.value, item.read_sd)


def said(description: AircraftDescription, prepared: Prepared) -> list[str]:
    """The disagreement in words for the page, or nothing."""
    compared = {item.outcome for item in prepared.checks if item.check == "test_gauge"}
    apart = disagreements(description, prepared)
    if "differs" not in compared and not apart:
        return []
    values = {item.id: item.value for group in prepared.gauges for item in group.items}
    read = f" ({values[apart[0][0]]:.1f} and {values[apart[0][1]]:.1f} inHg)" if apart else ""
    words = (
        f"The panel gauge and another gauge beside it disagree{read}: put the panel gauge right first. Until then "
        "every reading of it is provisional, what it calls normal may be weak air, and the regulator stays as it is."
    )
    return [words]
