"""How fast networks are solved, against a general root finder on the same compiled equations."""

from __future__ import annotations

import os
from typing import Any

import numba
import numpy as np
from scipy.optimize import root

from benches.harness import Comparison, bench
from benches.network_cases import nineteen_junctions, plausible
from vanewise.network import compiled, compiled_laws, compiled_load, pack, solve_batch
from vanewise.network.delivery import judged
from vanewise.network.elements import Law
from vanewise.network.problem import Problem, prepare_batch

SCENARIOS = 10_000
ONE_BY_ONE = 40
SEED = 11

ORIFICE, PIPE, FILTER, VALVE = (int(law) for law in (Law.ORIFICE, Law.PIPE, Law.FILTER, Law.VALVE))


@numba.njit(error_model="numpy")
def flow_of(kind: int, k: int, g: Any, pa: float, pb: float) -> Any:
    """Mass flow of branch ``k`` and its two slopes: the laws are the kernel's own."""
    if kind == ORIFICE:
        return compiled_laws.orifice(g[0, k], g[1, k], g[2, k], g[3, k], pa, pb)
    if kind == PIPE:
        return compiled_laws.pipe(g[0, k], g[1, k], g[2, k], g[3, k], g[4, k], g[5, k], g[6, k], pa, pb)
    if kind == FILTER:
        return compiled_laws.filter_element(g[0, k], g[1, k], g[2, k], g[3, k], pa, pb)
    if kind == VALVE:
        return compiled_laws.valve(g[0, k], g[1, k], g[2, k], g[3, k], g[4, k], g[5, k], pa, pb)
    return g[0, k] * pa, g[0, k], 0.0


@numba.njit(error_model="numpy")
def one_balance(free: int, law: Any, a: Any, b: Any, g: Any, gmin: float, x: Any, fixed: Any, slope: Any) -> Any:
    """Balances (free,) at pressures ``x``, and the dense Jacobian in ``slope``."""
    p = np.empty(free + fixed.size)
    p[:free], p[free:] = x, fixed
    f = np.zeros(free + fixed.size)
    slope[:, :] = 0.0
    for i in range(free):
        f[i] = gmin * (p[i] - fixed[0])
        slope[i, i] = gmin
    for k in range(law.size):
        m, da, db = flow_of(law[k], k, g, p[a[k]], p[b[k]])
        f[a[k]] += m
        f[b[k]] -= m
        if a[k] < free:
            slope[a[k], a[k]] += da
            if b[k] < free:
                slope[a[k], b[k]] += db
                slope[b[k], a[k]] -= da
        if b[k] < free:
            slope[b[k], b[k]] -= db
    return f[:free]


@numba.njit(error_model="numpy")
def law_numbers(scenario: Any, batch: Any, g: Any) -> None:
    compiled_load.start_numbers(batch[0], g)
    compiled_load.load_block(scenario, batch, 1.0, g)


class OneByOne:
    """The same scenarios, each handed to scipy on its own."""

    def __init__(self, problem: Problem, count: int):
        self.problem = problem
        self.free = problem.elimination.count
        self.cases = [self._numbers(s) for s in range(count)]
        self.start = 0.9

    def _numbers(self, s: int) -> tuple[np.ndarray, np.ndarray]:
        problem, lanes = self.problem, compiled.LANES
        g = np.empty(compiled.PLACES * problem.branch_a.size * lanes)
        factors = np.empty((1 + problem.air.root_t.shape[1] * compiled_load.FACTORS) * lanes)
        law_numbers(np.full(lanes, s), (*compiled.law_lists(problem), factors), g)
        return np.ascontiguousarray(g.reshape(compiled.PLACES, -1)[:, ::lanes]), problem.fixed_pa[s].copy()

    def run(self, jacobian: bool) -> int:
        problem, free = self.problem, self.free
        law, a, b, solved = problem.law.astype(np.int64), problem.branch_a, problem.branch_b, 0
        slope = np.empty((free, free))
        for g, fixed in self.cases:

            def residual(x: np.ndarray, g: np.ndarray = g, fixed: np.ndarray = fixed) -> Any:
                f = one_balance(free, law, a, b, g, problem.gmin, np.maximum(x, 1.0), fixed, slope)
                return (f, slope.copy()) if jacobian else f

            answer = root(residual, np.full(free, self.start * fixed[0]), jac=jacobian, method="hybr")
            solved += bool(answer.success)
        return solved


