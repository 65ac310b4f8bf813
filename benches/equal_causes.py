"""Whether 'undecided' stands where two causes are equal: no check still possible tells them apart, and neither is much
more common than the other.

Equal are two causes whose prior odds are within :data:`PRIOR_ODDS`, and whose outcome distributions over every check
that is still possible differ by a total variation of at most :data:`TOTAL_VARIATION`.
"""

from __future__ import annotations

from itertools import combinations
from typing import Final

import numpy as np
from scipy.special import ndtr

from vanewise.diagnosis.answer import source_matrix
from vanewise.diagnosis.expected import Measurable, measurables, table_worth
from vanewise.diagnosis.infer import State
from vanewise.diagnosis.next_check import candidates
from vanewise.diagnosis.resampling import resample
from vanewise.diagnosis.types import Causes
from vanewise.network.types import Floats

TOTAL_VARIATION: Final = 0.05
PRIOR_ODDS: Final = 3.0
LEAST_ROWS: Final = 30
"""Rows of a sample of 400 by which a distribution is known well enough to be called alike."""
_CELLS: Final = 24


def _cells(measurable: Measurable) -> list[Floats]:
    """Probability of each cell of each measured quantity for every row, (rows, cells); the rows' own spread counts."""
    found = []
    for axis in range(measurable.mean.shape[1]):
        mean = measurable.mean[:, axis]
        sd = np.sqrt(measurable.covariance[:, axis, axis])
        solved = np.isfinite(mean)
        edges = np.linspace((mean - 2 * sd)[solved].min(), (mean + 2 * sd)[solved].max(), _CELLS)
        below = ndtr((edges[None, :] - np.where(solved, mean, edges[-1])[:, None]) / sd[:, None])
        padded = np.concatenate([np.zeros((len(mean), 1)), below, np.ones((len(mean), 1))], axis=1)
        found.append(np.diff(padded, axis=1))
    return found


def equal_pairs(state: State, causes: Causes) -> tuple[tuple[str, str], ...]:
    """The pairs of causes that are equal here, by id."""
    modes, matrix = source_matrix(state.posterior.hypotheses)
    prior = dict(zip(modes, (matrix @ state.posterior.prior).tolist(), strict=True))
    sample = resample(state)
    rows = {mode: np.array([cause == mode for cause in sample.causes]) for mode in dict.fromkeys(sample.causes)}
    many = [mode for mode, here in rows.items() if here.sum() >= LEAST_ROWS and mode != "none_of_these"]
    close = [
        (one, other)
        for one, other in combinations(many, 2)
        if max(prior[one], prior[other]) <= PRIOR_ODDS * min(prior[one], prior[other])
    ]
    if not close:
        return ()
    wanted = candidates(state.bank.packed.description, state.prepared, causes.causes)
    solved = measurables(state, sample, [entry for entry in wanted if entry.check.kind != "table"])
    tables: list[Floats] = []
    for entry in wanted:
        tables += [table_worth(sample, entry)[2]] if entry.check.kind == "table" else _cells(solved[entry.id])

    def apart(one: str, other: str) -> float:
        differences = [0.5 * np.abs(t[rows[one]].mean(axis=0) - t[rows[other]].mean(axis=0)).sum() for t in tables]
        return float(max(differences, default=0.0))

    return tuple(pair for pair in close if apart(*pair) <= TOTAL_VARIATION)
