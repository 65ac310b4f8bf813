"""A sweep of engine speed at one altitude: what the gauge would read, and what every part sees while it does.

Its shape in three numbers people can compare over the years: the reading at 1000 rpm, the knee (where two straight
lines through the points cross) and the slope of the plateau. They move with wear before the plateau does.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec
import numpy as np

from vanewise.aircraft.description import AircraftDescription, Gauge
from vanewise.network import atmosphere
from vanewise.network.observe import UNKNOWN, gauge_ports, line_against_cabin, observe
from vanewise.network.pack import pack
from vanewise.network.packed import PackedNetwork
from vanewise.network.solve import branch_flows, cases, solve_batch
from vanewise.network.types import (
    STATUSES,
    BatchCases,
    BatchSolution,
    Engine,
    Floats,
    Observables,
    OperatingPoint,
    States,
    Status,
)
from vanewise.quantities import M3S_PER_CFM, M_PER_FT, PA_PER_INHG

STANDARD_RPMS = (700.0, 1000.0, 1200.0, 1500.0, 1800.0, 2100.0, 2400.0, 2600.0)
"""Speeds at which the shape is judged, so that it means the same whichever speeds were asked for."""
_LAMP_RPMS = tuple(float(rpm) for rpm in range(400, 2801, 100))


class PartPoint(msgspec.Struct, frozen=True, kw_only=True):
    """One part or line at one point.

    ``pressure_pa`` absolute, by port. ``drop_inhg`` from its first port to its second (regulator: across the valve,
    pump: outlet over inlet, its load). ``flow_cfm`` of free air at ambient, positive in the part's own direction
    (regulator: what it admits or dumps); None for a part that has no flow of its own.
    """

    id: str
    pressure_pa: Mapping[str, float]
    drop_inhg: float | None
    flow_cfm: float | None


class SweepPoint(msgspec.Struct, frozen=True, kw_only=True):
    """One engine speed. A point that was not solved has no readings and no parts."""

    rpm: float
    altitude_ft: float
    gauge_inhg: float | None
    """What a perfect gauge in the panel gauge's place reads; None where the point was not solved."""
    lamp_on: bool | None
    """None without a lamp."""
    drops_inhg: Mapping[str, float]
    """Drop across each gyro."""
    pump_load_inhg: Mapping[str, float]
    """What each pump works against, outlet over inlet: the gauge does not show it."""
    parts: tuple[PartPoint, ...]
    radius_pa: float | None
    """Bound on the distance to the true solution of the modelled equations."""
    status: Status
    """How it was solved; a point that is ``not converged`` has no readings."""


class Shape(msgspec.Struct, frozen=True, kw_only=True):
    """The shape of a sweep: two straight lines that together leave the least squared error.

    ``plateau_inhg`` is the reading at the highest speed, ``slope_inhg_per_1000_rpm`` that of the upper line.
    """

    knee_rpm: float
    plateau_inhg: float
    slope_inhg_per_1000_rpm: float


class Sweep(msgspec.Struct, frozen=True, kw_only=True):
    """Points in the order asked for, the shape, and, where the gauge's connection is unknown, the other curve."""

    gauge_high: str
    """Where the gauge's high line is connected: ``part.port`` or ``cabin``."""
    gauge_low: str
    """Where its low line is connected."""
    altitude_ft: float
    """Pressure altitude."""
    temperature_k: float
    """Outside air."""
    points: tuple[SweepPoint, ...]
    r1000_inhg: float | None
    """Reading at 1000 rpm."""
    shape: Shape | None
    """None where the readings have no knee."""
    lamp_out_rpm: float | None
    """Engine speed, rising, at which the lamp goes out; None without a lamp or where it never changes."""
    other_connection: Sweep | None = None
    """The same with the gauge on the other usual connection, where its own is unknown."""


