"""What a person should know about a description that can be computed: not wrong, but worth a look.

Each remark has the four parts of a :class:`~vanewise.errors.Problem`, so that it can be shown in the same way.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from vanewise.aircraft.description import AircraftDescription, Fitted, Line, Part
from vanewise.aircraft.not_covered import NOT_COVERED
from vanewise.aircraft.places import place
from vanewise.errors import Problem
from vanewise.quantities import PA_PER_INHG, centihours_text, shown


def remarks(description: AircraftDescription) -> tuple[Problem, ...]:
    """Doubts and gaps, the weightiest first. None of them keeps the description from being solved."""
    return (
        *_duty_remarks(description),
        *_gauge_remarks(description),
        *_not_computed(description),
        *_plumbing_remarks(description),
        *_fitted_remarks(description),
    )


def _duty_remarks(description: AircraftDescription) -> Iterator[Problem]:
    if not description.duty_confirmed:
        yield Problem(
            where="duty_confirmed",
            expected="somebody to have looked whether the pump sucks or blows",
            found=f"{description.duty} duty, assumed",
            next_step="look before any scope is drawn up: in the other duty the dirt goes the other way. A filter can "
            "in the engine bay between pump and panel means blow; a big filter behind the panel means suck",
        )


def _gauge_remarks(description: AircraftDescription) -> Iterator[Problem]:
    gauge = description.gauge
    if "unknown" in (gauge.high, gauge.low):
        yield Problem(
            where="gauge.high",
            expected="the two points the gauge is connected across",
            found="unknown: both usual connections are computed",
            next_step="follow its two lines; the connection decides what the gauge can see",
        )
    setting = next((part.values.get("setting") for part in description.parts_of("regulator")), None)
    low, high = gauge.band_low, gauge.band_high
    if setting and low and high and not low.number <= setting.number <= high.number:
        yield Problem(
            where="gauge.band_low",
            expected=f"the regulator's setting within the gauge's band, {shown(low.number, 'pressure')} to "
            f"{shown(high.number, 'pressure')}",
            found=f"set to {shown(setting.number, 'pressure')}",
            next_step="look at the band and the setting in the aircraft's own manual",
        )


def _not_computed(description: AircraftDescription) -> Iterator[Problem]:
    for fitted in description.also_fitted:
        what, next_step = NOT_COVERED[fitted]
        yield Problem(
            where="also_fitted",
            expected="every user and source of this air in the computation",
            found=f"{what}, which is not computed yet: curves hold with it shut off, and a scope does not follow it",
            next_step=next_step,
        )


_SETTINGS_APART_PA: Final = 0.2 * PA_PER_INHG
"""Nearer than this nobody can tell two settings apart on a panel gauge (judgement)."""


def _set_points(description: AircraftDescription) -> Iterator[Problem]:
    """Two relief valves on one manifold are usual, one per pump; set apart, one pump does all the work."""
    settings = {
        part.label: part.values["setting"].number
        for part in description.parts_of("regulator")
        if "setting" in part.values
    }
    if settings and max(settings.values()) - min(settings.values()) > _SETTINGS_APART_PA:
        yield Problem(
            where="parts",
            expected="relief valves on one manifold set alike",
            found="; ".join(f"{label} at {shown(number, 'pressure')}" for label, number in settings.items()),
            next_step="set one at a time, the other pump off the line, by the aircraft's own manual: the pump behind "
            "the higher setting carries the gyros and wears first",
        )


def _plumbing_remarks(description: AircraftDescription) -> Iterator[Problem]:
    yield from _set_points(description)
    pumps = description.parts_of("pump")
    if len(pumps) > 1 and len(description.parts_of("check valve")) < len(pumps):
        yield Problem(
            where="parts",
            expected="a check valve for each of two pumps",
            found=f"{len(pumps)} pumps, {len(description.parts_of('check valve'))} check valves",
            next_step="look again: without one, a dead pump is a hole for the live one",
        )
    if len(description.parts_of("regulator")) > len(pumps):
        yield Problem(
            where="parts",
            expected="one regulator for a pump",
            found=f"{len(description.parts_of('regulator'))} regulators, {len(pumps)} pump",
            next_step="look again: two regulators on one pump work against each other, the lower setting wins",
        )
    if description.duty == "pressure" and not description.parts_of("inline filter"):
        yield Problem(
            where="parts",
            expected="an inline filter between pump and gyros",
            found="none",
            next_step="look again: in pressure duty it is the only wall between the pump's carbon and the gyros",
        )


def _fitted_remarks(description: AircraftDescription) -> Iterator[Problem]:
    owners: list[tuple[str, int, Part | Line]] = [("parts", i, part) for i, part in enumerate(description.parts)]
    owners += [("lines", i, line) for i, line in enumerate(description.lines)]
    for group, index, owner in owners:
        yield from _meter_remarks(place(group, index, "fitted", owner.id), owner.fitted, description)
        if isinstance(owner, Line) and owner.cured and owner.fitted.date and owner.cured > owner.fitted.date:
            yield Problem(
                where=place(group, index, "cured", owner.id),
                expected="a hose made before it was fitted",
                found=f"made {owner.cured}, fitted {owner.fitted.date}",
                next_step="read the date on the hose again",
            )


def _meter_remarks(where: str, fitted: Fitted, description: AircraftDescription) -> Iterator[Problem]:
    meters = description.meters
    pairs = (
        ("tach time", fitted.tach_centihours, meters.tach_centihours),
        ("hour meter", fitted.hour_meter_centihours, meters.hour_meter_centihours),
    )
    for meter, then, now in pairs:
        if then is not None and now is not None and then > now:
            yield Problem(
                where=where,
                expected=f"a {meter} not above the aircraft's, {centihours_text(now)}",
                found=centihours_text(then),
                next_step="look at both readings; if the meter was exchanged, say so in the record",
            )
