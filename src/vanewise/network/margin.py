"""The margin map: at which engine speeds and altitudes each instrument still gets enough."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec
import numpy as np

from vanewise.network import atmosphere
from vanewise.network.observe import observe
from vanewise.network.pack import PackedNetwork
from vanewise.network.solve import Engine, cases, solve_batch
from vanewise.network.types import Floats, OperatingPoint, States
from vanewise.quantities import M_PER_FT, PA_PER_INHG


class MarginMap(msgspec.Struct, frozen=True, kw_only=True):
    """Drop across each instrument [inHg], by altitude (rows) and engine speed (columns); None where not solved.

    ``ceiling_ft`` of an instrument gives, for each engine speed, the highest altitude at which it still gets
    ``needed_inhg``: None where it does not even at the lowest altitude of the map, the highest altitude of the map
    where it does throughout.
    """

    rpms: tuple[float, ...]
    altitudes_ft: tuple[float, ...]
    needed_inhg: float
    drops_inhg: Mapping[str, tuple[tuple[float | None, ...], ...]]
    pump_load_inhg: Mapping[str, tuple[tuple[float | None, ...], ...]]
    ceiling_ft: Mapping[str, tuple[float | None, ...]]


def margin_map(
    packed: PackedNetwork,
    rpms: Sequence[float],
    altitudes_m: Sequence[float],
    needed_inhg: float,
    states: States | None = None,
    *,
    warmer_k: float = 0.0,
    engine: Engine | None = None,
) -> MarginMap:
    """Drops at every engine speed [rpm] and rising pressure altitude [m], on a day ``warmer_k`` warmer than standard.

    ``needed_inhg`` is what the instruments' own manual asks for. Raises InputError for an unknown state or a point
    outside the ranges.
    """
    heights = sorted(float(altitude) for altitude in altitudes_m)
    points = [
        OperatingPoint(
            engine_rpm=float(rpm), altitude_m=height, temperature_k=atmosphere.standard_temperature(height) + warmer_k
        )
        for height in heights
        for rpm in rpms
    ]
    batch = cases(points, states or {})
    seen = observe(packed, batch, solve_batch(packed, batch, engine))
    shape = (len(heights), len(rpms))
    drops = {gyro: drop.reshape(shape) / PA_PER_INHG for gyro, drop in seen.drop_pa.items()}
    loads = {pump: load.reshape(shape) / PA_PER_INHG for pump, load in seen.pump_load_pa.items()}
    feet = [height / M_PER_FT for height in heights]
    return MarginMap(
        rpms=tuple(float(rpm) for rpm in rpms),
        altitudes_ft=tuple(feet),
        needed_inhg=needed_inhg,
        drops_inhg={gyro: _rows(drop) for gyro, drop in drops.items()},
        pump_load_inhg={pump: _rows(load) for pump, load in loads.items()},
        ceiling_ft={
            gyro: tuple(_ceiling(feet, drop[:, column], needed_inhg) for column in range(len(rpms)))
            for gyro, drop in drops.items()
        },
    )


def _rows(table: Floats) -> tuple[tuple[float | None, ...], ...]:
    return tuple(tuple(float(cell) if np.isfinite(cell) else None for cell in row) for row in table)


def _ceiling(feet: Sequence[float], drop: Floats, needed: float) -> float | None:
    """Where a drop first falls below what is needed, on straight lines between the altitudes of the map."""
    if not np.isfinite(drop).all() or drop[0] < needed:
        return None
    short = np.flatnonzero(drop < needed)
    if not short.size:
        return float(feet[-1])
    i = int(short[0])
    share = (drop[i - 1] - needed) / (drop[i - 1] - drop[i])
    return float(feet[i - 1] + share * (feet[i] - feet[i - 1]))
