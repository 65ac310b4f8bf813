"""The compiled solver: flow laws and kernel in one file, so that numba's cache can never mix old laws with new code.

It runs the algorithm of :mod:`vanewise.network.oracle` on blocks of scenarios side by side ("lanes"): every array has
one row per branch or junction and one column per lane, and the laws run over flat rows, which the compiler turns into
vector instructions. A lane that is done takes the next scenario. No scenario's arithmetic depends on its neighbours or
on the number of threads, so neither do the answers.

``python -m vanewise.network.compiled --warm`` compiles the kernel into its cache and exits.
"""

# mypy: disable-error-code="untyped-decorator,no-untyped-call"
# ruff: noqa: RUF059 (every function unpacks the same bundle of work arrays and takes what it needs)
from __future__ import annotations

import math
import sys
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from typing import Any, Final

import numpy as np

from vanewise.network import numba_cache  # before numba: it says where the compiled code is kept

import numba  # isort: skip
from numba import extending, types  # isort: skip

from vanewise.network import law_constants as c
from vanewise.network.elements import Law
from vanewise.network.oracle import Answer
from vanewise.network.problem import Problem

LANES: Final = 8
CHUNK: Final = 256
"""Scenarios that one thread takes at a time."""
PLACES: Final = 7
CACHE_FOLDER: Final = numba_cache.FOLDER

LN2: Final = math.log(2.0)
TWO_LOG10_E: Final = 2.0 * c.LOG10_E
CORE_GAIN: Final = 1.0 / (1.0 - c.CORE)
LINK_INVERSE: Final = 1.0 / (c.LINK_KARMAN - c.LAMINAR_KARMAN)
TINY_HEAD: Final = 1e-12
"""Keeps the logarithm and the divisions of the pipe law defined at zero flow; worth 1e-14 of a Reynolds number."""
ARRIVED_PA: Final = 3.0
"""A scenario has arrived when no virtual drop is further than this [Pa] from the real one."""
SMALL_STEP: Final = 0.02
"""... and its last step was smaller than this share of the pressure moved."""
LARGEST_RADIUS: Final = 0.02
"""Widest enclosure [Pa] taken without polishing; ``MOST_POLISH`` plain Newton steps are spent on a wider one."""
MOST_POLISH: Final = 6
STARTS: Final = len(c.STARTS)
RUNGS: Final = len(c.BAND_LADDER)
ORIFICE: Final = int(Law.ORIFICE)
PIPE: Final = int(Law.PIPE)
FILTER: Final = int(Law.FILTER)
VALVE: Final = int(Law.VALVE)


njit: Final[Any] = numba.njit
intrinsic: Final[Any] = extending.intrinsic
_inlined: Final = njit(error_model="numpy", forceinline=True, no_cpython_wrapper=True, no_cfunc_wrapper=True)
_inner: Final = njit(error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True)


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


@_inlined
def ln(x: float) -> float:
    """Natural logarithm of a positive normal number, to 1e-12, in operations that vectorise."""
    bits = _bits(x)
    exponent = _double((bits >> _SHIFT) | _MAGIC) - (4503599627370496.0 + 1022.0)
    m = _double((bits & _MANTISSA) | _HALF)
    low = m < 0.7071067811865476
    m = 2.0 * m if low else m
    exponent = exponent - 1.0 if low else exponent
    s = (m - 1.0) / (m + 1.0)
    z = s * s
    zz = z * z
    low_terms = (1.0 + z * (1 / 3)) + zz * (1 / 5 + z * (1 / 7))
    high_terms = (1 / 9 + z * (1 / 11)) + zz * (1 / 13 + z * (1 / 15))
    return exponent * LN2 + 2.0 * s * (low_terms + zz * zz * high_terms)


@_inlined
def rough_ln(x: float) -> float:
    """Natural logarithm to 0.004, continuous and without a division: enough for the share that acceleration takes."""
    bits = _bits(x)
    exponent = _double((bits >> _SHIFT) | _MAGIC) - (4503599627370496.0 + 1023.0)
    m = _double((bits & _MANTISSA) | _ONE)
    return (exponent + (2.0 - m * (1.0 / 3.0)) * m - 5.0 / 3.0) * LN2


