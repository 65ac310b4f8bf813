"""The proof of each compiled answer: an enclosure between two points whose balances have opposite signs."""

# mypy: disable-error-code="untyped-decorator,no-untyped-call,no-any-return"
# ruff: noqa: RUF059
# RUF059: every function unpacks the same bundle of work arrays and takes what it needs.
from __future__ import annotations

from typing import Any, Final

import numpy as np

from vanewise.network import law_constants as c
from vanewise.network.compiled_laws import all_flows, bare_flows
from vanewise.network.compiled_load import FOUND, RESUMED, load_block, start_drops, start_numbers, start_pressures
from vanewise.network.compiled_moves import move_pressures
from vanewise.network.compiled_newton import ARRIVED, newton
from vanewise.network.lanes import (
    LANES,
    balance,
    eliminate,
    gather,
    inner,
    row_add,
    row_add_size,
    row_copy,
    row_fill,
    row_largest,
    row_largest_difference,
    row_largest_negative,
    slopes,
    substitute,
)

LEFT_OVER: Final = 1.0 / 16.0
"""The share of the balances that a step by the slopes of the step before may leave; with more there is no proof."""


FEW_OF: Final = 4
"""A block goes on while more than one of so many lanes is under way, if there is other company for those."""
NARROW_PA: Final = 0.35 * c.LARGEST_RADIUS
"""Widest enclosure [Pa] taken in the first pass: its answer is one end of it."""


@inner
def balances_at(net: Any, gmin: float, p: Any, work: Any) -> None:
    """Balances, without slopes, at the pressures ``p``."""
    g, residual, pa, pb, m = work[0], work[2], work[5], work[6], work[10]
    gather(net[2], net[3], p, pa, pb)
    bare_flows(net[12], g, pa, pb, m, work[13])
    balance(net, p, m, gmin, residual)


@inner
def last_step(net: Any, gmin: float, work: Any) -> None:
    """One plain Newton step; ``entries`` keeps its elimination, ``margin`` the slopes of each balance by its own."""
    free, rows = net[0], net[12]
    g, p, residual, entries, inverse, pa, pb, va, vb, y, m, d_a, d_b, carried, largest = work[:15]
    margin = work[17]
    gather(net[2], net[3], p, pa, pb)
    all_flows(rows, g, pa, pb, m, d_a, d_b, carried)
    balance(net, p, m, gmin, residual)
    slopes(net, work[21], gmin, entries)
    for i in range(free):
        row_copy(margin, i, entries, i)
    eliminate(net, entries, inverse, residual)
    move_pressures(p[: free * LANES], residual[: free * LANES])


@inner
def both_points(p: Any, residual: Any, own: Any, low: Any, reach: Any) -> None:
    """``low`` receives the balances at ``p``, and ``reach`` what they may still be off after one more step.

    ``own`` is the slope of each balance by its own pressure.
    """
    for i in range(low.size):
        off = residual[i] if residual[i] >= 0.0 else -residual[i]
        low[i] = residual[i]
        reach[i] = LEFT_OVER * off + c.ROUNDING + c.PRESSURE_ROUNDING * p[i] * own[i]


@inner
def beside(p: Any, low: Any, high: Any, reach: Any) -> None:
    """The points ``reach`` below and above where one more step, ``low``, leads from ``p``; no lower than can be."""
    for i in range(low.size):
        under, over = p[i] - low[i] - reach[i], p[i] - low[i] + reach[i]
        low[i] = max(c.LEAST_PRESSURE, under)
        high[i] = max(c.LEAST_PRESSURE, over)


