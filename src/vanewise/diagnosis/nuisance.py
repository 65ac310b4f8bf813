"""The unknowns of the installation, which vary in every row of the bank whatever the fault.

A wrong default would otherwise come out as a fault. Each number of the description brings its own spread; numbers that
act alike share one dimension. The regulator is set anew in every row, because it was set on *that* aircraft: the
gauge read its setting at the engine speed where it was set, whatever the pump and the bores were.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from scipy.special import ndtr, stdtrit

from vanewise.aircraft.description import AircraftDescription, Line, Part
from vanewise.aircraft.kinds import KINDS
from vanewise.diagnosis.modes import places
from vanewise.diagnosis.set_by_gauge import SetByGauge
from vanewise.diagnosis.springs import Springs, regressed
from vanewise.network import atmosphere
from vanewise.network.calibrate import calibrate_preload
from vanewise.network.packed import PackedNetwork
from vanewise.network.types import BatchCases, Engine, Floats
from vanewise.provenance import Value
from vanewise.quantities import PA_PER_INHG

SEVERITIES: Final = 3
"""The first columns of a draw are severity quantiles."""

DIMENSIONS: Final = (
    "severity of the first mode",
    "severity of the second mode",
    "severity of the third mode",
    "pump output",
    "drive ratio",
    "pump slip",
    "jets of the first instrument",
    "jets of the second instrument",
    "jets of the third instrument",
    "filters",
    "instrument-side lines",
    "regulator setting",
    "regulator droop",
    "drift of the setting since the baseline",
    "pump output before the change",
    "pump slip before the change",
    "regulator seat area",
)
COUNT: Final = len(DIMENSIONS)
_AT: Final[Mapping[str, int]] = {name: index for index, name in enumerate(DIMENSIONS)}

AGEING_SLIP_SD: Final = 0.20
"""Spread of ordinary wear among pumps nobody would call worn, as standard deviation of the logarithm (judgement)."""
SETTING_DRIFT_SD_INHG: Final = 0.08
"""Drift of a setting nobody touched (judgement)."""
SETTING_TURNED_SD_INHG: Final = 0.50
"""A screw that somebody turned without a record of how far (judgement)."""
SET_WITHIN_PA: Final = 60.0
"""How close to its setting a row's regulator reads before the last step of the search, which is not looked at. What
that leaves is far below the finest difference a panel gauge shows, 0.06 inHg or 200 Pa."""
_LOOKS: Final = 2
"""Looks from where a regression that is not near enough begins: what few rows are not set by then are nearly so."""
LEAST_SETTING_PA: Final = 0.5 * PA_PER_INHG
LEAST_JET_SD: Final = 0.05
SPREAD_FREEDOM: Final = 4.0
"""Degrees of freedom of a default's spread: its standard deviation is known to about a third, as a guess of a spread is
(one over the root of twice the degrees; judgement)."""
MOST_SPREADS: Final = 5.0
"""Spreads that the farthest default is off (judgement: beyond that somebody would have seen it)."""
_BORE_POWER: Final = 4.8
"""The drop in a line goes with length and about with bore to this power (turbulent flow at a given mass flow)."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """State and field columns of the sound system, one value per row."""

    before: Mapping[str, Floats]
    """At the time of the baseline."""
    now: Mapping[str, Floats]
    """Today, with nothing wrong."""
    deviates: Floats
    """(rows, COUNT) standard normal deviates (severities included)."""
    set_off: Floats
    """True difference less the setting when the regulator was set by the gauge [inHg], (rows,); nothing where that is
    not told apart."""
    springs: Springs | None = None
    """Regression of the regulator's spring by which more rows are drawn. None where there is none."""


def _log_sd(value: Value) -> float:
    """Spread as standard deviation of the logarithm."""
    if value.spread_kind == "relative":
        return value.spread
    return abs(value.spread / value.number) if value.number else 0.0


def _absolute_sd(value: Value) -> float:
    return value.spread if value.spread_kind == "absolute" else abs(value.number) * value.spread


def far_reaching(deviate: Floats) -> Floats:
    """Standard normal deviates as those of a Student t of :data:`SPREAD_FREEDOM` degrees and unit variance.

    The spread of a number that nobody measured on this aircraft is itself a guess. Integrated over a variance known
    only to a factor, a normal distribution becomes a Student t: mostly nearer the default, now and then far from it.
    """
    farther = np.interp(np.abs(deviate), _STEPS, _far_reaching_at_steps())
    return np.asarray(np.copysign(farther, deviate))


_STEPS: Final = np.linspace(0.0, 9.0, 9001)


