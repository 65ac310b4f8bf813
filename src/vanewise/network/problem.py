"""One batch made ready for either engine: the packed arrays, the override columns, and the air of every scenario."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vanewise.network import law_constants as c
from vanewise.network.elements import Law
from vanewise.network.elimination import Elimination, Ints
from vanewise.network.packed import GMIN, GUESS_RPM, PackedNetwork, overrides, zone_temperatures
from vanewise.network.types import BatchCases, Floats


@dataclass(frozen=True, slots=True)
class ZoneAir:
    """Square root of temperature [K^0.5] and viscosity [Pa s] of each zone, both (n, zones)."""

    root_t: Floats
    viscosity: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """A batch of ``count`` scenarios on the branches that can carry flow in it."""

    count: int
    elimination: Elimination
    branch_a: Ints
    branch_b: Ints
    law: NDArray[np.int8]
    zone: NDArray[np.int8]
    geometry: Floats
    """(branches, PLACES): the numbers all scenarios share."""
    override_branch: Ints
    override_place: Ints
    override_values: Floats
    """(n, k): the few that differ."""
    slices: dict[Law, slice]
    fixed_pa: Floats
    """(n, fixed junctions)."""
    reference: int
    guess: Floats
    """(speeds, free): the sound system's pressures over ambient, at a few engine speeds."""
    guess_row: Ints
    """(n,): the row of ``guess`` nearest in engine speed."""
    rpm: Floats
    air: ZoneAir
    gmin: float
    kept: NDArray[np.bool_]
    """(branches of the packed network,): those that take part."""

    def rows_of(self, at: slice, rows: Ints) -> Floats:
        """Geometry of the branches ``at`` in the scenarios ``rows``: (1 or len(rows), branches, PLACES)."""
        inside = (self.override_branch >= at.start) & (self.override_branch < at.stop)
        if not inside.any():
            return self.geometry[None, at]
        table = np.repeat(self.geometry[None, at], rows.size, axis=0)
        for column in np.flatnonzero(inside):
            row = self.override_branch[column] - at.start
            table[:, row, self.override_place[column]] = self.override_values[rows, column]
        return table

    def rows(self, index: Ints) -> Problem:
        """The scenarios ``index`` as a problem of their own, with copies of what differs between scenarios."""
        return replace(
            self,
            count=index.size,
            override_values=self.override_values[index],
            fixed_pa=self.fixed_pa[index],
            guess_row=self.guess_row[index],
            rpm=self.rpm[index],
            air=ZoneAir(self.air.root_t[index], self.air.viscosity[index]),
        )

    def starting_at(self, pressure_pa: Floats) -> Problem:
        """The same with a first guess of its own for every scenario, from pressures (n, junctions) where they exist."""
        free = pressure_pa[:, : self.elimination.count] / self.fixed_pa[:, :1]
        known = np.isfinite(free).all(axis=1, keepdims=True)
        guess = np.where(known, free, self.guess[self.guess_row])
        return replace(self, guess=np.ascontiguousarray(guess), guess_row=np.arange(self.count))

    def first_guess(self, share: float) -> Floats:
        """Pressures (n, junctions) with every free junction at a share of ambient; 0 takes the network's own guess."""
        shares = np.full(self.elimination.count, share) if share > 0.0 else self.guess[self.guess_row]
        free = self.fixed_pa[:, :1] * shares
        return np.concatenate([free, self.fixed_pa], axis=1)


def nearest_speed(rpm: Floats, rows: int) -> Ints:
    """Row of a table by ``GUESS_RPM`` that is nearest to each engine speed; a table of one row has that row."""
    return np.clip(np.rint((rpm - GUESS_RPM[0]) / (GUESS_RPM[1] - GUESS_RPM[0])), 0, rows - 1).astype(np.int64)


LEAST_RPM = 1e-6
"""Engine speed taken for a standing engine where another pump has a speed of its own; moves no air to speak of."""


def _number(packed: PackedNetwork, cases: BatchCases, key: str) -> Floats:
    """A number of the description in every scenario, (n,): its column where the batch has one."""
    if key in cases.columns:
        return np.ascontiguousarray(cases.values[:, cases.columns.index(key)])
    return np.full(cases.count, packed.neutral(key))