@_inlined
def orifice(
    conductance: float, critical: float, scale: float, core_slope: float, pa: float, pb: float
) -> tuple[float, float, float]:
    """ISO 6358 passage both ways, linear above a pressure ratio of 0.999. Returns m, dm/dpa, dm/dpb.

    ``scale`` is 1/(1 - critical); ``core_slope`` joins the linear core to the curve (see :func:`orifice_core`).
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
def orifice_core(conductance: float, critical: float) -> tuple[float, float]:
    """Scale of the ellipse and slope of the linear core of an ISO 6358 passage."""
    scale = 1.0 / (1.0 - critical)
    excess = (c.CORE - critical) * scale
    return scale, conductance * math.sqrt(1.0 - excess * excess) * CORE_GAIN


@_inlined
def pipe(
    k: float, mass: float, relative: float, weight: float, cap: float, link_end: float, pa: float, pb: float
) -> tuple[float, float, float]:
    """Isothermal line with friction and acceleration. ``k`` is the Karman number per square root of pa^2 - pb^2.

    Friction follows from the Karman number Ka = Re sqrt(f), which follows from the head: laminar, a straight link,
    Colebrook. Acceleration takes the share pull/f of the head; f is judged at the head as if there were none.
    """
    forward = pa >= pb
    up = pa if forward else pb
    down = pb if forward else pa
    total = up + down
    gap = up - down
    kk = k * k
    head = kk * gap * total
    head = max(TINY_HEAD, head)
    slant = gap / total
    capped = slant >= cap
    slant = cap if capped else slant
    square = slant * slant
    pull = 2.0 * weight * slant * ((1.0 + square * (1 / 3)) + square * square * (1 / 5 + square * (1 / 7)))
    link = (link_end - c.LAMINAR_RE) * LINK_INVERSE
    offset = c.LAMINAR_RE - link * c.LAMINAR_KARMAN
    bare = math.sqrt(head)
    safe = max(c.LINK_KARMAN, bare)
    curve = -TWO_LOG10_E * rough_ln(relative + c.COLEBROOK / safe)
    bare_re = bare * curve if bare > c.LINK_KARMAN else offset + link * bare
    bare_re = head * (1.0 / 64.0) if bare < c.LAMINAR_KARMAN else bare_re
    whole = head + pull * bare_re * bare_re
    root = math.sqrt(whole)
    inverse = 1.0 / root
    karman = head * inverse
    # Friction proper, at the Karman number that is left.
    turbulent = karman > c.LINK_KARMAN
    laminar = karman < c.LAMINAR_KARMAN
    per_karman = 1.0 / karman
    share = c.COLEBROOK * (per_karman if turbulent else 1.0 / c.LINK_KARMAN)
    inside = relative + share
    colebrook = -TWO_LOG10_E * ln(inside)
    bend = TWO_LOG10_E * share / inside
    re = karman * colebrook if turbulent else offset + link * karman
    re = karman * karman * (1.0 / 64.0) if laminar else re
    slope = colebrook + bend if turbulent else link
    slope = karman * (1.0 / 32.0) if laminar else slope
    bare_slope = curve + bend if bare > c.LINK_KARMAN else link
    bare_slope = bare * (1.0 / 32.0) if bare < c.LAMINAR_KARMAN else bare_slope
    # karman^2 = head^2 / whole, so its slopes by head and by pull:
    shrink = karman * inverse
    by_head = 2.0 * shrink - shrink * shrink * (1.0 + pull * bare_re * bare_slope / bare)
    by_pull = 0.0 if capped else shrink * shrink * bare_re * bare_re * weight
    gain = mass * 0.5 * slope * per_karman
    m = mass * re
    per_both = by_pull / (up * down)
    d_up = gain * (2.0 * kk * by_head * up - per_both * down)
    d_down = -gain * (2.0 * kk * by_head * down - per_both * up)
    return (m if forward else -m, d_up if forward else -d_down, d_down if forward else -d_up)


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


@_inner
def orifices(g0: Any, g1: Any, g2: Any, g3: Any, va: Any, vb: Any, m: Any, d_a: Any, d_b: Any) -> None:
    for i in range(m.size):
        m[i], d_a[i], d_b[i] = orifice(g0[i], g1[i], g2[i], g3[i], va[i], vb[i])


@_inner
def pipes(g0: Any, g1: Any, g2: Any, g3: Any, g4: Any, g5: Any, va: Any, vb: Any, m: Any, d_a: Any, d_b: Any) -> None:
    for i in range(m.size):
        m[i], d_a[i], d_b[i] = pipe(g0[i], g1[i], g2[i], g3[i], g4[i], g5[i], va[i], vb[i])


@_inner
def filters(g0: Any, g1: Any, g2: Any, g3: Any, va: Any, vb: Any, m: Any, d_a: Any, d_b: Any) -> None:
    for i in range(m.size):
        m[i], d_a[i], d_b[i] = filter_element(g0[i], g1[i], g2[i], g3[i], va[i], vb[i])


@_inner
def valves(g0: Any, g1: Any, g2: Any, g3: Any, g4: Any, g5: Any, va: Any, vb: Any, m: Any, d_a: Any, d_b: Any) -> None:
    for i in range(m.size):
        m[i], d_a[i], d_b[i] = valve(g0[i], g1[i], g2[i], g3[i], g4[i], g5[i], va[i], vb[i])


@_inner
def pumps(g0: Any, va: Any, m: Any, d_a: Any, d_b: Any) -> None:
    for i in range(m.size):
        m[i] = g0[i] * va[i]
        d_a[i] = g0[i]
        d_b[i] = 0.0


@_inner
def all_flows(rows: Any, g: Any, va: Any, vb: Any, m: Any, d_a: Any, d_b: Any) -> None:
    """Laws over flat rows. ``rows`` are the ends of the five law groups in flat places; ``g`` (PLACES, flat).

    Each group is its own loop over plain arrays from zero, the form that compiles to vector instructions.
    """
    a, b = 0, rows[0]
    orifices(g[0, a:b], g[1, a:b], g[2, a:b], g[3, a:b], va[a:b], vb[a:b], m[a:b], d_a[a:b], d_b[a:b])
    a, b = rows[0], rows[1]
    pipes(
        g[0, a:b], g[1, a:b], g[2, a:b], g[3, a:b], g[4, a:b], g[5, a:b],
        va[a:b], vb[a:b], m[a:b], d_a[a:b], d_b[a:b],
    )  # fmt: skip
    a, b = rows[1], rows[2]
    filters(g[0, a:b], g[1, a:b], g[2, a:b], g[3, a:b], va[a:b], vb[a:b], m[a:b], d_a[a:b], d_b[a:b])
    a, b = rows[2], rows[3]
    valves(
        g[0, a:b], g[1, a:b], g[2, a:b], g[3, a:b], g[4, a:b], g[5, a:b],
        va[a:b], vb[a:b], m[a:b], d_a[a:b], d_b[a:b],
    )  # fmt: skip
    a, b = rows[3], rows[4]
    pumps(g[0, a:b], va[a:b], m[a:b], d_a[a:b], d_b[a:b])


@_inner
def load_lane(lane: int, s: int, batch: Any, band: float, g: Any) -> None:
    """Law numbers of scenario ``s`` into one lane: geometry, its overrides, its air and engine speed."""
    (law, zone, geometry, over_branch, over_place, over_values, rpm, root_t, viscosity, row) = batch
    for k in range(law.size):
        for q in range(row.shape[1]):
            row[k, q] = geometry[k, q]
    for o in range(over_branch.size):
        row[over_branch[o], over_place[o]] = over_values[s, o]
    for k in range(law.size):
        at = k * LANES + lane
        root = root_t[s, zone[k]]
        mu = viscosity[s, zone[k]]
        kind = law[k]
        if kind == ORIFICE:
            conductance = row[k, 0] * c.NOZZLE_K / root
            g[0, at], g[1, at] = conductance, row[k, 1]
            g[2, at], g[3, at] = orifice_core(conductance, row[k, 1])
        elif kind == PIPE:
            g[0, at] = row[k, 0] / (mu * root)
            g[1, at] = row[k, 1] * mu
            for q in range(2, 6):
                g[q, at] = row[k, q]
        elif kind == FILTER:
            g[0, at], g[1, at], g[2, at] = row[k, 0] * mu, row[k, 1], row[k, 2]
            g[3, at] = 0.5 / (c.GAS_R * root * root)
        elif kind == VALVE:
            conductance = row[k, 0] * c.NOZZLE_K / root
            g[0, at], g[1, at] = conductance, row[k, 1]
            g[2, at], g[3, at] = orifice_core(conductance, row[k, 1])
            g[4, at], g[5, at] = row[k, 2], 1.0 / (row[k, 3] * band)
        else:
            g[0, at] = row[k, 0] * rpm[s] / (c.GAS_R * root * root)


@_inner
def gather(count: int, branch_a: Any, branch_b: Any, p: Any, pa: Any, pb: Any) -> None:
    """End pressures of every branch, flat, from pressures by junction and lane."""
    for k in range(count):
        a, b, at = branch_a[k], branch_b[k], k * LANES
        for lane in range(LANES):
            pa[at + lane] = p[a, lane]
            pb[at + lane] = p[b, lane]


@_inner
def balance(net: Any, p: Any, m: Any, gmin: float, residual: Any) -> None:
    """Mass balance of every junction and lane (outflow positive)."""
    free, reference, branch_a, branch_b = net[0], net[1], net[2], net[3]
    for i in range(free):
        for lane in range(LANES):
            residual[i, lane] = gmin * (p[i, lane] - p[reference, lane])
    for k in range(branch_a.size):
        a, b, at = branch_a[k], branch_b[k], k * LANES
        for lane in range(LANES):
            residual[a, lane] += m[at + lane]
            residual[b, lane] -= m[at + lane]


@_inner
def slopes(net: Any, d_a: Any, d_b: Any, gmin: float, entries: Any) -> None:
    """Flat Jacobian entries of every lane."""
    free, at_aa, at_ab, at_ba, at_bb = net[0], net[4], net[5], net[6], net[7]
    for i in range(entries.shape[0]):
        start = gmin if i < free else 0.0
        for lane in range(LANES):
            entries[i, lane] = start
    for k in range(at_aa.size):
        aa, ab, ba, bb, at = at_aa[k], at_ab[k], at_ba[k], at_bb[k], k * LANES
        for lane in range(LANES):
            entries[aa, lane] += d_a[at + lane]
            entries[ab, lane] += d_b[at + lane]
            entries[ba, lane] -= d_a[at + lane]
            entries[bb, lane] -= d_b[at + lane]


@_inner
def eliminate(net: Any, entries: Any, inverse: Any, x: Any) -> None:
    """Solve every lane's linear system in place; ``inverse`` receives the reciprocal pivots."""
    free, lower, inner, upper, upper_start = net[0], net[8], net[9], net[10], net[11]
    q = 0
    for k in range(free):
        for lane in range(LANES):
            inverse[k, lane] = 1.0 / entries[k, lane]
        while q < lower.shape[0] and lower[q, 1] == k:
            target, row = lower[q, 0], lower[q, 2]
            for lane in range(LANES):
                factor = entries[target, lane] * inverse[k, lane]
                inverse[free, lane] = factor
                x[row, lane] -= factor * x[k, lane]
            for r in range(lower[q, 3], lower[q, 4]):
                into, source = inner[r, 0], inner[r, 1]
                for lane in range(LANES):
                    entries[into, lane] -= inverse[free, lane] * entries[source, lane]
            q += 1
    for k in range(free - 1, -1, -1):
        for r in range(upper_start[k], upper_start[k + 1]):
            place, other = upper[r, 0], upper[r, 1]
            for lane in range(LANES):
                x[k, lane] -= entries[place, lane] * x[other, lane]
        for lane in range(LANES):
            x[k, lane] *= inverse[k, lane]