@lru_cache(maxsize=1)
def _far_reaching_at_steps() -> Floats:
    """Of positive deviates at :data:`_STEPS`, between which a straight line is within 1e-6."""
    tail = stdtrit(SPREAD_FREEDOM, ndtr(-_STEPS))
    unit = math.sqrt((SPREAD_FREEDOM - 2.0) / SPREAD_FREEDOM)
    return np.asarray(np.minimum(np.abs(unit * tail), MOST_SPREADS))


def _scaled(value: Value, deviate: Floats, sd: float) -> Floats:
    own = far_reaching(deviate) if value.is_assumed else deviate
    return np.asarray(value.number * np.exp(sd * own))


def _pump_columns(pump: Part, output: Floats, ratio: Floats, slip: Floats) -> dict[str, Floats]:
    displacement, efficiency = pump.values["displacement"], pump.values["volumetric_efficiency"]
    sd = math.hypot(_log_sd(displacement), _log_sd(efficiency))
    slip_sd = math.hypot(_log_sd(pump.values["slip_area"]), AGEING_SLIP_SD)
    return {
        f"{pump.id}.displacement": _scaled(displacement, output, sd),
        f"{pump.id}.drive_ratio": _scaled(pump.values["drive_ratio"], ratio, _log_sd(pump.values["drive_ratio"])),
        f"{pump.id}.slip": np.exp(slip_sd * slip),
    }


def _line_column(line: Line, deviate: Floats) -> Floats:
    """Length, with the spread of length and bore together."""
    sd = math.hypot(_log_sd(line.values["length"]), _BORE_POWER * _log_sd(line.values["bore"]))
    return _scaled(line.values["length"], deviate, min(sd, 0.6))


def _fixed_columns(packed: PackedNetwork, z: Floats, by_seat: bool) -> dict[str, Floats]:
    """Columns that a pump change or a turned screw does not touch, with or without the spread of the seat's area."""
    description = packed.description
    columns: dict[str, Floats] = {}
    jets = [_AT[f"jets of the {nth} instrument"] for nth in ("first", "second", "third")]
    gyros = [part for part in description.parts if KINDS[part.kind].is_gyro]
    for number, gyro in enumerate(gyros):
        flow = gyro.values["reference_flow"]
        columns[f"{gyro.id}.reference_flow"] = _scaled(
            flow, z[:, jets[min(number, 2)]], max(LEAST_JET_SD, _log_sd(flow))
        )
    for part in description.parts:
        if part.kind.endswith("filter"):
            drop = part.values["reference_drop"]
            columns[f"{part.id}.reference_drop"] = _scaled(drop, z[:, _AT["filters"]], _log_sd(drop))
    for line, side in _telling_lines(packed):
        columns[f"{line.id}.length"] = _line_column(line, z[:, _AT[side]])
    for regulator in description.parts_of("regulator"):
        # What the seat passes at a given rise goes with its area over the droop; but open all the way it goes by area.
        droop, area = regulator.values["droop"], regulator.values["flow_area"]
        columns[f"{regulator.id}.droop"] = _scaled(droop, z[:, _AT["regulator droop"]], _log_sd(droop))
        if by_seat:
            columns[f"{regulator.id}.flow_area"] = _scaled(area, z[:, _AT["regulator seat area"]], _log_sd(area))
    return columns


MOST_LINES: Final = 2


@lru_cache(maxsize=8)
def _telling_lines(packed: PackedNetwork) -> tuple[tuple[Line, str], ...]:
    """The instrument-side lines whose drop matters most, with their dimension.

    Those of one side act alike, so varying the tightest stands for all. The hose at the pump is left out: it is wide,
    and what it takes looks like a smaller pump, which varies already. Each varied line costs time in every solve.
    """
    description = packed.description
    gyro_ids = {place.part for place in places.gyros(description)}

    def drop(line: Line) -> float:
        """Grows with the drop: a shared line carries the flow of all instruments."""
        own = {line.start.split(".")[0], line.end.split(".")[0]} & gyro_ids
        return _tightness(line) * (1.0 if own else float(len(gyro_ids)) ** 2)

    lines = sorted(places.instrument_side_lines(description), key=lambda line: (-drop(line), line.id))
    return tuple((line, "instrument-side lines") for line in lines[:MOST_LINES])


def _tightness(line: Line) -> float:
    """Grows with the drop at a given flow, as far as length and bore say."""
    return float(line.values["length"].number / line.values["bore"].number ** _BORE_POWER)


