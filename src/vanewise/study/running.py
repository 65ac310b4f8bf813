"""A study worked out chunk by chunk: memory holds one chunk, however many scenarios there are.

A chunk depends on the study and its own number alone: neither on the chunks before it, nor on the number of threads,
nor on the machine it is worked out on (as far as that machine's arithmetic is the same).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from vanewise.aircraft.kinds import KINDS
from vanewise.aircraft.versions import kind_at
from vanewise.network import atmosphere
from vanewise.network.band import GAUGE_OFFSET, GAUGE_SCALE, Input, set_regulators, uncertain
from vanewise.network.observe import gyros, observe
from vanewise.network.pack import pack
from vanewise.network.packed import PackedNetwork
from vanewise.network.solve import best_engine, branch_flows, solve_batch
from vanewise.network.sweep import MAIN_FLOW
from vanewise.network.types import BatchCases, BatchSolution, Engine, Floats
from vanewise.study.drawing import drawn, normals
from vanewise.study.tally import Counts, Tally, counted
from vanewise.study.types import ALTITUDE, OPERATING, RPM, TEMPERATURE, WARMER, WIDTHS, Study, Unit
from vanewise.values import standard_atmosphere_1976 as usa76

Limits = tuple[float | None, float | None]
Columns = Mapping[str, Floats]


@dataclass(frozen=True, slots=True)
class OutcomeSpec:
    """One outcome: its name (``gauge``, ``drop attitude``), unit, and the limits it is counted against [SI]."""

    name: str
    unit: Unit
    limits: Limits = (None, None)


@dataclass(frozen=True, slots=True, eq=False)
class Prepared:
    """A study ready to be worked out: the packed network and what follows from the study once and for all."""

    study: Study
    packed: PackedNetwork
    unknown: tuple[Input, ...]
    outcomes: tuple[OutcomeSpec, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """What one chunk gave: its tally, and every scenario's numbers where the study keeps them."""

    number: int
    tally: Tally
    rows: Columns | None


@dataclass(frozen=True, slots=True, eq=False)
class Progress:
    """How far a study is, after each chunk."""

    chunks: int
    scenarios: int
    of: int
    unsolved: int


def prepare(study: Study) -> Prepared:
    """Pack the study's aircraft. Raises InputError for a description that has no network."""
    packed = pack(study.description)
    varied = {item.key for item in study.varied} | {axis.key for axis in study.axes}
    unknown = tuple(item for item in uncertain(packed) if item.path not in varied) if study.unknowns else ()
    return Prepared(study=study, packed=packed, unknown=unknown, outcomes=tuple(_outcomes(study, packed)))


def _outcomes(study: Study, packed: PackedNetwork) -> Iterator[OutcomeSpec]:
    description = packed.description
    gauge = description.gauge
    band = tuple(None if value is None else value.number for value in (gauge.band_low, gauge.band_high))
    for told in study.told:
        if told == "gauge":
            yield OutcomeSpec("gauge", "inHg", (band[0], band[1]))
        elif told == "lamp":
            yield OutcomeSpec("lamp on", "share")
        elif told == "drops":
            yield from (OutcomeSpec(f"drop {gyro}", "inHg", (study.needed_pa, None)) for gyro in gyros(description))
        elif told == "pump load":
            yield from (OutcomeSpec(f"load {pump.id}", "inHg") for pump in description.parts_of("pump"))
        else:
            yield from (OutcomeSpec(f"flow {owner}", "cfm") for owner, _ in flow_branches(packed))


def flow_branches(packed: PackedNetwork) -> Iterator[tuple[str, int]]:
    """Parts and lines that have a flow of their own, and the branch that carries it."""
    for owner, entry in packed.owners.items():
        main = entry.branches.get(MAIN_FLOW.get(entry.kind, ""))
        if main is not None:
            yield owner, main


