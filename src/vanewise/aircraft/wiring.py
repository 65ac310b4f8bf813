"""The plumbing of a description as a graph that can be walked: nodes are ports and surroundings.

This is the drawing of what joins what, without any flow. The checks walk it before anything is solved.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import Final

from vanewise.aircraft.description import AircraftDescription, Line, Part
from vanewise.aircraft.kinds import KINDS, KindSpec
from vanewise.aircraft.names import SURROUNDINGS

AIR: Final = frozenset(SURROUNDINGS)


def port_names(part: Part, spec: KindSpec) -> tuple[str, ...]:
    """All ports of a part: those of its kind and, for a manifold, those the description names."""
    own = tuple(port.name for port in spec.ports)
    return own + part.extra_ports if spec.extra_ports else own


def through_ports(kind: str) -> tuple[str, str] | None:
    """The two ports that air goes through a part by, in its own forward direction; None for other parts."""
    spec = KINDS.get(kind)
    if spec is None or len(spec.ports) != 2 or spec.name == "line":
        return None
    return spec.ports[0].name, spec.ports[1].name


class Wiring:
    """What joins what. Unknown ports, parts and kinds are simply not in it: the checks name them apart."""

    def __init__(self, description: AircraftDescription):
        found: dict[str, Part] = {}
        for part in description.parts:
            if part.kind in KINDS and part.kind != "line":
                found.setdefault(part.id, part)
        self.parts: Mapping[str, Part] = found
        self.unreadable = frozenset(part.id for part in description.parts) - found.keys()
        self.lines: tuple[Line, ...] = description.lines
        self.gyros = tuple(part for part in self.parts.values() if KINDS[part.kind].is_gyro)
        self.pumps = tuple(part for part in self.parts.values() if part.kind == "pump")

    @cached_property
    def ports(self) -> frozenset[str]:
        """Every ``part.port`` there is."""
        return frozenset(
            f"{part.id}.{port}" for part in self.parts.values() for port in port_names(part, KINDS[part.kind])
        )

    @cached_property
    def loose_ports(self) -> frozenset[str]:
        """Ports with nothing joined, whether left out or because the line there leads nowhere."""
        joined = {end for line in self._sound_lines() for end in (line.start, line.end)}
        for part in self.parts.values():
            joined |= {f"{part.id}.{port}" for port in (*part.open, *part.capped)}
        return self.ports - joined

    @cached_property
    def neighbours(self) -> Mapping[str, tuple[tuple[str, str], ...]]:
        """Node -> (owner of the passage, node at its other end). The relief passage of a regulator is left out."""
        found: dict[str, list[tuple[str, str]]] = {}
        for owner, start, end in self._passages():
            found.setdefault(start, []).append((owner, end))
            found.setdefault(end, []).append((owner, start))
        return {node: tuple(others) for node, others in found.items()}

    def _sound_lines(self) -> Iterable[Line]:
        known = self.ports | AIR
        return (line for line in self.lines if {line.start, line.end} <= known and line.start != line.end)

    def _passages(self) -> Iterable[tuple[str, str, str]]:
        for line in self._sound_lines():
            yield line.id, line.start, line.end
        for part in self.parts.values():
            through = through_ports(part.kind)
            if through is not None:
                yield part.id, f"{part.id}.{through[0]}", f"{part.id}.{through[1]}"
            elif part.kind == "regulator":
                yield part.id, f"{part.id}.gyro_side", f"{part.id}.pump_side"
            for port in part.extra_ports:
                yield part.id, part.id, f"{part.id}.{port}"
            for port, surroundings in part.open.items():
                if f"{part.id}.{port}" in self.ports:
                    yield part.id, f"{part.id}.{port}", surroundings

    def cavity(self, node: str) -> str:
        """A name shared by all nodes that are one and the same air space: manifold ports, a port open to the cabin."""
        part_id, _, port = node.partition(".")
        part = self.parts.get(part_id)
        if part is None:
            return node
        if port in part.open:
            return part.open[port]
        if KINDS[part.kind].extra_ports:
            return part_id
        return f"{part_id} body" if part.kind == "regulator" and port != "air" else node

    def distances(self, start: str, without: Iterable[str] = (), through_gyros: bool = False) -> Mapping[str, int]:
        """Steps from ``start`` to every node that can be reached without going on through the air, a pump, or
        (unless ``through_gyros``) a gyro, and without using the parts and lines ``without``."""
        closed = {*without, *(pump.id for pump in self.pumps)}
        if not through_gyros:
            closed |= {gyro.id for gyro in self.gyros}
        steps = {start: 0}
        queue = deque([start])
        while queue:
            node = queue.popleft()
            if node in AIR:
                continue
            for owner, other in self.neighbours.get(node, ()):
                opens_here = other in AIR and owner not in without
                if (owner not in closed or opens_here) and other not in steps:
                    steps[other] = steps[node] + 1
                    queue.append(other)
        return steps

    def reaches(self, start: str, goals: Iterable[str], without: Iterable[str] = ()) -> bool:
        """True when one of ``goals`` can be reached from ``start`` (see :meth:`distances`)."""
        return not self.distances(start, without).keys().isdisjoint(goals)

    def gyro_ports(self) -> frozenset[str]:
        return frozenset(f"{gyro.id}.{port}" for gyro in self.gyros for port in ("inlet", "outlet"))

    def pump_ports(self, port: str) -> frozenset[str]:
        return frozenset(f"{pump.id}.{port}" for pump in self.pumps)