def draw(
    packed: PackedNetwork,
    z: Floats,
    changed: frozenset[str],
    engine: Engine,
    springs: Springs | None = None,
    tie: SetByGauge | None = None,
) -> Drawn:
    """The sound system of every row before and now. ``z`` has shape (rows, COUNT).

    With ``springs`` of an earlier draw each row's spring is what the regression says, or is looked for from there where
    the regression is not near enough. With ``tie``, for a diagnosis, the regulator was set by a gauge that may be wrong
    and its seat's area varies; without it, for a ground run, the gauge was right and the area is the one described.

    ``changed`` names what differs since the baseline: ``pump`` (another pump), ``setting`` (screw turned).
    """
    description = packed.description
    fixed = _fixed_columns(packed, z, by_seat=tie is not None)
    ratio = z[:, _AT["drive ratio"]]
    now, before = dict(fixed), dict(fixed)
    for pump in description.parts_of("pump"):
        now |= _pump_columns(pump, z[:, _AT["pump output"]], ratio, z[:, _AT["pump slip"]])
        if "pump" in changed:
            output, slip = z[:, _AT["pump output before the change"]], z[:, _AT["pump slip before the change"]]
            before |= _pump_columns(pump, output, ratio, slip)
    before = {**now, **before}
    regulators = description.parts_of("regulator")
    set_off = np.zeros(len(z))
    if regulators:
        if tie is not None:
            set_off = tie.offsets(z[:, _AT["regulator setting"]])
        target = _setting(description, z[:, _AT["regulator setting"]], tie, set_off)
        if springs is None:
            preload = _set_regulators(packed, before, target, engine)
            springs = regressed(before, target, preload)
        else:
            preload = springs.at(before, target)
            if not springs.near:
                preload = _set_regulators(packed, before, target, engine, preload)
        turned = SETTING_TURNED_SD_INHG if "setting" in changed else SETTING_DRIFT_SD_INHG
        shift = turned * z[:, _AT["drift of the setting since the baseline"]]
        for regulator in regulators:
            before[f"{regulator.id}.preload"] = now[f"{regulator.id}.preload"] = preload
            now[f"{regulator.id}.set_shift_inhg"] = shift
    return Drawn(before, now, z, set_off, springs)


@lru_cache(maxsize=8)
def with_a_say(packed: PackedNetwork, changed: frozenset[str]) -> tuple[int, ...]:
    """Numbers of the deviates, severities apart, that change some number of this aircraft."""
    description = packed.description
    silent: set[str] = set()
    gyros = sum(KINDS[part.kind].is_gyro for part in description.parts)
    silent |= {f"jets of the {nth} instrument" for nth in ("first", "second", "third")[gyros:]}
    if not any(part.kind.endswith("filter") for part in description.parts):
        silent.add("filters")
    if not _telling_lines(packed):
        silent.add("instrument-side lines")
    if not description.parts_of("regulator"):
        silent |= {name for name in DIMENSIONS if name.startswith("regulator") or "setting" in name}
    if "pump" not in changed:
        silent |= {"pump output before the change", "pump slip before the change"}
    return tuple(_AT[name] for name in DIMENSIONS[SEVERITIES:] if name not in silent)


def _setting(description: AircraftDescription, deviate: Floats, tie: SetByGauge | None, set_off: Floats) -> Floats:
    """True difference when the regulator was set [Pa], each row; of several regulators the lowest setting."""
    if tie is not None:
        return np.maximum((tie.setting + set_off) * PA_PER_INHG, LEAST_SETTING_PA)
    settings = [part.values["setting"] for part in description.parts_of("regulator")]
    lowest = min(settings, key=lambda value: value.number)
    return np.maximum(lowest.number + _absolute_sd(lowest) * deviate, LEAST_SETTING_PA)


def _set_regulators(
    packed: PackedNetwork, sound: Mapping[str, Floats], target: Floats, engine: Engine, start: Floats | None = None
) -> Floats:
    """Spring of each row: its gauge read the setting at ``set_at_rpm`` at the home field. Looked for from ``start``."""
    description = packed.description
    rows = len(target)
    air = atmosphere.standard(description.field.elevation.number)
    rpm = min(part.values["set_at_rpm"].number for part in description.parts_of("regulator"))
    columns = tuple(sound)
    batch = BatchCases(
        columns=columns,
        values=np.stack([sound[key] for key in columns], axis=1),
        engine_rpm=np.full(rows, rpm),
        ambient_pa=np.full(rows, air.pressure_pa),
        temperature_k=np.full(rows, air.temperature_k),
    )
    if start is None:
        return calibrate_preload(packed, batch, target, engine=engine, tolerance_pa=SET_WITHIN_PA)
    return calibrate_preload(
        packed, batch, target, engine=engine, tolerance_pa=SET_WITHIN_PA, start_pa=start, looks=_LOOKS
    )