@_inner
def virtual_ends(first: int, last: int, pa: Any, pb: Any, y: Any, va: Any, vb: Any) -> None:
    """End pressures that carry the virtual drop: the high side stays, the low side moves."""
    for i in range(first, last):
        forward = y[i] >= 0.0
        up = pa[i] if forward else pb[i]
        size = y[i] if forward else -y[i]
        down = up - size
        least = c.LEAST_RATIO * up
        down = max(least, down)
        va[i] = up if forward else down
        vb[i] = down if forward else up


@_inner
def move_drops(
    rows: Any, g: Any, new_a: Any, new_b: Any, va: Any, vb: Any, m: Any, carried: Any, d_a: Any, d_b: Any, y: Any
) -> None:
    """New virtual drops: along the linearised flow where a drop shrinks, along the pressures where it grows.

    ``carried`` is the linearised flow at the new pressures.
    """
    for i in range(rows[2]):
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
        grows = (followed * was > 0.0) & (follows >= size)
        grown = drop if drop * was > 0.0 else followed
        shrunk = drop if (followed * drop > 0.0) & (span > follows) else followed
        moved = grown if grows else shrunk
        y[i] = moved if alive & (slope >= 0.2 * flow) else drop
    start, per_band = g[4], g[5]
    for i in range(rows[2], rows[3]):
        drop = new_a[i] - new_b[i]
        was = min(max((va[i] - vb[i] - start[i]) * per_band[i], 0.0), 1.0)
        now = (drop - start[i]) * per_band[i]
        settled = (was <= 0.0 and now <= 0.0) or (was >= 1.0 and now >= 1.0)
        limited = min(max(now, was - c.VALVE_STEP), was + c.VALVE_STEP)
        y[i] = drop if settled else start[i] + limited / per_band[i]


