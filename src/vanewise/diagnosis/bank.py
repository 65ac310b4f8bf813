"""A bank of joint states of one aircraft: every hypothesis against the same draws of everything unknown.

Each row keeps its sound and its faulty solution. Only observables are kept, on a fixed grid of engine speed and
ambient density, in single precision; what the grid does not hold (a covered regulator, a capped instrument, a test
gauge elsewhere) is solved on demand at its own operating point and remembered. Hypotheses that do the same to the
network share their solves.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from threading import RLock
from types import MappingProxyType
from typing import Final

import numpy as np

from vanewise.aircraft.description import AircraftDescription, digest
from vanewise.diagnosis import interpolation, nuisance, sampling
from vanewise.diagnosis.effects import combine
from vanewise.diagnosis.hypotheses import Hypothesis, singles_and_chains
from vanewise.diagnosis.interpolation import Grid, Singles
from vanewise.diagnosis.set_by_gauge import SetByGauge, tie_of
from vanewise.diagnosis.solving import Point, SuctionPoint, solve_rows, suction_flows, tapped, taps
from vanewise.diagnosis.threads import each
from vanewise.errors import NoAnswer, Problem
from vanewise.network import atmosphere
from vanewise.network.observe import gyros
from vanewise.network.pack import pack
from vanewise.network.packed import PackedNetwork
from vanewise.network.solve import best_engine
from vanewise.network.types import Engine, Floats

VERSION: Final = "6"
"""Raise when draws, grid or hypotheses change, so that the seed changes with them."""

ROWS: Final[Mapping[str, int]] = {"kernel": 1024, "numpy": 64}
GRID_RPM: Final = (850.0, 1000.0, 1100.0, 1200.0, 1350.0, 1500.0, 1650.0, 1800.0, 2100.0)
"""Speeds at which people read a sweep are nodes, with idle, run-up, cruise and both ends of the engine's range: there
the interpolation adds no error."""
HIGHEST_M: Final = 5500.0
_CLOSEST_RPM: Final = 40.0
MOST_BANKS: Final = 4
SOUND_BLOCK: Final = 1
"""The block of the sound system as it is today."""
_PROBES: Final = 32
_LEAST_SOLVED: Final = 0.9


@dataclass(slots=True, eq=False)
class Bank:
    """Observables of every row of every hypothesis.

    Tables have shape (grid columns, blocks * rows), so that a query reads only the nodes it needs.
    """

    packed: PackedNetwork
    hypotheses: tuple[Hypothesis, ...]
    engine: Engine
    rows: int
    seed: int
    changed: frozenset[str]
    description_digest: str
    quantiles: Floats
    """(rows, severities) of the draw."""
    drawn: nuisance.Drawn
    columns: tuple[Mapping[str, Floats], ...]
    """State columns of each block: 0 is the baseline, 1 the sound system today, then one per distinct effect."""
    block_of: tuple[int, ...]
    """Block of each hypothesis."""
    grid: Grid
    tables: Mapping[str, Singles]
    interpolation_sd: Mapping[str, Floats]
    """Per observable and interval of engine speed, Pa: error in mid-interval, as a standard deviation."""
    density_sd: Mapping[str, Floats]
    """Per observable and node of engine speed, Pa: error half way between two densities."""
    _exact: OrderedDict[tuple[int, Point | SuctionPoint], Floats] = field(default_factory=OrderedDict)
    _lock: RLock = field(default_factory=RLock)

    @property
    def tie(self) -> SetByGauge | None:
        return tie_of(self.packed.description)

    @property
    def blocks(self) -> int:
        return len(self.columns)

    def on_grid(
        self, observable: str, points: Sequence[Point], *, slope: bool = False, blocks: slice = slice(None)
    ) -> Floats:
        """Observable [Pa] of the rows of some blocks at plain points, shape (blocks, rows, points).

        Rows lie next to each other in memory, point by point, as the scores want them.
        """
        make = interpolation.slope_weights if slope else interpolation.weights
        weight = np.stack([make(self.grid, point.rpm, point.density) for point in points])
        used = np.flatnonzero(weight.any(axis=0))
        table = self.tables[observable].reshape(self.grid.columns, self.blocks, self.rows)[used, blocks]
        found = (weight[:, used].astype(np.float32) @ table.reshape(len(used), -1)).astype(np.float64)
        return found.reshape(len(points), table.shape[1], self.rows).transpose(1, 2, 0)

    def grid_error(self, observable: str, point: Point) -> float:
        """Standard deviation [Pa] of the interpolation at a point: nothing at a node, most between two."""
        k, t = interpolation.interval(self.grid, point.rpm)
        along = self.interpolation_sd[observable][k] * 4.0 * t * (1.0 - t)
        s = interpolation.density_position(self.grid, point.density)
        ends = self.density_sd[observable]
        across = ((1.0 - t) * ends[k] + t * ends[k + 1]) * 4.0 * s * (1.0 - s)
        return float(np.hypot(along, across))

    def pressures(self, block: int, point: Point) -> Floats:
        """Junction pressures [Pa] of a block's rows at any point, shape (rows, junctions), solved and remembered."""
        found = self._remembered(block, point)
        if found is None:
            found = solve_rows(self.packed, self.columns[block], [point], self.engine)[:, 0, :]
            self._remember(block, point, found)
        return found

    def flows(self, block: int, point: SuctionPoint) -> Floats:
        """Flow meter reading [m3/s free air] of a block's rows, shape (rows,), solved and remembered."""
        found = self._remembered(block, point)
        if found is None:
            found = suction_flows(self.packed, self.columns[block], point, self.engine)
            self._remember(block, point, found)
        return found

    def _remembered(self, block: int, point: Point | SuctionPoint) -> Floats | None:
        with self._lock:
            found = self._exact.get((block, point))
            if found is not None:
                self._exact.move_to_end((block, point))
            return found

    def _remember(self, block: int, point: Point | SuctionPoint, values: Floats) -> None:
        with self._lock:
            self._exact[block, point] = values
            while len(self._exact) > 24 * self.blocks:
                self._exact.popitem(last=False)


