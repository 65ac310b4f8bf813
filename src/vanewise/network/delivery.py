"""How hot the air leaves the pump: from the work done on it, in a pass around the solver.

The solver takes temperatures as given, for its one answer hangs on that. So the pressures are solved with a delivery
temperature judged beforehand, the temperature that the pump's own pressure ratio gives is worked out from them, and
where the two differ by more than it takes to matter the scenario is solved again with that. A degree is worth so little
that one correction is nearly always enough; a scenario that does not settle has no answer.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from vanewise.network.elements import Law
from vanewise.network.packed import PackedNetwork, breathed_temperature
from vanewise.network.problem import nearest_speed, swept_flows
from vanewise.network.types import BatchCases, BatchSolution, Floats
from vanewise.values import air_lines

Inner = Callable[[BatchCases, Floats, Floats | None], BatchSolution]
"""Solves a batch at given delivery temperatures [K], starting at given pressures where there are some."""

SETTLED_K: Final = 0.05
"""Within this the temperature used is the one that the solution gives, where hot air goes on to the gyros: worth less
than half a pascal of a gyro's drop, so that no reading jumps by more where one scenario is corrected and its neighbour
is not."""
SETTLED_BEHIND_K: Final = 40.0
"""The same in suction duty, where the hot air is behind the pump: worth some 2 Pa of a gyro's drop of 17 kPa there.
Only a blocked outlet or a starved pump is further off than that from what is judged beforehand."""
MOST_PASSES: Final = 12

_EXPONENT: Final = 1.0 - 1.0 / air_lines.AIR_HEAT_RATIO.number
_PER_EFFICIENCY: Final = 1.0 / air_lines.PUMP_EFFICIENCY.number
_HOTTEST: Final = air_lines.HOTTEST_DELIVERY_RATIO.number


def warming(pressure_ratio: Floats) -> Floats:
    """Temperature of the delivered air over that of the air breathed, by the pump's pressure ratio outlet to inlet.

    The isentropic temperature rise over the pump's efficiency: 1 + (r^((k-1)/k) - 1)/eta. For a perfect gas whose heat
    ratio does not change: pressure ratios of 1 to about 3. Below 1 nothing is cooled, and the ratio of temperatures is
    held where a dry pump would not live.
    """
    rise = (np.maximum(pressure_ratio, 1.0) ** _EXPONENT - 1.0) * _PER_EFFICIENCY
    return np.asarray(np.minimum(1.0 + rise, _HOTTEST))


def delivered(packed: PackedNetwork, batch: BatchCases, pressure_pa: Floats) -> Floats:
    """Temperature [K] of the air that leaves the pumps at these pressures, (n,); of several, by what each sweeps."""
    pumps = np.flatnonzero(packed.law == int(Law.PUMP))
    into, out = packed.branch_a[pumps], packed.branch_b[pumps]
    breathed = pressure_pa.T[into]
    ratio = warming(pressure_pa.T[out] / breathed)
    swept = swept_flows(packed, batch, pumps)
    if pumps.size > 1:
        swept *= breathed
    total = swept.sum(axis=0)
    # With every pump at rest nothing is delivered, and nothing warmed.
    rise = (swept * (ratio - 1.0)).sum(axis=0) / np.where(total > 0.0, total, 1.0)
    return np.asarray((1.0 + rise) * breathed_temperature(packed.description.duty, batch))


def judged(packed: PackedNetwork, batch: BatchCases) -> Floats:
    """The temperature [K] to begin with, (n,): as in the sound system at the nearest engine speed."""
    row = nearest_speed(batch.engine_rpm, packed.warmth.size)
    return np.asarray(packed.warmth[row] * breathed_temperature(packed.description.duty, batch))


def settle(packed: PackedNetwork, batch: BatchCases, inner: Inner) -> BatchSolution:
    """The solution whose delivery temperature is the one it gives itself, within ``SETTLED_K`` (behind the pump of a
    suction system ``SETTLED_BEHIND_K``). What does not settle in ``MOST_PASSES`` is *not converged*."""
    close = SETTLED_K if packed.description.duty == "pressure" else SETTLED_BEHIND_K
    used = judged(packed, batch)
    solution = inner(batch, used, None)
    rows, part, here = np.arange(batch.count), batch, solution
    for passed in range(MOST_PASSES):
        found = delivered(packed, part, here.pressure_pa)
        at = np.flatnonzero(np.abs(found - used[rows]) > close)
        rows = rows[at]
        if not rows.size:
            break
        if passed + 1 == MOST_PASSES:
            solution = _not_settled(solution, rows)
            break
        # In round hundredths, so that two engines, a breath apart in pressure, go on with the same equations.
        used[rows], part = np.round(found[at], 2), part.rows(at)
        here = inner(part, used[rows], here.pressure_pa[at])
        solution = _merged(solution, here, rows)
    return replace(solution, delivery_k=used)


def _merged(whole: BatchSolution, part: BatchSolution, rows: NDArray[np.int64]) -> BatchSolution:
    """``whole`` with the scenarios ``rows`` as in ``part``; their iterations are counted together."""
    for name in ("pressure_pa", "status", "radius_pa", "mass_residual", "lift"):
        into, new = getattr(whole, name), getattr(part, name)
        if into is not None:
            into[rows] = new
    whole.iterations[rows] += part.iterations
    return whole


def _not_settled(whole: BatchSolution, rows: NDArray[np.int64]) -> BatchSolution:
    for values in (whole.pressure_pa, whole.radius_pa, whole.lift):
        if values is not None:
            values[rows] = np.nan
    whole.status[rows] = 3
    return whole
