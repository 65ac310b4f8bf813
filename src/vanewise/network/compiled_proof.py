"""The proof of each compiled answer: an enclosure between two points whose balances have opposite signs."""

# mypy: disable-error-code="untyped-decorator,no-untyped-call,no-any-return"
# ruff: noqa: RUF059
# RUF059: every function unpacks the same bundle of work arrays and takes what it needs.
from __future__ import annotations

from typing import Any

import numpy as np

from vanewise.network import law_constants as c
from vanewise.network.compiled_laws import all_flows, bare_flows
from vanewise.network.compiled_moves import move_pressures
from vanewise.network.compiled_newton import linear_step, load_lane, start_numbers
from vanewise.network.lanes import LANES, balance, eliminate, gather, inner, row_add, row_copy, slopes, substitute


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
