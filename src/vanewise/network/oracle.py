"""The batched numpy solver: the algorithm of the compiled kernel, written on its own with arrays over scenarios.

It gives first answers before the kernel is warm and all answers where numba is missing, and the tests hold the two
against each other. See ``docs/explanation/physics.md`` for the laws, the method and the proof of uniqueness.

All arrays have scenarios along the first axis and branches or junctions along the second.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vanewise.network import law_constants as c
from vanewise.network.elements import VALVE_BAND, VALVE_START, Law
from vanewise.network.elimination import Elimination
from vanewise.network.problem import Problem
from vanewise.network.types import Floats

Bools = NDArray[np.bool_]
_EPS = float(np.finfo(float).eps)
Flow = tuple[Floats, Floats, Floats]
"""Mass flow m [kg/s] from a to b, and its slopes dm/dpa and dm/dpb [kg/(s Pa)]."""
Answer = tuple[Floats, NDArray[np.int8], Floats, Floats, NDArray[np.int16]]
"""Pressures (n, junctions), status, enclosure radius [Pa], summed imbalance [kg/s] and iterations, all (n,)."""


def orifice(conductance: Floats, critical: Floats, pa: Floats, pb: Floats) -> Flow:
    """ISO 6358 passage both ways. ``conductance`` [kg/(s Pa)] is choked mass flow over upstream pressure."""
    forward = pa >= pb
    up, down = np.where(forward, pa, pb), np.where(forward, pb, pa)
    ratio = down / up
    scale = 1.0 / (1.0 - critical)
    core_excess = (c.CORE - critical) * scale
    core_slope = conductance * np.sqrt(1.0 - core_excess * core_excess) / (1.0 - c.CORE)
    excess = np.maximum(ratio - critical, 0.0) * scale
    root = np.sqrt(np.maximum(1.0 - excess * excess, 1e-300))
    bend = -excess * scale / root
    in_core = ratio > c.CORE
    flow = np.where(in_core, core_slope * (up - down), conductance * up * root)
    d_up = np.where(in_core, core_slope, conductance * (root - ratio * bend))
    d_down = np.where(in_core, -core_slope, conductance * bend)
    return (
        np.where(forward, flow, -flow),
        np.where(forward, d_up, -d_down),
        np.where(forward, d_down, -d_up),
    )


def rough_ln(x: Floats) -> tuple[Floats, Floats]:
    """The logarithm as the law takes it for the share of acceleration, to 0.004 and continuous; its slope times x."""
    half, exponent = np.frexp(x)
    m = 2.0 * half
    ln2 = float(np.log(2.0))
    return (exponent - 1.0 + (2.0 - m / 3.0) * m - 5.0 / 3.0) * ln2, (2.0 - 2.0 * m / 3.0) * m * ln2


def reynolds(karman: Floats, relative: Floats, link_end: Floats) -> tuple[Floats, Floats]:
    """Reynolds number and its slope at a Karman number Re sqrt(f): laminar, a straight link, Colebrook."""
    laminar = karman * karman / 64.0
    link = (link_end - c.LAMINAR_RE) / (c.LINK_KARMAN - c.LAMINAR_KARMAN)
    safe = np.maximum(karman, c.LINK_KARMAN)
    inside = relative + c.COLEBROOK / safe
    colebrook = -2.0 * c.LOG10_E * np.log(inside)
    low, middle = karman < c.LAMINAR_KARMAN, karman < c.LINK_KARMAN
    value = np.where(
        low, laminar, np.where(middle, c.LAMINAR_RE + link * (karman - c.LAMINAR_KARMAN), safe * colebrook)
    )
    turbulent_slope = colebrook + 2.0 * c.LOG10_E * c.COLEBROOK / (safe * inside)
    return value, np.where(low, karman / 32.0, np.where(middle, link, turbulent_slope))


def pipe(geometry: Floats, root_t: Floats, viscosity: Floats, pa: Floats, pb: Floats) -> Flow:
    """Isothermal line with friction and acceleration. ``geometry`` (n or 1, branches, PLACES)."""
    factor, perimeter, relative, intercept, cap, link_end, incline = (geometry[..., i] for i in range(7))
    k = factor / (viscosity * root_t)
    forward = pa >= pb
    up, down = np.where(forward, pa, pb), np.where(forward, pb, pa)
    head = np.maximum(k * k * (up - down) * (up + down), 1e-12)
    slant = (up - down) / (up + down)
    capped = slant >= cap
    slant = np.minimum(slant, cap)
    square = slant * slant
    # Half of ln(up/down) as a short series in (up-down)/(up+down); under 1e-6 in error at the largest cap.
    pull = slant * (1.0 + square * (1 / 3 + square * (1 / 5 + square / 7)))
    pull_slope = np.where(capped, 0.0, 1.0 + square * (1.0 + square * (1.0 + square)))
    # Acceleration takes the share pull/f of the head, with f judged by the head as if there were none.
    least, most = c.ACCELERATION_KARMAN
    held = np.clip(head, least * least, most * most)
    log_head, log_slope = rough_ln(held)
    log_slope = np.where(held == head, log_slope, 0.0)
    straight = intercept + incline * log_head
    shrink = 1.0 / (1.0 + pull * straight * straight)
    karman = np.sqrt(head * shrink)
    re, slope = reynolds(karman, relative, link_end)
    # karman^2 = head shrink; its slopes by the head and by the slant, over 2 karman:
    by_head = shrink * (1.0 - 2.0 * shrink * pull * straight * incline * log_slope)
    by_slant = head * shrink * shrink * straight * straight * pull_slope
    mass = perimeter * viscosity
    gain = mass * slope / (2.0 * karman)
    total = up + down
    d_up = gain * (2.0 * k * k * by_head * up - by_slant * 2.0 * down / (total * total))
    d_down = -gain * (2.0 * k * k * by_head * down - by_slant * 2.0 * up / (total * total))
    flow = mass * re
    return (
        np.where(forward, flow, -flow),
        np.where(forward, d_up, -d_down),
        np.where(forward, d_down, -d_up),
    )


def filter_element(geometry: Floats, head_factor: Floats, viscosity: Floats, pa: Floats, pb: Floats) -> Flow:
    """Filter: a mu m + b m^2 = (pa^2 - pb^2)/(2 R T). ``head_factor`` is 1/(2 R T)."""
    laminar, inertial, is_open = geometry[..., 0] * viscosity, geometry[..., 1], geometry[..., 2]
    head = np.abs(pa - pb) * (pa + pb) * head_factor
    root = np.sqrt(laminar * laminar + 4.0 * inertial * head)
    flow = is_open * 2.0 * head / (laminar + root)
    slope = is_open * 2.0 * head_factor / root
    return np.where(pa >= pb, flow, -flow), slope * pa, -slope * pb


def valve(conductance: Floats, geometry: Floats, pa: Floats, pb: Floats) -> Flow:
    """One-way valve: opens in a ramp over its band on its own difference, then an ISO 6358 passage."""
    start, band = geometry[..., VALVE_START], geometry[..., VALVE_BAND]
    opening = (pa - pb - start) / band
    flow, d_a, d_b = orifice(conductance, geometry[..., 1], pa, pb)
    moving = opening < 1.0
    lift = np.where(moving, opening, 1.0)
    tilt = np.where(moving, flow / band, 0.0)
    shut = (opening <= 0.0) | (pa <= pb)
    return (
        np.where(shut, 0.0, lift * flow),
        np.where(shut, 0.0, lift * d_a + tilt),
        np.where(shut, 0.0, lift * d_b - tilt),
    )


def pump(geometry: Floats, rpm: Floats, gas: Floats, pa: Floats) -> Flow:
    """Swept flow V N eta p_in/(R T), whatever the outlet does; internal leakage is a branch of its own."""
    slope = geometry[..., 0] * rpm * gas
    return slope * pa, np.broadcast_to(slope, pa.shape), np.zeros_like(pa)


def flows(problem: Problem, pa: Floats, pb: Floats, rows: NDArray[np.int64], band: float = 1.0) -> Flow:
    """Mass flow and slopes of every branch at the given end pressures, all (n, branches)."""
    m, d_a, d_b = np.empty_like(pa), np.empty_like(pa), np.empty_like(pa)
    air = problem.air
    for law in Law:
        at = problem.slices[law]
        if at.start == at.stop:
            continue
        geometry = problem.rows_of(at, rows)
        root_t = air.root_t[rows][:, problem.zone[at]]
        a, b = pa[:, at], pb[:, at]
        if law is Law.ORIFICE:
            result = orifice(geometry[..., 0] * c.NOZZLE_K / root_t, geometry[..., 1], a, b)
        elif law is Law.PIPE:
            result = pipe(geometry, root_t, air.viscosity[rows][:, problem.zone[at]], a, b)
        elif law is Law.FILTER:
            factor = 0.5 / (c.GAS_R * root_t * root_t)
            result = filter_element(geometry, factor, air.viscosity[rows][:, problem.zone[at]], a, b)
        elif law is Law.VALVE:
            wide = geometry.copy()
            wide[..., VALVE_BAND] *= band
            result = valve(geometry[..., 0] * c.NOZZLE_K / root_t, wide, a, b)
        else:
            result = pump(geometry, problem.rpm[rows][:, None], 1.0 / (c.GAS_R * root_t * root_t), a)
        m[:, at], d_a[:, at], d_b[:, at] = result
    return m, d_a, d_b


@dataclass(slots=True)
class _Balance:
    """Residuals (n, free) and flat Jacobian entries (n, entries + 1) under assembly."""

    residual: Floats
    entries: Floats


def _assemble(problem: Problem, p: Floats, m: Floats, d_a: Floats, d_b: Floats) -> _Balance:
    shape = problem.elimination
    n, free = p.shape[0], shape.count
    residual = np.zeros((n, p.shape[1]), p.dtype)
    residual[:, :free] = problem.gmin * (p[:, :free] - p[:, problem.reference : problem.reference + 1])
    entries = np.zeros((n, shape.entries + 1), p.dtype)
    entries[:, :free] = problem.gmin
    for k in range(m.shape[1]):
        a, b = problem.branch_a[k], problem.branch_b[k]
        residual[:, a] += m[:, k]
        residual[:, b] -= m[:, k]
        entries[:, shape.at_aa[k]] += d_a[:, k]
        entries[:, shape.at_ab[k]] += d_b[:, k]
        entries[:, shape.at_ba[k]] -= d_a[:, k]
        entries[:, shape.at_bb[k]] -= d_b[:, k]
    return _Balance(residual[:, :free], entries)


def eliminate(shape: Elimination, entries: Floats, right: Floats) -> Floats:
    """Solution (n, free) of the linear systems whose flat entries are (n, entries + 1); both inputs are used up."""
    for target, pivot, row, start, stop in shape.lower:
        factor = entries[:, target] / entries[:, pivot]
        for into, source in shape.inner[start:stop]:
            entries[:, into] -= factor * entries[:, source]
        right[:, row] -= factor * right[:, pivot]
    for k in range(shape.count - 1, -1, -1):
        for r in range(shape.upper_start[k], shape.upper_start[k + 1]):
            place, other = shape.upper[r]
            right[:, k] -= entries[:, place] * right[:, other]
        right[:, k] /= entries[:, k]
    return right


def _true_residual(problem: Problem, p: Floats, rows: NDArray[np.int64], band: float = 1.0) -> _Balance:
    m, d_a, d_b = flows(problem, p[:, problem.branch_a], p[:, problem.branch_b], rows, band)
    return _assemble(problem, p, m, d_a, d_b)


def newton(problem: Problem, p: Floats, rows: NDArray[np.int64], band: float = 1.0) -> tuple[Floats, Bools, Floats]:
    """Newton with a virtual operating point per branch, from the pressures ``p`` (n, junctions) of ``rows``.

    Returns pressures, whether each scenario converged, and the iterations it took.
    """
    n = p.shape[0]
    p = p.copy()
    drop = p[:, problem.branch_a] - p[:, problem.branch_b]
    done = np.zeros(n, bool)
    taken = np.full(n, float(c.MOST_ITERATIONS))
    live = np.arange(n)
    for iteration in range(c.MOST_ITERATIONS):
        q, y, here = p[live], drop[live], rows[live]
        pa, pb = q[:, problem.branch_a], q[:, problem.branch_b]
        va, vb = _virtual_ends(pa, pb, y, problem.slices[Law.PUMP])
        m, d_a, d_b = flows(problem, va, vb, here, band)
        carried = m + d_a * (pa - va) + d_b * (pb - vb)
        balance = _assemble(problem, q, carried, d_a, d_b)
        gap = np.abs((va - vb) - (pa - pb)).max(axis=1)
        near = (np.abs(balance.residual).sum(axis=1) < c.FLOW_TOLERANCE) & (gap < c.GAP_TOLERANCE)
        if iteration and near.any():
            true = np.abs(_true_residual(problem, q[near], here[near], band).residual).sum(axis=1)
            arrived = np.flatnonzero(near)[true < c.FLOW_TOLERANCE]
            done[live[arrived]] = True
            taken[live[arrived]] = iteration
        keep = ~done[live]
        if not keep.any():
            break
        live, q, here = live[keep], q[keep], here[keep]
        step = eliminate(problem.elimination, balance.entries[keep], -balance.residual[keep])
        q = _stepped(q, step)
        p[live] = q
        virtual = va[keep], vb[keep]
        moved = _moved_drops(problem, q, here, virtual, (m[keep], d_a[keep], d_b[keep]), band)
        calm = iteration + 1 >= c.CALM_AFTER
        drop[live] = 0.5 * (moved + virtual[0] - virtual[1]) if calm else moved
    return p, done, taken


def plain_step(problem: Problem, p: Floats, rows: NDArray[np.int64]) -> Floats:
    """One Newton step at the real pressures."""
    balance = _true_residual(problem, p, rows)
    return _stepped(p, eliminate(problem.elimination, balance.entries, -balance.residual))


def _stepped(p: Floats, step: Floats) -> Floats:
    """Pressures after a Newton step, each held within a share of itself."""
    free = step.shape[1]
    old = p[:, :free]
    moved = old + np.clip(step, -c.LARGEST_FALL * old, c.LARGEST_RISE * old)
    return np.concatenate([moved, p[:, free:]], axis=1)


def _virtual_ends(pa: Floats, pb: Floats, y: Floats, pumps: slice) -> tuple[Floats, Floats]:
    """End pressures that carry the virtual drop ``y``: the high side stays, the low side moves."""
    forward = y >= 0.0
    up = np.where(forward, pa, pb)
    down = np.maximum(up - np.abs(y), c.LEAST_RATIO * up)
    va, vb = np.where(forward, up, down), np.where(forward, down, up)
    va[:, pumps], vb[:, pumps] = pa[:, pumps], pb[:, pumps]
    return va, vb


def _moved_drops(
    problem: Problem, p: Floats, rows: NDArray[np.int64], ends: tuple[Floats, Floats], law: Flow, band: float
) -> Floats:
    """New virtual drops: along the linearised flow where a drop shrinks, along the pressures where it grows."""
    va, vb = ends
    m, d_a, d_b = law
    pa, pb = p[:, problem.branch_a], p[:, problem.branch_b]
    drop = pa - pb
    y = va - vb
    carried = m + d_a * (pa - va) + d_b * (pb - vb)
    alive = m * y > 0.0
    gain = np.where(alive, carried / np.where(alive, m, 1.0), 0.0)
    slope = np.where(y > 0.0, -d_b, d_a) * np.abs(y)
    square_law = np.abs(m) > 1.5 * slope
    followed = np.where(square_law, y * gain * np.abs(gain), y * gain)
    plain = (slope < 0.2 * np.abs(m)) | (np.abs(y - drop) < c.NEAR * np.abs(y))
    grows = (followed * y > 0.0) & (np.abs(followed) >= np.abs(y))
    shrinks_less = (followed * drop > 0.0) & (np.abs(drop) > np.abs(followed))
    moved = np.where(grows, np.where(drop * y > 0.0, drop, followed), np.where(shrinks_less, drop, followed))
    moved = np.where(alive & ~plain, moved, drop)
    at = problem.slices[Law.VALVE]
    geometry = problem.rows_of(at, rows)
    start, width = geometry[..., VALVE_START], geometry[..., VALVE_BAND] * band
    was = np.clip((y[:, at] - start) / width, 0.0, 1.0)
    now = (drop[:, at] - start) / width
    settled = ((was <= 0.0) & (now <= 0.0)) | ((was >= 1.0) & (now >= 1.0))
    stepped = start + np.clip(now, was - c.VALVE_STEP, was + c.VALVE_STEP) * width
    moved[:, at] = np.where(settled, drop[:, at], stepped)
    return moved


def certify(problem: Problem, p: Floats, rows: NDArray[np.int64]) -> tuple[Floats, Floats]:
    """Enclosure radius [Pa] (infinite where none was found) and summed mass imbalance [kg/s] of each scenario.

    The balances F are monotone, so two points with F(low) <= 0 <= F(high) enclose the only solution. They are looked
    for at p -+ 2e with J e = |F| + rounding, J at ``p``; where a slope changes within that reach (a valve about to
    open) the point is moved by Newton steps with the slopes found there, aiming further beyond each time.
    """
    free = problem.elimination.count
    balance = _true_residual(problem, p, rows)
    imbalance = np.abs(balance.residual)
    # The allowance is in steps of ordinary numbers; those of p may be finer (see ``extended``).
    step = float(np.finfo(p.dtype).eps) / _EPS
    margin = imbalance + step * (c.ROUNDING + c.PRESSURE_ROUNDING * p[:, :free] * balance.entries[:, :free])
    reach = 2.0 * eliminate(problem.elimination, balance.entries, margin.copy())
    radius = np.zeros(rows.size)
    for side in (-1.0, 1.0):
        radius = np.maximum(radius, _enclosing_point(problem, p, rows, reach, margin, side))
    radius = radius * (1.0 + 1e-12)
    return np.where(radius < c.WIDEST_RADIUS, radius, np.inf), imbalance.sum(axis=1).astype(float)


def _enclosing_point(
    problem: Problem, p: Floats, rows: NDArray[np.int64], reach: Floats, margin: Floats, side: float
) -> Floats:
    """Distance [Pa] to a point on one side of the solution, infinite where none was found."""
    free = problem.elimination.count
    distance = np.full(rows.size, np.inf)
    live = np.arange(rows.size)
    move = side * reach
    for attempt in range(c.ENCLOSURE_ROUNDS):
        q = p[live].copy()
        q[:, :free] = np.maximum(q[:, :free] + move, c.LEAST_PRESSURE)
        balance = _true_residual(problem, q, rows[live])
        beyond = (side * balance.residual >= 0.0).all(axis=1) & (side * move >= 0.0).all(axis=1)
        distance[live[beyond]] = np.abs(move[beyond]).max(axis=1).astype(float)
        left = ~beyond & np.isfinite(move).all(axis=1)
        if not left.any():
            break
        right = c.ENCLOSURE_GROWTH ** (attempt + 1) * margin[live[left]] - side * balance.residual[left]
        move = move[left] + side * eliminate(problem.elimination, balance.entries[left], right)
        live = live[left]
    return distance


def jacobian(problem: Problem, p: Floats, rows: NDArray[np.int64]) -> Floats:
    """Flat Jacobian entries (n, entries + 1) of the balances at pressures ``p`` of the scenarios ``rows``."""
    return _true_residual(problem, p, rows).entries


def imbalance(problem: Problem, p: Floats, rows: NDArray[np.int64]) -> Floats:
    """Mass imbalance [kg/s] of every free junction, (n, free), at pressures ``p`` of the scenarios ``rows``."""
    return _true_residual(problem, p, rows).residual


def solve(problem: Problem) -> Answer:
    """Pressures (n, junctions), status, radius, imbalance and iterations of every scenario.

    Status: 0 converged, 1 after a retry from another start, 2 by continuation on the valve bands, 3 not converged.
    """
    n = problem.count
    p = problem.first_guess(c.STARTS[0])
    status = np.full(n, 3, np.int8)
    taken = np.zeros(n)
    radius, imbalance = np.full(n, np.nan), np.full(n, np.nan)

    def attempt(rows: NDArray[np.int64], start: Floats, verdict: int) -> None:
        found, done, iterations = newton(problem, start, rows)
        taken[rows] += iterations
        good = rows[done]
        p[good] = found[done]
        radius[good] = np.inf
        wide = good
        for polish in range(1 + c.MOST_POLISH):
            if not wide.size:
                break
            trial = plain_step(problem, p[wide], wide) if polish else p[wide]
            found_radius, found_imbalance = certify(problem, trial, wide)
            better = (found_radius < radius[wide]) | np.isinf(radius[wide])
            p[wide[better]], radius[wide[better]] = trial[better], found_radius[better]
            imbalance[wide[better]] = found_imbalance[better]
            wide = wide[~(radius[wide] <= c.LARGEST_RADIUS)]
        status[good[np.isfinite(radius[good])]] = verdict

    every = np.arange(n)
    attempt(every, p, 0)
    for share in c.STARTS[1:]:
        left = np.flatnonzero(status == 3)
        if left.size:
            attempt(left, problem.first_guess(share)[left], 1)
    left = np.flatnonzero(status == 3)
    if left.size:
        start = problem.first_guess(1.0)[left]
        for band in c.BAND_LADDER[:-1]:
            start, _, iterations = newton(problem, start, left, band)
            taken[left] += iterations
        attempt(left, start, 2)
    p[status == 3], radius[status == 3] = np.nan, np.nan
    return p, status, radius, imbalance, np.minimum(taken, 32767).astype(np.int16)