@_inner
def start_lane(
    lane: int, s: int, share: float, warm: bool, net: Any, fixed: Any, pressure: Any, p: Any, pa: Any, pb: Any, y: Any
) -> None:
    """First pressures of scenario ``s`` in one lane, and its virtual drops."""
    free, branch_a, branch_b = net[0], net[2], net[3]
    for i in range(free):
        p[i, lane] = pressure[s, i] if warm else share * fixed[s, 0]
    for i in range(fixed.shape[1]):
        p[free + i, lane] = fixed[s, i]
    for k in range(branch_a.size):
        at = k * LANES + lane
        pa[at], pb[at] = p[branch_a[k], lane], p[branch_b[k], lane]
        y[at] = pa[at] - pb[at]


@_inner
def linear_step(net: Any, gmin: float, work: Any) -> None:
    """Linearise at the virtual ends, solve, move the pressures; ``largest`` receives each lane's longest move."""
    free, branch_a, branch_b, rows = net[0], net[2], net[3], net[12]
    g, p, residual, entries, inverse, pa, pb, va, vb, y, m, d_a, d_b, carried, largest, tried, scenario = work[:17]
    all_flows(rows, g, va, vb, m, d_a, d_b)
    for i in range(rows[4]):
        carried[i] = m[i] + d_a[i] * (pa[i] - va[i]) + d_b[i] * (pb[i] - vb[i])
    balance(net, p, carried, gmin, residual)
    slopes(net, d_a, d_b, gmin, entries)
    eliminate(net, entries, inverse, residual)
    for lane in range(LANES):
        largest[lane] = 0.0
    for i in range(free):
        for lane in range(LANES):
            old = p[i, lane]
            move = -residual[i, lane]
            largest[lane] = max(largest[lane], abs(move) / old)
            move = max(move, -c.LARGEST_FALL * old)
            move = min(move, c.LARGEST_RISE * old)
            p[i, lane] = old + move
    gather(branch_a.size, branch_a, branch_b, p, pa, pb)


