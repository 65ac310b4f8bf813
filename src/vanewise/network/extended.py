"""A second look, in extended precision, at what has an answer that ordinary precision cannot prove.

A pump that pushes against a shut line through short hoses ends at tens of bar, with next to no way out for the air.
What rounding does to the flows in those hoses is then worth more than a pascal at their far end, and the proof fails,
rightly. Nothing is wrong with the answer. So the last few Newton steps and the proof are taken again with longer
numbers, by the same laws and the same rules, the allowance for rounding in the steps of those numbers. Where a machine
has no longer numbers, what is left stays without an answer.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from vanewise.network import law_constants as c
from vanewise.network import oracle
from vanewise.network.problem import Problem

EPS: Final = float(np.finfo(float).eps)
LONGER: Final = bool(np.finfo(np.longdouble).eps < EPS)
"""Whether this machine has longer numbers."""
POLISH: Final = 3
START: Final = 0.9


def look_again(problem: Problem, answer: oracle.Answer) -> oracle.Answer:
    """The answer with scenarios that were *not converged* proven where longer numbers can (then *retried*)."""
    pressure, status, radius, imbalance, taken = answer
    if not (LONGER and (status == 3).any()):
        return answer
    sensible = np.isfinite(problem.fixed_pa).all(axis=1) & (problem.fixed_pa > 0.0).all(axis=1)
    rows = np.flatnonzero((status == 3) & sensible)
    if not rows.size:
        return answer
    found, arrived, iterations = oracle.newton(problem, problem.first_guess(START)[rows], rows)
    taken[rows] = np.minimum(taken[rows] + iterations, 32767)
    rows = rows[arrived]
    p: Any = found[arrived].astype(np.longdouble)
    if not rows.size:
        return answer
    for _ in range(POLISH):
        p = oracle.plain_step(problem, p, rows)
    proven, _ = oracle.certify(problem, p, rows)
    # What is handed on are ordinary numbers again.
    kept = p.astype(float)
    proven = proven + np.abs(p - kept).max(axis=1).astype(float) * (1.0 + EPS)
    good = proven < c.WIDEST_RADIUS
    at = rows[good]
    pressure[at], radius[at], status[at] = kept[good], proven[good], 1
    imbalance[at] = np.abs(oracle.imbalance(problem, kept[good], at)).sum(axis=1)
    return pressure, status, radius, imbalance, taken
