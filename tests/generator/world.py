"""The aircraft behind a case: its true numbers, its gauge, and its air by the numpy solver.

The true numbers lie about the described ones with spreads of our own, the regulator has been set by the aircraft's own
gauge, and the pump has some hours. What is wrong comes on top.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vanewise.aircraft.description import AircraftDescription
from vanewise.network.atmosphere import ambient
from vanewise.network.observe import observe
from vanewise.network.pack import pack
from vanewise.network.packed import PackedNetwork
from vanewise.network.solve import solve_batch
from vanewise.network.source import source_flow, with_source
from vanewise.network.types import BatchCases

Floats = NDArray[np.float64]
PA_PER_INHG = 3386.389
FEET = 0.3048

SPREADS: Mapping[str, float] = {
    "displacement": 0.09,
    "slip_area": 0.25,
    "volumetric_efficiency": 0.02,
    "drive_ratio": 0.015,
    "reference_flow": 0.08,
    "reference_drop": 0.30,
    "droop": 0.20,
    "flow_area": 0.15,
    "length": 0.15,
    "bore": 0.03,
}
"""Relative spread of a true number about the described one, one standard deviation (judgement)."""
DEFAULTS = ("displacement", "slip_area", "droop", "flow_area", "length")
"""Numbers that nobody measures, and that the arm 'defaults wrong by 30 %' moves."""


@dataclass(frozen=True, slots=True)
class Gauge:
    """Errors of the panel gauge [inHg, share, inHg]. ``frozen`` reads that whatever happens."""

    bias: float
    scale: float
    read_sd: float
    frozen: float | None = None


@dataclass(frozen=True, slots=True)
class Point:
    """Where a reading is taken. ``step`` is how far through a warm run, from 0 to 1."""

    rpm: float
    altitude_ft: float = 400.0
    step: float = 0.5
    under: Mapping[str, float] | None = None


class World:
    """One aircraft as it truly is. ``sound`` and ``faulty`` are overrides of the packed description's numbers."""

    def __init__(self, packed: PackedNetwork, sound: Mapping[str, float], gauge: Gauge) -> None:
        self.packed = packed
        self.sound = dict(sound)
        self.gauge = gauge

    @property
    def description(self) -> AircraftDescription:
        return self.packed.description

    def solved(self, points: Sequence[tuple[Point, Mapping[str, float]]]) -> dict[str, Floats]:
        """Differences [inHg] at each point with its own overrides: gauge, lamp, each gyro, each pump's load."""
        batch = _batch(
            self.packed, [(point, {**self.sound, **extra, **(point.under or {})}) for point, extra in points]
        )
        solution = solve_batch(self.packed, batch, "numpy")
        seen = observe(self.packed, batch, solution)
        out = {"gauge": seen.gauge_pa, **{f"drop {k}": v for k, v in seen.drop_pa.items()}}
        if seen.lamp_pa is not None:
            out["lamp"] = seen.lamp_pa
        for name, load in seen.pump_load_pa.items():
            out[f"load {name}"] = load
        for name in self.packed.alias:
            out[f"at {name}"] = solution.pressure_pa[:, self.packed.junction(name)]
        return {name: np.nan_to_num(value) / PA_PER_INHG for name, value in out.items()}

    def shop_flow(self, port: str, suction_inhg: float, extra: Mapping[str, float]) -> float:
        """Free air [cfm at standard density] that a workshop source draws at a port, engine off, pump hose capped."""
        joined = with_source(self.packed, port)
        states = {**self.sound, **extra}
        for part in self.description.parts_of("pump"):
            states[f"{part.id}.stopped"], states[f"{part.id}.slip"] = 1.0, 0.0
        keys = {k: v for k, v in states.items() if k in set(joined.override_keys)}
        sign = -1.0 if self.description.duty == "suction" else 1.0
        batch = _batch(joined, [(Point(0.0), keys)], np.array([sign * suction_inhg * PA_PER_INHG]))
        solution = solve_batch(joined, batch, "numpy")
        return abs(float(source_flow(joined, batch, solution)[0])) / 1.225 / 4.719474e-4


def _batch(
    packed: PackedNetwork, rows: Sequence[tuple[Point, Mapping[str, float]]], source: Floats | None = None
) -> BatchCases:
    columns = tuple(dict.fromkeys(key for _, extra in rows for key in extra if not key.startswith("@")))
    neutral = {key: packed.neutral(key) for key in columns}
    air = [ambient(point.altitude_ft * FEET) for point, _ in rows]
    return BatchCases(
        columns=columns,
        values=np.array([[float(extra.get(key, neutral[key])) for key in columns] for _, extra in rows]).reshape(
            len(rows), -1
        ),
        engine_rpm=np.array([float(extra.get("@rpm", point.rpm)) for point, extra in rows]),
        ambient_pa=np.array([a.pressure_pa for a in air]),
        temperature_k=np.array([a.temperature_k for a in air]),
        source_pa=source,
    )


def true_numbers(
    packed: PackedNetwork, generator: np.random.Generator, drive: float = 1.0, defaults: float = 0.0
) -> dict[str, float]:
    """True numbers of one aircraft as overrides. ``drive`` multiplies the drive ratio; ``defaults`` moves the rest."""
    values: dict[str, float] = {}
    for owner, entry in packed.owners.items():
        for name, spread in SPREADS.items():
            if name not in entry.values:
                continue
            factor = float(np.exp(spread * generator.standard_normal()))
            if name == "drive_ratio":
                factor *= drive
            if defaults and name in DEFAULTS:
                factor = 1.0 + defaults * float(generator.choice([-1.0, 1.0]))
            value = entry.values[name] * factor
            values[f"{owner}.{name}"] = min(value, 1.0) if name == "volumetric_efficiency" else value
        if entry.kind == "pump":
            values[f"{owner}.slip"] = float(np.exp(0.12 + 0.15 * generator.standard_normal()))
        if entry.kind.endswith("filter"):
            values[f"{owner}.loading"] = float(np.exp(0.3 + 0.3 * generator.standard_normal()))
    return values


def set_regulators(
    packed: PackedNetwork, numbers: Mapping[str, float], gauge: Gauge, wanted: float
) -> dict[str, float]:
    """Screw positions at which this gauge reads ``wanted`` [inHg] in cruise, as a mechanic sets them."""
    regulators = list(packed.description.parts_of("regulator"))
    shift = 0.0
    rpm = packed.description.engine.cruise_rpm.number
    for _ in range(8):
        states = {**numbers, **{f"{part.id}.set_shift_inhg": shift for part in regulators}}
        true = World(packed, {}, gauge).solved([(Point(rpm), states)])["gauge"][0]
        reads = true * (1.0 + gauge.scale) + gauge.bias
        shift = float(np.clip(shift + wanted - reads, -3.0, 3.0))
        if abs(wanted - reads) < 0.01:
            break
    return {f"{part.id}.set_shift_inhg": shift for part in regulators}


def packed_for(description: AircraftDescription) -> PackedNetwork:
    """The description as a network, its regulator set by the description's own figures."""
    return pack(description)
