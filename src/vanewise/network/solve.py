"""Solve one operating point or many: choose the engine, name what comes out, never hand on half an answer.

A batch never raises for one bad scenario; its status says so and its pressures are NaN. A single solve gives
:class:`Solved` or :class:`NotSolved`, and the second is accepted nowhere downstream.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache

import numpy as np

from vanewise.errors import wrong
from vanewise.network import atmosphere, delivery, extended, oracle, sensed
from vanewise.network.packed import PackedNetwork
from vanewise.network.problem import Problem, prepare_batch
from vanewise.network.types import (
    STATUSES,
    BatchCases,
    BatchSolution,
    Engine,
    Floats,
    NotSolved,
    OperatingPoint,
    Solved,
    States,
)
from vanewise.quantities import HIGHEST_RPM


@lru_cache(maxsize=1)
def kernel_available() -> bool:
    """Whether numba is installed. It is not imported to find out."""
    wanted = ("numba", "vanewise.network.compiled")
    return all(importlib.util.find_spec(name) is not None for name in wanted)


def best_engine() -> Engine:
    """``kernel`` where numba is installed, else ``numpy``: same answers within 0.1 Pa, slower."""
    return "kernel" if kernel_available() else "numpy"


def cases(
    points: Sequence[OperatingPoint], states: Sequence[States] | States = (), *, source_pa: Floats | None = None
) -> BatchCases:
    """A batch from operating points and states: one mapping for all, or one per point (neutral where it is silent)."""
    if isinstance(states, Mapping):
        per_point: Sequence[States] = [states] * len(points)
    else:
        per_point = list(states) or [{}] * len(points)
    if len(per_point) != len(points):
        raise ValueError(f"{len(points)} operating points but {len(per_point)} sets of states")
    columns = tuple(dict.fromkeys(key for entry in per_point for key in entry))
    if any(set(entry) != set(columns) for entry in per_point):
        raise ValueError("every set of states must name the same keys; give the neutral value where one is sound")
    air = [atmosphere.ambient(point.altitude_m, point.temperature_k) for point in points]
    for point in points:
        _check_rpm(point.engine_rpm)
    cabins = [point.cabin_temperature_k for point in points]
    default = atmosphere.default_cabin_temperature
    cabin = [default(a.temperature_k) if t is None else t for t, a in zip(cabins, air, strict=True)]
    return BatchCases(
        columns=columns,
        values=np.array([[float(entry[key]) for key in columns] for entry in per_point]).reshape(len(points), -1),
        engine_rpm=np.array([point.engine_rpm for point in points], float),
        ambient_pa=np.array([a.pressure_pa for a in air]),
        temperature_k=np.array([a.temperature_k for a in air]),
        cabin_temperature_k=np.array(cabin),
        source_pa=source_pa,
    )


def solve_batch(
    packed: PackedNetwork, batch: BatchCases, engine: Engine | None = None, *, threads: int | None = None
) -> BatchSolution:
    """Every junction's pressure in every scenario, each with its own status and enclosure radius.

    ``engine`` None takes the compiled kernel where numba is installed; it shares the batch out to ``threads`` (None:
    all cores it may use), which changes no answer. Raises InputError for an unknown column.
    """
    chosen = engine or best_engine()

    def inner(cases: BatchCases, delivery_k: Floats, start_pa: Floats | None) -> BatchSolution:
        if packed.sensing is not None:
            return sensed.solve(packed, cases, delivery_k, start_pa, lambda problem: _run(problem, chosen, threads))
        problem = prepare_batch(packed, cases, delivery_k)
        solved = _run(problem if start_pa is None else problem.starting_at(start_pa), chosen, threads)
        return BatchSolution(*solved, delivery_k=delivery_k)

    return delivery.settle(packed, batch, inner)


def _run(problem: Problem, engine: Engine, threads: int | None) -> oracle.Answer:
    if engine == "numpy":
        return extended.look_again(problem, oracle.solve(problem))
    from vanewise.network import compiled  # late: numba takes its time to import and may be missing

    return extended.look_again(problem, compiled.solve(problem, threads))


def solve_in_slices(
    packed: PackedNetwork,
    make: Callable[[int, int], BatchCases],
    count: int,
    *,
    size: int = 10_000,
    engine: Engine | None = None,
    threads: int | None = None,
) -> Iterator[tuple[BatchCases, BatchSolution]]:
    """Solve ``count`` scenarios slice by slice, so that memory holds one slice only, however many there are.

    ``make(first, last)`` gives the scenarios from ``first`` up to ``last``; for the answers to be the same however the
    work is cut, it must draw each scenario from its own number. Yields each slice as it is solved, in order.
    """
    for first in range(0, count, size):
        batch = make(first, min(first + size, count))
        yield batch, solve_batch(packed, batch, engine, threads=threads)


def branch_flows(packed: PackedNetwork, batch: BatchCases, solution: BatchSolution) -> Floats:
    """Mass flow [kg/s] of every branch in every scenario, (n, branches), positive from its start to its end.

    NaN where a scenario is not solved; zero in branches that nothing brings to life.
    """
    if solution.lift is not None:
        batch = sensed.with_lift(packed, batch, solution.lift)
    problem = prepare_batch(packed, batch, solution.delivery_k)
    p = solution.pressure_pa
    rows = np.arange(problem.count)
    m, _, _ = oracle.flows(problem, p[:, problem.branch_a], p[:, problem.branch_b], rows)
    flow = np.zeros((problem.count, packed.branches))
    flow[:, problem.kept] = m
    flow[solution.status == 3] = np.nan
    return flow


def solve(
    packed: PackedNetwork, point: OperatingPoint, states: States | None = None, *, engine: Engine = "numpy"
) -> Solved | NotSolved:
    """One operating point. ``states`` override the description: ``{"pump.slip": 3.0, "hose_1.leak": 2.0}``.

    Raises InputError for an unknown state, an altitude, temperature or engine speed outside the range.
    """
    batch = cases([point], states or {})
    solution = solve_batch(packed, batch, engine)
    if solution.status[0] == 3:
        return _not_solved(packed, batch)
    pressure = solution.pressure_pa[0]
    flow = branch_flows(packed, batch, solution)[0]
    return Solved(
        status=STATUSES[solution.status[0]],
        radius_pa=float(solution.radius_pa[0]),
        pressure_pa={port: float(pressure[number]) for port, number in packed.alias.items()},
        flow_kg_s={name: float(m) for name, m in zip(packed.branch_names, flow, strict=True)},
        ambient_pa=float(batch.ambient_pa[0]),
        temperature_k=float(batch.temperature_k[0]),
    )


def _not_solved(packed: PackedNetwork, batch: BatchCases) -> NotSolved:
    """Where the balance is worst at the last pressures tried from ambient."""
    problem = prepare_batch(packed, batch, delivery.judged(packed, batch))
    rows = np.arange(1)
    p, _, _ = oracle.newton(problem, problem.first_guess(1.0), rows)
    residual = oracle.imbalance(problem, p, rows)[0]
    worst = int(np.argmax(np.abs(residual)))
    return NotSolved(
        reason="the mass balance did not close from any start, nor by continuation, to a proven answer",
        worst_junction=packed.junction_names[worst],
        mass_residual=float(np.abs(residual).sum()),
    )


def _check_rpm(rpm: float) -> None:
    if not 0.0 <= rpm <= HIGHEST_RPM:
        raise wrong("engine speed", f"0 to {HIGHEST_RPM:,.0f} rpm", f"{rpm:,.0f} rpm", "give the engine speed in rpm")
