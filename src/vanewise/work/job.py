"""What every block of a plan is written from: the aircraft, the cause and where it sits, the scope, the own values."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from vanewise.aircraft.description import AircraftDescription, Line, Part
from vanewise.aircraft.kinds import KINDS
from vanewise.contamination.plumbing import Element, Plumbing, the
from vanewise.contamination.types import Scope, Suspect
from vanewise.provenance import Value
from vanewise.work.types import HoseTag, Task

_NOTHING: Mapping[str, Value] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Job:
    """One cause in one aircraft. ``manual`` holds the aircraft's own values, such as ``pump.nut_torque``."""

    description: AircraftDescription
    plumbing: Plumbing
    mode: str
    mode_name: str
    place: str
    scope: Scope | None
    tags: tuple[HoseTag, ...]
    manual: Mapping[str, Value] = field(default_factory=lambda: _NOTHING)

    def label(self, element_id: str) -> str:
        return self.plumbing.elements[element_id].label if element_id in self.plumbing.elements else element_id

    def the(self, element_id: str) -> str:
        """A part or line as it stands in a sentence."""
        return the(self.label(element_id))

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        return () if self.scope is None else self.scope.suspects

    def suspects_of(self, *kinds: str) -> tuple[str, ...]:
        """Ids of suspects of these kinds, nearest to the source first."""
        return tuple(suspect.id for suspect in self.suspects if suspect.kind in kinds)

    def is_suspect(self, element_id: str) -> bool:
        return any(suspect.id == element_id for suspect in self.suspects)

    @property
    def pump(self) -> Part:
        """The pump the job is about: the place when it is one, else the source of the scope, else the first."""
        pumps = self.description.parts_of("pump")
        for wanted in (self.place, "" if self.scope is None else self.scope.source):
            for pump in pumps:
                if pump.id == wanted:
                    return pump
        return pumps[0]

    @property
    def source_is_pump(self) -> bool:
        """True when what shed is a pump: its chips are hard and stay in a hose's liner."""
        return self.scope is not None and any(
            part.id == event.part for part in self.description.parts_of("pump") for event in self.scope.events
        )

    @property
    def gyros(self) -> tuple[Part, ...]:
        return tuple(part for part in self.description.parts if KINDS[part.kind].is_gyro)

    @property
    def place_line(self) -> Line | None:
        """The line the cause sits in, when it sits in one."""
        return next((line for line in self.description.lines if line.id == self.place), None)

    def element(self, element_id: str) -> Element:
        return self.plumbing.elements[element_id]

    def tag(self, line_id: str) -> HoseTag | None:
        return next((tag for tag in self.tags if tag.line == line_id), None)


Block = Callable[[Job], tuple[Task, ...]]
"""A part of a plan: the tasks it brings."""
