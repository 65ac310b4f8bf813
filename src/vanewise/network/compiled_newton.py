"""Newton with a virtual operating point per branch, on blocks of scenarios side by side.

When few of a block are left they are put by and share a new block with others, so that a slow one holds up no other.
"""

# mypy: disable-error-code="untyped-decorator,no-untyped-call,no-any-return"
from __future__ import annotations

from typing import Any, Final

from vanewise.network import law_constants as c
from vanewise.network.compiled_laws import all_flows
from vanewise.network.compiled_moves import distances, linear_flows, move_drops, move_pressures, virtual_ends
from vanewise.network.lanes import LANES, balance, eliminate, gather, inner, row_fill, row_largest, slopes

SMALL_STEP_PA: Final = 1000.0
"""... and its last step was shorter than this, so that it was taken whole."""
UNDER_WAY, ARRIVED, GIVEN_UP = range(3)
"""How a lane's steps ended."""


@inner
def one_step(net: Any, gmin: float, work: Any) -> None:
    """A step of all lanes: linearise at the virtual ends, solve, move the pressures.

    ``largest`` receives each lane's longest move [Pa], ``gap`` how far the pressures now are from the virtual drops.
    """
    free, branch_a, branch_b, rows = net[0], net[2], net[3], net[12]
    g, p, residual, entries, inverse, pa, pb, va, vb, y, m, d_a, d_b, carried, largest = work[:15]
    virtual_ends(rows, pa, pb, y, va, vb)
    all_flows(rows, g, va, vb, m, d_a, d_b, carried)
    linear_flows(m, d_a, d_b, pa, pb, va, vb, carried)
    balance(net, p, carried, gmin, residual)
    slopes(net, work[21], gmin, entries)
    eliminate(net, entries, inverse, residual)
    move_pressures(p[: free * LANES], residual[: free * LANES])
    row_fill(largest, 0, 0.0)
    for i in range(free):
        row_largest(largest, 0, residual, i)
    gather(branch_a, branch_b, p, pa, pb)
    distances(rows, work)


@inner
def count_arrived(lanes: int, apart: float, free: int, work: Any) -> int:
    """Count a step of every lane under way, and keep the pressures of those that it leads to their end. How many."""
    p, largest, gap, tried, kept, done = work[1], work[14], work[15], work[19], work[23], work[27]
    ended = 0
    for lane in range(lanes):
        if done[lane] == UNDER_WAY:
            tried[lane] += 1
            arrived = (gap[lane] < apart) & (largest[lane] < SMALL_STEP_PA)
            if arrived or tried[lane] >= c.MOST_ITERATIONS:
                done[lane] = ARRIVED if arrived else GIVEN_UP
                ended += 1
                for i in range(free):
                    kept[i * LANES + lane] = p[i * LANES + lane]
    return ended


@inner
def calm(lanes: int, valves_to: int, work: Any) -> None:
    """What still swings between two points after many steps moves half way only."""
    va, vb, y, tried = work[7], work[8], work[9], work[19]
    for lane in range(lanes):
        if tried[lane] >= c.CALM_AFTER:
            for i in range(lane, valves_to, LANES):
                y[i] = 0.5 * (y[i] + (va[i] - vb[i]))


@inner
def newton(lanes: int, few: int, apart: float, net: Any, gmin: float, pressure: Any, way: Any, work: Any) -> None:
    """Newton with a virtual operating point on a block of scenarios, until no more than ``few`` are under way.

    ``kept`` receives the pressures of each lane when it ended, ``done`` how it did, ``tried`` counts on the steps.
    The others' pressures and virtual drops are put by, to be resumed in better company: no step depends on neighbours.
    """
    free, rows = net[0], net[12]
    p, y, scenario, kept, done = work[1], work[9], work[20], work[23], work[27]
    origin, drops, _ = way
    for lane in range(scenario.size):
        done[lane] = UNDER_WAY
    left = lanes
    while True:
        one_step(net, gmin, work)
        left -= count_arrived(lanes, apart, free, work)
        if left == 0:
            break
        move_drops(rows, work)
        calm(lanes, rows[3], work)
        if left <= few:
            break
    for lane in range(scenario.size):
        if done[lane] == UNDER_WAY:
            s = scenario[lane]
            for i in range(free):
                kept[i * LANES + lane] = p[i * LANES + lane]
            # Lanes left over repeat the last scenario of the block; theirs is nothing to keep.
            for k in range(drops.shape[1] if lane < lanes else 0):
                drops[s - origin, k] = y[k * LANES + lane]