@inner
def enclose_between(net: Any, gmin: float, work: Any) -> None:
    """A step to either side of the solution, by the slopes of the step that led to the pressures.

    ``low`` receives the lower point and ``gap`` its imbalance; ``largest`` the distance to the upper one, and ``worst``
    what speaks against the two enclosing the solution: nothing where it is 0 or less.
    """
    free = net[0]
    p, residual, entries, inverse, largest, gap = work[1], work[2], work[3], work[4], work[14], work[15]
    margin, reach, low, worst, high = work[17], work[18], work[25], work[26], work[16]
    flat = free * LANES
    balances_at(net, gmin, p, work)
    both_points(p[:flat], residual[:flat], margin, low, reach)
    substitute(net, entries, inverse, low)
    substitute(net, entries, inverse, reach)
    beside(p[:flat], low, high, reach)
    row_fill(worst, 0, -1.0)
    row_fill(largest, 0, 0.0)
    row_fill(gap, 0, 0.0)
    for i in range(free):
        row_copy(p, i, low, i)
    balances_at(net, gmin, p, work)
    for i in range(free):
        row_largest(worst, 0, residual, i)
        row_add_size(gap, 0, residual, i)
        row_copy(p, i, high, i)
    balances_at(net, gmin, p, work)
    for i in range(free):
        row_largest_negative(worst, 0, residual, i)
        row_largest_difference(worst, 0, low, i, high, i)
        row_largest_difference(largest, 0, high, i, low, i)


@inner
def prove_block(lanes: int, net: Any, gmin: float, pressure: Any, radius: Any, imbalance: Any, work: Any) -> None:
    """One plain Newton step, one by the same slopes, and an enclosure around where that leads.

    Any two points with balances of opposite sign enclose the solution, however they were found; so slopes from next
    to the answer serve as well as its own, and three sets of balances without slopes are all that is left to do. The
    answer is the lower of the two points, for its balances are known. It is dropped where ``radius`` already says
    less; what has no proof at all keeps the pressures of the Newton step, to be looked at again.
    """
    free = net[0]
    p, largest, gap, scenario, kept, low, worst = work[1], work[14], work[15], work[20], work[23], work[25], work[26]
    last_step(net, gmin, work)
    for i in range(free):
        row_copy(kept, i, p, i)
    enclose_between(net, gmin, work)
    for lane in range(lanes):
        s = scenario[lane]
        if s < 0:
            continue
        wide = largest[lane] * (1.0 + 1e-12)
        wide = wide if (worst[lane] <= 0.0) & (wide < c.WIDEST_RADIUS) else np.inf
        if wide < radius[s]:
            radius[s], imbalance[s] = wide, gap[lane]
            for i in range(free):
                pressure[s, i] = low[i * LANES + lane]
        elif radius[s] == np.inf:
            for i in range(free):
                pressure[s, i] = kept[i * LANES + lane]


@inner
def name_block(todo: Any, first: int, count: int, scenario: Any) -> None:
    """The scenarios of the block that begins at ``first``; lanes left over repeat the last."""
    for lane in range(scenario.size):
        scenario[lane] = todo[min(first + lane, count - 1)]


@inner
def step_block(
    lanes: int, few: int, share: float, band: float, apart: float, net: Any, fixed: Any, gmin: float,
    pressure: Any, reached: Any, taken: Any, way: Any, work: Any,
) -> None:  # fmt: skip
    """The steps of one block; ``p`` receives the pressures, ``reached`` who arrived.

    What has not arrived, or has with another band than its own, is no matter for a proof, and its lane is struck.
    """
    free = net[0]
    p, pa, pb, y, tried, scenario, kept, done = (
        work[1], work[5], work[6], work[9], work[19], work[20], work[23], work[27],
    )  # fmt: skip
    origin, _, steps = way
    start_drops(scenario, share, net, way, p, pa, pb, y)
    for lane in range(scenario.size):
        tried[lane] = steps[scenario[lane] - origin] if share == RESUMED else 0
        taken[scenario[lane]] -= tried[lane] if lane < lanes else 0
    newton(lanes, few, apart, net, gmin, pressure, way, work)
    for i in range(free):
        row_copy(p, i, kept, i)
    for lane in range(lanes):
        s = scenario[lane]
        steps[s - origin] = tried[lane]
        taken[s] += tried[lane]
        reached[s] = done[lane] == ARRIVED
        if done[lane] != ARRIVED or band != 1.0:
            for i in range(free):
                pressure[s, i] = kept[i * LANES + lane]
            scenario[lane] = -1


