"""The readings of one gauge scored in compiled code: the same sums as in :mod:`.likelihood`, sooner.

Rows stand side by side in blocks ("lanes"), and every loop runs over one line of a block: the form that the compiler
turns into vector instructions. No row's arithmetic depends on its neighbours, so neither does its score.

The weighted products of (1, predicted, observed less predicted) are summed once per row. For each kind of gauge those
sums give the squared distance and the determinant, with and without each reading, in closed form.

Everything it needs comes in as an argument. Of the project only functions are imported that end up in the solver's
kernel too: the cache's folder carries a digest of those, and numba looks at this file itself.

``python -m vanewise.diagnosis.compiled --warm`` compiles the solver's kernel and this into their cache and exits.
"""

# mypy: disable-error-code="untyped-decorator,no-untyped-call,no-any-return"
# ruff: noqa: FURB136
# FURB136: a choice is spelled out, because max and min are calls here that hinder vector instructions.
from __future__ import annotations

import importlib
import math
import sys
from typing import Any, Final

import numpy as np

from vanewise.network import numba_cache  # before numba: it says where the compiled code is kept

import numba  # isort: skip
from numba import types  # isort: skip

from vanewise.network.compiled_laws import bits_of, double_of, octave
from vanewise.network.lanes import inner

W: Final = 64
"""Rows side by side: a block with its readings stays in the processor's nearest memory."""
_ROW: Final = 6
"""Lines of a reading: predicted, 1/variance, observed less predicted, 2 pi variance, the last but one less what the
gauge is expected to be off, and what keeps a reading out that is a slip already."""
_TOTALS: Final = 18
"""Lines of a block: six sums, distance, determinant, log density without slips, highest exponent so far, sum of the
logarithms of 2 pi variance, a line to work in, what the slips so far say, the worst reading and its score; and the
first three sums of all readings, which are the same for every kind of gauge."""
_AT_ONCE: Final = 8
"""Variances multiplied before a logarithm is taken of them."""
_OUT: Final = -1e300

njit: Final[Any] = numba.njit
_inlined: Final = njit(error_model="numpy", forceinline=True, no_cpython_wrapper=True, no_cfunc_wrapper=True)

_LOG2_E: Final = math.log2(math.e)
_LN2_HIGH: Final = float.fromhex("0x1.62e42fee00000p-1")
_LN2_LOW: Final = float.fromhex("0x1.a39ef35793c76p-33")
"""ln 2 in two numbers: the first short, so that its product with a small whole number is exact."""
_ROUNDING: Final = 1.5 * 2.0**52
"""Added and taken away again it leaves a whole number, which stands in the last bits of the sum."""
_LEAST_EXPONENT: Final = -200.0
"""Under this exp adds nothing to a sum that has a one in it; without a floor it would come to numbers that are slow."""
_ONE: Final = np.uint64(0x3FF0000000000000)
_SHIFT: Final = np.uint64(52)


_E0, _E1, _E2, _E3, _E4, _E5, _E6, _E7, _E8, _E9, _E10, _E11, _E12 = (1.0 / math.factorial(k) for k in range(13))
"""Of the series of exp; thirteen are enough within half an octave of 0."""
_L0, _L1, _L2, _L3, _L4, _L5, _L6, _L7, _L8 = (2.0 / (2 * k + 3) for k in range(9))
"""ln((1 + s)/(1 - s)) = 2 s + s s^2 (L0 + L1 s^2 + ...); nine of them are enough where s is below 0.172."""


@_inlined
def exp(x: float) -> float:
    """exp of a number up to 700, to the last digit or two; of one below -200 that of -200."""
    x = x if x > _LEAST_EXPONENT else _LEAST_EXPONENT
    t = x * _LOG2_E + _ROUNDING
    n = t - _ROUNDING
    r = (x - n * _LN2_HIGH) - n * _LN2_LOW
    rr = r * r
    r4 = rr * rr
    low = (_E0 + _E1 * r) + rr * (_E2 + _E3 * r)
    middle = (_E4 + _E5 * r) + rr * (_E6 + _E7 * r)
    high = (_E8 + _E9 * r) + rr * (_E10 + _E11 * r) + r4 * _E12
    return (low + r4 * (middle + r4 * high)) * double_of((bits_of(t) << _SHIFT) + _ONE)


