"""Rows of lanes: one vector operation on the same junction or branch of several scenarios at once; and with them the
linear algebra of a network, for all lanes together.

Arrays are flat and contiguous; row ``i`` is the ``LANES`` places from ``i * LANES``. Every operation reads its rows
whole before it writes, so rows may be the same. For the compiled kernel only: it needs numba.
"""

# mypy: disable-error-code="untyped-decorator"
from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from vanewise.network import numba_cache  # before numba: it says where the compiled code is kept

import numba  # isort: skip
from llvmlite import ir  # isort: skip
from numba import extending, types  # isort: skip

LANES: Final = 16

CACHE_FOLDER: Final = numba_cache.FOLDER

njit: Final[Any] = numba.njit
intrinsic: Final[Any] = extending.intrinsic
inner: Final = njit(error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True, _nrt=False)
"""For functions that only compiled code calls; called from Python they would crash."""
_VECTOR: Final[Any] = ir.VectorType(ir.DoubleType(), LANES)
_ALIGNED: Final = 8

Combine = Callable[[Any, list[Any]], Any]


def _row_operation(combine: Combine, *arguments: Any, scalar: Any = None) -> Any:
    """Signature and code of ``first row = combine(all rows)``; ``arguments`` are array and row number in turn."""
    extra = () if scalar is None else (types.float64,)
    numbered = [types.int64 if n % 2 else one for n, one in enumerate(arguments)]

    def codegen(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        pointers, values = [], []
        for n in range(0, len(arguments), 2):
            array = context.make_array(signature.args[n])(context, builder, args[n])
            place = builder.mul(args[n + 1], ir.Constant(ir.IntType(64), LANES))
            pointers.append(builder.bitcast(builder.gep(array.data, [place]), _VECTOR.as_pointer()))
        for pointer in pointers:
            values.append(builder.load(pointer))
            values[-1].align = _ALIGNED
        if scalar is not None:
            row = ir.Constant(_VECTOR, ir.Undefined)
            for lane in range(LANES):
                row = builder.insert_element(row, args[-1], ir.Constant(ir.IntType(32), lane))
            values.append(row)
        builder.store(combine(builder, values), pointers[0]).align = _ALIGNED
        return context.get_dummy_value()

    return types.void(*numbered, *extra), codegen


def _minus(builder: Any, a: Any, c: Any, d: Any) -> Any:
    """a - c * d, in one fused operation where the processor has one."""
    return builder.fsub(a, builder.fmul(c, d, flags=("contract",)), flags=("contract",))


@intrinsic
def row_copy(typingctx: Any, into: Any, i: Any, a: Any, j: Any) -> Any:
    """into[i] = a[j]"""
    return _row_operation(lambda b, v: v[1], into, i, a, j)


@intrinsic
def row_add(typingctx: Any, into: Any, i: Any, a: Any, j: Any) -> Any:
    """into[i] += a[j]"""
    return _row_operation(lambda b, v: b.fadd(v[0], v[1]), into, i, a, j)


@intrinsic
def row_subtract(typingctx: Any, into: Any, i: Any, a: Any, j: Any) -> Any:
    """into[i] -= a[j]"""
    return _row_operation(lambda b, v: b.fsub(v[0], v[1]), into, i, a, j)


@intrinsic
def row_product(typingctx: Any, into: Any, i: Any, a: Any, j: Any, c: Any, k: Any) -> Any:
    """into[i] = a[j] * c[k]"""
    return _row_operation(lambda b, v: b.fmul(v[1], v[2]), into, i, a, j, c, k)


@intrinsic
def row_subtract_product(typingctx: Any, into: Any, i: Any, a: Any, j: Any, c: Any, k: Any) -> Any:
    """into[i] -= a[j] * c[k]"""
    return _row_operation(lambda b, v: _minus(b, v[0], v[1], v[2]), into, i, a, j, c, k)


@intrinsic
def row_subtract_products(typingctx: Any, into: Any, i: Any, a: Any, j: Any, c: Any, k: Any, d: Any, n: Any) -> Any:
    """into[i] -= (a[j] * c[k]) * d[n]"""
    return _row_operation(lambda b, v: _minus(b, v[0], b.fmul(v[1], v[2]), v[3]), into, i, a, j, c, k, d, n)


@intrinsic
def row_reciprocal(typingctx: Any, into: Any, i: Any, a: Any, j: Any) -> Any:
    """into[i] = 1 / a[j]"""
    ones = ir.Constant(_VECTOR, [1.0] * LANES)
    return _row_operation(lambda b, v: b.fdiv(ones, v[1]), into, i, a, j)


@intrinsic
def row_scaled_difference(typingctx: Any, into: Any, i: Any, a: Any, j: Any, c: Any, k: Any, scale: Any) -> Any:
    """into[i] = scale * (a[j] - c[k])"""
    return _row_operation(lambda b, v: b.fmul(v[3], b.fsub(v[1], v[2])), into, i, a, j, c, k, scalar=scale)


@intrinsic
def row_fill(typingctx: Any, into: Any, i: Any, number: Any) -> Any:
    """into[i] = number"""
    return _row_operation(lambda b, v: v[1], into, i, scalar=number)


@intrinsic
def row_scale(typingctx: Any, into: Any, i: Any, a: Any, j: Any, scale: Any) -> Any:
    """into[i] = scale * a[j]"""
    return _row_operation(lambda b, v: b.fmul(v[2], v[1]), into, i, a, j, scalar=scale)


@intrinsic
def row_difference(typingctx: Any, into: Any, i: Any, a: Any, j: Any, c: Any, k: Any) -> Any:
    """into[i] = a[j] - c[k]"""
    return _row_operation(lambda b, v: b.fsub(v[1], v[2]), into, i, a, j, c, k)


def _larger(builder: Any, a: Any, c: Any) -> Any:
    """The larger of two; a number that is not one wins, from whichever side it comes."""
    loses = builder.or_(builder.fcmp_ordered("<", a, c), builder.fcmp_unordered("uno", c, c))
    return builder.select(loses, c, a)


@intrinsic
def row_largest(typingctx: Any, into: Any, i: Any, a: Any, j: Any) -> Any:
    """into[i] = the larger of into[i] and a[j]; a number that is not one wins"""
    return _row_operation(lambda b, v: _larger(b, v[0], v[1]), into, i, a, j)


@intrinsic
def row_largest_difference(typingctx: Any, into: Any, i: Any, a: Any, j: Any, c: Any, k: Any) -> Any:
    """into[i] = the larger of into[i] and a[j] - c[k]; a number that is not one wins"""
    return _row_operation(lambda b, v: _larger(b, v[0], b.fsub(v[1], v[2])), into, i, a, j, c, k)


@intrinsic
def row_largest_negative(typingctx: Any, into: Any, i: Any, a: Any, j: Any) -> Any:
    """into[i] = the larger of into[i] and -a[j]; a number that is not one wins"""
    return _row_operation(lambda b, v: _larger(b, v[0], b.fneg(v[1])), into, i, a, j)


@intrinsic
def row_add_size(typingctx: Any, into: Any, i: Any, a: Any, j: Any) -> Any:
    """into[i] += |a[j]|"""

    def combine(b: Any, v: list[Any]) -> Any:
        zeros = ir.Constant(_VECTOR, [0.0] * LANES)
        size = b.select(b.fcmp_ordered("<", v[1], zeros), b.fneg(v[1]), v[1])
        return b.fadd(v[0], size)

    return _row_operation(combine, into, i, a, j)


@inner
def gather(branch_a: Any, branch_b: Any, p: Any, pa: Any, pb: Any) -> None:
    """End pressures of every branch from pressures by junction."""
    for k in range(branch_a.size):
        row_copy(pa, k, p, branch_a[k])
        row_copy(pb, k, p, branch_b[k])


@inner
def balance(net: Any, p: Any, m: Any, gmin: float, residual: Any) -> None:
    """Mass balance of every junction and lane (outflow positive)."""
    free, reference, branch_a, branch_b = net[0], net[1], net[2], net[3]
    for i in range(free):
        row_scaled_difference(residual, i, p, i, p, reference, gmin)
    for k in range(branch_a.size):
        row_add(residual, branch_a[k], m, k)
        row_subtract(residual, branch_b[k], m, k)


@inner
def slopes(net: Any, slope: Any, gmin: float, entries: Any) -> None:
    """Flat Jacobian entries of every lane. ``slope`` holds dm/dpa of every branch, then dm/dpb of every branch."""
    free, add_place, add_slope, subtract_place, subtract_slope = net[0], net[4], net[5], net[6], net[7]
    for i in range(free):
        row_fill(entries, i, gmin)
    for i in range(free, net[13]):
        row_fill(entries, i, 0.0)
    for q in range(add_place.size):
        row_add(entries, add_place[q], slope, add_slope[q])
    for q in range(subtract_place.size):
        row_subtract(entries, subtract_place[q], slope, subtract_slope[q])


@inner
def eliminate(net: Any, entries: Any, inverse: Any, x: Any) -> None:
    """Solve every lane's linear system in place; ``inverse`` receives the reciprocal pivots."""
    free, lower, inner_ops, upper, upper_start = net[0], net[8], net[9], net[10], net[11]
    q = 0
    for k in range(free):
        row_reciprocal(inverse, k, entries, k)
        while q < lower.shape[0] and lower[q, 1] == k:
            target = lower[q, 0]
            row_subtract_products(x, lower[q, 2], entries, target, inverse, k, x, k)
            for r in range(lower[q, 3], lower[q, 4]):
                row_subtract_products(entries, inner_ops[r, 0], entries, target, inverse, k, entries, inner_ops[r, 1])
            q += 1
    for k in range(free - 1, -1, -1):
        for r in range(upper_start[k], upper_start[k + 1]):
            row_subtract_product(x, k, entries, upper[r, 0], x, upper[r, 1])
        row_product(x, k, x, k, inverse, k)


@inner
def substitute(net: Any, entries: Any, inverse: Any, x: Any) -> None:
    """Solve another right side in place, with the entries and reciprocal pivots that :func:`eliminate` left."""
    free, lower, upper, upper_start = net[0], net[8], net[10], net[11]
    for q in range(lower.shape[0]):
        row_subtract_products(x, lower[q, 2], entries, lower[q, 0], inverse, lower[q, 1], x, lower[q, 1])
    for k in range(free - 1, -1, -1):
        for r in range(upper_start[k], upper_start[k + 1]):
            row_subtract_product(x, k, entries, upper[r, 0], x, upper[r, 1])
        row_product(x, k, x, k, inverse, k)
