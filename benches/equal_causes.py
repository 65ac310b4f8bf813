"""Whether 'undecided' stands where two causes are equal: nothing that was read and no check still possible tells them
apart, and neither is much more common than the other.

Looked at are the two leading causes of an answer. They are equal where their prior odds are within :data:`PRIOR_ODDS`,
what was read speaks for neither (:data:`EVEN`), and their outcome distributions over every check that is still possible
differ by a total variation of at most :data:`TOTAL_VARIATION`. A check that would tell them apart is taken to be
impossible here and now (no tool, no access), as it often is; so the case occurs whenever two causes fit alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import ndtr

from vanewise.diagnosis.expected import Measurable, measurables, table_worth
from vanewise.diagnosis.infer import Options, State, answer
from vanewise.diagnosis.next_check import candidates
from vanewise.diagnosis.resampling import resample
from vanewise.diagnosis.summing_up import source_matrix
from vanewise.diagnosis.types import Causes
from vanewise.network.types import Floats

TOTAL_VARIATION: Final = 0.05
PRIOR_ODDS: Final = 3.0
EVEN: Final = 1.25
"""Odds by which what was read may speak for one of two causes that are called equal."""
LEAST_ROWS: Final = 30
"""Rows of a sample of 400 by which a distribution is known well enough to be called alike."""
_CELLS: Final = 24


@dataclass(frozen=True, slots=True)
class Equal:
    """Two equal causes that lead an answer."""

    causes: tuple[str, str]
    undecided: bool
    apart: float
    """Largest total variation between them over the checks still possible."""
    impossible: tuple[str, ...]
    """Checks that would have told them apart, taken to be impossible."""
    possible: int


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


def _alike_so_far(state: State, causes: Causes) -> bool:
    """Whether the two leading causes are about as common and fit what was read about as well."""
    first, second = causes.causes[:2]
    if "none_of_these" in (first.id, second.id):
        return False
    modes, matrix = source_matrix(state.posterior.hypotheses)
    prior = dict(zip(modes, (matrix @ state.posterior.prior).tolist(), strict=True))
    common = prior[first.id] / prior[second.id]
    spoken = first.probability / second.probability / common
    return max(common, 1.0 / common) <= PRIOR_ODDS and max(spoken, 1.0 / spoken) <= EVEN


def equal_leaders(state: State, causes: Causes) -> Equal | None:
    """The two leading causes where they are equal, with what the answer says then."""
    if not _alike_so_far(state, causes):
        return None
    pair = causes.causes[0].id, causes.causes[1].id
    sample = resample(state)
    one, other = (np.array([cause == name for cause in sample.causes]) for name in pair)
    if min(one.sum(), other.sum()) < LEAST_ROWS:
        return None
    wanted = candidates(state.bank.packed.description, state.prepared, causes.causes)
    solved = measurables(state, sample, [entry for entry in wanted if entry.check.kind != "table"])
    apart: dict[str, float] = {}
    for entry in wanted:
        tables = [table_worth(sample, entry)[2]] if entry.check.kind == "table" else _cells(solved[entry.id])
        own = max(0.5 * float(np.abs(t[one].mean(axis=0) - t[other].mean(axis=0)).sum()) for t in tables)
        apart[entry.check.id] = max(own, apart.get(entry.check.id, 0.0))
    telling = tuple(sorted(check for check, own in apart.items() if own > TOTAL_VARIATION))
    left = {check: own for check, own in apart.items() if check not in telling}
    then = answer(state, 0, Options(weights=False, not_possible=telling))
    return Equal(pair, then.undecided, max(left.values(), default=0.0), telling, len(left))
