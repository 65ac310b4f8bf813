"""A packed network: junctions, branches and numbers in flat arrays, by names. What the solvers and all else read.

:mod:`vanewise.network.pack` makes one from a description.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vanewise.aircraft.description import AircraftDescription, Duty
from vanewise.errors import InputError, Problem
from vanewise.network.elements import ELEMENTS, PLACES, passage
from vanewise.network.elimination import Elimination, Ints
from vanewise.network.types import BatchCases, Floats
from vanewise.values import air_lines

GMIN: float = 1e-12
"""Conductance [kg/(s Pa)] from every free junction to the cabin: it keeps an isolated junction defined and is below
one part in 10^4 of a gyro's flow."""

INTAKE, WORKSHOP = "intake manifold", "workshop"
FIXED = ("cabin", "engine bay", INTAKE, WORKSHOP)
"""Junctions of known pressure, packed last. The engine's intake takes part only where an intake source is fitted, the
workshop source only with a ``source_port``."""

GUESS_RPM = tuple(float(rpm) for rpm in range(400, 3001, 200))
"""Engine speeds, evenly spaced, at which the sound solution is kept as a first guess for others."""
_WORKSHOP_HOSE_AREA = 500e-6
"""Of the source's own hose [m2]: so wide that its drop counts for nothing."""


@dataclass(frozen=True, slots=True)
class Owner:
    """A part or line with its numbers and states as built, and the branches it owns."""

    kind: str
    values: Mapping[str, float]
    branches: Mapping[str, int]
    """Suffix of the branch -> its number in the packed order."""


@dataclass(frozen=True, slots=True)
class Sensing:
    """The regulator that holds the pressure of another place than its own port.

    Its passage ``branch`` is packed as an orifice, to be opened from outside the solver; what works against its spring
    is the pressure of junction ``high`` minus that of junction ``low``.
    """

    owner: str
    branch: int
    high: int
    low: int


@dataclass(frozen=True, slots=True, eq=False)
class PackedNetwork:
    """A network ready to solve. Branch arrays have shape (branches,), sorted by law; fixed junctions come last."""

    description: AircraftDescription
    junction_names: tuple[str, ...]
    alias: Mapping[str, int]
    """Every ``part.port`` (and ``cabin``, ``engine bay``) -> junction number."""
    free: int
    branch_names: tuple[str, ...]
    law: NDArray[np.int8]
    branch_a: Ints
    branch_b: Ints
    geometry: Floats
    """(branches, PLACES), see :mod:`vanewise.network.elements`."""
    zone: NDArray[np.int8]
    latent: NDArray[np.bool_]
    """Branches of size zero unless a state brings them to life."""
    elimination: Elimination
    owners: Mapping[str, Owner]
    guess: Floats
    """(speeds, free): first guess of the pressures over ambient; the sound solution where it is known."""
    warmth: Floats
    """(speeds,): first guess of the delivered air's temperature over that of the air breathed (K over K)."""
    source_port: str = ""
    sensing: Sensing | None = None

    def junction(self, port: str) -> int:
        """The junction number of ``part.port``, ``cabin`` or ``engine bay``. Raises InputError for an unknown one."""
        if port not in self.alias:
            raise InputError(
                Problem(
                    where=f'port "{port}"',
                    expected="a port of this aircraft, written part.port",
                    found=f'"{port}"',
                    next_step=did_you_mean(port, self.alias),
                )
            )
        return self.alias[port]

    @property
    def override_keys(self) -> tuple[str, ...]:
        """Every key that a batch column or a state may have: ``part.state``, ``part.field``, ``line.field``."""
        keys = (f"{owner}.{key}" for owner, entry in self.owners.items() for key in entry.values)
        return tuple(key for key in keys if self.sensing is None or key != f"{self.sensing.owner}.lift")

    @property
    def branches(self) -> int:
        return len(self.branch_names)

    def branch(self, name: str) -> int:
        """The number of a branch: a part or line id, or ``part.suffix`` such as ``pump.slip``."""
        return self.branch_names.index(name)

    def neutral(self, key: str) -> float:
        """The value a key has in this network as packed."""
        owner, name = split_key(self, key)
        return self.owners[owner].values[name]

    @property
    def own_speed(self) -> tuple[int, ...]:
        """Branches that sweep at a speed of their own: their first number is a flow, not a volume a turn."""
        return tuple(entry.branches[""] for entry in self.owners.values() if ELEMENTS[entry.kind].own_speed)

    def with_values(self, changes: Mapping[str, float]) -> PackedNetwork:
        """The same network with some numbers changed for good, keyed ``part.field``."""
        owners = dict(self.owners)
        for key, value in changes.items():
            owner, name = split_key(self, key)
            owners[owner] = replace(owners[owner], values={**owners[owner].values, name: value})
        return replace(self, owners=owners, geometry=branch_geometry(owners, self.branches))


