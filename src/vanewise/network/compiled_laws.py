"""The flow laws of the compiled solver, and their loops over flat rows of branches and lanes.

Each loop runs over plain arrays from zero, the form that the compiler turns into vector instructions. What each law is
and how far it is good stands in ``docs/explanation/physics.md``; :mod:`vanewise.network.oracle` has them once more.
"""

# mypy: disable-error-code="untyped-decorator,no-untyped-call,no-any-return"
# ruff: noqa: FURB136
# FURB136: a choice in the laws is spelled out, because max and min here are calls that hinder vector instructions.
from __future__ import annotations

import math
from typing import Any, Final

import numpy as np

from vanewise.network import numba_cache  # before numba: it says where the compiled code is kept

import numba  # isort: skip
from numba import types  # isort: skip

from vanewise.network import law_constants as c
from vanewise.network.lanes import inner, intrinsic

CACHE_FOLDER: Final = numba_cache.FOLDER

LN2: Final = math.log(2.0)
TWO_LOG10_E: Final = 2.0 * c.LOG10_E
LINK_INVERSE: Final = 1.0 / (c.LINK_KARMAN - c.LAMINAR_KARMAN)
LEAST_HEAD, MOST_HEAD = c.ACCELERATION_KARMAN[0] ** 2, c.ACCELERATION_KARMAN[1] ** 2
TINY_ROOT: Final = 1e-200
"""Keeps the curve of a passage defined where its linear core has long taken over."""
TINY_HEAD: Final = 1e-12
"""Keeps the logarithm and the divisions of the pipe law defined at zero flow; worth 1e-14 of a Reynolds number."""


njit: Final[Any] = numba.njit
_inlined: Final = njit(
    error_model="numpy", forceinline=True, no_cpython_wrapper=True, no_cfunc_wrapper=True, fastmath={"contract"}
)


