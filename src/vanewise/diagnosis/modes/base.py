"""What a failure mode is: frozen data with small functions, no subclasses.

Rates are prior weights of the trade notes read as rates: a weight of 10 is one report per 1,000 h. They are judgement,
relative to each other, and an owner's own experience replaces them. Severities are distributions by quantile, so that
one stratified draw serves every mode.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final, Literal

import msgspec
import numpy as np

from vanewise.aircraft.description import AircraftDescription, Duty
from vanewise.diagnosis.effects import StateChange
from vanewise.network.types import Floats
from vanewise.provenance import JUDGEMENT, Source, Value

Level = Literal[
    "supply dead", "supply weak", "supply high", "one instrument", "indication", "no fault told of", "unknown"
]
"""How far an answer may go before it names a part."""

Spread = Literal["log-uniform", "uniform", "none"]

BOTH_DUTIES: Final[tuple[Duty, ...]] = ("suction", "pressure")
NOTHING: Final[Mapping[str, float]] = MappingProxyType({})


class Severity(msgspec.Struct, frozen=True, kw_only=True):
    """How bad it can be. ``low`` is the least that anybody would report, ``high`` the worst believed possible."""

    kind: Spread = "none"
    low: float = 0.0
    high: float = 0.0
    unit: str = ""
    meaning: str = ""
    source: Source = JUDGEMENT

    def at(self, quantile: Floats) -> Floats:
        """Severity at ``quantile`` (shape (rows,), each in (0, 1)); same shape, unit ``self.unit``."""
        if self.kind == "log-uniform":
            return np.asarray(self.low * (self.high / self.low) ** quantile, dtype=np.float64)
        if self.kind == "uniform":
            return np.asarray(self.low + (self.high - self.low) * quantile, dtype=np.float64)
        return np.ones_like(quantile)


class Place(msgspec.Struct, frozen=True, kw_only=True):
    """Where a mode can sit in one aircraft."""

    part: str
    """Part or line by id; empty when the mode sits in no part."""
    label: str
    note: str = ""
    silent: bool = False
    """True where a mode neither moves a reading nor starves a gyro at this place (see the mode's own ``silent``)."""
    among: tuple[str, ...] = ()
    """Ids of all the instruments where the part is one, of all the pumps where it is a pump; empty elsewhere."""
    other_lines: tuple[str, ...] = ()
    """Where the part is a line: ids of the lines it does not stand for, which are other places of the same mode and the
    lines of another side. A line of its side that is no place of the mode it may stand for."""


class Shedding(msgspec.Struct, frozen=True, kw_only=True):
    """What a mode lets loose, and in which events it travels (see the contamination tracer)."""

    debris: str
    events: tuple[Literal["running", "stop"], ...]


NO_SEVERITY: Final = Severity()

Places = Callable[[AircraftDescription], tuple[Place, ...]]
Effect = Callable[[AircraftDescription, Place, Floats], tuple[StateChange, ...]]
"""(description, place, severity of each row) -> changes of states."""


def no_effect(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    """The air network does not change."""
    return ()


def rate(weight: float, note: str = "") -> Value:
    """A seed weight of the trade notes as a rate per 1,000 h."""
    return Value(number=weight / 10.0, dimension="ratio", standing="judgement", source=JUDGEMENT, spread=1.0, note=note)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FailureMode:
    """One way the system, or what is made of its readings, goes wrong."""

    id: str
    name: str
    meaning: str
    level: Level
    family: str
    """Modes that call for the same repair, or that one remark names together."""
    places: Places
    rate: Value
    """Reports per 1,000 h, standing judgement."""
    severity: Severity = NO_SEVERITY
    effect: Effect = no_effect
    gyro_drag: bool = False
    """True when the severity is a loss of drive inside the instrument at the place, which no gauge sees."""
    contexts: Mapping[str, float] = field(default_factory=lambda: NOTHING)
    """Event word -> factor on the rate."""
    source_contexts: Mapping[str, float] = field(default_factory=lambda: NOTHING)
    """Event word -> factor on the rate where the mode is what began it, not what another mode led to."""
    signs: Mapping[str, float] = field(default_factory=lambda: NOTHING)
    """Symptom -> probability that this mode by itself makes a person notice it. Symptoms that follow from solved
    pressures are not listed here: the solver speaks for them."""
    confirms: tuple[str, ...] = ()
    """Checks that can show it, cheapest first."""
    refutes: tuple[str, ...] = ()
    sheds: Shedding | None = None
    silent: bool = False
    """True when it moves no air, drags no gyro and shows on no gauge, so that complaints of these are not its doing: it
    comes to light by a sign of its own or on the way to something else."""
    stays: bool = False
    """True when the pump that it takes away stays away until it is repaired: nobody sees its supply right again."""
    duties: tuple[Duty, ...] = BOTH_DUTIES
    wander: float = 0.0
    """Share of its own effect that changes from one occasion to the next (grit that shifts, a flap that moves), where
    it does: some stand still (:data:`vanewise.diagnosis.wandering.STEADY`). Within one sweep a third of that."""
    goes: float = 0.0
    """Chance that its effect declines from the start of a run and goes as the engine warms what is near it."""
    shut_at_times: float = 0.0
    """Share of days on which a seat that leaks happens to shut, so that the cover test shows nothing of it."""
    source: Source = JUDGEMENT

    def changes_network(self) -> bool:
        return self.effect is not no_effect