@_inlined
def ln(x: float) -> float:
    """Natural logarithm of a positive normal number, to the last digit or two."""
    exponent, m = octave(x)
    f = m - 1.0
    s = f / (2.0 + f)
    z = s * s
    zz = z * z
    first = (_L0 + _L1 * z) + zz * (_L2 + _L3 * z)
    second = (_L4 + _L5 * z) + zz * (_L6 + _L7 * z)
    series = first + (zz * zz) * (second + (zz * zz) * _L8)
    return exponent * _LN2_HIGH + (exponent * _LN2_LOW + (2.0 * s + s * (z * series)))


@_inlined
def _distance(
    ones: float, g: float, gg: float, r: float, rg: float, rr: float, bias: float, scale: float, tilt: float
) -> tuple[float, float, float]:
    """Squared distance, determinant and one over it from six sums (see ``likelihood._quadratic``)."""
    shared = bias * g + tilt * gg
    bb = 1.0 + (bias * (bias * ones + tilt * g) + tilt * shared)
    bs = scale * shared
    ss = 1.0 + scale * scale * gg
    rb = bias * r + tilt * rg
    rs = scale * rg
    determinant = bb * ss - bs * bs
    determinant = determinant if determinant > 1.0 else 1.0
    inverse = 1.0 / determinant
    explained = (rb * (ss * rb - bs * rs) + rs * (bb * rs - bs * rb)) * inverse
    distance = rr - explained
    return (0.0 if distance < 0.0 else distance), determinant, inverse


@inner
def _load(m: int, predicted: Any, observed: float, variance: Any, row: Any) -> None:
    """Lines of one reading of a block. ``predicted`` and ``variance`` are those of the block's rows."""
    for k in range(m):
        row[k] = predicted[k]
        row[W + k] = 1.0 / variance[k]
        row[2 * W + k] = observed - predicted[k]
        row[3 * W + k] = 2.0 * math.pi * variance[k]


@inner
def _sums(m: int, readings: int, lines: Any, t: Any) -> None:
    """What is the same for every kind of gauge: three sums, and that of the logarithms of 2 pi variance."""
    for k in range(m):
        t[15 * W + k] = t[16 * W + k] = t[17 * W + k] = t[10 * W + k] = 0.0
        t[11 * W + k] = 1.0
    for j in range(readings):
        row = lines[j * _ROW * W : (j + 1) * _ROW * W]
        for k in range(m):
            g, w = row[k], row[W + k]
            t[15 * W + k] += w
            t[16 * W + k] += w * g
            t[17 * W + k] += w * g * g
            t[11 * W + k] *= row[3 * W + k]
        if j % _AT_ONCE == _AT_ONCE - 1 or j == readings - 1:
            for k in range(m):
                t[10 * W + k] += ln(t[11 * W + k])
                t[11 * W + k] = 1.0


@inner
def _residuals(m: int, readings: int, mean: Any, lines: Any, t: Any) -> None:
    """What of a reading the expected error of the gauge leaves, and all six sums."""
    expected = mean.shape[0] > 0
    for k in range(m):
        t[k], t[W + k], t[2 * W + k] = t[15 * W + k], t[16 * W + k], t[17 * W + k]
        t[3 * W + k] = t[4 * W + k] = t[5 * W + k] = 0.0
    for j in range(readings):
        row = lines[j * _ROW * W : (j + 1) * _ROW * W]
        for k in range(m):
            row[4 * W + k] = row[2 * W + k]
            row[5 * W + k] = 0.0
        if expected:
            for k in range(m):
                row[4 * W + k] -= mean[k, 1] * row[k] + mean[k, 0]
        for k in range(m):
            r = row[4 * W + k]
            wr = row[W + k] * r
            t[3 * W + k] += wr
            t[4 * W + k] += wr * row[k]
            t[5 * W + k] += wr * r