@intrinsic
def bits_of(typingctx: Any, x: Any) -> Any:
    """The bit pattern of a double as an unsigned integer."""

    def codegen(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        return builder.bitcast(args[0], context.get_value_type(types.uint64))

    return types.uint64(types.float64), codegen


@intrinsic
def double_of(typingctx: Any, x: Any) -> Any:
    """The double of a bit pattern."""

    def codegen(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        return builder.bitcast(args[0], context.get_value_type(types.float64))

    return types.float64(types.uint64), codegen


_MANTISSA: Final = np.uint64(0x000FFFFFFFFFFFFF)
_ONE: Final = np.uint64(0x3FF0000000000000)
_HALF: Final = np.uint64(0x3FE0000000000000)
_MAGIC: Final = np.uint64(0x4330000000000000)
_SHIFT: Final = np.uint64(52)


_DEGREE: Final = 12
_LOW, _HIGH = math.sqrt(0.5) - 1.0, math.sqrt(2.0) - 1.0


def _log_coefficients() -> tuple[float, ...]:
    """Of the polynomial through ln(1 + f)/f at the Chebyshev points of one octave about 1, by powers of f."""
    fitted = np.polynomial.Chebyshev.interpolate(lambda f: np.log1p(f) / f, _DEGREE - 1, domain=[_LOW, _HIGH])
    return tuple(fitted.convert(kind=np.polynomial.Polynomial).coef.tolist())


_L0, _L1, _L2, _L3, _L4, _L5, _L6, _L7, _L8, _L9, _L10, _L11 = _log_coefficients()


@_inlined
def octave(x: float) -> tuple[float, float]:
    """A positive normal number as 2**exponent times something between the roots of a half and of 2."""
    bits = bits_of(x)
    exponent = double_of((bits >> _SHIFT) | _MAGIC) - (4503599627370496.0 + 1022.0)
    m = double_of((bits & _MANTISSA) | _HALF)
    low = m < 0.7071067811865476
    m = 2.0 * m if low else m
    return (exponent - 1.0 if low else exponent), m


@_inlined
def ln(x: float) -> float:
    """Natural logarithm of a positive normal number, to 1e-10, without a division and vectorisable."""
    exponent, m = octave(x)
    f = m - 1.0
    ff = f * f
    f4 = ff * ff
    one = (_L0 + _L1 * f) + ff * (_L2 + _L3 * f)
    two = (_L4 + _L5 * f) + ff * (_L6 + _L7 * f)
    three = (_L8 + _L9 * f) + ff * (_L10 + _L11 * f)
    return exponent * LN2 + f * (one + f4 * (two + f4 * three))


@_inlined
def rough_ln(x: float) -> tuple[float, float]:
    """Logarithm to 0.004 and its slope times x, continuous and without a division.

    Enough for the share that acceleration takes of a head; the slope is that of this very curve.
    """
    bits = bits_of(x)
    exponent = double_of((bits >> _SHIFT) | _MAGIC) - (4503599627370496.0 + 1023.0)
    m = double_of((bits & _MANTISSA) | _ONE)
    third = m * (1.0 / 3.0)
    return (exponent + (2.0 - third) * m - 5.0 / 3.0) * LN2, (2.0 - 2.0 * third) * m * LN2


_INVERSE: Final = np.uint64(0x7FDE623822FC16E6)
_INVERSE_ROOT: Final = np.uint64(0x5FE6EB50C7B537A9)
_ONE_BIT: Final = np.uint64(1)


@_inlined
def rough_inverse(x: float) -> float:
    """1/x of a positive normal number to 5e-8, for slopes: from its bits by three Newton steps, without a division.

    A processor does eight of these in a third of the time of eight divisions.
    """
    y = double_of(_INVERSE - bits_of(x))
    y += y * (1.0 - x * y)
    y += y * (1.0 - x * y)
    return y + y * (1.0 - x * y)


@_inlined
def inverse(x: float) -> float:
    """1/x of a positive normal number to 3e-15, by one Newton step more."""
    y = rough_inverse(x)
    return y + y * (1.0 - x * y)


@_inlined
def root_and_inverse(x: float) -> tuple[float, float]:
    """Square root of a number from 1e-290 to 1e290, rounded to a step or so, and one over it to 1e-15.

    Four Newton steps from its bits, and one for the root itself that makes good the rounding of all others.
    """
    half = 0.5 * x
    y = double_of(_INVERSE_ROOT - (bits_of(x) >> _ONE_BIT))
    y *= 1.5 - half * y * y
    y *= 1.5 - half * y * y
    y *= 1.5 - half * y * y
    y *= 1.5 - half * y * y
    root = x * y
    return root + 0.5 * y * (x - root * root), y


@_inlined
def orifice(
    conductance: float, critical: float, scale: float, core_slope: float, pa: float, pb: float
) -> tuple[float, float, float]:
    """ISO 6358 passage both ways, linear above a pressure ratio of 0.999. Returns m, dm/dpa, dm/dpb.

    ``scale`` is 1/(1 - critical); ``core_slope`` joins the linear core to the curve.
    """
    forward = pa >= pb
    up = pa if forward else pb
    down = pb if forward else pa
    ratio = down / up
    excess = ratio - critical
    excess = (max(0.0, excess)) * scale
    inside = 1.0 - excess * excess
    root, per_root = root_and_inverse(max(TINY_ROOT, inside))
    bend = -excess * scale * per_root
    core = ratio > c.CORE
    m = core_slope * (up - down) if core else conductance * up * root
    d_up = core_slope if core else conductance * (root - ratio * bend)
    d_down = -core_slope if core else conductance * bend
    return (m if forward else -m, d_up if forward else -d_down, d_down if forward else -d_up)


@_inlined
def pipe_karman(
    k: float, intercept: float, cap: float, incline: float, pa: float, pb: float
) -> tuple[float, float, float, float]:
    """First half of a line's law: Karman number Ka = Re sqrt(f), one over its size, slopes of ln(Ka) by both ends.

    ``k`` is the Karman number per square root of pa^2 - pb^2. Acceleration takes the share pull/f of that head; f is
    judged by the head as if there were none. Flow towards a has Ka below zero; the slopes are those of the flow's size
    against its own direction, so that they have the signs of dm/dpa and dm/dpb.
    """
    forward = pa >= pb
    up = pa if forward else pb
    down = pb if forward else pa
    total = up + down
    gap = up - down
    kk = k * k
    head = kk * gap * total
    head = head if head > TINY_HEAD else TINY_HEAD
    per_total = inverse(total)
    slant = gap * per_total
    capped = slant >= cap
    slant = cap if capped else slant
    square = slant * slant
    fourth = square * square
    # Half of ln(up/down) as a short series in (up - down)/(up + down).
    pull = slant * ((1.0 + square * (1 / 3)) + fourth * (1 / 5 + square * (1 / 7)))
    held = head if head > LEAST_HEAD else LEAST_HEAD
    held = held if held < MOST_HEAD else MOST_HEAD
    log_head, log_slope = rough_ln(held)
    straight = intercept + incline * log_head
    taken = pull * straight
    whole = 1.0 + taken * straight
    root = math.sqrt(head * whole)
    per_root = 1.0 / root
    karman = head * per_root
    # Ka^2 = head/whole, and 1/whole = shrink.
    shrink = karman * per_root
    bent = 2.0 * shrink * taken * incline * log_slope if held == head else 0.0
    per_karman = whole * per_root
    by_head = kk * (1.0 - bent) * per_karman * per_root
    by_slant = shrink * (straight * straight) * (per_total * per_total)
    by_slant = 0.0 if capped else by_slant * ((1.0 + square) * (1.0 + fourth))
    d_up = by_head * up - by_slant * down
    d_down = by_slant * up - by_head * down
    return (karman if forward else -karman, per_karman, d_up if forward else -d_down, d_down if forward else -d_up)


@_inlined
def pipe_flow(mass: float, relative: float, link_end: float, signed: float, per_karman: float) -> tuple[float, float]:
    """Second half: flow from the Karman number, by 64/Re, a straight link or Colebrook, and its slope by ln(Ka)."""
    forward = signed > 0.0
    karman = signed if forward else -signed
    turbulent = karman > c.LINK_KARMAN
    laminar = karman < c.LAMINAR_KARMAN
    share = c.COLEBROOK * (per_karman if turbulent else 1.0 / c.LINK_KARMAN)
    inside = relative + share
    colebrook = -TWO_LOG10_E * ln(inside)
    link = (link_end - c.LAMINAR_RE) * LINK_INVERSE
    joined = c.LAMINAR_RE + link * (karman - c.LAMINAR_KARMAN)
    re = karman * colebrook if turbulent else joined
    re = karman * karman * (1.0 / 64.0) if laminar else re
    slope = colebrook + TWO_LOG10_E * share / inside if turbulent else link
    slope = karman * (1.0 / 32.0) if laminar else slope
    m = mass * re
    return m if forward else -m, mass * slope * karman


@_inlined
def pipe(
    k: float, mass: float, relative: float, intercept: float, cap: float, link_end: float, incline: float,
    pa: float, pb: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Isothermal line with friction and acceleration."""
    signed, per_karman, d_a, d_b = pipe_karman(k, intercept, cap, incline, pa, pb)
    m, gain = pipe_flow(mass, relative, link_end, signed, per_karman)
    return m, gain * d_a, gain * d_b


@_inlined
def filter_element(
    laminar: float, inertial: float, is_open: float, factor: float, pa: float, pb: float
) -> tuple[float, float, float]:
    """Filter: laminar m + inertial m^2 = (pa^2 - pb^2) factor, with factor = 1/(2 R T)."""
    gap = pa - pb
    head = (gap if gap >= 0.0 else -gap) * (pa + pb) * factor
    root, per_root = root_and_inverse(laminar * laminar + 4.0 * inertial * head)
    m = is_open * 2.0 * head / (laminar + root)
    slope = is_open * 2.0 * factor * per_root
    return (m if gap >= 0.0 else -m, slope * pa, -slope * pb)


@_inlined
def valve(
    conductance: float,
    critical: float,
    scale: float,
    core_slope: float,
    start: float,
    per_band: float,
    pa: float,
    pb: float,
) -> tuple[float, float, float]:
    """One-way valve: an opening ramp over its band on its own difference, times an ISO 6358 passage."""
    gap = pa - pb
    opening = (gap - start) * per_band
    m, d_a, d_b = orifice(conductance, critical, scale, core_slope, pa, pb)
    lift = min(1.0, opening)
    lift = max(0.0, lift)
    lift = lift if gap > 0.0 else 0.0
    tilt = m * per_band if opening < 1.0 else 0.0
    tilt = tilt if lift > 0.0 else 0.0
    return lift * m, lift * d_a + tilt, lift * d_b - tilt


@inner
def orifices(g: Any, a: int, b: int, va: Any, vb: Any, m: Any, d_a: Any, d_b: Any) -> None:
    g0, g1, g2, g3 = g[0, a:b], g[1, a:b], g[2, a:b], g[3, a:b]
    va, vb, m, d_a, d_b = va[a:b], vb[a:b], m[a:b], d_a[a:b], d_b[a:b]
    for i in range(m.size):
        m[i], d_a[i], d_b[i] = orifice(g0[i], g1[i], g2[i], g3[i], va[i], vb[i])


@inner
def pipes(g: Any, a: int, b: int, va: Any, vb: Any, m: Any, d_a: Any, d_b: Any, spare: Any) -> None:
    g0, g1, g2, g3, g4, g5, g6 = g[0, a:b], g[1, a:b], g[2, a:b], g[3, a:b], g[4, a:b], g[5, a:b], g[6, a:b]
    va, vb, m, d_a, d_b, spare = va[a:b], vb[a:b], m[a:b], d_a[a:b], d_b[a:b], spare[a:b]
    for i in range(m.size):
        m[i], spare[i], d_a[i], d_b[i] = pipe_karman(g0[i], g3[i], g4[i], g6[i], va[i], vb[i])
    for i in range(m.size):
        m[i], gain = pipe_flow(g1[i], g2[i], g5[i], m[i], spare[i])
        d_a[i] *= gain
        d_b[i] *= gain


@inner
def filters(g: Any, a: int, b: int, va: Any, vb: Any, m: Any, d_a: Any, d_b: Any) -> None:
    g0, g1, g2, g3 = g[0, a:b], g[1, a:b], g[2, a:b], g[3, a:b]
    va, vb, m, d_a, d_b = va[a:b], vb[a:b], m[a:b], d_a[a:b], d_b[a:b]
    for i in range(m.size):
        m[i], d_a[i], d_b[i] = filter_element(g0[i], g1[i], g2[i], g3[i], va[i], vb[i])


@inner
def valves(g: Any, a: int, b: int, va: Any, vb: Any, m: Any, d_a: Any, d_b: Any) -> None:
    g0, g1, g2, g3, g4, g5 = g[0, a:b], g[1, a:b], g[2, a:b], g[3, a:b], g[4, a:b], g[5, a:b]
    va, vb, m, d_a, d_b = va[a:b], vb[a:b], m[a:b], d_a[a:b], d_b[a:b]
    for i in range(m.size):
        m[i], d_a[i], d_b[i] = valve(g0[i], g1[i], g2[i], g3[i], g4[i], g5[i], va[i], vb[i])


@inner
def pumps(g: Any, a: int, b: int, va: Any, m: Any, d_a: Any, d_b: Any) -> None:
    g0, va, m, d_a, d_b = g[0, a:b], va[a:b], m[a:b], d_a[a:b], d_b[a:b]
    for i in range(m.size):
        m[i], d_a[i], d_b[i] = g0[i] * va[i], g0[i], 0.0


@inner
def all_flows(rows: Any, g: Any, va: Any, vb: Any, m: Any, d_a: Any, d_b: Any, spare: Any) -> None:
    """Laws over flat rows. ``rows`` are the ends of the five law groups in flat places; ``g`` (PLACES, flat).

    Each group is its own loop over plain arrays from zero, the form that compiles to vector instructions.
    """
    orifices(g, 0, rows[0], va, vb, m, d_a, d_b)
    pipes(g, rows[0], rows[1], va, vb, m, d_a, d_b, spare)
    filters(g, rows[1], rows[2], va, vb, m, d_a, d_b)
    valves(g, rows[2], rows[3], va, vb, m, d_a, d_b)
    pumps(g, rows[3], rows[4], va, m, d_a, d_b)


@inner
def bare_orifices(g: Any, a: int, b: int, va: Any, vb: Any, m: Any) -> None:
    g0, g1, g2, g3, va, vb, m = g[0, a:b], g[1, a:b], g[2, a:b], g[3, a:b], va[a:b], vb[a:b], m[a:b]
    for i in range(m.size):
        m[i] = orifice(g0[i], g1[i], g2[i], g3[i], va[i], vb[i])[0]


@inner
def bare_pipes(g: Any, a: int, b: int, va: Any, vb: Any, m: Any, spare: Any) -> None:
    g0, g1, g2, g3, g4, g5, g6 = g[0, a:b], g[1, a:b], g[2, a:b], g[3, a:b], g[4, a:b], g[5, a:b], g[6, a:b]
    va, vb, m, spare = va[a:b], vb[a:b], m[a:b], spare[a:b]
    for i in range(m.size):
        m[i], spare[i] = pipe_karman(g0[i], g3[i], g4[i], g6[i], va[i], vb[i])[:2]
    for i in range(m.size):
        m[i] = pipe_flow(g1[i], g2[i], g5[i], m[i], spare[i])[0]


@inner
def bare_filters(g: Any, a: int, b: int, va: Any, vb: Any, m: Any) -> None:
    g0, g1, g2, g3, va, vb, m = g[0, a:b], g[1, a:b], g[2, a:b], g[3, a:b], va[a:b], vb[a:b], m[a:b]
    for i in range(m.size):
        m[i] = filter_element(g0[i], g1[i], g2[i], g3[i], va[i], vb[i])[0]


@inner
def bare_valves(g: Any, a: int, b: int, va: Any, vb: Any, m: Any) -> None:
    g0, g1, g2, g3, g4, g5 = g[0, a:b], g[1, a:b], g[2, a:b], g[3, a:b], g[4, a:b], g[5, a:b]
    va, vb, m = va[a:b], vb[a:b], m[a:b]
    for i in range(m.size):
        m[i] = valve(g0[i], g1[i], g2[i], g3[i], g4[i], g5[i], va[i], vb[i])[0]


@inner
def bare_pumps(g: Any, a: int, b: int, va: Any, m: Any) -> None:
    g0, va, m = g[0, a:b], va[a:b], m[a:b]
    for i in range(m.size):
        m[i] = g0[i] * va[i]


@inner
def bare_flows(rows: Any, g: Any, va: Any, vb: Any, m: Any, spare: Any) -> None:
    """The laws' flows without their slopes, which cost as much again."""
    bare_orifices(g, 0, rows[0], va, vb, m)
    bare_pipes(g, rows[0], rows[1], va, vb, m, spare)
    bare_filters(g, rows[1], rows[2], va, vb, m)
    bare_valves(g, rows[2], rows[3], va, vb, m)
    bare_pumps(g, rows[3], rows[4], va, m)
