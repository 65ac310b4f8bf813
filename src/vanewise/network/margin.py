"""The margin map: at which engine speeds and altitudes each instrument still gets what it needs.

Drawn as a band: the aircraft is solved as described, and again with its uncertain numbers drawn by their spread, every
regulator set as a person would have set it on that aircraft while it was sound. Wear comes on top, after the setting.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import msgspec
import numpy as np

from vanewise.aircraft.description import AircraftDescription
from vanewise.network import atmosphere
from vanewise.network.band import QUANTILES, Widener, drawn_systems, latin_normal, uncertain, wideners_of
from vanewise.network.observe import gyros, observe
from vanewise.network.pack import pack
from vanewise.network.packed import PackedNetwork
from vanewise.network.solve import best_engine, solve_batch
from vanewise.network.types import BatchCases, Engine, Floats, States
from vanewise.quantities import M_PER_FT, PA_PER_INHG

ROWS: Final[Mapping[Engine, int]] = {"kernel": 160, "numpy": 32}
"""Aircraft drawn for the band when nothing else is asked for."""
Table = tuple[tuple[float | None, ...], ...]
Ceiling = tuple[float | None, ...]


class GyroMargin(msgspec.Struct, frozen=True, kw_only=True):
    """One instrument. Tables in inHg by altitude (rows) and engine speed (columns); None where not solved.

    A ceiling gives, for each engine speed, the highest altitude [ft] up to which it gets ``needed_inhg``: None where
    it does not even at the lowest altitude of the map, the highest altitude of the map where it does throughout. One
    aircraft in ten that is known as well as this one gets less than ``low_inhg``, one in ten more than ``high_inhg``;
    both tables, and their ceilings, are empty where no band was asked for.
    """

    gyro: str
    needed_inhg: float
    needed_from: str
    """Where that need comes from, in words."""
    needed_assumed: bool
    """True unless somebody gave it for this aircraft."""
    drop_inhg: Table
    """Of the aircraft as described."""
    low_inhg: Table
    high_inhg: Table
    ceiling_ft: Ceiling
    ceiling_low_ft: Ceiling
    ceiling_high_ft: Ceiling
    wideners: tuple[Widener, ...]
    """The numbers that widen its band most, over the whole map."""


class MarginMap(msgspec.Struct, frozen=True, kw_only=True):
    """The map of every instrument, and what each pump works against [inHg] as described."""

    rpms: tuple[float, ...]
    altitudes_ft: tuple[float, ...]
    warmer_k: float
    """How much warmer than a standard day."""
    states: Mapping[str, float]
    """How the parts are now, against sound."""
    gyros: tuple[GyroMargin, ...]
    pump_load_inhg: Mapping[str, Table]
    rows: int
    """Aircraft drawn for the band; 0 without one."""
    assumed: int
    """How many numbers of the description nobody of this aircraft gave."""


class Need(msgspec.Struct, frozen=True, kw_only=True):
    """What an instrument needs, and where that comes from."""

    inhg: float
    source: str
    assumed: bool


def needs(description: AircraftDescription, given_inhg: Mapping[str, float] = {}) -> dict[str, Need]:
    """What each instrument needs: as given, else the drop at which its air use is stated in the description."""
    found = {}
    for gyro in gyros(description):
        if gyro in given_inhg:
            found[gyro] = Need(inhg=given_inhg[gyro], source="as you gave it", assumed=False)
            continue
        value = description.part(gyro).values["reference_drop"]
        source = f"the drop at which its air use is stated ({value.source})"
        found[gyro] = Need(inhg=value.number / PA_PER_INHG, source=source, assumed=value.is_assumed)
    return found


def margin_map(
    description: AircraftDescription,
    rpms: Sequence[float],
    altitudes_m: Sequence[float],
    needed: Mapping[str, Need],
    states: States | None = None,
    *,
    seed: int,
    warmer_k: float = 0.0,
    rows: int | None = None,
    engine: Engine | None = None,
) -> MarginMap:
    """Drops at every engine speed [rpm] and pressure altitude [m], on a day ``warmer_k`` warmer than standard.

    ``rows`` is how many aircraft are drawn for the band; 0 gives none. The same seed gives the same map. Raises
    InputError for an unknown state or a point outside the ranges.
    """
    engine = engine or best_engine()
    count = ROWS[engine] if rows is None else rows
    packed = pack(description)
    inputs = tuple(uncertain(packed))
    # The first row is the aircraft as described, the others are drawn.
    deviates = np.zeros((count + 1, len(inputs) + 2))
    if count:
        deviates[1:] = latin_normal(count, len(inputs) + 2, seed)
    heights = sorted(float(altitude) for altitude in altitudes_m)
    batch = _batch(packed, drawn_systems(packed, inputs, deviates, engine)[0], rpms, heights, warmer_k, states or {})
    seen = observe(packed, batch, solve_batch(packed, batch, engine))
    shape = (len(heights), len(rpms), count + 1)
    feet = [height / M_PER_FT for height in heights]

    def gyro_margin(gyro: str) -> GyroMargin:
        drop = seen.drop_pa[gyro].reshape(shape) / PA_PER_INHG
        low, high = _edges(drop[:, :, 1:])
        need = needed[gyro]
        solved = np.asarray(np.isfinite(drop).all(axis=(0, 1)))
        solved[0] = False
        spread = drop[:, :, solved].reshape(drop.shape[0] * drop.shape[1], -1).T if solved.any() else drop
        return GyroMargin(
            gyro=gyro,
            needed_inhg=need.inhg,
            needed_from=need.source,
            needed_assumed=need.assumed,
            drop_inhg=_table(drop[:, :, 0]),
            low_inhg=_table(low),
            high_inhg=_table(high),
            ceiling_ft=_ceilings(feet, drop[:, :, 0], need.inhg),
            ceiling_low_ft=_ceilings(feet, low, need.inhg),
            ceiling_high_ft=_ceilings(feet, high, need.inhg),
            wideners=wideners_of(description, inputs, deviates[solved], spread) if solved.any() else (),
        )

    return MarginMap(
        rpms=tuple(float(rpm) for rpm in rpms),
        altitudes_ft=tuple(feet),
        warmer_k=warmer_k,
        states=dict(states or {}),
        gyros=tuple(gyro_margin(gyro) for gyro in seen.drop_pa),
        pump_load_inhg={
            pump: _table(load.reshape(shape)[:, :, 0] / PA_PER_INHG) for pump, load in seen.pump_load_pa.items()
        },
        rows=count,
        assumed=len(description.assumed()),
    )


def _batch(
    packed: PackedNetwork,
    columns: Mapping[str, Floats],
    rpms: Sequence[float],
    heights_m: Sequence[float],
    warmer_k: float,
    states: States,
) -> BatchCases:
    """Every aircraft at every point: altitudes outermost, aircraft innermost."""
    count = len(next(iter(columns.values()))) if columns else 1
    air = [atmosphere.ambient(height, atmosphere.standard_temperature(height) + warmer_k) for height in heights_m]
    cells = len(heights_m) * len(rpms)
    every = {path: np.tile(column, cells) for path, column in columns.items()}
    every |= {path: np.full(cells * count, float(number)) for path, number in states.items()}
    return BatchCases(
        columns=tuple(every),
        values=np.stack(list(every.values()), axis=1) if every else np.zeros((cells * count, 0)),
        engine_rpm=np.tile(np.repeat(np.asarray(rpms, float), count), len(heights_m)),
        ambient_pa=np.repeat([place.pressure_pa for place in air], len(rpms) * count),
        temperature_k=np.repeat([place.temperature_k for place in air], len(rpms) * count),
    )


def _edges(drop: Floats) -> tuple[Floats, Floats]:
    """Low and high edge of the band, each (altitudes, speeds); empty without rows. A row not solved is left out."""
    if not drop.shape[2]:
        return np.zeros((0, 0)), np.zeros((0, 0))
    low, high = np.nanquantile(drop, (QUANTILES[0], QUANTILES[-1]), axis=2)
    return low, high


def _table(table: Floats) -> Table:
    return tuple(tuple(float(cell) if np.isfinite(cell) else None for cell in row) for row in table)


def _ceilings(feet: Sequence[float], drop: Floats, needed: float) -> Ceiling:
    return tuple(_ceiling(feet, drop[:, column], needed) for column in range(drop.shape[1]))


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