@inner
def _whole(m: int, readings: int, sd: Any, log_sound: float, t: Any) -> None:
    """Distance, determinant and log density with no slip."""
    bias, scale, tilt = sd[0], sd[1], sd[2]
    for k in range(m):
        distance, determinant, _ = _distance(
            t[k], t[W + k], t[2 * W + k], t[3 * W + k], t[4 * W + k], t[5 * W + k], bias, scale, tilt
        )
        t[6 * W + k] = distance
        t[7 * W + k] = determinant
        t[8 * W + k] = -0.5 * (distance + t[10 * W + k] + ln(determinant)) + readings * log_sound
        t[9 * W + k] = t[12 * W + k] = 0.0


@inner
def _without(m: int, row: Any, sd: Any, said: float, t: Any, found: Any) -> None:
    """Exponent and factor with one reading more taken for a slip, relative to none."""
    bias, scale, tilt = sd[0], sd[1], sd[2]
    for k in range(m):
        g, w, r = row[k], row[W + k], row[4 * W + k]
        wg, wr = w * g, w * r
        distance, _, inverse = _distance(
            t[k] - w,
            t[W + k] - wg,
            t[2 * W + k] - wg * g,
            t[3 * W + k] - wr,
            t[4 * W + k] - wr * g,
            t[5 * W + k] - wr * r,
            bias,
            scale,
            tilt,
        )
        exponent = 0.5 * (t[6 * W + k] - distance) + (said + t[12 * W + k]) + row[5 * W + k]
        found[k] = exponent
        found[W + k] = math.sqrt(t[7 * W + k] * row[3 * W + k] * inverse)
        t[9 * W + k] = exponent if exponent > t[9 * W + k] else t[9 * W + k]


@inner
def _worst(m: int, j: int, found: Any, t: Any) -> None:
    """Keep the reading that says most as a slip."""
    for k in range(m):
        score = found[k] + ln(found[W + k])
        better = score > t[14 * W + k]
        t[13 * W + k] = float(j) if better else t[13 * W + k]
        t[14 * W + k] = score if better else t[14 * W + k]


@inner
def _take_out(m: int, lines: Any, slip: Any, t: Any) -> None:
    """Take the worst reading of each row for a slip from here on."""
    for k in range(m):
        worst = int(t[13 * W + k])
        at = worst * _ROW * W + k
        g, w, r = lines[at], lines[at + W], lines[at + 4 * W]
        t[k] -= w
        t[W + k] -= w * g
        t[2 * W + k] -= w * g * g
        t[3 * W + k] -= w * r
        t[4 * W + k] -= w * r * g
        t[5 * W + k] -= w * r * r
        t[7 * W + k] *= lines[at + 3 * W]
        t[12 * W + k] += slip[worst]
        lines[at + 5 * W] = _OUT


@inner
def _added(m: int, sets: int, found: Any, t: Any, out: Any) -> None:
    """Log density of the block's rows: that of no slip, plus the logarithm of the sum over all sets of them."""
    for k in range(m):
        t[11 * W + k] = 0.0
    for i in range(sets):
        own = found[2 * i * W : 2 * (i + 1) * W]
        for k in range(m):
            t[11 * W + k] += own[W + k] * exp(own[k] - t[9 * W + k])
    for k in range(m):
        out[k] += t[8 * W + k] + t[9 * W + k] + ln(t[11 * W + k])


@inner
def _one_kind(m: int, sd: Any, mean: Any, slip: Any, log_sound: float, deepest: int, work: Any, out: Any) -> None:
    """Score the block's rows for one kind of gauge; ``out`` holds its log chance."""
    lines, t, found = work
    readings = slip.size
    _residuals(m, readings, mean, lines, t)
    _whole(m, readings, sd, log_sound, t)
    sets = 1
    for k in range(m):
        found[k], found[W + k] = 0.0, 1.0
    if readings > 1:
        sets = 2
        everything = slip.sum()
        for k in range(m):
            exponent = everything - t[8 * W + k]
            found[2 * W + k], found[3 * W + k] = exponent, 1.0
            t[9 * W + k] = exponent if exponent > 0.0 else 0.0
    for depth in range(1, deepest + 1):
        for k in range(m):
            t[13 * W + k], t[14 * W + k] = 0.0, -np.inf
        for j in range(readings):
            own = found[2 * sets * W : 2 * (sets + 1) * W]
            _without(m, lines[j * _ROW * W : (j + 1) * _ROW * W], sd, slip[j] - depth * log_sound, t, own)
            if depth < deepest:
                _worst(m, j, own, t)
            sets += 1
        if depth < deepest:
            _take_out(m, lines, slip, t)
    _added(m, sets, found, t, out)


