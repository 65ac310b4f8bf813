"""Figures worth following over time, each brought to one reference day so that like is compared with like.

Below the knee the regulator is shut, and the system is a pump of fixed displacement and openings. The pump moves mass
as its speed times ambient pressure over the temperature of the air it takes in; the openings pass mass as pressure over
the root of the temperature of the air in the cabin. So pressures there are a share of the ambient pressure, and that
share depends on the speed alone once it is brought to the reference temperatures. In suction duty the pump takes in
cabin air, in pressure duty air of the engine bay. Above the knee the regulator holds a difference, which needs no such
scaling.

Suction in Pa, positive (ambient less line); speeds in engine rpm.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import msgspec
import numpy as np

from vanewise.errors import InputError, Problem, wrong
from vanewise.groundrun.drift import rest_deg

REFERENCE_PRESSURE_PA = 101325.0
REFERENCE_TEMPERATURE_K = 288.15
FOLLOWED_RPM = 1000.0
NEAR_PLATEAU = 0.95
"""A reading above this share of the plateau lies above the knee."""


class SweepReading(msgspec.Struct, frozen=True, kw_only=True):
    """One point of a ground run: engine speed and gauge."""

    engine_rpm: float
    suction_pa: float


class RunConditions(msgspec.Struct, frozen=True, kw_only=True):
    """The day of a run. Temperatures that nobody wrote are taken at the reference, and the answer says so."""

    ambient_pa: float = REFERENCE_PRESSURE_PA
    cabin_k: float | None = None
    pump_air_k: float | None = None
    """Temperature of the air the pump takes in where that is not cabin air (pressure duty)."""


class SweepFigures(msgspec.Struct, frozen=True, kw_only=True):
    """What one sweep gives to follow; None where it does not reach that far."""

    at_1000_pa: float | None
    """Suction at 1,000 rpm, below the knee, on the reference day."""
    knee_rpm: float | None
    """Engine speed, on the reference day, at which the rising curve meets the plateau."""
    plateau_pa: float | None
    remarks: tuple[str, ...] = ()


def on_reference_day(reading: SweepReading, conditions: RunConditions) -> SweepReading:
    """A reading taken below the knee, as it would be on the reference day.

    Raises :class:`InputError` for ambient air that cannot be.
    """
    if not 20_000.0 <= conditions.ambient_pa <= 110_000.0:
        raise wrong("ambient pressure", "200 to 1,100 hPa", f"{conditions.ambient_pa:g} Pa", "give the field's own")
    cabin = REFERENCE_TEMPERATURE_K if conditions.cabin_k is None else conditions.cabin_k
    taken_in = cabin if conditions.pump_air_k is None else conditions.pump_air_k
    for place, kelvin in (("cabin temperature", cabin), ("temperature of the pump's air", taken_in)):
        if not 200.0 <= kelvin <= 400.0:
            raise wrong(place, "-70 to 125 C", f"{kelvin - 273.15:g} C", "give it with its unit")
    reference = REFERENCE_TEMPERATURE_K
    return SweepReading(
        engine_rpm=reading.engine_rpm * reference / taken_in * math.sqrt(cabin / reference),
        suction_pa=reading.suction_pa * REFERENCE_PRESSURE_PA / conditions.ambient_pa,
    )


def gauge_corrected(shown_pa: float, card: Sequence[tuple[float, float]]) -> float:
    """The true difference [Pa] for what a gauge shows, from its comparison card of (shown, true) pairs [Pa].

    Straight between the pairs, the nearest pair's error beyond them; without a card the shown value.
    """
    if not card:
        return shown_pa
    points = sorted(card)
    shown = np.array([p[0] for p in points])
    errors = np.array([true - s for s, true in points])
    return shown_pa + float(np.interp(shown_pa, shown, errors))


def sweep_figures(readings: Sequence[SweepReading], conditions: RunConditions) -> SweepFigures:
    """Figures of one sweep taken with rising speed. Raises :class:`InputError` for fewer than three points."""
    if len(readings) < 3:
        raise InputError(
            Problem(
                where="sweep",
                expected="at least three engine speeds",
                found=f"{len(readings)}",
                next_step="read the gauge at 1,000, 1,500 and 2,000 rpm at the least",
            )
        )
    points = sorted(readings, key=lambda r: r.engine_rpm)
    plateau = _plateau(points)
    remarks = [] if conditions.cabin_k is not None else ["Temperature not written: taken as 15 C."]
    below = [
        on_reference_day(r, conditions) for r in points if plateau is None or r.suction_pa < NEAR_PLATEAU * plateau
    ]
    if plateau is None:
        remarks.append("The reading still rises at the highest speed: no plateau, so no knee.")
    return SweepFigures(
        at_1000_pa=_at(below, FOLLOWED_RPM),
        knee_rpm=None if plateau is None else _reaches(below, plateau),
        plateau_pa=plateau,
        remarks=tuple(remarks),
    )


def _plateau(points: Sequence[SweepReading]) -> float | None:
    """Middle of the readings at the top that no longer rise by more than a share of the speed's own rise."""
    for count in range(len(points) - 1, 1, -1):
        top = points[-count:]
        rises = [
            (b.suction_pa - a.suction_pa) / max(a.suction_pa, 1.0) / ((b.engine_rpm - a.engine_rpm) / a.engine_rpm)
            for a, b in itertools.pairwise(top)
            if b.engine_rpm > a.engine_rpm
        ]
        if rises and max(rises) < 0.35:
            return float(np.median([r.suction_pa for r in top]))
    return None