@_inner
def newton(
    todo: Any,
    count: int,
    share: float,
    band: float,
    warm: bool,
    net: Any,
    batch: Any,
    fixed: Any,
    gmin: float,
    pressure: Any,
    reached: Any,
    taken: Any,
    work: Any,
) -> None:
    """Newton with a virtual operating point on the scenarios ``todo[:count]``; a lane that is done takes the next.

    ``pressure`` (n, junctions) receives the free pressures and, with ``warm``, gives the start; ``reached`` says
    which scenarios arrived.
    """
    free, rows = net[0], net[12]
    g, p, residual, entries, inverse, pa, pb, va, vb, y, m, d_a, d_b, carried, largest, tried, scenario = work[:17]
    loaded, finished, pumps, flat = 0, 0, rows[3], rows[4]
    for lane in range(LANES):
        # A lane without work of its own repeats the last scenario, so that it never holds undefined numbers.
        scenario[lane] = todo[lane] if lane < count else -1
        s = todo[min(lane, count - 1)]
        load_lane(lane, s, batch, band, g)
        start_lane(lane, s, share, warm, net, fixed, pressure, p, pa, pb, y)
        tried[lane] = 0
    loaded = min(LANES, count)
    while finished < count:
        virtual_ends(0, pumps, pa, pb, y, va, vb)
        for i in range(pumps, flat):
            va[i], vb[i] = pa[i], pb[i]
        linear_step(net, gmin, work)
        for i in range(flat):
            carried[i] = m[i] + d_a[i] * (pa[i] - va[i]) + d_b[i] * (pb[i] - vb[i])
        move_drops(rows, g, pa, pb, va, vb, m, carried, d_a, d_b, y)
        for lane in range(LANES):
            s = scenario[lane]
            if s < 0:
                continue
            tried[lane] += 1
            arrived = largest[lane] < SMALL_STEP
            if arrived:
                for i in range(lane, pumps, LANES):
                    arrived &= abs((va[i] - vb[i]) - (pa[i] - pb[i])) < ARRIVED_PA
            if arrived or tried[lane] >= c.MOST_ITERATIONS:
                for i in range(free):
                    pressure[s, i] = p[i, lane]
                reached[s] = arrived
                taken[s] += tried[lane]
                finished += 1
                scenario[lane] = -1
                if loaded < count:
                    scenario[lane] = todo[loaded]
                    load_lane(lane, todo[loaded], batch, band, g)
                    start_lane(lane, todo[loaded], share, warm, net, fixed, pressure, p, pa, pb, y)
                    tried[lane] = 0
                    loaded += 1