def sweep(
    system: AircraftDescription | PackedNetwork,
    rpms: Sequence[float] = STANDARD_RPMS,
    altitude_m: float = 0.0,
    temperature_k: float | None = None,
    states: States | None = None,
    *,
    engine: Engine = "numpy",
) -> Sweep:
    """Readings at each engine speed [rpm] at a pressure altitude [m], outside temperature [K] (None: standard day).

    Where the description does not know the gauge's connection, the sweep is given across an instrument and
    ``other_connection`` is the same with the gauge on the regulator's line against the cabin; in each the regulator
    is set by that gauge. Raises InputError for an unknown state or a point outside the ranges.
    """
    packed = system if isinstance(system, PackedNetwork) else pack(system)
    description = packed.description
    here = _sweep(packed, rpms, altitude_m, temperature_k, states or {}, engine)
    if UNKNOWN not in (description.gauge.high, description.gauge.low):
        return here
    high, low = line_against_cabin(description)
    gauge: Gauge = msgspec.structs.replace(description.gauge, high=high, low=low)
    other = pack(msgspec.structs.replace(description, gauge=gauge))
    return msgspec.structs.replace(
        here, other_connection=_sweep(other, rpms, altitude_m, temperature_k, states or {}, engine)
    )


def _sweep(
    packed: PackedNetwork,
    rpms: Sequence[float],
    altitude_m: float,
    temperature_k: float | None,
    states: States,
    engine: Engine,
) -> Sweep:
    asked = [float(rpm) for rpm in rpms]
    every = [*asked, *STANDARD_RPMS, *_LAMP_RPMS]
    points = [OperatingPoint(engine_rpm=rpm, altitude_m=altitude_m, temperature_k=temperature_k) for rpm in every]
    batch = cases(points, states)
    solution = solve_batch(packed, batch, engine)
    seen = observe(packed, batch, solution)
    flows = branch_flows(packed, batch.rows(slice(0, len(asked))), solution.rows(slice(0, len(asked))))
    first, second = len(asked), len(asked) + len(STANDARD_RPMS)
    high, low = gauge_ports(packed.description)
    standard = seen.gauge_pa[first:second] / PA_PER_INHG
    return Sweep(
        gauge_high=high,
        gauge_low=low,
        altitude_ft=altitude_m / M_PER_FT,
        temperature_k=float(batch.temperature_k[0]) if every else 0.0,
        points=tuple(_point(packed, batch, solution, seen, flows, i) for i in range(first)),
        r1000_inhg=_number(standard[1]),
        shape=shape(STANDARD_RPMS, standard.tolist()),
        lamp_out_rpm=_lamp_out(packed, seen, slice(second, len(every))),
    )


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _point(
    packed: PackedNetwork,
    batch: BatchCases,
    solution: BatchSolution,
    seen: Observables,
    flows: Floats,
    i: int,
) -> SweepPoint:
    solved = solution.status[i] != 3
    lamp = packed.description.lamp
    density = float(atmosphere.density(batch.ambient_pa[i], batch.temperature_k[i]))
    return SweepPoint(
        rpm=float(batch.engine_rpm[i]),
        altitude_ft=atmosphere.altitude(float(batch.ambient_pa[i])) / M_PER_FT,
        gauge_inhg=_number(seen.gauge_pa[i] / PA_PER_INHG),
        lamp_on=bool(seen.lamp_pa[i] < lamp.trip.number) if solved and lamp and seen.lamp_pa is not None else None,
        drops_inhg={gyro: float(drop[i]) / PA_PER_INHG for gyro, drop in seen.drop_pa.items()} if solved else {},
        pump_load_inhg={pump: float(load[i]) / PA_PER_INHG for pump, load in seen.pump_load_pa.items()}
        if solved
        else {},
        parts=_parts(packed, solution.pressure_pa[i], flows[i] / density / M3S_PER_CFM) if solved else (),
        radius_pa=_number(solution.radius_pa[i]),
        status=STATUSES[solution.status[i]],
    )


