"""Many rows at a few operating points: the one place where the diagnosis calls the solver."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from vanewise.network import atmosphere, source
from vanewise.network.observe import across_gyro, gauge_ports, line_against_cabin
from vanewise.network.packed import PackedNetwork
from vanewise.network.solve import solve_batch
from vanewise.network.types import BatchCases, Engine, Floats

UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Point:
    """One operating point of a row, with test states on top of the row's own."""

    rpm: float
    ambient_pa: float
    temperature_k: float
    before: bool = False
    """True for the system as it was at the time of the baseline."""
    under: tuple[tuple[str, float], ...] = ()

    @property
    def density(self) -> float:
        return self.ambient_pa / (287.05287 * self.temperature_k)

    @property
    def plain(self) -> bool:
        """True when the bank's grid can answer it."""
        return not self.under


def point_at(
    rpm: float,
    altitude_m: float,
    temperature_k: float | None,
    *,
    before: bool = False,
    under: Mapping[str, float] | None = None,
) -> Point:
    """The operating point at a pressure altitude [m]; ``temperature_k`` None means the standard day."""
    air = atmosphere.ambient(altitude_m, temperature_k)
    return Point(rpm, air.pressure_pa, air.temperature_k, before, tuple(sorted((under or {}).items())))


def solve_rows(
    packed: PackedNetwork,
    columns: Mapping[str, Floats],
    points: Sequence[Point],
    engine: Engine,
    *,
    threads: int | None = None,
) -> Floats:
    """Pressures [Pa] of every junction, shape (rows, points, junctions); NaN where a row is not solved."""
    return solve_together(packed, [(columns, points)], engine, threads=threads)[0]


def solve_together(
    packed: PackedNetwork,
    systems: Sequence[tuple[Mapping[str, Floats], Sequence[Point]]],
    engine: Engine,
    *,
    threads: int | None = None,
) -> list[Floats]:
    """As :func:`solve_rows` of each (columns, points), in one call of the solver."""
    counts = [len(next(iter(columns.values()))) if columns else 1 for columns, _ in systems]
    told = [
        (columns, points, rows) for (columns, points), rows in zip(systems, counts, strict=True) if rows * len(points)
    ]
    if not told:
        return [np.zeros((rows, 0, 0)) for rows in counts]
    pressure = solve_batch(packed, _batch(packed, told), engine, threads=threads).pressure_pa
    found, start = [], 0
    for (_, points), rows in zip(systems, counts, strict=True):
        end = start + rows * len(points)
        found.append(pressure[start:end].reshape(rows, len(points), pressure.shape[1]))
        start = end
    return found


_System = tuple[Mapping[str, Floats], Sequence[Point], int]
"""State columns, operating points, and rows."""


def _batch(packed: PackedNetwork, systems: Sequence[_System]) -> BatchCases:
    """Rows times points of each system in turn, points running fastest; a state that a system does not name is neutral
    there."""
    keys = tuple(dict.fromkeys(key for columns, points, _ in systems for key in _named(columns, points)))
    at = {key: place for place, key in enumerate(keys)}
    # Row by row of one key after the other in memory, as the solver takes them.
    values = np.empty((len(keys), sum(rows * len(points) for _, points, rows in systems)))
    air, runs, start = [], [], 0
    for columns, points, rows in systems:
        here = slice(start, start + rows * len(points))
        own = {key: values[place, here].reshape(rows, len(points)) for key, place in at.items()}
        for key, line in own.items():
            line[:] = columns[key][:, None] if key in columns else packed.neutral(key)
        for number, point in enumerate(points):
            for key, value in point.under:
                own[key][:, number] = value
        start = here.stop
        outside = np.array([(point.rpm, point.ambient_pa, point.temperature_k) for point in points]).T
        air.append(np.repeat(outside[:, None], rows, axis=1).reshape(3, -1))
        run = 1 if any(point.under for point in points) else len(points)
        runs.append(np.full(rows * len(points) // run, run))
    rpm, ambient_pa, temperature_k = np.concatenate(air, axis=1)
    return BatchCases(
        columns=keys,
        values=values.T,
        engine_rpm=rpm,
        ambient_pa=ambient_pa,
        temperature_k=temperature_k,
        run=int(runs[0][0]) if len(runs) == 1 else np.concatenate(runs),
    )


def _named(columns: Mapping[str, Floats], points: Sequence[Point]) -> list[str]:
    """The states that a system names, its own first."""
    return [*columns, *sorted({key for point in points for key, _ in point.under} - set(columns))]


@dataclass(frozen=True, slots=True)
class SuctionPoint:
    """Workshop suction at a port with the engine off."""

    port: str
    suction_pa: float
    ambient_pa: float
    temperature_k: float
    under: tuple[tuple[str, float], ...] = ()


def suction_flows(
    packed: PackedNetwork,
    columns: Mapping[str, Floats],
    point: SuctionPoint,
    engine: Engine,
    *,
    threads: int | None = None,
) -> Floats:
    """Flow meter reading of each row [m3/s of free air], shape (rows,); NaN where a row is not solved."""
    joined = source.with_source(packed, point.port)
    rows = len(next(iter(columns.values())))
    fixed = {**source.engine_off(joined), **source.regulator_states(joined, "fitted"), **dict(point.under)}
    merged = {**columns, **{key: np.full(rows, value) for key, value in fixed.items()}}
    keys = tuple(merged)
    batch = BatchCases(
        columns=keys,
        values=np.stack([merged[key] for key in keys], axis=1),
        engine_rpm=np.zeros(rows),
        ambient_pa=np.full(rows, point.ambient_pa),
        temperature_k=np.full(rows, point.temperature_k),
        source_pa=np.full(rows, -point.suction_pa),
    )
    mass = source.source_flow(joined, batch, solve_batch(joined, batch, engine, threads=threads))
    return np.asarray(mass * 287.05287 * point.temperature_k / point.ambient_pa)


@lru_cache(maxsize=32)
def taps(packed: PackedNetwork, high: str | None, low: str | None) -> tuple[tuple[int, int], ...]:
    """Junction pairs an instrument may be connected across. Two when the panel gauge's connection is not known."""
    description = packed.description
    if high is None or low is None:
        gauge = description.gauge
        if UNKNOWN in (gauge.high, gauge.low):
            pairs = [across_gyro(description), line_against_cabin(description)]
        else:
            pairs = [gauge_ports(description)]
    else:
        pairs = [(high, low)]
    return tuple((packed.junction(a), packed.junction(b)) for a, b in pairs)


def tapped(pressure: Floats, pairs: tuple[tuple[int, int], ...]) -> Floats:
    """Difference across the taps; with two possible connections even rows take the first and odd rows the second."""
    first = pressure[..., pairs[0][0]] - pressure[..., pairs[0][1]]
    if len(pairs) == 1:
        return np.asarray(first)
    second = pressure[..., pairs[1][0]] - pressure[..., pairs[1][1]]
    odd = (np.arange(len(first)) % 2 == 1).reshape((-1,) + (1,) * (first.ndim - 1))
    return np.asarray(np.where(odd, second, first))
