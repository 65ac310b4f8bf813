"""Scenarios into lanes: the numbers of their laws, and the pressures and virtual drops they begin at."""

# mypy: disable-error-code="untyped-decorator,no-untyped-call,no-any-return"
from __future__ import annotations

from typing import Any

from vanewise.network import law_constants as c
from vanewise.network.lanes import (
    LANES,
    gather,
    inner,
    row_difference,
    row_fill,
    row_reciprocal,
    row_scale,
)

NOZZLE, KARMAN, VISCOUS, SWEPT, HEAD, FACTORS = range(6)
"""What the air of a zone multiplies law numbers by: places in the list of factors."""
FOUND, RESUMED = -1.0, -2.0
"""In place of a share of ambient: begin at the pressures found so far; go on from these and their virtual drops."""


@inner
def start_numbers(geometry: Any, g: Any) -> None:
    """Law numbers that no scenario changes, into every lane."""
    for k in range(geometry.shape[0]):
        for q in range(geometry.shape[1]):
            row_fill(g, q * geometry.shape[0] + k, geometry[k, q])


@inner
def air_factors(lane: int, s: int, batch: Any) -> None:
    """What the air of scenario ``s`` multiplies law numbers by, into one lane of the list of factors."""
    rpm, root_t, viscosity, factor = batch[8], batch[9], batch[10], batch[11]
    factor[lane] = 1.0
    for z in range(root_t.shape[1]):
        mu = viscosity[s, z]
        per_root = 1.0 / root_t[s, z]
        per_t = per_root * per_root
        at = (1 + z * FACTORS) * LANES + lane
        factor[at + NOZZLE * LANES] = c.NOZZLE_K * per_root
        factor[at + KARMAN * LANES] = per_root / mu
        factor[at + VISCOUS * LANES] = mu
        factor[at + SWEPT * LANES] = rpm[s] * per_t * (1.0 / c.GAS_R)
        factor[at + HEAD * LANES] = 0.5 * per_t * (1.0 / c.GAS_R)


@inner
def overrides(lane: int, s: int, batch: Any, g: Any) -> None:
    """The numbers of scenario ``s`` that it has for itself."""
    changes, values, factor = batch[3], batch[4], batch[11]
    scaled, plain = changes
    for i in range(scaled.shape[0]):
        g[scaled[i, 0] * LANES + lane] = values[scaled[i, 2], s] * factor[scaled[i, 1] * LANES + lane]
    for i in range(plain.shape[0]):
        g[plain[i, 0] * LANES + lane] = values[plain[i, 2], s]


@inner
def load_block(scenario: Any, batch: Any, band: float, g: Any) -> None:
    """Law numbers of the scenarios of all lanes: those that hang on their air, engine speed and overrides.

    The lists of what goes where are made by :func:`law_lists`; ``g`` is flat here, ``band`` widens what valves open in.
    """
    constants, constant_at, bands, passages, slopes_of, factor = (
        batch[1], batch[2], batch[5], batch[6], batch[7], batch[11],
    )  # fmt: skip
    for lane in range(scenario.size):
        air_factors(lane, scenario[lane], batch)
    for i in range(constants.size):
        row_scale(g, constant_at[i, 0], factor, constant_at[i, 1], constants[i])
    for lane in range(scenario.size):
        overrides(lane, scenario[lane], batch, g)
    for i in range(bands.size):
        row_scale(g, bands[i], g, bands[i], band)
        row_reciprocal(g, bands[i], g, bands[i])
    for i in range(passages.shape[0]):
        row_scale(g, passages[i, 1], g, passages[i, 0], slopes_of[i])


@inner
def start_pressures(scenario: Any, share: float, net: Any, fixed: Any, pressure: Any, p: Any) -> None:
    """First pressures of all lanes: ``share`` of ambient everywhere; 0 takes the network's own first guess, ``FOUND``
    and ``RESUMED`` the pressures found so far."""
    free, guess, guess_row = net[0], net[14], net[15]
    for lane in range(scenario.size):
        s = scenario[lane]
        row = guess_row[s]
        for i in range(free):
            value = (share if share > 0.0 else guess[row, i]) * fixed[s, 0]
            p[i * LANES + lane] = pressure[s, i] if share < 0.0 else value
        for i in range(fixed.shape[1]):
            p[(free + i) * LANES + lane] = fixed[s, i]


@inner
def start_drops(scenario: Any, share: float, net: Any, way: Any, p: Any, pa: Any, pb: Any, y: Any) -> None:
    """Virtual drops of all lanes: the real ones, or with ``RESUMED`` those that the scenarios were left with.

    ``way`` holds the number of the first scenario of the range, the virtual drops they were left with, and their steps.
    """
    branch_a, branch_b = net[2], net[3]
    origin, drops, _ = way
    gather(branch_a, branch_b, p, pa, pb)
    for k in range(branch_a.size):
        row_difference(y, k, pa, k, pb, k)
    if share == RESUMED:
        for lane in range(scenario.size):
            for k in range(drops.shape[1]):
                y[k * LANES + lane] = drops[scenario[lane] - origin, k]