def build(
    description: AircraftDescription,
    *,
    seed: int,
    engine: Engine | None = None,
    rows: int | None = None,
    changed: frozenset[str] = frozenset(),
) -> Bank:
    """Draw and solve the bank of an aircraft. Raises NoAnswer when too many rows of a hypothesis stay unsolved."""
    chosen = engine or best_engine()
    count = rows or ROWS[chosen]
    packed = pack(description)
    hypotheses = singles_and_chains(description)
    key = digest(description)
    full_seed = sampling.seed_of(seed, key, VERSION, *(hypothesis.id for hypothesis in hypotheses), sorted(changed))
    uniform = sampling.uniforms(count, nuisance.COUNT, full_seed)
    drawn = nuisance.draw(packed, sampling.normals(uniform), changed, chosen, tie=tie_of(description))
    quantiles = uniform[:, : nuisance.SEVERITIES]
    columns, block_of = _blocks(description, hypotheses, drawn, quantiles)
    grid = _grid(description)
    tables = _tables(packed, columns, grid, chosen)
    bank = Bank(
        packed=packed,
        hypotheses=hypotheses,
        engine=chosen,
        rows=count,
        seed=full_seed,
        changed=changed,
        description_digest=key,
        quantiles=quantiles,
        drawn=drawn,
        columns=columns,
        block_of=block_of,
        grid=grid,
        tables=tables,
        interpolation_sd={},
        density_sd={},
    )
    _check_solved(bank)
    middles = 0.5 * (bank.grid.rpm[:-1] + bank.grid.rpm[1:])
    bank.interpolation_sd = _interpolation_errors(bank, middles, bank.grid.altitude_m[0])
    between = 0.5 * (bank.grid.altitude_m[0] + bank.grid.altitude_m[1])
    bank.density_sd = _interpolation_errors(bank, bank.grid.rpm, between)
    return bank


