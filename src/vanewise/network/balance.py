"""Does the air add up? Every junction's mass balance, worked out again from the pressures alone.

The two solvers share their laws' form, so neither can vouch for the other's laws. Here the laws are written once more,
one branch at a time, from their description in ``elements`` (the table of geometry by law) and from their sources:
ISO 6358 for passages, Colebrook with the isothermal flow equation for lines, a quadratic head for filters. Nothing is
imported from the solvers. It costs far more than a solution's own residual and is meant for checks and studies.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

import numpy as np

from vanewise.network.elements import GAS_R, NOZZLE_K, Law
from vanewise.network.law_constants import ACCELERATION_KARMAN
from vanewise.network.packed import GMIN, PackedNetwork, overrides, zone_temperatures
from vanewise.network.types import BatchCases, Floats
from vanewise.values import air_lines, iso_6358
from vanewise.values import standard_atmosphere_1976 as usa76

Place = Callable[[int], Floats]
"""Gives the geometry number of one branch at a place, (n,) or one for all."""


def mass_imbalance(packed: PackedNetwork, batch: BatchCases, pressure_pa: Floats, delivery_k: Floats) -> Floats:
    """What leaves each free junction minus what enters it [kg/s], (n, free), at pressures [Pa] (n, junctions).

    ``delivery_k`` (n,) is the temperature of the air at the pump's outlet [K].

    NaN where the pressures are (a scenario that was not solved). Valid wherever the laws are: absolute pressures above
    zero, temperatures of the standard's viscosity formula. Raises InputError for an unknown column.
    """
    branch, place, values = overrides(packed, batch.columns, batch.values)
    changed = {(int(b), int(q)): values[:, i] for i, (b, q) in enumerate(zip(branch, place, strict=True))}
    zones = zone_temperatures(batch, delivery_k)
    out = np.zeros((batch.count, len(packed.junction_names)))
    out[:, : packed.free] = GMIN * (pressure_pa[:, : packed.free] - batch.ambient_pa[:, None])
    for k in range(packed.branches):
        a, b = int(packed.branch_a[k]), int(packed.branch_b[k])
        flow = _flow(
            Law(int(packed.law[k])),
            partial(_number, packed, changed, k),
            zones[:, packed.zone[k]],
            np.ones(batch.count) if k in packed.own_speed else batch.engine_rpm,
            pressure_pa[:, a],
            pressure_pa[:, b],
        )
        if packed.sensing is not None and k == packed.sensing.branch:
            # It opens by the difference it senses, wherever that is, not by the one across its own passage.
            pull = pressure_pa[:, packed.sensing.high] - pressure_pa[:, packed.sensing.low]
            start, band = (_number(packed, changed, k, place) for place in (4, 5))
            flow = flow * np.clip((pull - start) / band, 0.0, 1.0)
        out[:, a] += flow
        out[:, b] -= flow
    return out[:, : packed.free]


def _number(packed: PackedNetwork, changed: Mapping[tuple[int, int], Floats], branch: int, place: int) -> Floats:
    return changed.get((branch, place), packed.geometry[branch, place])


def _flow(law: Law, number: Place, temperature: Floats, rpm: Floats, pa: Floats, pb: Floats) -> Floats:
    """Mass flow [kg/s] of one branch from its start to its end."""
    if law is Law.PUMP:
        return np.asarray(number(0) * rpm * pa / (GAS_R * temperature))
    if law is Law.VALVE:
        lift = np.clip((pa - pb - number(4)) / number(5), 0.0, 1.0)
        return np.where(pa > pb, lift * _passage(number, temperature, pa, pb), 0.0)
    way = np.sign(pa - pb)
    high, low = np.maximum(pa, pb), np.minimum(pa, pb)
    if law is Law.ORIFICE:
        return np.asarray(way * _passage(number, temperature, high, low))
    if law is Law.FILTER:
        return np.asarray(way * _filter(number, temperature, high, low))
    return np.asarray(way * _line(number, temperature, high, low))


def _passage(number: Place, temperature: Floats, high: Floats, low: Floats) -> Floats:
    """ISO 6358: choked below the critical ratio, a quarter ellipse above it, linear where the drop all but vanishes."""
    critical, core = number(1), iso_6358.LINEAR_CORE_RATIO.number

    def share(ratio: Floats | float) -> Floats:
        beyond = np.clip((ratio - critical) / (1.0 - critical), 0.0, 1.0)
        return np.asarray(np.sqrt((1.0 - beyond) * (1.0 + beyond)))

    ratio = low / high
    linear = share(core) * (1.0 - ratio) / (1.0 - core)
    return np.asarray(NOZZLE_K * number(0) * high / np.sqrt(temperature) * np.where(ratio > core, linear, share(ratio)))


def _filter(number: Place, temperature: Floats, high: Floats, low: Floats) -> Floats:
    """The positive root m of a mu m + b m^2 = (high^2 - low^2)/(2 R T)."""
    head = (high - low) * (high + low) / (2.0 * GAS_R * temperature)
    half = 0.5 * number(0) * _viscosity(temperature)
    return np.asarray(number(2) * head / (half + np.sqrt(half * half + number(1) * head)))


def _viscosity(temperature: Floats) -> Floats:
    """Sutherland's formula [Pa s], US Standard Atmosphere 1976."""
    return np.asarray(usa76.SUTHERLAND_BETA.number * temperature**1.5 / (temperature + usa76.SUTHERLAND_S.number))


def _line(number: Place, temperature: Floats, high: Floats, low: Floats) -> Floats:
    """Isothermal line: Karman number from the head, friction from the Karman number, acceleration as a share of head.

    The Karman number is Re sqrt(f) = D sqrt(D (high^2 - low^2)/(L R T))/mu; acceleration adds (2 D/L) ln(high/low) to
    f, and the f it is compared with is judged by the head as if there were no acceleration.
    """
    viscosity = _viscosity(temperature)
    head = number(0) ** 2 * (high - low) * (high + low) / (temperature * viscosity**2)
    slant = np.minimum((high - low) / (high + low), number(4))
    # 1/sqrt(f) of the acceleration term is a straight line in ln(Ka^2), and ln(high/low) = 2 artanh(slant).
    least, most = ACCELERATION_KARMAN
    straight = number(3) + number(6) * np.log(2.0) * _coarse_log2(np.clip(head, least**2, most**2))
    karman = np.sqrt(head / (1.0 + np.arctanh(slant) * straight**2))
    return np.asarray(number(1) * viscosity * _reynolds(karman, number(2), number(5)))


def _reynolds(karman: Floats, relative: Floats, link_end: Floats) -> Floats:
    """64/Re up to the end of laminar flow, Colebrook from its own start, a straight line between."""
    laminar_re, turbulent = air_lines.LAMINAR_TO_RE.number, air_lines.TURBULENT_FROM_KARMAN.number
    laminar_end = np.sqrt(64.0 * laminar_re)
    between = (karman - laminar_end) / (turbulent - laminar_end)
    colebrook = -2.0 * karman * np.log10(relative + 2.51 / np.maximum(karman, turbulent))
    joined = laminar_re * (1.0 - between) + link_end * between
    return np.where(karman < laminar_end, karman**2 / 64.0, np.where(karman < turbulent, joined, colebrook))


def _coarse_log2(x: Floats) -> Floats:
    """The logarithm to base 2 as the law defines it for the share of acceleration: a parabola within each octave."""
    exponent = np.floor(np.log2(x))
    octave = x / 2.0**exponent
    return np.asarray(exponent + (octave - 1.0) * (5.0 - octave) / 3.0)
