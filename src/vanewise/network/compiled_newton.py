"""Newton with a virtual operating point per branch, on blocks of scenarios side by side.

A lane that is done takes the next scenario, so that a slow one holds up no other.
"""

# mypy: disable-error-code="untyped-decorator,no-untyped-call,no-any-return"
# ruff: noqa: RUF059
# RUF059: every function unpacks the same bundle of work arrays and takes what it needs.
from __future__ import annotations

from typing import Any, Final

from vanewise.network import law_constants as c
from vanewise.network.compiled_laws import all_flows
from vanewise.network.compiled_moves import linear_flows, move_drops, move_pressures, virtual_ends
from vanewise.network.lanes import LANES, balance, eliminate, gather, inner, row_largest, slopes

SMALL_STEP_PA: Final = 1000.0
"""... and its last step was shorter than this, so that it was taken whole."""
NOZZLE, KARMAN, VISCOUS, SWEPT, HEAD, FACTORS = range(6)
"""What the air of a zone multiplies law numbers by: places in the list of factors."""


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
