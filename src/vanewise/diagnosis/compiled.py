"""The readings of one gauge scored row by row in compiled code: the same sum as in :mod:`.likelihood`, sooner.

Everything it needs comes in as an argument and nothing is imported from the project's own laws, so that numba's cache,
which looks at this file only, can never be stale.

``python -m vanewise.diagnosis.compiled --warm`` compiles the solver's kernel and this into their cache and exits.
"""

# mypy: disable-error-code="untyped-decorator,no-untyped-call,no-any-return"
from __future__ import annotations

import importlib
import math
import sys
from typing import Any, Final

import numpy as np

from vanewise.network import numba_cache  # before numba: it says where the compiled code is kept

import numba  # isort: skip
from numba import types  # isort: skip

_SUMS: Final = 6
_NOTHING: Final = -46.0
"""Exponent below which a set of slips adds less than the last digit."""
_ROWS = types.Array(types.float64, 2, "C", readonly=True)
_LINE = types.Array(types.float64, 1, "C", readonly=True)


@numba.njit(error_model="numpy", nogil=True, inline="always")
def _distance(bb: float, bs: float, ss: float, rb: float, rs: float, rr: float) -> tuple[float, float]:
    """Squared distance and determinant from six sums (see ``likelihood._quadratic``)."""
    determinant = max((1.0 + bb) * (1.0 + ss) - bs * bs, 1.0)
    explained = ((1.0 + ss) * rb * rb - 2.0 * bs * rb * rs + (1.0 + bb) * rs * rs) / determinant
    return max(rr - explained, 0.0), determinant


@numba.njit(error_model="numpy", nogil=True)
def _sums(
    predicted: Any,
    observed: Any,
    variance: Any,
    sd: Any,
    offset: float,
    scale: float,
    part: Any,
    spread: Any,
    total: Any,
) -> float:
    """What each reading of a row adds to the six sums, and the sums; returns the sum of ln(2 pi variance)."""
    total[:] = 0.0
    logs, product = 0.0, 1.0
    for j in range(predicted.size):
        inverse = 1.0 / variance[j]
        residual = observed[j] - predicted[j] * (1.0 + scale) - offset
        scaled = sd[1] * predicted[j]
        shared = sd[0] + sd[2] * predicted[j]
        part[j, 0] = shared * shared * inverse
        part[j, 1] = shared * inverse * scaled
        part[j, 2] = scaled * scaled * inverse
        part[j, 3] = shared * residual * inverse
        part[j, 4] = scaled * residual * inverse
        part[j, 5] = residual * residual * inverse
        for k in range(_SUMS):
            total[k] += part[j, k]
        spread[j] = 2.0 * math.pi * variance[j]
        product *= spread[j]
        if product < 1e-200 or product > 1e200:
            logs += math.log(product)
            product = 1.0
    return logs + math.log(product)


@numba.njit(error_model="numpy", nogil=True, inline="always")
def _total(exponent: Any, above: Any, below: Any, top: float) -> float:
    total = 0.0
    for i in range(exponent.size):
        if exponent[i] - top > _NOTHING:
            total += math.sqrt(above[i] / below[i]) * math.exp(exponent[i] - top)
    return total


@numba.njit(
    types.void(_ROWS, _LINE, _ROWS, _LINE, _ROWS, _LINE, types.float64, types.int64, types.float64[::1]),
    error_model="numpy",
    nogil=True,
    cache=True,
)
def gauge_log(
    predicted: Any,
    observed: Any,
    variance: Any,
    sd: Any,
    mean: Any,
    slip: Any,
    log_sound: float,
    deepest: int,
    out: Any,
) -> None:
    """Log density of the readings of each row into ``out`` (rows,), outliers summed over.

    ``slip`` (readings,) is what each reading says if it is a slip, its chance included; ``log_sound`` the logarithm of
    the chance that it is none. ``sd`` and ``mean`` (rows, 2) or (0, 2) are those of ``likelihood.SharedError``.
    ``deepest`` is the most slips at once: 1, or more in nested sets that grow by the worst
    reading. There is at least one reading.
    """
    rows, readings = predicted.shape
    deepest = min(deepest, readings)
    part = np.empty((readings, _SUMS))
    t = np.empty(_SUMS)
    spread = np.empty(readings)
    exponent = np.empty(2 + deepest * readings)
    above, below = np.empty(2 + deepest * readings), np.empty(2 + deepest * readings)
    gone = np.empty(readings, np.bool_)
    everything = slip.sum()
    for row in range(rows):
        offset, scale = (mean[row, 0], mean[row, 1]) if mean.shape[0] else (0.0, 0.0)
        logs = _sums(predicted[row], observed, variance[row], sd, offset, scale, part, spread, t)
        gone[:] = False
        if not math.isfinite(t[5]):
            out[row] = math.nan
            continue
        distance, determinant = _distance(t[0], t[1], t[2], t[3], t[4], t[5])
        whole = -0.5 * (distance + logs + math.log(determinant)) + readings * log_sound
        # Every set of slips relative to none of them: an exponent and the square of a factor, as a fraction, so that no
        # logarithm is taken of each, and a quotient, a root and an exponential only of those that count.
        exponent[0], above[0], below[0], found, top = 0.0, 1.0, 1.0, 1, 0.0
        if readings > 1:
            exponent[1], above[1], below[1], found = everything - whole, 1.0, 1.0, 2
            top = max(top, exponent[1])
        said, left_out = 0.0, determinant
        for depth in range(1, deepest + 1):
            worst, most = -1, -np.inf
            for j in range(readings):
                if gone[j]:
                    continue
                p = part[j]
                near, own = _distance(t[0] - p[0], t[1] - p[1], t[2] - p[2], t[3] - p[3], t[4] - p[4], t[5] - p[5])
                above[found], below[found] = left_out * spread[j], own
                exponent[found] = 0.5 * (distance - near) + said + slip[j] - depth * log_sound
                top = max(top, exponent[found])
                if depth < deepest:
                    score = exponent[found] + 0.5 * math.log(above[found] / own)
                    if worst < 0 or score > most:
                        worst, most = j, score
                found += 1
            if depth < deepest:
                gone[worst] = True
                said += slip[worst]
                left_out *= spread[worst]
                for k in range(_SUMS):
                    t[k] -= part[worst, k]
        out[row] = whole + top + math.log(_total(exponent[:found], above, below, top))


if __name__ == "__main__":
    # Importing these files compiled what is in them, or found it in the cache.
    if sys.argv[1:] != ["--warm"]:
        sys.exit("usage: python -m vanewise.diagnosis.compiled --warm")
    importlib.import_module("vanewise.network.compiled")
    sys.stdout.write(f"compiled code ready in {numba_cache.FOLDER}\n")