def run(
    study: Study,
    *,
    engine: Engine | None = None,
    threads: int | None = None,
    sink: Callable[[Part], None] | None = None,
    progress: Callable[[Progress], None] | None = None,
    look: Callable[[BatchCases, BatchSolution], None] | None = None,
) -> Tally:
    """The whole study in one call, any number of scenarios in the memory of one chunk.

    ``sink`` receives every chunk's part as it is done, in order; ``progress`` how far it is; ``look`` every chunk's
    scenarios and solution, for a check of one's own. ``engine`` None takes the compiled kernel where numba is
    installed, ``threads`` None all cores; neither the number of threads nor the order of chunks changes an answer.
    Scenarios that could not be solved are counted, never left out in silence.
    """
    ready = prepare(study)
    made = (work_out(ready, number, engine=engine, threads=threads, look=look) for number in range(study.chunks))
    return added_up(study, made, sink=sink, progress=progress)


def added_up(
    study: Study,
    parts: Iterable[Part],
    *,
    sink: Callable[[Part], None] | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> Tally:
    """The tally of all parts, which come in the order of their numbers."""
    whole: Tally | None = None
    for part in parts:
        whole = part.tally if whole is None else whole.plus(part.tally)
        if sink is not None:
            sink(part)
        if progress is not None:
            done = int(whole.scenarios.sum())
            progress(
                Progress(chunks=part.number + 1, scenarios=done, of=study.count, unsolved=int(whole.unsolved.sum()))
            )
    assert whole is not None, "a study has one scenario at least"
    return whole


def work_out(
    ready: Prepared,
    number: int,
    *,
    engine: Engine | None = None,
    threads: int | None = None,
    look: Callable[[BatchCases, BatchSolution], None] | None = None,
) -> Part:
    """Chunk ``number`` of a study, 0 to ``study.chunks`` - 1."""
    study = ready.study
    engine = engine or best_engine()
    first = number * study.chunk_size
    chunk = _Chunk(ready, first, min(first + study.chunk_size, study.count), engine)
    solution = solve_batch(ready.packed, chunk.batch, engine, threads=threads)
    if look is not None:
        look(chunk.batch, solution)
    seen = chunk.outcomes(solution)
    groups, group = study.groups, chunk.group()
    unsolved = solution.status == 3
    tally = Tally(
        scenarios=np.bincount(group, minlength=groups),
        unsolved=np.bincount(group[unsolved], minlength=groups),
        outcomes={
            spec.name: counted(seen[spec.name], group, groups, WIDTHS[spec.unit], spec.limits)
            for spec in ready.outcomes
        },
    )
    return Part(number=number, tally=tally, rows=chunk.rows(seen, solution) if study.rows else None)


class _Chunk:
    """The scenarios from ``first`` up to ``last``, drawn and made into a batch."""

    def __init__(self, ready: Prepared, first: int, last: int, engine: Engine):
        self.ready, self.study, self.packed = ready, ready.study, ready.packed
        scenario = np.arange(first, last)
        self._system, point = np.divmod(scenario, self.study.points)
        self._first_system = int(self._system[0])
        self._systems = int(self._system[-1]) - self._first_system + 1
        self._digits = dict(_digits(self.study, point))
        self.number = scenario
        self.columns = dict(self._drawn())
        self._offset, self._scale = self._gauge_errors()
        self.batch = self._batch(engine)

    def _each(self, by_system: Floats) -> Floats:
        """A number of each system as one of each scenario."""
        return np.asarray(by_system[self._system - self._first_system])

    def _drawn(self) -> Iterator[tuple[str, Floats]]:
        """Every number that differs between scenarios, (n,), by key."""
        study = self.study
        for axis in study.axes:
            yield axis.key, np.array(axis.values)[self._digits[axis.key]]
        for item in study.varied:
            yield item.key, self._each(drawn(item.draw, study.seed, item.key, self._first_system, self._systems))
        for number in self.ready.unknown:
            yield number.path, self._each(number.drawn(self._normals(number.path)))

    def _normals(self, key: str) -> Floats:
        return normals(self.study.seed, key, self._first_system, self._systems)

    def _gauge_errors(self) -> tuple[Floats, Floats]:
        """Offset [Pa] and scale of each scenario's gauge: a perfect one's where unknowns are not drawn."""
        count, gauge = self.number.size, self.packed.description.gauge
        offset, scale = np.zeros(count), np.ones(count)
        if self.study.unknowns and gauge.bias_sd is not None:
            offset = gauge.bias_sd.number * self._each(self._normals(GAUGE_OFFSET))
        if self.study.unknowns and gauge.scale_sd is not None:
            scale = 1.0 + gauge.scale_sd.number * self._each(self._normals(GAUGE_SCALE))
        return offset, scale

    def _operating(self, key: str, otherwise: float) -> Floats:
        return self.columns.get(key, np.full(self.number.size, otherwise))

    def _batch(self, engine: Engine) -> BatchCases:
        description, count = self.packed.description, self.number.size
        altitude = self._operating(ALTITUDE, description.field.elevation.number)
        warmer = self._operating(WARMER, 0.0)
        temperature = self.columns.get(TEMPERATURE, atmosphere.standard_temperatures(altitude)) + warmer
        own = {key: column for key, column in self.columns.items() if key not in OPERATING}
        each = self.study.operating_points
        whole = int(self.number[0]) % each == 0 and count % each == 0
        run = each if whole else 1
        own |= self._springs({key: column[::run] for key, column in own.items()}, run, engine)
        return BatchCases(
            columns=tuple(own),
            values=np.stack(list(own.values()), axis=1) if own else np.zeros((count, 0)),
            engine_rpm=self._operating(RPM, description.engine.cruise_rpm.number),
            ambient_pa=atmosphere.pressures(altitude),
            temperature_k=temperature,
            run=run,
        )

    def _springs(self, own: Columns, run: int, engine: Engine) -> dict[str, Floats]:
        """Preload of every regulator where each system has its own; ``own`` is one row for every run of scenarios."""
        fields = {key: column for key, column in own.items() if is_field(self.study, key)}
        if not fields or not self.study.set_anew:
            return {}
        offset, scale = self._offset[::run], self._scale[::run]
        preload = set_regulators(self.packed, fields, offset, scale, offset.size, engine)
        return {key: np.repeat(column, run) for key, column in preload.items()}

    def group(self) -> Counts:
        """The group each scenario is counted in, (n,)."""
        group = np.zeros(self.number.size, np.int64)
        for axis in self.study.axes:
            if axis.key in self.study.by:
                group = group * len(axis.values) + self._digits[axis.key]
        return group

    def outcomes(self, solution: BatchSolution) -> dict[str, Floats]:
        """Every outcome of every scenario, (n,), SI; NaN where a scenario is not solved."""
        seen = observe(self.packed, self.batch, solution)
        found = {"gauge": seen.gauge_pa * self._scale + self._offset}
        found |= {f"drop {gyro}": drop for gyro, drop in seen.drop_pa.items()}
        found |= {f"load {pump}": load for pump, load in seen.pump_load_pa.items()}
        lamp = self.packed.description.lamp
        if lamp is not None and seen.lamp_pa is not None:
            found["lamp on"] = np.where(np.isfinite(seen.lamp_pa), seen.lamp_pa < lamp.trip.number, np.nan)
        if "flows" in self.study.told:
            flows = branch_flows(self.packed, self.batch, solution)
            density = self.batch.ambient_pa / (usa76.GAS_CONSTANT.number * self.batch.temperature_k)
            found |= {f"flow {owner}": flows[:, main] / density for owner, main in flow_branches(self.packed)}
        return found

    def rows(self, seen: Columns, solution: BatchSolution) -> Columns:
        """What is kept of every scenario: its number, where it was, what was varied, what came out, and how surely."""
        place = {"system": self._system, RPM: self.batch.engine_rpm}
        place["ambient"], place[TEMPERATURE] = self.batch.ambient_pa, self.batch.temperature_k
        own = {key: column for key, column in self.columns.items() if key not in (RPM, TEMPERATURE)}
        told = {spec.name: seen[spec.name] for spec in self.ready.outcomes}
        return {**place, **own, **told, "status": solution.status, "radius": solution.radius_pa}


def _digits(study: Study, point: Counts) -> Iterator[tuple[str, Counts]]:
    """Which of its values each axis has at each point of the grid; the last axis changes fastest."""
    for axis in reversed(study.axes):
        point, digit = np.divmod(point, len(axis.values))
        yield axis.key, digit


def is_field(study: Study, key: str) -> bool:
    """Whether a key is a number of a part as built, and no state it can be in."""
    owner, _, name = key.rpartition(".")
    kind = kind_at(study.description, owner)
    return kind in KINDS and all(state.name != name for state in KINDS[kind].states)
