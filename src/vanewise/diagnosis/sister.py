"""Sound readings of a sister aircraft of the same layout, as evidence about the unknowns of this one.

Two aircraft of one kind share what belongs to the kind (the size of that pump, the jets of that instrument) and differ
in what belongs to each (its wear, its hoses, its gauge). So a sister's sweep says something of where this aircraft's
sound sweep lies, and far less than its own would.

The sound readings of sisters are taken as jointly normal at the points read, each with the mean and covariance that the
bank's sound rows have there, and with a correlation of :data:`SHARED` between one aircraft and the next. Given this
aircraft's row x, a sister then reads about m + SHARED (x - m), with what is left of the covariance, its own gauge's
error and a Student t's tails for a sister that is no sister at all.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from vanewise.diagnosis.likelihood import SharedError
from vanewise.network.types import Floats

SHARED: Final = 0.5
"""Share of the variance of sound readings that two aircraft of one kind have in common (judgement)."""
_FREEDOM: Final = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class Kin:
    """Where sound readings of such aircraft lie: mean (n,) and covariance (n, n) over the bank's sound rows, inHg."""

    mean: Floats
    covariance: Floats


def kin_of(sound: Floats) -> Kin:
    """From predictions of the bank's sound rows, shape (rows, readings)."""
    solved = sound[np.isfinite(sound).all(axis=1)]
    return Kin(solved.mean(axis=0), np.atleast_2d(np.cov(solved, rowvar=False)))


def sister_log(own: Floats, observed: Floats, read_sd: Floats, error: SharedError, kin: Kin) -> Floats:
    """Log density of a sister's sound readings given this aircraft's sound predictions ``own`` (rows, n); (rows,)."""
    count = observed.shape[0]
    if count == 0:
        return np.zeros(own.shape[0])
    expected = kin.mean + SHARED * (own - kin.mean)
    ones = np.ones(count)
    spread = (1.0 - SHARED**2) * kin.covariance + np.diag(read_sd**2)
    spread = spread + error.bias_sd**2 * np.outer(ones, ones) + error.scale_sd**2 * np.outer(kin.mean, kin.mean)
    factor = np.linalg.cholesky(spread)
    off = np.linalg.solve(factor, (observed - expected).T)
    distance = (off**2).sum(axis=0)
    constant = math.lgamma(0.5 * (_FREEDOM + count)) - math.lgamma(0.5 * _FREEDOM)
    constant -= 0.5 * count * math.log(_FREEDOM * math.pi) + float(np.log(np.diag(factor)).sum())
    return np.asarray(constant - 0.5 * (_FREEDOM + count) * np.log1p(distance / _FREEDOM))