@njit(error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True)
def _space(lines: int) -> Any:
    """Room for some lines, the first of which begins where a line of the processor's cache does."""
    array = np.empty(lines * W + 8)
    skipped = (-(array.ctypes.data // 8)) % 8
    return array[skipped : skipped + lines * W]


_LINE = types.Array(types.float64, 1, "C", readonly=True)
_ROWS = types.Array(types.float64, 2, "C", readonly=True)
_KINDS = types.Array(types.float64, 3, "C", readonly=True)


@njit(
    types.void(_ROWS, _LINE, _ROWS, _ROWS, _KINDS, _LINE, types.float64, types.int64, types.float64[:, ::1]),
    error_model="numpy",
    nogil=True,
    cache=True,
)
def gauge_logs(
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
    """Add to ``out`` (kinds, rows) the log density of the readings of each row, for each kind of gauge, outliers summed
    over.

    ``predicted`` and ``variance`` are (readings, rows). ``slip`` (readings,) is what each reading says if it is a slip,
    its chance included; ``log_sound`` the logarithm of the chance that it is none. ``sd`` (kinds, 3) and ``mean``
    (kinds, rows, 2) or (kinds, 0, 2) are those of ``likelihood.SharedError``. ``deepest`` is the most slips at once: 1,
    or more in nested sets that grow by the worst reading. There is at least one reading. A row with a prediction that
    is not a number has none for a score.
    """
    readings, rows = predicted.shape
    deepest = min(deepest, readings)
    work = _space(_ROW * readings), _space(_TOTALS), _space(2 * (2 + deepest * readings))
    lines, t, _ = work
    for first in range(0, rows, W):
        m = min(W, rows - first)
        for j in range(readings):
            row = lines[j * _ROW * W : (j + 1) * _ROW * W]
            _load(m, predicted[j, first : first + m], observed[j], variance[j, first : first + m], row)
        _sums(m, readings, lines, t)
        for kind in range(sd.shape[0]):
            expected = mean[kind, first : first + m] if mean.shape[1] else mean[kind]
            _one_kind(m, sd[kind], expected, slip, log_sound, deepest, work, out[kind, first : first + m])


@inner
def _sum_of(m: int, logs: Any, first: int, top: Any, found: Any, out: Any) -> None:
    """Logarithm of the sum of exponentials down the columns ``first`` on of ``logs``, ``m`` of them."""
    for k in range(m):
        top[k] = logs[0, first + k]
        found[k] = out[k] = 0.0
    for i in range(1, logs.shape[0]):
        for k in range(m):
            own = logs[i, first + k]
            top[k] = own if own > top[k] else top[k]
    for i in range(logs.shape[0]):
        for k in range(m):
            apart = logs[i, first + k] - top[k]
            found[k] += exp(apart)
            out[k] += apart if apart != apart else 0.0  # none, where one is none: exp and ln make numbers of it
    for k in range(m):
        out[k] += top[k] + ln(found[k])


@njit(
    types.void(types.Array(types.float64, 2, "C", readonly=True), types.float64[::1]),
    error_model="numpy",
    nogil=True,
    cache=True,
)
def log_added(logs: Any, out: Any) -> None:
    """Put into ``out`` (rows,) the logarithm of the sum of exponentials of ``logs`` (terms, rows), finite or none."""
    rows = logs.shape[1]
    lines = _space(2)
    for first in range(0, rows, W):
        m = min(W, rows - first)
        _sum_of(m, logs, first, lines[:W], lines[W:], out[first : first + m])


if __name__ == "__main__":
    # Importing these files compiled what is in them, or found it in the cache.
    if sys.argv[1:] != ["--warm"]:
        sys.exit("usage: python -m vanewise.diagnosis.compiled --warm")
    importlib.import_module("vanewise.network.compiled")
    sys.stdout.write(f"compiled code ready in {numba_cache.FOLDER}\n")
