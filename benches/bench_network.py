"""How fast networks are solved, against a general root finder on the same compiled equations."""

from __future__ import annotations

import os
from typing import Any

import numba
import numpy as np
from scipy.optimize import root

from benches.harness import Comparison, bench
from benches.network_cases import nineteen_junctions, plausible
from vanewise.network import compiled, pack, solve_batch
from vanewise.network.elements import Law
from vanewise.network.problem import Problem, prepare_batch

SCENARIOS = 10_000
ONE_BY_ONE = 40
SEED = 11

ORIFICE, PIPE, FILTER, VALVE = (int(law) for law in (Law.ORIFICE, Law.PIPE, Law.FILTER, Law.VALVE))


@numba.njit(error_model="numpy")
def one_balance(free: int, law: Any, a: Any, b: Any, g: Any, gmin: float, x: Any, fixed: Any, slope: Any) -> Any:
    """Balances (free,) at pressures ``x``, and the dense Jacobian in ``slope``: the laws are the kernel's own."""
    p = np.empty(free + fixed.size)
    p[:free], p[free:] = x, fixed
    f = np.zeros(free + fixed.size)
    slope[:, :] = 0.0
    for i in range(free):
        f[i] = gmin * (p[i] - fixed[0])
        slope[i, i] = gmin
    for k in range(law.size):
        pa, pb = p[a[k]], p[b[k]]
        if law[k] == ORIFICE:
            m, da, db = compiled.orifice(g[0, k], g[1, k], g[2, k], g[3, k], pa, pb)
        elif law[k] == PIPE:
            m, da, db = compiled.pipe(g[0, k], g[1, k], g[2, k], g[3, k], g[4, k], g[5, k], pa, pb)
        elif law[k] == FILTER:
            m, da, db = compiled.filter_element(g[0, k], g[1, k], g[2, k], g[3, k], pa, pb)
        elif law[k] == VALVE:
            m, da, db = compiled.valve(g[0, k], g[1, k], g[2, k], g[3, k], g[4, k], g[5, k], pa, pb)
        else:
            m, da, db = g[0, k] * pa, g[0, k], 0.0
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
def law_numbers(s: int, batch: Any, g: Any) -> None:
    compiled.load_lane(0, s, batch, 1.0, g)


class OneByOne:
    """The same scenarios, each handed to scipy on its own."""

    def __init__(self, problem: Problem, count: int):
        self.problem = problem
        self.free = problem.elimination.count
        self.cases = [self._numbers(s) for s in range(count)]
        self.start = 0.9

    def _numbers(self, s: int) -> tuple[np.ndarray, np.ndarray]:
        problem, lanes = self.problem, compiled.LANES
        g = np.ones((compiled.PLACES, problem.branch_a.size * lanes))
        batch = (
            problem.law.astype(np.int64), problem.zone.astype(np.int64), problem.geometry, problem.override_branch,
            problem.override_place, problem.override_values, problem.rpm, problem.air.root_t, problem.air.viscosity,
            np.empty_like(problem.geometry),
        )  # fmt: skip
        law_numbers(s, batch, g)
        return np.ascontiguousarray(g[:, ::lanes]), problem.fixed_pa[s].copy()

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
    one_by_one = OneByOne(prepare_batch(packed, cases), ONE_BY_ONE)
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
    return _comparison(1, jacobian=True, at_least=None)


@bench("19-junction network, batch, all cores, against hybr with Jacobian", unit="us per scenario")
def all_cores_jacobian() -> Comparison:
    return _comparison(os.cpu_count() or 1, jacobian=True, at_least=None)