@_inner
def certify(
    todo: Any,
    count: int,
    polish: bool,
    net: Any,
    batch: Any,
    fixed: Any,
    gmin: float,
    pressure: Any,
    radius: Any,
    imbalance: Any,
    work: Any,
) -> None:
    """Enclose each solution between two points with balances of opposite sign (see :func:`oracle.certify`).

    ``polish`` takes one plain Newton step first. ``radius`` receives infinity where there is no enclosure.
    """
    free, rows = net[0], net[12]
    g, p, residual, entries, inverse, pa, pb, va, vb, y, m, d_a, d_b, carried, largest, tried, scenario = work[:17]
    centre, margin, reach = work[17], work[18], work[19]
    for first in range(0, count, LANES):
        for lane in range(LANES):
            s = todo[min(first + lane, count - 1)]
            load_lane(lane, s, batch, 1.0, g)
            start_lane(lane, s, 1.0, True, net, fixed, pressure, p, pa, pb, y)
        if polish:
            for i in range(rows[4]):
                va[i], vb[i] = pa[i], pb[i]
            linear_step(net, gmin, work)
        all_flows(rows, g, pa, pb, m, d_a, d_b)
        balance(net, p, m, gmin, residual)
        slopes(net, d_a, d_b, gmin, entries)
        for lane in range(LANES):
            largest[lane] = 0.0
        for i in range(free):
            for lane in range(LANES):
                size = abs(residual[i, lane])
                largest[lane] += size
                residual[i, lane] = size + c.ROUNDING + c.PRESSURE_ROUNDING * p[i, lane] * entries[i, lane]
        for lane in range(LANES):
            if first + lane < count:
                imbalance[todo[first + lane]] = largest[lane]
            largest[lane] = 0.0
        for i in range(free):
            for lane in range(LANES):
                margin[i, lane] = residual[i, lane]
                centre[i, lane] = p[i, lane]
        eliminate(net, entries, inverse, residual)
        for i in range(free):
            for lane in range(LANES):
                reach[i, lane] = 2.0 * residual[i, lane]
        enclose(-1.0, net, gmin, work)
        enclose(1.0, net, gmin, work)
        for lane in range(min(LANES, count - first)):
            s = todo[first + lane]
            radius[s] = largest[lane] * (1.0 + 1e-12)
            for i in range(free):
                pressure[s, i] = centre[i, lane]