def _blocks(
    description: AircraftDescription, hypotheses: Sequence[Hypothesis], drawn: nuisance.Drawn, quantiles: Floats
) -> tuple[tuple[Mapping[str, Floats], ...], tuple[int, ...]]:
    """Columns of each distinct block, and the block of each hypothesis."""
    blocks: list[Mapping[str, Floats]] = [drawn.before, drawn.now]
    known: dict[str, int] = {_fingerprint(drawn.now): 1}
    block_of: list[int] = []
    for hypothesis in hypotheses:
        columns = combine(drawn.now, hypothesis.changes(description, quantiles), len(quantiles))
        mark = _fingerprint(_without_silent(columns))
        if mark not in known:
            known[mark] = len(blocks)
            blocks.append(columns)
        block_of.append(known[mark])
    return tuple(blocks), tuple(block_of)


def _without_silent(columns: Mapping[str, Floats]) -> Mapping[str, Floats]:
    """A stopped pump does not slip more or less for being worn: leave out what has no say."""
    stopped = {key.rpartition(".")[0] for key, values in columns.items() if key.endswith(".stopped") and values.all()}
    silent = {f"{pump}.{state}" for pump in stopped for state in ("slip", "outlet_blocked")}
    return {key: values for key, values in columns.items() if key not in silent}


def _fingerprint(columns: Mapping[str, Floats]) -> str:
    text = hashlib.sha256()
    for key in sorted(columns):
        text.update(key.encode())
        text.update(np.ascontiguousarray(columns[key]).tobytes())
    return text.hexdigest()


def _grid(description: AircraftDescription) -> Grid:
    """Nodes where people read: the engine's own speeds, the usual sweep, the home field's density."""
    engine = description.engine
    idle, top = engine.idle_rpm.number, engine.max_rpm.number
    own = [0.75 * idle, idle, engine.run_up_rpm.number, engine.cruise_rpm.number, 1.05 * top]
    low, high = min(own), max(own)
    nodes = sorted(own)
    for rpm in GRID_RPM:
        if low < rpm < high and min(abs(rpm - node) for node in nodes) > _CLOSEST_RPM:
            nodes.append(rpm)
    field_m = min(description.field.elevation.number, HIGHEST_M - 1000.0)
    altitudes = (field_m, 0.5 * (field_m + HIGHEST_M), HIGHEST_M)
    density = [atmosphere.standard(altitude).density_kg_m3 for altitude in altitudes]
    return Grid(np.unique(np.array(nodes)), np.array(density), altitudes)


def _grid_points(grid: Grid) -> list[Point]:
    """Points of the grid, densities slowest."""
    points = []
    for altitude in grid.altitude_m:
        air = atmosphere.standard(altitude)
        points += [Point(float(rpm), air.pressure_pa, air.temperature_k) for rpm in grid.rpm]
    return points


@lru_cache(maxsize=8)
def observable_taps(packed: PackedNetwork) -> Mapping[str, tuple[tuple[int, int], ...]]:
    """What a bank keeps: ``gauge``, ``lamp``, ``drop GYRO`` and ``load PUMP``, each as junction pairs."""
    description = packed.description
    found = {"gauge": taps(packed, None, None)}
    if description.lamp is not None:
        found["lamp"] = taps(packed, description.lamp.high, description.lamp.low)
    for gyro in gyros(description):
        found[f"drop {gyro}"] = taps(packed, f"{gyro}.inlet", f"{gyro}.outlet")
    for pump in description.parts_of("pump"):
        found[f"load {pump.id}"] = taps(packed, f"{pump.id}.delivery", f"{pump.id}.inlet")
    return MappingProxyType(found)