def split_key(packed: PackedNetwork, key: str) -> tuple[str, str]:
    """Owner and name of an override key. Raises InputError for one this network does not have."""
    owner, _, name = key.rpartition(".")
    if owner not in packed.owners or name not in packed.owners[owner].values:
        raise InputError(
            Problem(
                where=f'state "{key}"',
                expected="PART.STATE, PART.FIELD or LINE.FIELD of this aircraft",
                found=f'"{key}"',
                next_step=did_you_mean(key, packed.override_keys),
            )
        )
    return owner, name


def overrides(
    packed: PackedNetwork, columns: Sequence[str], values: Floats
) -> tuple[NDArray[np.int64], NDArray[np.int64], Floats]:
    """Geometry columns of a batch: branch numbers (k,), places (k,), and their values (n, k).

    ``values`` has shape (n, len(columns)). Keys of one part are evaluated together, so that a bore and a length, say,
    act on one line at once.
    """
    by_owner: dict[str, dict[str, Floats]] = {}
    for key, column in zip(columns, np.ascontiguousarray(values.T), strict=True):
        owner, name = split_key(packed, key)
        by_owner.setdefault(owner, {})[name] = column
    branch: list[int] = []
    place: list[int] = []
    cells: list[Floats] = []
    for owner, changed in by_owner.items():
        entry = packed.owners[owner]
        parameters = ELEMENTS[entry.kind].parameters({**entry.values, **changed})
        for suffix, geometry in parameters.items():
            for position, cell in enumerate(geometry):
                if isinstance(cell, np.ndarray) and cell.ndim == 1:
                    branch.append(entry.branches[suffix])
                    place.append(position)
                    cells.append(cell)
    count = values.shape[0]
    # One column after the other in memory, as they are made and as the solver reads them.
    table = np.stack(cells, axis=0).T if cells else np.zeros((count, 0))
    return np.array(branch, np.int64), np.array(place, np.int64), table


def branch_geometry(owners: Mapping[str, Owner], count: int) -> Floats:
    """Numbers of every branch; a branch without an owner is the workshop hose."""
    geometry = np.zeros((count, PLACES))
    wide = passage(_WORKSHOP_HOSE_AREA)
    geometry[:, : len(wide)] = wide
    for owner in owners.values():
        for suffix, cells in ELEMENTS[owner.kind].parameters(owner.values).items():
            row = owner.branches[suffix]
            geometry[row] = 0.0
            geometry[row, : len(cells)] = [float(cell) for cell in cells]
    return geometry


def cabin_temperature(batch: BatchCases) -> Floats:
    """Air temperature in the cabin [K], (n,): as given, else as warm as outside, but at least 15 C (judgement)."""
    if batch.cabin_temperature_k is None:
        return np.asarray(np.maximum(batch.temperature_k, air_lines.CABIN_NOT_BELOW.number))
    return np.broadcast_to(batch.cabin_temperature_k, batch.temperature_k.shape)


def breathed_temperature(duty: Duty, batch: BatchCases) -> Floats:
    """Temperature of the air that the pump breathes [K], (n,)."""
    return cabin_temperature(batch) if duty == "suction" else batch.temperature_k


def zone_temperatures(batch: BatchCases, delivery_k: Floats) -> Floats:
    """Air temperature of each zone [K], shape (n, zones); ``delivery_k`` (n,) is that of the pump's outlet."""
    return np.stack([cabin_temperature(batch), batch.temperature_k, delivery_k], axis=1)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """What to do next about a port or key that this aircraft does not have."""
    close = difflib.get_close_matches(word, list(known), n=3, cutoff=0.4)
    return f"did you mean {' or '.join(close)}?" if close else "see the parts, states and fields of this aircraft"