@inner
def pass_over(
    some: Any, count: int, share: float, band: float, apart: float, net: Any, batch: Any, fixed: Any, gmin: float,
    pressure: Any, radius: Any, imbalance: Any, reached: Any, taken: Any, way: Any, work: Any,
) -> None:  # fmt: skip
    """Blocks of the scenarios ``some[:count]``, each in one go: law numbers, steps, proof of what arrived.

    Where ``apart``, the distance of arrival [Pa], is 0, there are no steps: the proof begins at the pressures found.
    On a wider band than its own there is no proof.
    """
    p, scenario, numbers = work[1], work[20], work[22]
    few = LANES // FEW_OF if count > LANES else 0
    start_numbers(batch[0], numbers)
    for first in range(0, count, LANES):
        lanes = min(LANES, count - first)
        name_block(some, first, count, scenario)
        load_block(scenario, batch, band, numbers)
        start_pressures(scenario, share, net, fixed, pressure, p)
        if apart > 0.0:
            step_block(
                lanes, few, share, band, apart, net, fixed, gmin, pressure, reached, taken, way, work
            )  # fmt: skip
        if band == 1.0:
            prove_block(lanes, net, gmin, pressure, radius, imbalance, work)


@inner
def under_way(some: Any, count: int, reached: Any, way: Any) -> int:
    """Keep in ``some`` those that have neither arrived nor been given up. How many."""
    origin, _, steps = way
    found = 0
    for i in range(count):
        s = some[i]
        if reached[s] == 0 and steps[s - origin] < c.MOST_ITERATIONS:
            some[found] = s
            found += 1
    return found


@inner
def keep_wider(todo: Any, count: int, most: float, radius: Any, reached: Any, into: Any) -> int:
    """Those of ``todo[:count]`` that have arrived and are not enclosed within ``most`` [Pa]. How many."""
    found = 0
    for i in range(count):
        s = todo[i]
        if reached[s] and not radius[s] <= most:
            into[found] = s
            found += 1
    return found


@inner
def settled(todo: Any, count: int, verdict: int, most: float, status: Any, radius: Any, reached: Any) -> int:
    """Give the verdict on what is enclosed within ``most`` [Pa]; ``todo`` keeps the others. How many."""
    left = 0
    for i in range(count):
        s = todo[i]
        if reached[s] and radius[s] <= most:
            status[s] = verdict
        else:
            todo[left] = s
            left += 1
    return left


@inner
def first_reach(net: Any, gmin: float, work: Any) -> None:
    """Balances and slopes at the real pressures, and from them ``margin`` and ``reach``; ``largest`` is the imbalance.

    The margin is what each balance may be off, rounding included; the reach is twice the pressures it is worth.
    """
    free, rows = net[0], net[12]
    g, p, residual, entries, inverse, pa, pb, va, vb, y, m, d_a, d_b, carried, largest = work[:15]
    centre, margin, reach = work[16], work[17], work[18]
    all_flows(rows, g, pa, pb, m, d_a, d_b, carried)
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
    free, p, pa, pb, largest = net[0], work[1], work[5], work[6], work[14]
    summed, centre, scenario, numbers = work[15], work[16], work[20], work[22]
    start_numbers(batch[0], numbers)
    for first in range(0, count, LANES):
        name_block(todo, first, count, scenario)
        load_block(scenario, batch, 1.0, numbers)
        start_pressures(scenario, FOUND, net, fixed, pressure, p)
        if polish:
            last_step(net, gmin, work)
        gather(net[2], net[3], p, pa, pb)
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
        all_flows(rows, g, pa, pb, m, d_a, d_b, carried)
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