def _swept_at_own_speed(
    packed: PackedNetwork, rpm: Floats, branch: Ints, place: Ints, values: Floats
) -> tuple[Ints, Ints, Floats]:
    """Override columns in which pumps with a speed of their own have theirs over the engine's.

    The pump law multiplies by engine speed, so it cancels.
    """
    values = values.copy()
    for own in packed.own_speed:
        given = np.flatnonzero((branch == own) & (place == 0))
        if given.size:
            values[:, given] /= rpm[:, None]
        elif packed.geometry[own, 0] > 0.0:
            branch, place = np.append(branch, own), np.append(place, 0)
            values = np.concatenate([values.T, (packed.geometry[own, 0] / rpm)[None]]).T
    return branch, place, values


def _changes(packed: PackedNetwork, cases: BatchCases, columns: Sequence[int]) -> tuple[Ints, Ints, Floats]:
    """What some columns of a batch override, worked out once for every run of scenarios that share their states."""
    lines = cases.values.T if len(columns) == cases.values.shape[1] else cases.values.T[list(columns)]
    starts = slice(None, None, cases.run) if isinstance(cases.run, int) else np.cumsum(cases.run) - cases.run
    branch, place, found = overrides(packed, [cases.columns[i] for i in columns], lines[:, starts].T)
    return branch, place, found if len(found) == cases.count else np.repeat(found.T, cases.run, axis=1).T


def swept_flows(packed: PackedNetwork, cases: BatchCases, pumps: Ints) -> Floats:
    """What each pump branch sweeps, (pumps, n), in one unit for all: what their law multiplies by pressure over T."""
    owners = {packed.branch_names[pump] for pump in pumps}
    own = [i for i, key in enumerate(cases.columns) if key.rpartition(".")[0] in owners]
    branch, place, values = _changes(packed, cases, own)
    found = []
    for pump in pumps:
        given = np.flatnonzero((branch == pump) & (place == 0))
        volume = values[:, given[0]] if given.size else np.full(cases.count, packed.geometry[pump, 0])
        found.append(volume if pump in packed.own_speed else volume * cases.engine_rpm)
    return np.stack(found)


def prepare_batch(packed: PackedNetwork, cases: BatchCases, delivery_k: Floats) -> Problem:
    """The problem both engines solve, with the air at the pump's outlet at ``delivery_k`` [K], (n,).

    Branches that no scenario brings to life are left out.
    """
    branch, place, values = _changes(packed, cases, range(len(cases.columns)))
    alive = ~packed.latent | (packed.geometry[:, 0] > 0.0)
    alive[branch] = True
    renumber = np.cumsum(alive) - 1
    law = packed.law[alive]
    ends = np.searchsorted(law, np.arange(len(Law) + 1))
    ambient = np.ascontiguousarray(cases.ambient_pa, float)
    rpm = np.ascontiguousarray(cases.engine_rpm, float)
    if packed.own_speed:
        rpm = np.maximum(rpm, LEAST_RPM)
        branch, place, values = _swept_at_own_speed(packed, rpm, branch, place, values)
    fixed = [ambient, ambient]
    for owner, entry in packed.owners.items():
        if entry.kind == "intake source":
            fixed.append(np.minimum(ambient, _number(packed, cases, f"{owner}.intake_pressure")))
    if packed.source_port:
        source = np.zeros_like(ambient) if cases.source_pa is None else cases.source_pa
        fixed.append(ambient + source)
    temperature = zone_temperatures(cases, delivery_k)
    root_t = np.sqrt(temperature)
    full = packed.elimination
    elimination = Elimination(
        count=full.count,
        entries=full.entries,
        at_aa=full.at_aa[alive],
        at_ab=full.at_ab[alive],
        at_ba=full.at_ba[alive],
        at_bb=full.at_bb[alive],
        lower=full.lower,
        inner=full.inner,
        upper=full.upper,
        upper_start=full.upper_start,
    )
    return Problem(
        count=cases.count,
        elimination=elimination,
        branch_a=packed.branch_a[alive],
        branch_b=packed.branch_b[alive],
        law=law,
        zone=packed.zone[alive],
        geometry=packed.geometry[alive],
        override_branch=renumber[branch],
        override_place=place,
        override_values=values,
        slices={kind: slice(int(ends[kind]), int(ends[kind + 1])) for kind in Law},
        fixed_pa=np.stack(fixed, axis=1),
        reference=packed.free,
        guess=packed.guess,
        guess_row=nearest_speed(np.asarray(cases.engine_rpm, float), packed.guess.shape[0]),
        rpm=rpm,
        air=ZoneAir(root_t, c.MU_BETA * temperature * root_t / (temperature + c.MU_S)),
        gmin=GMIN,
        kept=alive,
    )
