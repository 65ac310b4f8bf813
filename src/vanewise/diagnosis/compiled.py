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

_SUMS: Final = 7
_ROWS = types.Array(types.float64, 2, "C", readonly=True)
_LINE = types.Array(types.float64, 1, "C", readonly=True)


@numba.njit(error_model="numpy", nogil=True, inline="always")
def _from_sums(bb: float, bs: float, ss: float, rb: float, rs: float, rr: float, logs: float) -> float:
    """Log density from the seven sums (see ``likelihood._from_sums``)."""
    determinant = max((1.0 + bb) * (1.0 + ss) - bs * bs, 1.0)
    explained = ((1.0 + ss) * rb * rb - 2.0 * bs * rb * rs + (1.0 + bb) * rs * rs) / determinant
    return -0.5 * (max(rr - explained, 0.0) + logs + math.log(determinant))


@numba.njit(error_model="numpy", nogil=True)
def _log_sum(values: Any, count: int) -> float:
    top = values[0]
    for i in range(1, count):
        top = max(top, values[i])
    if not math.isfinite(top):
        return top
    total = 0.0
    for i in range(count):
        total += math.exp(values[i] - top)
    return top + math.log(total)


@numba.njit(
    types.void(
        _ROWS, _LINE, _ROWS, types.float64, types.float64, _LINE, types.float64, types.int64, types.float64[::1]
    ),
    error_model="numpy",
    nogil=True,
    cache=True,
)
def gauge_log(
    predicted: Any,
    observed: Any,
    variance: Any,
    bias_sd: float,
    scale_sd: float,
    slip: Any,
    log_sound: float,
    deepest: int,
    out: Any,
) -> None:
    """Log density of the readings of each row into ``out`` (rows,), outliers summed over.

    ``slip`` (readings,) is what each reading says if it is a slip, its chance included; ``log_sound`` the logarithm of
    the chance that it is none. ``deepest`` is the most slips at once: 1, or more in nested sets that grow by the worst
    reading. There is at least one reading.
    """
    rows, readings = predicted.shape
    part = np.empty((readings, _SUMS))
    total = np.empty(_SUMS)
    each = np.empty(readings)
    terms = np.empty(readings + 2 + (deepest + 1) * readings)
    gone = np.empty(readings, np.bool_)
    everything = slip.sum()
    for row in range(rows):
        total[:] = 0.0
        for j in range(readings):
            value = predicted[row, j]
            inverse = 1.0 / variance[row, j]
            residual = observed[j] - value
            scaled = scale_sd * value
            part[j, 0] = bias_sd * bias_sd * inverse
            part[j, 1] = bias_sd * inverse * scaled
            part[j, 2] = scaled * scaled * inverse
            part[j, 3] = bias_sd * residual * inverse
            part[j, 4] = scaled * residual * inverse
            part[j, 5] = residual * residual * inverse
            part[j, 6] = math.log(variance[row, j]) + math.log(2.0 * math.pi)
            gone[j] = False
            for k in range(_SUMS):
                total[k] += part[j, k]
        if not math.isfinite(total[5]):
            out[row] = math.nan
            continue
        t = total
        terms[0] = _from_sums(t[0], t[1], t[2], t[3], t[4], t[5], t[6]) + readings * log_sound
        found = 1
        said = 0.0
        for depth in range(1, min(deepest, readings) + 1):
            worst = -1
            for j in range(readings):
                each[j] = -np.inf
                if not gone[j]:
                    p = part[j]
                    alone = _from_sums(
                        t[0] - p[0], t[1] - p[1], t[2] - p[2], t[3] - p[3], t[4] - p[4], t[5] - p[5], t[6] - p[6]
                    )
                    each[j] = alone + said + slip[j] + (readings - depth) * log_sound
                    terms[found] = each[j]
                    found += 1
                    if worst < 0 or each[j] > each[worst]:
                        worst = j
            gone[worst] = True
            said += slip[worst]
            for k in range(_SUMS):
                t[k] -= part[worst, k]
        if readings > 1:
            terms[found] = everything
            found += 1
        out[row] = _log_sum(terms, found)


if __name__ == "__main__":
    # Importing these files compiled what is in them, or found it in the cache.
    if sys.argv[1:] != ["--warm"]:
        sys.exit("usage: python -m vanewise.diagnosis.compiled --warm")
    importlib.import_module("vanewise.network.compiled")
    sys.stdout.write(f"compiled code ready in {numba_cache.FOLDER}\n")
