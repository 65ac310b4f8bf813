"""From hours on the meter to effective hours: duty, speed, setting, altitude and dated events as wear rates.

Effective hours are the integral of the wear rate over the pump's hours; a rate of 1 is the reference condition
(suction duty, pump speed ratio 1.3, 5.0 inHg, 3,000 ft). A factor that never changed over the pump's life only moves
and widens the prior on its life. A factor that did change (a dated event, a change of duty) is integrated out on
Gauss-Hermite nodes, because the readings before and after the change tell about it.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Iterable, Sequence

import msgspec
import numpy as np

from vanewise.errors import wrong
from vanewise.provenance import Value
from vanewise.watch.arrays import Floats
from vanewise.watch.wear_priors import (
    REFERENCE_ALTITUDE_M,
    REFERENCE_SETTING_PA,
    REFERENCE_SPEED_RATIO,
    Duty,
    EventKind,
    WearPriors,
)

ALTITUDE_STEP_M = 3048.0
"""The altitude factor is per 10,000 ft."""
NODES_PER_FACTOR = 3
FACTORS_INTEGRATED = 2


class Conditions(msgspec.Struct, frozen=True, kw_only=True):
    """How a pump is driven. ``None`` means nothing out of the ordinary is known, and counts as the reference."""

    duty: Duty
    speed_ratio: float | None = None
    """Pump speed over engine speed."""
    setting_pa: float | None = None
    """Pressure difference the regulator holds [Pa]."""
    altitude_m: float | None = None
    """Usual altitude of flight [m]."""


class Span(msgspec.Struct, frozen=True, kw_only=True):
    """Conditions that held until ``until_hours`` since the pump was new, and then changed."""

    until_hours: float
    conditions: Conditions


class RateEvent(msgspec.Struct, frozen=True, kw_only=True):
    """Something that happened to the pump at ``hours`` since new and changed how fast it wears from then on."""

    hours: float
    kind: EventKind
    factor: Value | None = None
    """Own figure for the rate after over the rate before; else the prior of that kind."""
    note: str = ""


@dataclasses.dataclass(frozen=True, slots=True)
class Exposure:
    """Effective hours of one pump, on the nodes of what is not known about its rates.

    ``weights`` (J,), ``clock`` (J, K): effective hours at each of K asked hours, in units of ``life_unit_h``;
    ``rate_now`` (J,): effective hours per hour from now on; ``life_log_sd``: log spread of the pump's life.
    """

    weights: Floats
    clock: Floats
    rate_now: Floats
    life_unit_h: float
    life_log_sd: float
    remarks: tuple[str, ...]


@dataclasses.dataclass(frozen=True, slots=True)
class _Factor:
    """log rate += coefficient * exposure, the coefficient normal with ``mean`` and ``sd``; one exposure a segment."""

    name: str
    mean: float
    sd: float
    exposure: Floats

    @property
    def is_constant(self) -> bool:
        return bool(np.ptp(self.exposure) < 1e-12)


def _log_coefficient(value: Value) -> tuple[float, float]:
    return math.log(value.number), value.spread


def _factors(
    segments: Sequence[Conditions], starts: Floats, events: Iterable[RateEvent], priors: WearPriors
) -> list[_Factor]:
    """Every factor of the rate, with its exposure in each segment."""
    speed = [math.log((c.speed_ratio or REFERENCE_SPEED_RATIO) / REFERENCE_SPEED_RATIO) for c in segments]
    setting = [math.log((c.setting_pa or REFERENCE_SETTING_PA) / REFERENCE_SETTING_PA) for c in segments]
    altitude = [
        0.0 if c.altitude_m is None else (c.altitude_m - REFERENCE_ALTITUDE_M) / ALTITUDE_STEP_M for c in segments
    ]
    pressure = [float(c.duty == "pressure") for c in segments]
    factors = [
        _Factor("duty", *_log_coefficient(priors.pressure_duty_factor), np.array(pressure)),
        _Factor("speed", priors.speed_exponent.number, priors.speed_exponent.spread, np.array(speed)),
        _Factor("setting", priors.setting_exponent.number, priors.setting_exponent.spread, np.array(setting)),
        _Factor("altitude", *_log_coefficient(priors.altitude_factor), np.array(altitude)),
    ]
    for event in events:
        value = event.factor or priors.event_factor(event.kind)
        after = (starts >= event.hours - 1e-9).astype(float)
        factors.append(_Factor(event.kind, *_log_coefficient(value), after))
    return factors


def exposure(
    now: Conditions,
    earlier: Sequence[Span],
    events: Sequence[RateEvent],
    asked_hours: Floats,
    priors: WearPriors,
) -> Exposure:
    """Effective hours at each of ``asked_hours`` (K,), the last of which is now.

    Raises :class:`InputError` when spans or events do not lie in order within the pump's life.
    """
    hours_now = float(asked_hours[-1])
    _check_order(earlier, events, hours_now)
    # An event at the very hour of now changes what comes next, so the last segment always starts at now.
    cuts = sorted({0.0, *(s.until_hours for s in earlier), *(e.hours for e in events), hours_now})
    starts = np.array(cuts)
    segments = [next((s.conditions for s in earlier if start < s.until_hours - 1e-9), now) for start in cuts]
    factors = _factors(segments, starts, events, priors)

    constant = [f for f in factors if f.is_constant]
    varying = sorted((f for f in factors if not f.is_constant), key=lambda f: -f.sd * float(np.ptp(f.exposure)))
    integrated, plugged = varying[:FACTORS_INTEGRATED], varying[FACTORS_INTEGRATED:]
    life_unit = priors.median_life.number * math.exp(-sum(f.mean * float(f.exposure[0]) for f in constant))
    variance = priors.life_log_sd**2 + sum((f.sd * float(f.exposure[0])) ** 2 for f in constant)
    variance += sum((f.sd * float(np.max(np.abs(f.exposure)))) ** 2 for f in plugged)
    remarks = tuple(
        f"The {f.name} changed too; its mean rate was used and its spread went into the pump's life." for f in plugged
    )

    weights, log_rates = _nodes(integrated, plugged, len(cuts))
    rates = np.exp(log_rates)
    lengths = np.clip(asked_hours[:, None] - starts[None, :], 0.0, np.append(np.diff(starts), np.inf)[None, :])
    clock = (rates @ lengths.T) / life_unit
    return Exposure(weights, clock, rates[:, -1], life_unit, math.sqrt(variance), remarks)


def _nodes(integrated: Sequence[_Factor], plugged: Sequence[_Factor], segments: int) -> tuple[Floats, Floats]:
    """Weights (J,) and log rates (J, segments) of the factors that changed."""
    base = np.zeros(segments)
    for factor in plugged:
        base += factor.mean * factor.exposure
    x, w = np.polynomial.hermite_e.hermegauss(NODES_PER_FACTOR)
    w = w / w.sum()
    weights, rows = [], []
    for picks in itertools.product(range(NODES_PER_FACTOR), repeat=len(integrated)):
        weights.append(math.prod(float(w[i]) for i in picks))
        row = base.copy()
        for factor, pick in zip(integrated, picks, strict=True):
            row += (factor.mean + factor.sd * x[pick]) * factor.exposure
        rows.append(row)
    return np.array(weights), np.array(rows)


def _check_order(earlier: Sequence[Span], events: Sequence[RateEvent], hours_now: float) -> None:
    last = 0.0
    for index, span in enumerate(earlier):
        if not last < span.until_hours <= hours_now:
            raise wrong(
                f"earlier[{index}].until_hours",
                f"hours above {last:g} h and no more than the {hours_now:g} h of now",
                f"{span.until_hours:g} h",
                "put the spans in order of hours since the pump was new",
            )
        last = span.until_hours
    for index, event in enumerate(events):
        if not 0.0 <= event.hours <= hours_now:
            raise wrong(
                f"events[{index}].hours",
                f"hours between 0 and the {hours_now:g} h of now",
                f"{event.hours:g} h",
                "count the event's hours from when this pump was new",
            )
    for index, conditions in enumerate(s.conditions for s in earlier):
        for name in ("speed_ratio", "setting_pa"):
            value = getattr(conditions, name)
            if value is not None and not value > 0:
                raise wrong(f"earlier[{index}].{name}", "a number above 0", value, "correct it or leave it out")
