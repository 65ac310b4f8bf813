"""The compiled solver: flow laws and kernel in one file, so that numba's cache can never mix old laws with new code.

It runs the algorithm of :mod:`vanewise.network.oracle` on blocks of scenarios side by side ("lanes"): every array has
one row per branch or junction and one column per lane, and the laws run over flat rows, which the compiler turns into
vector instructions. A lane that is done takes the next scenario. No scenario's arithmetic depends on its neighbours or
on the number of threads, so neither do the answers.

``python -m vanewise.network.compiled --warm`` compiles the kernel into its cache and exits.
"""

# mypy: disable-error-code="untyped-decorator,no-untyped-call,no-any-return"
# ruff: noqa: RUF059, FURB136
# RUF059: every function unpacks the same bundle of work arrays and takes what it needs.
# FURB136: a choice in the laws is spelled out, because max and min here are calls that hinder vector instructions.
from __future__ import annotations

import math
import sys
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from typing import Any, Final

import numpy as np

from vanewise.network import numba_cache  # before numba: it says where the compiled code is kept

import numba  # isort: skip
from numba import types  # isort: skip

from vanewise.network import law_constants as c
from vanewise.network.elements import PLACES, VALVE_BAND, Law
from vanewise.network.lanes import (
    LANES,
    balance,
    eliminate,
    gather,
    inner,
    intrinsic,
    row_add,
    row_copy,
    row_largest,
    slopes,
    substitute,
)
from vanewise.network.oracle import Answer
from vanewise.network.problem import Problem

CHUNK: Final = 512
"""Scenarios that one thread takes at a time."""

LN2: Final = math.log(2.0)
TWO_LOG10_E: Final = 2.0 * c.LOG10_E
LINK_INVERSE: Final = 1.0 / (c.LINK_KARMAN - c.LAMINAR_KARMAN)
LEAST_HEAD, MOST_HEAD = c.ACCELERATION_KARMAN[0] ** 2, c.ACCELERATION_KARMAN[1] ** 2
TINY_HEAD: Final = 1e-12
"""Keeps the logarithm and the divisions of the pipe law defined at zero flow; worth 1e-14 of a Reynolds number."""
NEAR_PA: Final = 100.0
"""A scenario has arrived when no virtual drop is further than this [Pa] from the real one, and plain Newton goes on."""
ARRIVED_PA: Final = 3.0
"""The same for what found no proof from the first start, and so may not be left to plain Newton."""
VALVE_SCALE_PA: Final = 300.0
"""For a valve with a narrower opening band the distance is taken in proportion."""
SMALL_STEP_PA: Final = 1000.0
"""... and its last step was shorter than this, so that it was taken whole."""
STARTS: Final = len(c.STARTS)
RUNGS: Final = len(c.BAND_LADDER)
NOZZLE, KARMAN, VISCOUS, SWEPT, HEAD, FACTORS = range(6)
"""What the air of a zone multiplies law numbers by: places in the list of factors."""


_CONDUCTANCE: Final = np.array([NOZZLE, KARMAN, VISCOUS, NOZZLE, SWEPT])
"""By law: what its first number is multiplied by."""


njit: Final[Any] = numba.njit
_inlined: Final = njit(
    error_model="numpy", forceinline=True, no_cpython_wrapper=True, no_cfunc_wrapper=True, fastmath={"contract"}
)