@_inner
def enclose(side: float, net: Any, gmin: float, work: Any) -> None:
    """Raise ``largest`` of each lane to its distance to a point on one side of the solution, or to infinity.

    The first point is ``reach`` away from ``centre``; where the balances there have the wrong sign it is moved by
    Newton steps with the slopes found there.
    """
    free, branch_a, branch_b, rows = net[0], net[2], net[3], net[12]
    g, p, residual, entries, inverse, pa, pb, va, vb, y, m, d_a, d_b, carried, largest, tried, scenario = work[:17]
    centre, margin, reach = work[17], work[18], work[19]
    for lane in range(LANES):
        tried[lane] = 0
    for i in range(free):
        for lane in range(LANES):
            p[i, lane] = centre[i, lane] + side * reach[i, lane]
    for _attempt in range(c.ENCLOSURE_ROUNDS):
        for i in range(free):
            for lane in range(LANES):
                p[i, lane] = max(p[i, lane], c.LEAST_PRESSURE)
        gather(branch_a.size, branch_a, branch_b, p, pa, pb)
        all_flows(rows, g, pa, pb, m, d_a, d_b)
        balance(net, p, m, gmin, residual)
        found = 0
        for lane in range(LANES):
            if tried[lane] == 0:
                beyond, distance = True, 0.0
                for i in range(free):
                    move = side * (p[i, lane] - centre[i, lane])
                    # Held at the least pressure a point below the solution is still below it.
                    beyond &= (side * residual[i, lane] >= 0.0) & (move >= 0.0)
                    distance = max(distance, move)
                if beyond:
                    tried[lane] = 1
                    largest[lane] = max(largest[lane], distance)
            found += tried[lane]
        if found == LANES:
            return
        slopes(net, d_a, d_b, gmin, entries)
        for i in range(free):
            for lane in range(LANES):
                residual[i, lane] = margin[i, lane] - side * residual[i, lane]
        eliminate(net, entries, inverse, residual)
        for lane in range(LANES):
            if tried[lane] == 0:
                for i in range(free):
                    p[i, lane] += side * residual[i, lane]
    for lane in range(LANES):
        if tried[lane] == 0:
            largest[lane] = np.inf


@_inner
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
    """Certify what arrived, polish what is enclosed too widely, and keep in ``todo`` what has no proof. How many."""
    found = 0
    for i in range(count):
        if reached[todo[i]]:
            good[found] = todo[i]
            found += 1
    for polish in range(1 + MOST_POLISH):
        if found:
            certify(good, found, polish > 0, net, batch, fixed, gmin, pressure, radius, imbalance, work)
        wide = 0
        for i in range(found):
            if radius[good[i]] > LARGEST_RADIUS:
                good[wide] = good[i]
                wide += 1
        found = wide
    left = 0
    for i in range(count):
        s = todo[i]
        if reached[s] and radius[s] < np.inf:
            status[s] = verdict
        else:
            todo[left] = s
            left += 1
    return left