def _tables(
    packed: PackedNetwork, columns: Sequence[Mapping[str, Floats]], grid: Grid, engine: Engine
) -> dict[str, Singles]:
    points = _grid_points(grid)
    pairs = observable_taps(packed)
    rows = len(next(iter(columns[0].values())))
    tables = {name: np.empty((grid.columns, len(columns) * rows), np.float32) for name in pairs}

    def fill(block: int) -> None:
        # A block on each core: what stands before and after the solving of one goes on beside that of another.
        pressure = solve_rows(packed, columns[block], points, engine, threads=1)
        for name, pair in pairs.items():
            own = tables[name][:, block * rows : (block + 1) * rows]
            interpolation.store(grid, tapped(pressure, pair), own)

    each(fill, range(len(columns)))
    return tables


def _check_solved(bank: Bank) -> None:
    """Rows without a proven solution are left out of every mean; a hypothesis with many of them has no answer."""
    solved = np.isfinite(bank.tables["gauge"]).all(axis=0).reshape(bank.blocks, bank.rows).mean(axis=1)
    if float(solved.min()) < _LEAST_SOLVED:
        worst = bank.block_of.index(int(np.argmin(solved))) if int(np.argmin(solved)) in bank.block_of else 0
        raise NoAnswer(
            Problem(
                where=f"bank of states, {bank.hypotheses[worst].id}",
                expected=f"at least {_LEAST_SOLVED:.0%} of the states with a proven solution",
                found=f"{float(solved.min()):.0%}",
                next_step="check lengths, bores and areas of the description: something in it is far from any aircraft",
            )
        )


def _interpolation_errors(bank: Bank, rpms: Floats, altitude_m: float) -> dict[str, Floats]:
    """Root mean square error [Pa] of the stored tables at each of ``rpms`` at one altitude, over a few blocks."""
    step = max(1, bank.rows // _PROBES)
    blocks = sorted({1, *np.linspace(2, bank.blocks - 1, 5).astype(int).tolist()} & set(range(bank.blocks)))
    air = atmosphere.standard(altitude_m)
    points = [Point(float(rpm), air.pressure_pa, air.temperature_k) for rpm in rpms]
    pairs = observable_taps(bank.packed)

    def squares(block: int) -> list[Floats]:
        some = {key: values[::step] for key, values in bank.columns[block].items()}
        pressure = solve_rows(bank.packed, some, points, bank.engine, threads=1)
        found = []
        for name, pair in pairs.items():
            # Every step-th row is an even row, and even rows take the first of two possible gauge connections.
            stored = bank.on_grid(name, points, blocks=slice(block, block + 1))[0, ::step]
            found.append(np.nan_to_num((stored - tapped(pressure, pair[:1])) ** 2).mean(axis=0))
        return found

    per_block = each(squares, blocks)
    totals = [sum(squares) for squares in zip(*per_block, strict=True)]
    return {name: np.sqrt(total / len(blocks)) for name, total in zip(pairs, totals, strict=True)}


_shelf: OrderedDict[tuple[object, ...], Bank] = OrderedDict()
_shelf_lock = RLock()
_build_lock = RLock()
"""One bank is built at a time: it takes all cores, and two threads that want the same one must not both build it."""


def bank_for(
    description: AircraftDescription,
    *,
    seed: int,
    engine: Engine | None = None,
    rows: int | None = None,
    changed: frozenset[str] = frozenset(),
) -> Bank:
    """The bank of an aircraft, built once and kept while it is among the last :data:`MOST_BANKS` asked for.

    A bank is a pure function of these arguments, so keeping it changes nothing but time.
    """
    chosen = engine or best_engine()
    key = (digest(description), seed, chosen, rows, tuple(sorted(changed)))
    with _shelf_lock:
        if key in _shelf:
            _shelf.move_to_end(key)
            return _shelf[key]
    with _build_lock:
        with _shelf_lock:
            if key in _shelf:  # built by another thread while this one waited
                return _shelf[key]
        bank = build(description, seed=seed, engine=chosen, rows=rows, changed=changed)
        with _shelf_lock:
            _shelf[key] = bank
            while len(_shelf) > MOST_BANKS:
                _shelf.popitem(last=False)
        return bank