@intrinsic
def _bits(typingctx: Any, x: Any) -> Any:
    """The bit pattern of a double as an unsigned integer."""

    def codegen(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        return builder.bitcast(args[0], context.get_value_type(types.uint64))

    return types.uint64(types.float64), codegen


@intrinsic
def _double(typingctx: Any, x: Any) -> Any:
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
def ln(x: float) -> float:
    """Natural logarithm of a positive normal number, to 1e-10, without a division and vectorisable."""
    bits = _bits(x)
    exponent = _double((bits >> _SHIFT) | _MAGIC) - (4503599627370496.0 + 1022.0)
    m = _double((bits & _MANTISSA) | _HALF)
    low = m < 0.7071067811865476
    m = 2.0 * m if low else m
    exponent = exponent - 1.0 if low else exponent
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
    bits = _bits(x)
    exponent = _double((bits >> _SHIFT) | _MAGIC) - (4503599627370496.0 + 1023.0)
    m = _double((bits & _MANTISSA) | _ONE)
    third = m * (1.0 / 3.0)
    return (exponent + (2.0 - third) * m - 5.0 / 3.0) * LN2, (2.0 - 2.0 * third) * m * LN2


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
    root = math.sqrt(max(1e-300, inside))
    bend = -excess * scale / root
    core = ratio > c.CORE
    m = core_slope * (up - down) if core else conductance * up * root
    d_up = core_slope if core else conductance * (root - ratio * bend)
    d_down = -core_slope if core else conductance * bend
    return (m if forward else -m, d_up if forward else -d_down, d_down if forward else -d_up)


@_inlined
def pipe_karman(
    k: float, intercept: float, cap: float, incline: float, pa: float, pb: float
) -> tuple[float, float, float]:
    """First half of a line's law: its Karman number Ka = Re sqrt(f), and the slopes of ln(Ka) by both ends.

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
    per_total = 1.0 / total
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
    inverse = 1.0 / root
    karman = head * inverse
    # Ka^2 = head/whole, and 1/whole = shrink.
    shrink = karman * inverse
    bent = 2.0 * shrink * taken * incline * log_slope if held == head else 0.0
    by_head = kk * (1.0 - bent) * (whole * inverse) * inverse
    by_slant = shrink * (straight * straight) * (per_total * per_total)
    by_slant = 0.0 if capped else by_slant * ((1.0 + square) * (1.0 + fourth))
    d_up = by_head * up - by_slant * down
    d_down = by_slant * up - by_head * down
    return (karman if forward else -karman, d_up if forward else -d_down, d_down if forward else -d_up)


@_inlined
def pipe_flow(mass: float, relative: float, link_end: float, signed: float) -> tuple[float, float]:
    """Second half: flow from the Karman number, by 64/Re, a straight link or Colebrook, and its slope by ln(Ka)."""
    forward = signed > 0.0
    karman = signed if forward else -signed
    turbulent = karman > c.LINK_KARMAN
    laminar = karman < c.LAMINAR_KARMAN
    share = c.COLEBROOK / (karman if turbulent else c.LINK_KARMAN)
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
    signed, d_a, d_b = pipe_karman(k, intercept, cap, incline, pa, pb)
    m, gain = pipe_flow(mass, relative, link_end, signed)
    return m, gain * d_a, gain * d_b


@_inlined
def filter_element(
    laminar: float, inertial: float, is_open: float, factor: float, pa: float, pb: float
) -> tuple[float, float, float]:
    """Filter: laminar m + inertial m^2 = (pa^2 - pb^2) factor, with factor = 1/(2 R T)."""
    gap = pa - pb
    head = (gap if gap >= 0.0 else -gap) * (pa + pb) * factor
    root = math.sqrt(laminar * laminar + 4.0 * inertial * head)
    m = is_open * 2.0 * head / (laminar + root)
    slope = is_open * 2.0 * factor / root
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
def pipes(g: Any, a: int, b: int, va: Any, vb: Any, m: Any, d_a: Any, d_b: Any) -> None:
    g0, g1, g2, g3, g4, g5, g6 = g[0, a:b], g[1, a:b], g[2, a:b], g[3, a:b], g[4, a:b], g[5, a:b], g[6, a:b]
    va, vb, m, d_a, d_b = va[a:b], vb[a:b], m[a:b], d_a[a:b], d_b[a:b]
    for i in range(m.size):
        m[i], d_a[i], d_b[i] = pipe_karman(g0[i], g3[i], g4[i], g6[i], va[i], vb[i])
    for i in range(m.size):
        m[i], gain = pipe_flow(g1[i], g2[i], g5[i], m[i])
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
def all_flows(rows: Any, g: Any, va: Any, vb: Any, m: Any, d_a: Any, d_b: Any) -> None:
    """Laws over flat rows. ``rows`` are the ends of the five law groups in flat places; ``g`` (PLACES, flat).

    Each group is its own loop over plain arrays from zero, the form that compiles to vector instructions.
    """
    orifices(g, 0, rows[0], va, vb, m, d_a, d_b)
    pipes(g, rows[0], rows[1], va, vb, m, d_a, d_b)
    filters(g, rows[1], rows[2], va, vb, m, d_a, d_b)
    valves(g, rows[2], rows[3], va, vb, m, d_a, d_b)
    pumps(g, rows[3], rows[4], va, m, d_a, d_b)


@inner
def bare_orifices(g: Any, a: int, b: int, va: Any, vb: Any, m: Any) -> None:
    g0, g1, g2, g3, va, vb, m = g[0, a:b], g[1, a:b], g[2, a:b], g[3, a:b], va[a:b], vb[a:b], m[a:b]
    for i in range(m.size):
        m[i] = orifice(g0[i], g1[i], g2[i], g3[i], va[i], vb[i])[0]


@inner
def bare_pipes(g: Any, a: int, b: int, va: Any, vb: Any, m: Any) -> None:
    g0, g1, g2, g3, g4, g5, g6 = g[0, a:b], g[1, a:b], g[2, a:b], g[3, a:b], g[4, a:b], g[5, a:b], g[6, a:b]
    va, vb, m = va[a:b], vb[a:b], m[a:b]
    for i in range(m.size):
        m[i] = pipe_karman(g0[i], g3[i], g4[i], g6[i], va[i], vb[i])[0]
    for i in range(m.size):
        m[i] = pipe_flow(g1[i], g2[i], g5[i], m[i])[0]


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
def bare_flows(rows: Any, g: Any, va: Any, vb: Any, m: Any) -> None:
    """The laws' flows without their slopes, which cost as much again."""
    bare_orifices(g, 0, rows[0], va, vb, m)
    bare_pipes(g, rows[0], rows[1], va, vb, m)
    bare_filters(g, rows[1], rows[2], va, vb, m)
    bare_valves(g, rows[2], rows[3], va, vb, m)
    bare_pumps(g, rows[3], rows[4], va, m)


@inner
def start_numbers(geometry: Any, g: Any) -> None:
    """Law numbers that no scenario changes, into every lane."""
    for k in range(geometry.shape[0]):
        for q in range(geometry.shape[1]):
            for lane in range(LANES):
                g[(q * geometry.shape[0] + k) * LANES + lane] = geometry[k, q]


@inner
def load_lane(lane: int, s: int, batch: Any, band: float, g: Any) -> None:
    """Law numbers of scenario ``s`` into one lane: those that hang on its air, its engine speed and its overrides.

    The lists of what goes where are made by :func:`law_lists`; ``g`` is flat here.
    """
    (_, constants, constant_at, changes, values, bands, passages, slopes_of, rpm, root_t, viscosity, factor) = batch
    scaled, plain = changes
    factor[0] = 1.0
    for z in range(root_t.shape[1]):
        mu = viscosity[s, z]
        per_root = 1.0 / root_t[s, z]
        per_t = per_root * per_root
        at = 1 + z * FACTORS
        factor[at + NOZZLE] = c.NOZZLE_K * per_root
        factor[at + KARMAN] = per_root / mu
        factor[at + VISCOUS] = mu
        factor[at + SWEPT] = rpm[s] * per_t * (1.0 / c.GAS_R)
        factor[at + HEAD] = 0.5 * per_t * (1.0 / c.GAS_R)
    for i in range(constants.size):
        g[constant_at[i, 0] + lane] = constants[i] * factor[constant_at[i, 1]]
    for i in range(scaled.shape[0]):
        g[scaled[i, 0] + lane] = values[s, scaled[i, 2]] * factor[scaled[i, 1]]
    for i in range(plain.shape[0]):
        g[plain[i, 0] + lane] = values[s, plain[i, 2]]
    for i in range(bands.size):
        g[bands[i] + lane] = 1.0 / (g[bands[i] + lane] * band)
    for i in range(passages.shape[0]):
        g[passages[i, 1] + lane] = slopes_of[i] * g[passages[i, 0] + lane]


@inner
def virtual_ends(count: int, pa: Any, pb: Any, y: Any, va: Any, vb: Any) -> None:
    """End pressures that carry the virtual drop: the high side stays, the low side moves."""
    for i in range(count):
        forward = y[i] >= 0.0
        up = pa[i] if forward else pb[i]
        size = y[i] if forward else -y[i]
        down = up - size
        least = c.LEAST_RATIO * up
        down = max(least, down)
        va[i] = up if forward else down
        vb[i] = down if forward else up


@inner
def move_passages(new_a: Any, new_b: Any, va: Any, vb: Any, m: Any, carried: Any, d_a: Any, d_b: Any, y: Any) -> None:
    """New virtual drops: along the linearised flow where a drop shrinks, along the pressures where it grows.

    Choked branches and small moves follow the pressures, which makes the last steps plain Newton's. ``carried`` is the
    linearised flow at the new pressures; it receives the distance from the virtual to the new drop.
    """
    for i in range(y.size):
        was = va[i] - vb[i]
        drop = new_a[i] - new_b[i]
        size = was if was >= 0.0 else -was
        flow = m[i] if m[i] >= 0.0 else -m[i]
        alive = m[i] * was > 0.0
        gain = carried[i] / (m[i] if alive else 1.0)
        strength = gain if gain >= 0.0 else -gain
        slope = (-d_b[i] if was > 0.0 else d_a[i]) * size
        followed = was * gain * (strength if flow > 1.5 * slope else 1.0)
        follows = followed if followed >= 0.0 else -followed
        span = drop if drop >= 0.0 else -drop
        grown = drop if drop * was > 0.0 else followed
        shrunk = drop if followed * drop > 0.0 else followed
        shrunk = shrunk if span > follows else followed
        moved = grown if followed * was > 0.0 else shrunk
        moved = moved if follows >= size else shrunk
        gap = was - drop
        gap = gap if gap >= 0.0 else -gap
        plain = (slope < 0.2 * flow) | (gap < c.NEAR * size)
        moved = drop if plain else moved
        y[i] = moved if alive else drop
        carried[i] = gap


@inner
def move_valves(start: Any, per_band: Any, new_a: Any, new_b: Any, va: Any, vb: Any, carried: Any, y: Any) -> None:
    """New virtual drops of valves: their opening moves by at most ``VALVE_STEP`` of full lift."""
    for i in range(y.size):
        drop = new_a[i] - new_b[i]
        virtual = va[i] - vb[i]
        was = (virtual - start[i]) * per_band[i]
        was = was if was > 0.0 else 0.0
        was = was if was < 1.0 else 1.0
        now = (drop - start[i]) * per_band[i]
        move = now - was
        # Both shut or both fully open: the pressures decide.
        settled = ((was <= 0.0) & (now <= 0.0)) | ((was >= 1.0) & (now >= 1.0))
        move = move if move < c.VALVE_STEP else c.VALVE_STEP
        move = move if move > -c.VALVE_STEP else -c.VALVE_STEP
        y[i] = drop if settled else start[i] + (was + move) / per_band[i]
        # A narrow band makes a small distance a large one.
        gap = virtual - drop
        gap = gap if gap >= 0.0 else -gap
        narrow = per_band[i] * VALVE_SCALE_PA
        carried[i] = gap * (narrow if narrow > 1.0 else 1.0)


@inner
def move_drops(rows: Any, work: Any) -> None:
    """New virtual drops of all branches; ``gap`` receives each lane's largest distance from virtual to new drop."""
    g, p, residual, entries, inverse, pa, pb, va, vb, y, m, d_a, d_b, carried, largest, gap = work[:16]
    n, v = rows[2], rows[3]
    move_passages(pa[:n], pb[:n], va[:n], vb[:n], m[:n], carried[:n], d_a[:n], d_b[:n], y[:n])
    move_valves(g[4, n:v], g[5, n:v], pa[n:v], pb[n:v], va[n:v], vb[n:v], carried[n:v], y[n:v])
    for lane in range(LANES):
        gap[lane] = 0.0
    for k in range(v // LANES):
        row_largest(gap, 0, carried, k)


@inner
def start_lane(
    lane: int, s: int, share: float, net: Any, fixed: Any, pressure: Any, p: Any, pa: Any, pb: Any, y: Any
) -> None:
    """First pressures of scenario ``s`` in one lane, and its virtual drops.

    ``share`` of ambient everywhere; 0 takes the network's own first guess, below 0 the pressures found so far.
    """
    free, branch_a, branch_b, guess, row = net[0], net[2], net[3], net[14], net[15][s]
    for i in range(free):
        value = (share if share > 0.0 else guess[row, i]) * fixed[s, 0]
        p[i * LANES + lane] = pressure[s, i] if share < 0.0 else value
    for i in range(fixed.shape[1]):
        p[(free + i) * LANES + lane] = fixed[s, i]
    for k in range(branch_a.size):
        at = k * LANES + lane
        pa[at], pb[at] = p[branch_a[k] * LANES + lane], p[branch_b[k] * LANES + lane]
        y[at] = pa[at] - pb[at]


@inner
def move_pressures(p: Any, step: Any) -> None:
    """Take a Newton step, held within bounds; ``step`` receives its size."""
    for i in range(step.size):
        old, move = p[i], -step[i]
        lowest, highest = -c.LARGEST_FALL * old, c.LARGEST_RISE * old
        step[i] = move if move >= 0.0 else -move
        move = max(lowest, move)
        move = min(highest, move)
        p[i] = old + move


@inner
def linear_flows(m: Any, d_a: Any, d_b: Any, pa: Any, pb: Any, va: Any, vb: Any, carried: Any) -> None:
    """Flows linearised at the virtual ends, at the real pressures."""
    for i in range(m.size):
        carried[i] = m[i] + d_a[i] * (pa[i] - va[i]) + d_b[i] * (pb[i] - vb[i])


@inner
def linear_step(net: Any, gmin: float, work: Any) -> None:
    """Linearise at the virtual ends, solve, move the pressures; ``largest`` receives each lane's longest move [Pa]."""
    free, branch_a, branch_b, rows = net[0], net[2], net[3], net[12]
    g, p, residual, entries, inverse, pa, pb, va, vb, y, m, d_a, d_b, carried, largest = work[:15]
    all_flows(rows, g, va, vb, m, d_a, d_b)
    linear_flows(m, d_a, d_b, pa, pb, va, vb, carried)
    balance(net, p, carried, gmin, residual)
    slopes(net, work[21], gmin, entries)
    eliminate(net, entries, inverse, residual)
    move_pressures(p[: free * LANES], residual[: free * LANES])
    for lane in range(LANES):
        largest[lane] = 0.0
    for i in range(free):
        row_largest(largest, 0, residual, i)
    gather(branch_a, branch_b, p, pa, pb)


@inner
def newton(
    todo: Any, count: int, share: float, band: float, apart: float, net: Any, batch: Any, fixed: Any, gmin: float,
    pressure: Any, reached: Any, taken: Any, work: Any,
) -> None:  # fmt: skip
    """Newton with a virtual operating point on the scenarios ``todo[:count]``; a lane that is done takes the next.

    ``pressure`` (n, junctions) receives the free pressures; ``reached`` says which scenarios arrived.
    """
    free, rows = net[0], net[12]
    g, p, residual, entries, inverse, pa, pb, va, vb, y, m, d_a, d_b, carried, largest = work[:15]
    gap, tried, scenario, numbers = work[15], work[19], work[20], work[22]
    finished, valves_to, flat = 0, rows[3], rows[4]
    start_numbers(batch[0], numbers)
    for lane in range(LANES):
        # A lane without work of its own repeats the last scenario, so that it never holds undefined numbers.
        scenario[lane] = todo[lane] if lane < count else -1
        s = todo[min(lane, count - 1)]
        load_lane(lane, s, batch, band, numbers)
        start_lane(lane, s, share, net, fixed, pressure, p, pa, pb, y)
        tried[lane] = 0
    loaded = min(LANES, count)
    while finished < count:
        virtual_ends(valves_to, pa, pb, y, va, vb)
        for i in range(valves_to, flat):
            va[i], vb[i] = pa[i], pb[i]
        linear_step(net, gmin, work)
        linear_flows(m, d_a, d_b, pa, pb, va, vb, carried)
        move_drops(rows, work)
        for lane in range(LANES):
            s = scenario[lane]
            if s < 0:
                continue
            tried[lane] += 1
            if tried[lane] >= c.CALM_AFTER:
                for i in range(lane, valves_to, LANES):
                    y[i] = 0.5 * (y[i] + (va[i] - vb[i]))
            arrived = (gap[lane] < apart) & (largest[lane] < SMALL_STEP_PA)
            if arrived or tried[lane] >= c.MOST_ITERATIONS:
                for i in range(free):
                    pressure[s, i] = p[i * LANES + lane]
                reached[s] = arrived
                taken[s] += tried[lane]
                finished += 1
                scenario[lane] = -1
                if loaded < count:
                    scenario[lane] = todo[loaded]
                    load_lane(lane, todo[loaded], batch, band, numbers)
                    start_lane(lane, todo[loaded], share, net, fixed, pressure, p, pa, pb, y)
                    tried[lane] = 0
                    loaded += 1


@inner
def balances_at(net: Any, gmin: float, p: Any, work: Any) -> None:
    """Balances, without slopes, at the pressures ``p``."""
    g, residual, pa, pb, m = work[0], work[2], work[5], work[6], work[10]
    gather(net[2], net[3], p, pa, pb)
    bare_flows(net[12], g, pa, pb, m)
    balance(net, p, m, gmin, residual)


@inner
def last_step(net: Any, gmin: float, work: Any) -> None:
    """One plain Newton step; ``entries`` keeps its elimination, ``margin`` the slopes of each balance by its own."""
    free, rows = net[0], net[12]
    g, p, residual, entries, inverse, pa, pb, va, vb, y, m, d_a, d_b, carried, largest = work[:15]
    margin = work[17]
    gather(net[2], net[3], p, pa, pb)
    all_flows(rows, g, pa, pb, m, d_a, d_b)
    balance(net, p, m, gmin, residual)
    slopes(net, work[21], gmin, entries)
    for i in range(free):
        row_copy(margin, i, entries, i)
    eliminate(net, entries, inverse, residual)
    move_pressures(p[: free * LANES], residual[: free * LANES])


@inner
def reach_by_last_step(net: Any, gmin: float, work: Any) -> None:
    """``reach`` from the balances at the pressures and the slopes of the last step; ``gap`` is the imbalance."""
    free = net[0]
    p, residual, entries, inverse = work[1], work[2], work[3], work[4]
    gap, centre, margin, reach = work[15], work[16], work[17], work[18]
    balances_at(net, gmin, p, work)
    for lane in range(LANES):
        gap[lane] = 0.0
    for i in range(free * LANES):
        residual[i] = abs(residual[i])
        centre[i] = p[i]
        margin[i] = residual[i] + c.ROUNDING + c.PRESSURE_ROUNDING * p[i] * margin[i]
    for i in range(free):
        row_add(gap, 0, residual, i)
        row_copy(residual, i, margin, i)
    substitute(net, entries, inverse, residual)
    for i in range(free * LANES):
        reach[i] = 2.0 * residual[i]


@inner
def look_beyond(side: float, net: Any, gmin: float, work: Any) -> None:
    """Clear ``tried`` of each lane whose point ``reach`` to one side is not beyond the solution."""
    free = net[0]
    p, residual, largest, centre, reach, tried = work[1], work[2], work[14], work[16], work[18], work[19]
    for i in range(free * LANES):
        p[i] = max(centre[i] + side * reach[i], c.LEAST_PRESSURE)
    balances_at(net, gmin, p, work)
    for i in range(free):
        for lane in range(LANES):
            at = i * LANES + lane
            move = side * (p[at] - centre[at])
            tried[lane] &= (side * residual[at] >= 0.0) & (move >= 0.0)
            largest[lane] = max(largest[lane], move)


@inner
def prove(
    todo: Any, count: int, net: Any, batch: Any, fixed: Any, gmin: float,
    pressure: Any, radius: Any, imbalance: Any, work: Any,
) -> None:  # fmt: skip
    """One plain Newton step, then an enclosure as in :func:`certify`, reached by the slopes of that very step.

    Any two points with balances of opposite sign enclose the solution, however they were found; so slopes from next
    to the answer serve as well as its own, and three sets of balances without slopes are all that is left to do. What
    this does not enclose is left at an infinite radius, to :func:`certify`.
    """
    free = net[0]
    p, largest, gap, centre, tried, numbers = work[1], work[14], work[15], work[16], work[19], work[22]
    start_numbers(batch[0], numbers)
    for first in range(0, count, LANES):
        for lane in range(LANES):
            s = todo[min(first + lane, count - 1)]
            load_lane(lane, s, batch, 1.0, numbers)
            for i in range(free):
                p[i * LANES + lane] = pressure[s, i]
            for i in range(fixed.shape[1]):
                p[(free + i) * LANES + lane] = fixed[s, i]
        last_step(net, gmin, work)
        reach_by_last_step(net, gmin, work)
        for lane in range(LANES):
            largest[lane], tried[lane] = 0.0, 1
        look_beyond(-1.0, net, gmin, work)
        look_beyond(1.0, net, gmin, work)
        for lane in range(min(LANES, count - first)):
            s = todo[first + lane]
            if tried[lane] == 1 and largest[lane] < c.WIDEST_RADIUS:
                radius[s], imbalance[s] = largest[lane] * (1.0 + 1e-12), gap[lane]
                for i in range(free):
                    pressure[s, i] = centre[i * LANES + lane]


@inner
def first_reach(net: Any, gmin: float, work: Any) -> None:
    """Balances and slopes at the real pressures, and from them ``margin`` and ``reach``; ``largest`` is the imbalance.

    The margin is what each balance may be off, rounding included; the reach is twice the pressures it is worth.
    """
    free, rows = net[0], net[12]
    g, p, residual, entries, inverse, pa, pb, va, vb, y, m, d_a, d_b, carried, largest = work[:15]
    centre, margin, reach = work[16], work[17], work[18]
    all_flows(rows, g, pa, pb, m, d_a, d_b)
    balance(net, p, m, gmin, residual)
    slopes(net, work[21], gmin, entries)
    for lane in range(LANES):
        largest[lane] = 0.0
    for i in range(free * LANES):
        residual[i] = abs(residual[i])
        margin[i] = residual[i] + c.ROUNDING + c.PRESSURE_ROUNDING * p[i] * entries[i]
        centre[i] = p[i]
    for i in range(free):
        row_add(largest, 0, residual, i)
        row_copy(residual, i, margin, i)
    eliminate(net, entries, inverse, residual)
    for i in range(free * LANES):
        reach[i] = 2.0 * residual[i]


@inner
def certify(
    todo: Any, count: int, polish: bool, net: Any, batch: Any, fixed: Any, gmin: float,
    pressure: Any, radius: Any, imbalance: Any, work: Any,
) -> None:  # fmt: skip
    """Enclose each solution between two points with balances of opposite sign (see :func:`oracle.certify`).

    ``polish`` takes one plain Newton step first. What encloses less tightly than ``radius`` already says is dropped.
    """
    free, rows = net[0], net[12]
    g, p, residual, entries, inverse, pa, pb, va, vb, y, m, d_a, d_b, carried, largest = work[:15]
    summed, centre, numbers = work[15], work[16], work[22]
    start_numbers(batch[0], numbers)
    for first in range(0, count, LANES):
        for lane in range(LANES):
            s = todo[min(first + lane, count - 1)]
            load_lane(lane, s, batch, 1.0, numbers)
            for i in range(free):
                p[i * LANES + lane] = pressure[s, i]
            for i in range(fixed.shape[1]):
                p[(free + i) * LANES + lane] = fixed[s, i]
        gather(net[2], net[3], p, pa, pb)
        if polish:
            for i in range(rows[4]):
                va[i], vb[i] = pa[i], pb[i]
            linear_step(net, gmin, work)
        first_reach(net, gmin, work)
        for lane in range(LANES):
            summed[lane] = largest[lane]
        for lane in range(LANES):
            largest[lane] = 0.0
        # At first only the plain points are tried: most do, and a lane that needs more would hold up its block.
        rounds = c.ENCLOSURE_ROUNDS if polish else 1
        enclose(-1.0, rounds, net, gmin, work)
        enclose(1.0, rounds, net, gmin, work)
        for lane in range(min(LANES, count - first)):
            s = todo[first + lane]
            wide = largest[lane] * (1.0 + 1e-12)
            if wide < radius[s] or radius[s] == np.inf:
                radius[s] = wide if wide < c.WIDEST_RADIUS else np.inf
                imbalance[s] = summed[lane]
                for i in range(free):
                    pressure[s, i] = centre[i * LANES + lane]


@inner
def enclose(side: float, rounds: int, net: Any, gmin: float, work: Any) -> None:
    """Raise ``largest`` of each lane to its distance to a point on one side of the solution, or to infinity.

    The first point is ``reach`` away from ``centre``; where the balances there have the wrong sign it is moved by
    Newton steps with the slopes found there, aiming further beyond the solution each time.
    """
    free, branch_a, branch_b, rows = net[0], net[2], net[3], net[12]
    g, p, residual, entries, inverse, pa, pb, va, vb, y, m, d_a, d_b, carried, largest = work[:15]
    centre, reach, tried = work[16], work[18], work[19]
    for lane in range(LANES):
        tried[lane] = 0
    for i in range(free * LANES):
        p[i] = centre[i] + side * reach[i]
    aim = 1.0
    for attempt in range(rounds):
        for i in range(free * LANES):
            p[i] = max(p[i], c.LEAST_PRESSURE)
        gather(branch_a, branch_b, p, pa, pb)
        all_flows(rows, g, pa, pb, m, d_a, d_b)
        balance(net, p, m, gmin, residual)
        if enclosed_lanes(side, free, p, centre, residual, tried, largest) == LANES:
            return
        if attempt + 1 == rounds:
            break
        aim *= c.ENCLOSURE_GROWTH
        aim_further(side, aim, net, gmin, work)
    for lane in range(LANES):
        if tried[lane] == 0:
            largest[lane] = np.inf


@inner
def aim_further(side: float, aim: float, net: Any, gmin: float, work: Any) -> None:
    """Move the points of lanes not yet enclosed by a Newton step to where their balances are ``aim`` margins off."""
    free = net[0]
    g, p, residual, entries, inverse = work[:5]
    margin, tried = work[17], work[19]
    slopes(net, work[21], gmin, entries)
    for i in range(free * LANES):
        residual[i] = aim * margin[i] - side * residual[i]
    eliminate(net, entries, inverse, residual)
    for i in range(free):
        for lane in range(LANES):
            if tried[lane] == 0:
                p[i * LANES + lane] += side * residual[i * LANES + lane]


@inner
def enclosed_lanes(side: float, free: int, p: Any, centre: Any, residual: Any, tried: Any, largest: Any) -> int:
    """Mark the lanes whose point lies beyond the solution, raise their ``largest``, and count all marked."""
    found = 0
    for lane in range(LANES):
        if tried[lane] == 0:
            beyond, distance = True, 0.0
            for i in range(lane, free * LANES, LANES):
                move = side * (p[i] - centre[i])
                # Held at the least pressure, a point below the solution is still below it.
                beyond &= (side * residual[i] >= 0.0) & (move >= 0.0)
                distance = max(distance, move)
            if beyond:
                tried[lane] = 1
                largest[lane] = max(largest[lane], distance)
        found += tried[lane]
    return found


@inner
def certify_arrived(
    todo: Any,
    count: int,
    verdict: int,
    net: Any,
    batch: Any,
    fixed: Any,
    gmin: float,
    pressure: Any,
    status: Any,
    radius: Any,
    imbalance: Any,
    reached: Any,
    good: Any,
    work: Any,
) -> int:
    """Certify what arrived, polish what is enclosed too widely, and keep in ``todo`` what has no proof. How many.

    From the first start what stays wide counts as unproved too: another start, held to tighter arrival, does better.
    """
    most = c.LARGEST_RADIUS if verdict == 0 else c.WIDEST_RADIUS
    found = 0
    for i in range(count):
        if reached[todo[i]]:
            good[found] = todo[i]
            radius[todo[i]] = np.inf
            found += 1
    for polish in range(1 + c.MOST_POLISH):
        if found and polish == 0:
            prove(good, found, net, batch, fixed, gmin, pressure, radius, imbalance, work)
        elif found:
            certify(good, found, polish > 0, net, batch, fixed, gmin, pressure, radius, imbalance, work)
        wide = 0
        for i in range(found):
            if radius[good[i]] > c.LARGEST_RADIUS:
                good[wide] = good[i]
                wide += 1
        found = wide
    left = 0
    for i in range(count):
        s = todo[i]
        if reached[s] and radius[s] <= most:
            status[s] = verdict
        else:
            todo[left] = s
            left += 1
    return left


_I8, _I64, _F64 = types.int8[::1], types.int64[::1], types.float64[::1]
_I64_2D, _F64_2D = types.int64[:, ::1], types.float64[:, ::1]
_PLACES_OF = [_I64] * 6
_OPERATIONS = [_I64_2D] * 3
_NET = types.Tuple([types.int64, types.int64, *_PLACES_OF, *_OPERATIONS, _I64, _I64, types.int64, _F64_2D, _I64])
_CHANGES = types.Tuple([_I64_2D, _I64_2D])
_BATCH = types.Tuple([_F64_2D, _F64, _I64_2D, _CHANGES, _F64_2D, _I64, _I64_2D, _F64, _F64, _F64_2D, _F64_2D])
_SIGNATURE = types.void(
    types.int64, types.int64, _NET, _BATCH, _F64_2D, types.float64, _F64_2D, _I8, _F64, _F64, _I8, _I64
)


@njit(_SIGNATURE, error_model="numpy", nogil=True, cache=True)
def solve_range(
    first: int,
    last: int,
    net: Any,
    lists: Any,
    fixed: Any,
    gmin: float,
    pressure: Any,
    status: Any,
    radius: Any,
    imbalance: Any,
    reached: Any,
    taken: Any,
) -> None:
    """Scenarios ``first`` to ``last``: all starts in turn, then continuation, each answer certified.

    The only entry point, with one signature. It holds no lock, so threads may work on ranges of one batch.
    """
    free, branches, entries = net[0], net[2].size, net[13]
    flat, junctions = branches * LANES, (free + fixed.shape[1]) * LANES
    geometry, constants, constant_at, changes, values, bands, passages, slopes_of, rpm, root_t, viscosity = lists
    factor = np.empty(1 + root_t.shape[1] * FACTORS)
    slope = np.empty(2 * flat)
    batch = (
        geometry, constants, constant_at, changes, values, bands, passages, slopes_of, rpm, root_t, viscosity, factor,
    )  # fmt: skip
    numbers = np.empty(PLACES * flat)
    work = (
        numbers.reshape((PLACES, flat)),
        np.empty(junctions),
        np.empty(junctions),
        np.empty((entries + 1) * LANES),
        np.empty((free + 1) * LANES),
        np.empty(flat),
        np.empty(flat),
        np.empty(flat),
        np.empty(flat),
        np.empty(flat),
        np.empty(flat),
        slope[:flat],
        slope[flat:],
        np.empty(flat),
        np.empty(LANES),
        np.empty(LANES),
        np.empty(free * LANES),
        np.empty(free * LANES),
        np.empty(free * LANES),
        np.empty(LANES, np.int64),
        np.empty(LANES, np.int64),
        slope,
        numbers,
    )
    count = last - first
    todo, good = np.empty(count, np.int64), np.empty(count, np.int64)
    for i in range(count):
        todo[i] = first + i
    for attempt in range(STARTS + 1):
        if count == 0:
            break
        rungs = 1 if attempt < STARTS else RUNGS
        for rung in range(rungs):
            share = c.STARTS[attempt] if attempt < STARTS else (1.0 if rung == 0 else -1.0)
            band = 1.0 if attempt < STARTS else c.BAND_LADDER[rung]
            apart = NEAR_PA if attempt == 0 else ARRIVED_PA
            newton(todo, count, share, band, apart, net, batch, fixed, gmin, pressure, reached, taken, work)
        verdict = min(attempt, 1) if attempt < STARTS else 2
        count = certify_arrived(
            todo, count, verdict, net, batch, fixed, gmin, pressure, status, radius, imbalance, reached, good, work
        )
    for i in range(count):
        radius[todo[i]] = np.nan
        for j in range(free):
            pressure[todo[i], j] = np.nan


@lru_cache(maxsize=4)
def _pool(threads: int) -> ThreadPoolExecutor:
    return ThreadPoolExecutor(threads, thread_name_prefix="vanewise-solve")


def law_lists(problem: Problem) -> tuple[Any, ...]:
    """What :func:`load_lane` writes where, worked out once a batch.

    Geometry; numbers that only the air changes, with (place, factor) of each; the overrides that the air scales and
    those it does not, each as (place, factor, column), and their values; the places of the valves' bands; the places
    of (conductance, core slope) of every passage and the ratio of the two; engine speed, root of temperature and
    viscosity. Places are flat and lane 0's; factor 0 is one.
    """
    branches, law = problem.law.size, problem.law
    at_zone = 1 + problem.zone.astype(np.int64) * FACTORS
    factor = np.zeros((branches, PLACES), np.int64)
    factor[:, 0] = at_zone + _CONDUCTANCE[law]
    factor[law == Law.PIPE, 1] = at_zone[law == Law.PIPE] + VISCOUS
    factor[law == Law.FILTER, 3] = at_zone[law == Law.FILTER] + HEAD
    place = (np.arange(PLACES) * branches + np.arange(branches)[:, None]) * LANES
    number = problem.geometry.copy()
    number[law == Law.FILTER, 3] = 1.0
    valve_rows = np.flatnonzero(law == Law.VALVE)
    constant = factor > 0
    constant[valve_rows, VALVE_BAND] = True
    changed = problem.override_branch, problem.override_place
    constant[changed] = False
    over = np.stack([place[changed], factor[changed], np.arange(changed[0].size)], axis=1)
    passages = np.flatnonzero((law == Law.ORIFICE) | (law == Law.VALVE))
    return (
        np.ascontiguousarray(problem.geometry),
        number[constant],
        np.stack([place[constant], factor[constant]], axis=1),
        (np.ascontiguousarray(over[over[:, 1] > 0]), np.ascontiguousarray(over[over[:, 1] == 0])),
        np.ascontiguousarray(problem.override_values),
        place[valve_rows, VALVE_BAND],
        np.stack([place[passages, 0], place[passages, 3]], axis=1),
        problem.geometry[passages, 3],
        problem.rpm, problem.air.root_t, problem.air.viscosity,
    )  # fmt: skip


def solve(problem: Problem, threads: int | None = None) -> Answer:
    """Answers as :func:`vanewise.network.oracle.solve`, by the compiled kernel.

    ``threads`` None takes all that this process may use; the answers do not depend on it.
    """
    shape, n, branches = problem.elimination, problem.count, problem.branch_a.size
    adding, subtracting = np.concatenate([shape.at_aa, shape.at_ab]), np.concatenate([shape.at_ba, shape.at_bb])
    slope_rows = np.arange(2 * branches)
    into, out_of = adding < shape.entries, subtracting < shape.entries
    group_ends = np.array([problem.slices[law].stop for law in Law], np.int64) * LANES
    net = (
        shape.count, problem.reference, problem.branch_a, problem.branch_b,
        adding[into], slope_rows[into], subtracting[out_of], slope_rows[out_of],
        shape.lower, shape.inner, shape.upper, shape.upper_start, group_ends, shape.entries,
        problem.guess, problem.guess_row,
    )  # fmt: skip
    pressure = np.empty((n, shape.count + problem.fixed_pa.shape[1]))
    pressure[:, shape.count :] = problem.fixed_pa
    status, reached = np.full(n, 3, np.int8), np.zeros(n, np.int8)
    radius, imbalance, taken = np.full(n, np.inf), np.full(n, np.nan), np.zeros(n, np.int64)
    shared: tuple[Any, ...] = (
        net,
        law_lists(problem),
        problem.fixed_pa,
        problem.gmin,
        pressure,
        status,
        radius,
        imbalance,
        reached,
        taken,
    )
    ranges = [(first, min(first + CHUNK, n)) for first in range(0, n, CHUNK)]
    threads = min(threads or numba_cache.threads(), len(ranges))
    if threads > 1:
        pool = _pool(threads)
        for job in [pool.submit(solve_range, first, last, *shared) for first, last in ranges]:
            job.result()
    else:
        for first, last in ranges:
            solve_range(first, last, *shared)
    pressure[status == 3] = np.nan
    return pressure, status, radius, imbalance, np.minimum(taken, 32767).astype(np.int16)


if __name__ == "__main__":
    # Importing this file compiled the kernel, or found it in its cache.
    if sys.argv[1:] != ["--warm"]:
        sys.exit("usage: python -m vanewise.network.compiled --warm")
    sys.stdout.write(f"kernel ready in {numba_cache.FOLDER}\n")