def _comparison(threads: int, jacobian: bool, at_least: float | None) -> Comparison:
    packed = pack(nineteen_junctions())
    cases = plausible(packed, SCENARIOS, SEED)
    one_by_one = OneByOne(prepare_batch(packed, cases, judged(packed, cases)), ONE_BY_ONE)
    one_by_one.run(jacobian)
    solved = solve_batch(packed, cases, "kernel", threads=threads)
    if not (solved.status < 3).all():
        raise ArithmeticError("a bench of speed needs answers")
    words = "Jacobian handed in" if jacobian else "without a Jacobian"
    return Comparison(
        ours=lambda: solve_batch(packed, cases, "kernel", threads=threads),
        ours_per_call=SCENARIOS,
        reference=lambda: one_by_one.run(jacobian),
        reference_per_call=ONE_BY_ONE,
        reference_name=f"scipy.optimize.root (hybr, {words}) one by one on the same compiled balances",
        at_least=at_least,
    )


@bench("19-junction network, batch, all cores", unit="us per scenario")
def all_cores() -> Comparison:
    return _comparison(os.cpu_count() or 1, jacobian=False, at_least=200.0)


@bench("19-junction network, batch, one thread", unit="us per scenario")
def one_thread() -> Comparison:
    return _comparison(1, jacobian=False, at_least=None)


@bench("19-junction network, batch, one thread, against hybr with Jacobian", unit="us per scenario")
def one_thread_jacobian() -> Comparison:
    return _comparison(1, jacobian=True, at_least=300.0)


@bench("19-junction network, batch, all cores, against hybr with Jacobian", unit="us per scenario")
def all_cores_jacobian() -> Comparison:
    return _comparison(os.cpu_count() or 1, jacobian=True, at_least=600.0)


STEPS_WITH_SLOPES, STEPS_WITHOUT = 4.5, 3.0
"""Sets of laws that a scenario of the bench takes: steps and proof."""


@numba.njit(error_model="numpy")
def floor_work(repeats: int, slopes: bool, free: int, law: Any, a: Any, b: Any, g: Any, gmin: float, p: Any) -> float:
    """The laws of one scenario, one branch after the other, ``repeats`` times over; no linear algebra, no looking."""
    total = 0.0
    for _ in range(repeats):
        p[0] += 1e-9
        for k in range(law.size):
            m, da, db = flow_of(law[k], k, g, p[a[k]], p[b[k]])
            total += m + da + db if slopes else m
    return total


@bench("19-junction network, batch, one thread, against the scalar floor", unit="us per scenario")
def scalar_floor() -> Comparison:
    packed = pack(nineteen_junctions())
    cases = plausible(packed, SCENARIOS, SEED)
    problem = prepare_batch(packed, cases, judged(packed, cases))
    one_by_one = OneByOne(problem, ONE_BY_ONE)
    solved = solve_batch(packed, cases, "kernel", threads=1).pressure_pa[:ONE_BY_ONE]
    law = problem.law.astype(np.int64)

    def floor() -> float:
        total = 0.0
        for (g, _), p in zip(one_by_one.cases, solved.copy(), strict=True):
            given = (one_by_one.free, law, problem.branch_a, problem.branch_b, g, problem.gmin, p)
            total += floor_work(int(100 * STEPS_WITH_SLOPES), True, *given)
            total += floor_work(int(100 * STEPS_WITHOUT), False, *given)
        return total

    floor()
    return Comparison(
        ours=lambda: solve_batch(packed, cases, "kernel", threads=1),
        ours_per_call=SCENARIOS,
        reference=floor,
        reference_per_call=100 * ONE_BY_ONE,
        reference_name="the laws alone, one after the other (scalar floor)",
        at_least=1.0 / 3.0,
    )
