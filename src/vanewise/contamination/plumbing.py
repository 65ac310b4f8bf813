"""The air system as a graph of things that can get dirty: parts, lines, and the dead-end lines to gauge and lamp.

An element is a part, a line, a regulator's own filter or a tap line. Elements meet at ports, each ``part.port``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from vanewise.aircraft.description import AircraftDescription, Line, Part
from vanewise.aircraft.kinds import KINDS
from vanewise.provenance import Value
from vanewise.values import memory_air_volumes as volumes

FILTER_KINDS: Final = frozenset({"intake filter", "inline filter", "inlet filter"})
BARRIER_KINDS: Final = FILTER_KINDS | {"check valve"}
DIRECTED_BARRIERS: Final = frozenset({"inline filter", "check valve"})
"""Barriers that can be fitted the wrong way round."""
SURROUNDINGS: Final = frozenset({"cabin", "engine bay"})
TAP_KIND: Final = "tap line"
REGULATOR_FILTER_KIND: Final = "regulator filter"

_PART_VOLUMES: Final[Mapping[str, Value]] = {
    "regulator": volumes.REGULATOR_CHAMBER,
    "manifold": volumes.MANIFOLD,
    "check valve": volumes.CHECK_VALVE,
    "intake filter": volumes.FILTER_BODY,
    "inline filter": volumes.FILTER_BODY,
    "inlet filter": volumes.FILTER_BODY,
}


_PROPER: Final = re.compile(r"(?:^|\s)(?:[A-Z]|[\w-]*\d[\w-]*)$")


def the(label: str) -> str:
    """A label as it stands in a sentence: ``the central filter``, but ``pump B``."""
    return label if _PROPER.search(label) else f"the {label}"


@dataclass(frozen=True, slots=True)
class Element:
    """One thing that can get dirty. ``ports`` are full names; a line's are its two ends, start first."""

    id: str
    label: str
    kind: str
    ports: tuple[str, ...]
    length_m: float = 0.0
    volume_m3: float = 0.0
    bore_m: float = 0.0

    @property
    def the(self) -> str:
        return the(self.label)

    @property
    def is_line(self) -> bool:
        return self.kind in ("hose", "tube")

    @property
    def is_tap(self) -> bool:
        return self.kind == TAP_KIND


@dataclass(frozen=True, slots=True)
class Plumbing:
    """Elements by id and, for every port, the lines and the taps that meet there."""

    elements: Mapping[str, Element]
    lines_at: Mapping[str, tuple[str, ...]]
    taps_at: Mapping[str, tuple[str, ...]]
    attached: Mapping[str, str]
    """Regulator id -> id of its own filter, where it has one."""

    def label(self, element_id: str) -> str:
        return self.elements[element_id].label

    def the(self, element_id: str) -> str:
        """The label of an element as it stands in a sentence."""
        return self.elements[element_id].the

    def owner(self, port: str) -> Element | None:
        """The part a port belongs to; None for the surroundings."""
        return None if port in SURROUNDINGS else self.elements[port.rsplit(".", 1)[0]]

    def far_end(self, line_id: str, port: str) -> str:
        start, end = self.elements[line_id].ports
        return end if port == start else start


def is_gyro(kind: str) -> bool:
    """True for an air-driven instrument."""
    return kind in KINDS and KINDS[kind].is_gyro


def plumbing(description: AircraftDescription) -> Plumbing:
    """The graph of one described aircraft. Parts without ports (an autopilot) are not in it."""
    elements: dict[str, Element] = {}
    attached: dict[str, str] = {}
    for part in description.parts:
        if not KINDS[part.kind].ports and not part.extra_ports:
            continue
        elements[part.id] = _part_element(part)
        if part.kind == "regulator" and description.duty == "suction":
            attached[part.id] = f"{part.id}.filter"
            elements[attached[part.id]] = Element(
                id=attached[part.id], label=f"{part.label} filter", kind=REGULATOR_FILTER_KIND, ports=()
            )
    lines_at: dict[str, tuple[str, ...]] = {}
    for line in description.lines:
        elements[line.id] = _line_element(line)
        for port in (line.start, line.end):
            if port not in SURROUNDINGS:
                lines_at[port] = (*lines_at.get(port, ()), line.id)
    taps_at: dict[str, tuple[str, ...]] = {}
    for tap in _taps(description):
        elements[tap.id] = tap
        taps_at[tap.ports[0]] = (*taps_at.get(tap.ports[0], ()), tap.id)
    return Plumbing(elements=elements, lines_at=lines_at, taps_at=taps_at, attached=attached)


def _part_element(part: Part) -> Element:
    spec = KINDS[part.kind]
    names = (*(port.name for port in spec.ports), *part.extra_ports)
    default = volumes.GYRO_CASE if spec.is_gyro else _PART_VOLUMES.get(part.kind)
    value = part.values.get("case_volume", default)
    return Element(
        id=part.id,
        label=part.label,
        kind=part.kind,
        ports=tuple(f"{part.id}.{name}" for name in names),
        volume_m3=0.0 if value is None else value.number,
    )


def _line_element(line: Line) -> Element:
    length = line.values["length"].number
    bore = line.values["bore"].number
    return Element(
        id=line.id,
        label=line.label,
        kind=line.material,
        ports=(line.start, line.end),
        length_m=length,
        volume_m3=math.pi / 4.0 * bore**2 * length,
        bore_m=bore,
    )


def _taps(description: AircraftDescription) -> tuple[Element, ...]:
    """The dead-end lines to gauge and lamp, where they tap a port. An unknown gauge connection taps nothing here."""
    wanted = [("gauge", description.gauge.high, description.gauge.low, "gauge line")]
    if description.lamp is not None:
        wanted.append(("lamp", description.lamp.high, description.lamp.low, "low-air lamp switch line"))
    length, bore = volumes.TAP_LINE_LENGTH.number, volumes.TAP_LINE_BORE.number
    taps = []
    for name, high, low, words in wanted:
        for side, point in (("high", high), ("low", low)):
            if point == "unknown" or point in SURROUNDINGS:
                continue
            taps.append(
                Element(
                    id=f"{name}.{side}",
                    label=f"{words}, {side} side",
                    kind=TAP_KIND,
                    ports=(point,),
                    length_m=length,
                    volume_m3=math.pi / 4.0 * bore**2 * length,
                    bore_m=bore,
                )
            )
    return tuple(taps)
