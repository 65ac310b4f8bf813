"""What a study over drawn scenarios answers."""

from __future__ import annotations

import msgspec


class Quantile(msgspec.Struct, frozen=True, kw_only=True):
    """A share of the solved scenarios, and the value below which it lies."""

    share: float
    value: float


class StudyOutcome(msgspec.Struct, frozen=True, kw_only=True):
    """One outcome over the solved scenarios of a group. Numbers in ``unit``; quantiles to 0.005 of it.

    ``below`` and ``above`` count scenarios outside ``low`` and ``high``: the gauge's own band, or for a drop what an
    instrument needs. For the lamp only ``mean`` says something: the share of scenarios in which it is on.
    """

    name: str
    unit: str
    mean: float | None
    least: float | None
    most: float | None
    quantiles: tuple[Quantile, ...]
    low: float | None = None
    high: float | None = None
    below: int | None = None
    above: int | None = None


class StudyGroup(msgspec.Struct, frozen=True, kw_only=True):
    """The scenarios that share the values ``at`` (in the units ``at_unit``), and what came out."""

    at: dict[str, float]
    at_unit: dict[str, str]
    scenarios: int
    unsolved: int
    outcomes: tuple[StudyOutcome, ...]


class Studied(msgspec.Struct, frozen=True, kw_only=True):
    """What a study found."""

    title: str
    aircraft: str
    seed: int
    draws: int
    scenarios: int
    unsolved: int
    varied: tuple[str, ...]
    """Keys that were drawn; those of :attr:`groups` were tried value by value."""
    regulator: str
    groups: tuple[StudyGroup, ...]
    files: tuple[str, ...]
    """Written into the folder asked for."""
    remarks: tuple[str, ...] = ()
