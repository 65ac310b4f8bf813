"""What rounding does to a balance is within what the proof allows for it, held against extended precision."""

from __future__ import annotations

import numpy as np
import pytest

from tests.contracts.hard_scenarios import hard_batch
from vanewise.aircraft.layouts import layouts, make
from vanewise.network import law_constants as c
from vanewise.network import oracle, pack, solve_batch
from vanewise.network.problem import prepare_batch

EPS = float(np.finfo(float).eps)
extended = pytest.mark.skipif(np.finfo(np.longdouble).eps >= EPS, reason="no extended precision on this machine")


@extended
@pytest.mark.parametrize("name", sorted(layouts()))
def test_balances_in_extended_precision_differ_by_less_than_the_allowance(name: str):
    packed = pack(make(name))
    batch = hard_batch(packed, 120, seed=77)
    solution = solve_batch(packed, batch, "numpy")
    solved = np.flatnonzero(solution.status != 3)
    problem = prepare_batch(packed, batch.rows(solved), solution.delivery_k[solved])
    p, rows, free = solution.pressure_pa[solved], np.arange(solved.size), packed.free
    exact = p.astype(np.longdouble)
    flow = oracle.flows(problem, exact[:, problem.branch_a], exact[:, problem.branch_b], rows)[0]
    balance = np.zeros_like(exact)
    balance[:, :free] = problem.gmin * (exact[:, :free] - exact[:, problem.reference : problem.reference + 1])
    for k in range(flow.shape[1]):
        balance[:, problem.branch_a[k]] += flow[:, k]
        balance[:, problem.branch_b[k]] -= flow[:, k]
    off = np.abs(oracle.imbalance(problem, p, rows) - balance[:, :free])
    slope = EPS * p[:, :free] * oracle.jacobian(problem, p, rows)[:, :free]
    # Of the four steps allowed, two are for storing points and their neighbours; the laws may have the rest.
    assert (off <= c.ROUNDING + 0.5 * c.PRESSURE_ROUNDING / EPS * slope).all()
    assert (off > 0.0).any()