def _at(below: Sequence[SweepReading], rpm: float) -> float | None:
    """Suction at a speed within, or just beside, the points below the knee."""
    if len(below) < 2:
        return None
    speeds = np.array([r.engine_rpm for r in below])
    suctions = np.array([r.suction_pa for r in below])
    if not speeds[0] * 0.97 <= rpm <= speeds[-1] * 1.10:
        return None
    if rpm > speeds[-1]:
        slope = (suctions[-1] - suctions[-2]) / max(speeds[-1] - speeds[-2], 1.0)
        return float(suctions[-1] + slope * (rpm - speeds[-1]))
    return float(np.interp(rpm, speeds, suctions))


def _reaches(below: Sequence[SweepReading], plateau: float) -> float | None:
    """Speed at which a line through the last two points below the knee reaches the plateau."""
    if len(below) < 2:
        return None
    a, b = below[-2], below[-1]
    if b.suction_pa <= a.suction_pa:
        return None
    return b.engine_rpm + (plateau - b.suction_pa) * (b.engine_rpm - a.engine_rpm) / (b.suction_pa - a.suction_pa)


def wander(readings_pa: Sequence[float]) -> float:
    """How far the needle moves [Pa] at one steady speed: greatest less least of several looks.

    A signal of its own: grit that moves on a regulator's seat shows here while each single reading looks good.
    """
    if len(readings_pa) < 2:
        raise wrong("needle wander", "at least two looks at one steady speed", len(readings_pa), "look again")
    return max(readings_pa) - min(readings_pa)


def altitude_sag(low_m: float, low_pa: float, high_m: float, high_pa: float) -> float:
    """Loss of suction [Pa] for each 1,000 m climbed, between two cruise readings at one engine speed.

    A signal of its own: a worn pump keeps the band at low altitude and runs out of capacity with height.
    Raises :class:`InputError` where the two lie less than 600 m apart: the gauge's own scatter would be all there is.
    """
    if high_m - low_m < 600.0:
        raise wrong("altitude sag", "two readings at least 600 m (2,000 ft) apart", f"{high_m - low_m:g} m", "climb")
    return (low_pa - high_pa) / (high_m - low_m) * 1000.0


def drift_rest(drift_deg: float, minutes: float, latitude_deg: float) -> float:
    """Heading drift [deg in 15 min] that is the instrument's own: the earth's share taken out."""
    if not minutes > 0.0:
        raise wrong("heading drift", "minutes above 0", minutes, "time it: 15 minutes is usual")
    return rest_deg(drift_deg, minutes, latitude_deg) * 15.0 / minutes
