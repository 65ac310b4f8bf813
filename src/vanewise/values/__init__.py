"""Cited numbers: value, unit, spread, kind of source, source. One file per source.

A number of the model is written here once, as a :class:`~vanewise.provenance.Value` with a name in capitals, and used
from here. Each is an example that the aircraft's own manual overrides.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import msgspec

from vanewise.provenance import Value

#: The files of this folder, in the order of the reference page: what was read first, then custom, memory, judgement.
MODULES: Final = (
    "ac_43_13_2a",
    "ac_43_13_1b",
    "faa_handbooks",
    "iso_6358",
    "standard_atmosphere_1976",
    "air_lines",
    "common_practice",
    "memory",
    "memory_air_volumes",
    "ground_run_limits",
    "judgement",
    "retention",
)


class CitedValue(msgspec.Struct, frozen=True):
    """A value with the file it stands in and its name there."""

    module: str
    name: str
    value: Value

    @property
    def title(self) -> str:
        return self.name.lower().replace("_", " ")


def all_values() -> tuple[CitedValue, ...]:
    """Every cited value of this folder; those that nobody has published first, then by file and name.

    Values kept in a table (a dictionary or tuple of values) are listed with their key or place.
    """
    found = [CitedValue(module, name, value) for module in MODULES for name, value in _values_of(module)]
    return tuple(sorted(found, key=lambda cited: STANDINGS.index(cited.value.standing)))


STANDINGS: Final = (
    "assumed",
    "judgement",
    "from memory",
    "common practice, no source",
    "published",
    "own manual",
    "measured",
    "as entered",
)
"""Standings in the order of the reference page: what nobody has published first."""


def _values_of(module: str) -> Iterator[tuple[str, Value]]:
    from importlib import import_module

    for name, item in vars(import_module(f"{__name__}.{module}")).items():
        if name.startswith("_"):
            continue
        if isinstance(item, Value):
            yield name, item
        elif isinstance(item, dict):
            yield from ((f"{name} {key}", value) for key, value in item.items() if isinstance(value, Value))
        elif isinstance(item, tuple):
            yield from ((f"{name} {place}", value) for place, value in enumerate(item, 1) if isinstance(value, Value))