_I8, _I64, _F64 = types.int8[::1], types.int64[::1], types.float64[::1]
_I64_2D, _F64_2D = types.int64[:, ::1], types.float64[:, ::1]
_NET = types.Tuple(
    [types.int64, types.int64, _I64, _I64, _I64, _I64, _I64, _I64, _I64_2D, _I64_2D, _I64_2D, _I64, _I64, types.int64]
)
_NUMBERS = types.Tuple([_I64, _I64, _F64_2D, _I64, _I64, _F64_2D, _F64, _F64_2D, _F64_2D])
_SIGNATURE = types.void(
    types.int64, types.int64, _NET, _NUMBERS, _F64_2D, types.float64, _F64_2D, _I8, _F64, _F64, _I8, _I64
)


@njit(_SIGNATURE, error_model="numpy", nogil=True, cache=True)
def solve_range(
    first: int,
    last: int,
    net: Any,
    numbers: Any,
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
    flat = branches * LANES
    junctions = free + fixed.shape[1]
    law, zone, geometry, over_branch, over_place, over_values, rpm, root_t, viscosity = numbers
    row = np.empty_like(geometry)
    batch = (law, zone, geometry, over_branch, over_place, over_values, rpm, root_t, viscosity, row)
    work = (
        np.ones((PLACES, flat)),
        np.empty((junctions, LANES)),
        np.empty((junctions, LANES)),
        np.empty((entries + 1, LANES)),
        np.empty((free + 1, LANES)),
        np.empty(flat),
        np.empty(flat),
        np.empty(flat),
        np.empty(flat),
        np.empty(flat),
        np.empty(flat),
        np.empty(flat),
        np.empty(flat),
        np.empty(flat),
        np.empty(LANES),
        np.empty(LANES, np.int64),
        np.empty(LANES, np.int64),
        np.empty((free, LANES)),
        np.empty((free, LANES)),
        np.empty((free, LANES)),
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
            share = c.STARTS[attempt] if attempt < STARTS else 1.0
            band = 1.0 if attempt < STARTS else c.BAND_LADDER[rung]
            newton(
                todo, count, share, band, rung > 0, net, batch, fixed, gmin, pressure, reached, taken, work
            )  # fmt: skip
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


def solve(problem: Problem, threads: int | None = None) -> Answer:
    """Answers as :func:`vanewise.network.oracle.solve`, by the compiled kernel on ``threads`` (None: all it may use)."""
    shape, n = problem.elimination, problem.count
    group_ends = np.array([problem.slices[law].stop for law in Law], np.int64) * LANES
    net = (
        shape.count, problem.reference, problem.branch_a, problem.branch_b,
        shape.at_aa, shape.at_ab, shape.at_ba, shape.at_bb,
        shape.lower, shape.inner, shape.upper, shape.upper_start, group_ends, shape.entries,
    )  # fmt: skip
    numbers = (
        problem.law.astype(np.int64), problem.zone.astype(np.int64), np.ascontiguousarray(problem.geometry),
        problem.override_branch, problem.override_place, problem.override_values,
        problem.rpm, problem.air.root_t, problem.air.viscosity,
    )  # fmt: skip
    pressure = np.empty((n, shape.count + problem.fixed_pa.shape[1]))
    pressure[:, shape.count :] = problem.fixed_pa
    status, reached = np.full(n, 3, np.int8), np.zeros(n, np.int8)
    radius, imbalance, taken = np.full(n, np.inf), np.full(n, np.nan), np.zeros(n, np.int64)
    shared = (net, numbers, problem.fixed_pa, problem.gmin, pressure, status, radius, imbalance, reached, taken)
    ranges = [(first, min(first + CHUNK, n)) for first in range(0, n, CHUNK)]
    threads = min(threads or numba_cache.threads(), len(ranges))
    if threads > 1:
        for job in [_pool(threads).submit(solve_range, *span, *shared) for span in ranges]:
            job.result()
    else:
        for span in ranges:
            solve_range(*span, *shared)
    pressure[status == 3] = np.nan
    return pressure, status, radius, imbalance, np.minimum(taken, 32767).astype(np.int16)


if __name__ == "__main__":
    # Importing this file compiled the kernel, or found it in its cache.
    if sys.argv[1:] != ["--warm"]:
        sys.exit("usage: python -m vanewise.network.compiled --warm")
    sys.stdout.write(f"kernel ready in {CACHE_FOLDER}\n")