MAIN_FLOW: Mapping[str, str] = {"pump": "exit", "regulator": "filter"}
"""Suffix of the branch that carries the part's own net flow, where it is not the plain one."""
_ENDS: Mapping[str, tuple[str, str]] = {"pump": ("delivery", "inlet")}


def _parts(packed: PackedNetwork, pressure: Floats, flow_cfm: Floats) -> tuple[PartPoint, ...]:
    out = []
    ports: dict[str, dict[str, float]] = {}
    for port, number in packed.alias.items():
        owner, _, name = port.rpartition(".")
        if owner in packed.owners:
            ports.setdefault(owner, {})[name] = float(pressure[number])
    ends = {line.id: (line.start, line.end) for line in packed.description.lines}
    for owner, entry in packed.owners.items():
        main = entry.branches.get(MAIN_FLOW.get(entry.kind, ""))
        if owner in ends:
            seen = {
                name: float(pressure[packed.alias[port]])
                for name, port in zip(("start", "end"), ends[owner], strict=True)
            }
        else:
            seen = ports.get(owner, {})
        drop = None
        if main is not None:
            valve = entry.branches[""] if entry.kind == "regulator" else None
            if entry.kind in _ENDS:
                high, low = (packed.alias[f"{owner}.{name}"] for name in _ENDS[entry.kind])
            elif valve is not None:
                high, low = int(packed.branch_a[valve]), int(packed.branch_b[valve])
            else:
                high, low = int(packed.branch_a[main]), int(packed.branch_b[main])
            drop = float(pressure[high] - pressure[low]) / PA_PER_INHG
        out.append(
            PartPoint(
                id=owner,
                pressure_pa=seen,
                drop_inhg=drop,
                flow_cfm=None if main is None else float(flow_cfm[main]),
            )
        )
    return tuple(out)


def shape(rpms: Sequence[float], readings: Sequence[float]) -> Shape | None:
    """Knee, plateau and slope of readings [any unit, named inHg in the result] against rising engine speeds [rpm].

    Two straight lines, each through at least two points, chosen so that their summed squared error is least; the knee
    is where they cross. None with fewer than five finite points, or where the lines do not bend downwards (no knee).
    """
    pairs = sorted((rpm, reading) for rpm, reading in zip(rpms, readings, strict=True) if np.isfinite(reading))
    if len(pairs) < 5:
        return None
    x, y = np.array(pairs).T
    best: tuple[float, Floats, Floats] | None = None
    for split in range(2, len(x) - 1):
        lower, upper = np.polyfit(x[:split], y[:split], 1), np.polyfit(x[split:], y[split:], 1)
        error = float(
            ((np.polyval(lower, x[:split]) - y[:split]) ** 2).sum()
            + ((np.polyval(upper, x[split:]) - y[split:]) ** 2).sum()
        )
        if best is None or error < best[0]:
            best = error, lower, upper
    assert best is not None
    _, lower, upper = best
    if lower[0] - upper[0] < 1e-6:
        return None
    return Shape(
        knee_rpm=float((upper[1] - lower[1]) / (lower[0] - upper[0])),
        plateau_inhg=float(y[-1]),
        slope_inhg_per_1000_rpm=float(upper[0] * 1000.0),
    )


def _lamp_out(packed: PackedNetwork, seen: Observables, at: slice) -> float | None:
    """Engine speed at which the lamp goes out as it rises; None without a lamp, or when it never changes."""
    lamp = packed.description.lamp
    if lamp is None or seen.lamp_pa is None:
        return None
    above = seen.lamp_pa[at] - lamp.trip.number
    if not np.isfinite(above).all() or above[0] >= 0.0 or above[-1] < 0.0:
        return None
    i = int(np.argmax(above >= 0.0))
    low, high = _LAMP_RPMS[i - 1], _LAMP_RPMS[i]
    return float(low + (high - low) * above[i - 1] / (above[i - 1] - above[i]))
