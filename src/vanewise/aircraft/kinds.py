"""The kinds of part an air system is made of: their ports, their numbers, and the states they can be in.

One table, read by the file format, the checks, the packer, the web forms and the reference page. A *field* is a number
that describes the part as built; a *state* is how it is now (worn, loaded, leaking) with a neutral value that
means sound. Both can be a column of a batch. Defaults are examples to be overwritten by the aircraft's own manual.
"""

from __future__ import annotations

from typing import Final, Literal

import msgspec

from vanewise.provenance import Value

Surroundings = Literal["cabin", "engine bay"]


class PortSpec(msgspec.Struct, frozen=True):
    """A port of a kind. ``may_open`` lists the surroundings it may breathe without a line."""

    name: str
    meaning: str
    may_open: tuple[Surroundings, ...] = ()
    may_cap: bool = False


class FieldSpec(msgspec.Struct, frozen=True, kw_only=True):
    """A number of a part as built. ``low`` and ``high`` bound what is believed possible (SI)."""

    name: str
    dimension: str
    meaning: str
    default: Value | None
    low: float
    high: float


class StateSpec(msgspec.Struct, frozen=True, kw_only=True):
    """A way a part can differ from sound. ``neutral`` means sound; bounds in the unit people read (``unit``)."""

    name: str
    meaning: str
    neutral: float
    low: float
    high: float
    unit: str = ""


class KindSpec(msgspec.Struct, frozen=True, kw_only=True):
    """One kind of part."""

    name: str
    meaning: str
    ports: tuple[PortSpec, ...]
    fields: tuple[FieldSpec, ...] = ()
    states: tuple[StateSpec, ...] = ()
    is_gyro: bool = False
    extra_ports: bool = False
    """True for a manifold, whose ports are named by the description."""


KINDS: Final[dict[str, KindSpec]] = {}
"""Filled at import by this module's own tables (see below)."""
