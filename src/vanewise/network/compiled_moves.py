"""How the compiled solver moves: virtual drops along the laws or the pressures, pressures by bounded Newton steps."""

# mypy: disable-error-code="untyped-decorator,no-untyped-call,no-any-return"
# ruff: noqa: RUF059, FURB136
# RUF059: every function unpacks the same bundle of work arrays and takes what it needs.
# FURB136: a choice in the laws is spelled out, because max and min here are calls that hinder vector instructions.
from __future__ import annotations

from typing import Any, Final

from vanewise.network import law_constants as c
from vanewise.network.lanes import LANES, inner, row_copy, row_fill, row_largest

VALVE_SCALE_PA: Final = 300.0
"""For a valve with a narrower opening band the distance is taken in proportion."""


@inner
def virtual_ends(rows: Any, pa: Any, pb: Any, y: Any, va: Any, vb: Any) -> None:
    """End pressures that carry the virtual drop: the high side stays, the low side moves. Pumps have the real ones."""
    for k in range(rows[3] // LANES, rows[4] // LANES):
        row_copy(va, k, pa, k)
        row_copy(vb, k, pb, k)
    for i in range(rows[3]):
        forward = y[i] >= 0.0
        up = pa[i] if forward else pb[i]
        size = y[i] if forward else -y[i]
        down = up - size
        least = c.LEAST_RATIO * up
        down = max(least, down)
        va[i] = up if forward else down
        vb[i] = down if forward else up


@inner
def away_of_passages(pa: Any, pb: Any, va: Any, vb: Any, away: Any) -> None:
    for i in range(away.size):
        gap = (va[i] - vb[i]) - (pa[i] - pb[i])
        away[i] = gap if gap >= 0.0 else -gap


@inner
def away_of_valves(per_band: Any, away: Any) -> None:
    """A narrow band makes a small distance a large one."""
    for i in range(away.size):
        narrow = per_band[i] * VALVE_SCALE_PA
        away[i] *= narrow if narrow > 1.0 else 1.0


@inner
def distances(rows: Any, work: Any) -> None:
    """``gap``: each lane's largest distance from a virtual to the new drop."""
    g, pa, pb, va, vb, gap, away = work[0], work[5], work[6], work[7], work[8], work[15], work[24]
    n, v = rows[2], rows[3]
    away_of_passages(pa[:v], pb[:v], va[:v], vb[:v], away[:v])
    away_of_valves(g[5, n:v], away[n:v])
    row_fill(gap, 0, 0.0)
    for k in range(v // LANES):
        row_largest(gap, 0, away, k)


@inner
def move_passages(new_a: Any, new_b: Any, va: Any, vb: Any, m: Any, carried: Any, d_a: Any, d_b: Any, y: Any) -> None:
    """New virtual drops: along the linearised flow where a drop shrinks, along the pressures where it grows.

    Choked branches and small moves follow the pressures, which makes the last steps plain Newton's. ``carried`` is the
    linearised flow at the new pressures.
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


@inner
def move_valves(start: Any, per_band: Any, new_a: Any, new_b: Any, va: Any, vb: Any, y: Any) -> None:
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


@inner
def move_drops(rows: Any, work: Any) -> None:
    """New virtual drops of all branches."""
    g, p, residual, entries, inverse, pa, pb, va, vb, y, m, d_a, d_b, carried = work[:14]
    n, v = rows[2], rows[3]
    linear_flows(m[:n], d_a[:n], d_b[:n], pa[:n], pb[:n], va[:n], vb[:n], carried[:n])
    move_passages(pa[:n], pb[:n], va[:n], vb[:n], m[:n], carried[:n], d_a[:n], d_b[:n], y[:n])
    move_valves(g[4, n:v], g[5, n:v], pa[n:v], pb[n:v], va[n:v], vb[n:v], y[n:v])


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
