"""Which way the air moves in every line: from a solution where there is one, else from the plumbing alone.

Without a solution the directions come from a linear stand-in of the network (unit conductances, pumps as unit
sources, check valves one way): signs are what matters here, and in these tree-like systems they do not depend on the
sizes. Lines with no flow worth the name are two-way.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

import numpy as np

from vanewise.aircraft.description import AircraftDescription
from vanewise.contamination.plumbing import FILTER_KINDS, SURROUNDINGS, Plumbing, is_gyro
from vanewise.network.types import Solved

Way = Literal[-1, 0, 1]
Ways = Mapping[str, Way]
"""Line id -> 1 from start to end, -1 from end to start, 0 both."""

NO_FLOW_KG_S: Final = 1e-6
"""Below this a line counts as two-way."""
_NO_FLOW_SHARE: Final = 1e-6
_AMBIENT: Final = "surroundings"
_DEAD_PUMP: Final = 1e-2
_SHUT: Final = 1e-12


def from_solution(plumbing: Plumbing, solution: Solved) -> dict[str, Way]:
    """The way of every line from solved mass flows; a line the solution does not name is two-way."""
    return {
        element.id: _sign(solution.flow_kg_s.get(element.id, 0.0), NO_FLOW_KG_S)
        for element in plumbing.elements.values()
        if element.is_line
    }


def from_description(
    description: AircraftDescription,
    plumbing: Plumbing,
    stopped: frozenset[str] = frozenset(),
    used: frozenset[str] = frozenset(),
) -> dict[str, Way]:
    """The way of every line, all pumps turning but those in ``stopped`` and the standbys in ``used`` too (part ids)."""
    joins, forward_only, sources = _joins(description, plumbing, stopped, used)
    shut: set[int] = set()
    flows = np.zeros(len(joins))
    # Each round can only change which check valves are shut; there are few, so a handful of rounds settles it.
    for _ in range(2 * len(forward_only) + 2):
        flows = _linear_flows(joins, shut, sources)
        reversed_now = {index for index in forward_only if index not in shut and flows[index] < -_NO_FLOW_SHARE}
        if not reversed_now:
            break
        shut |= reversed_now
    line_flows = {name: flows[index] for index, (name, _, _, _) in enumerate(joins) if name}
    return {
        element.id: _sign(float(line_flows.get(element.id, 0.0)), _NO_FLOW_SHARE)
        for element in plumbing.elements.values()
        if element.is_line
    }


def _sign(flow: float, threshold: float) -> Way:
    if abs(flow) < threshold:
        return 0
    return 1 if flow > 0 else -1


_Join = tuple[str, str, str, float]
"""Line id or empty, cavity, cavity, conductance."""


def _cavity(plumbing: Plumbing, port: str) -> str:
    """Ports of one cavity are one node: all of a manifold, both sides of a regulator."""
    if port in SURROUNDINGS:
        return _AMBIENT
    part_id, name = port.rsplit(".", 1)
    kind = plumbing.elements[part_id].kind
    if kind == "manifold" or (kind == "regulator" and name != "air"):
        return part_id
    return port


def _joins(
    description: AircraftDescription, plumbing: Plumbing, stopped: frozenset[str], used: frozenset[str]
) -> tuple[list[_Join], tuple[int, ...], list[tuple[str, str]]]:
    joins: list[_Join] = [
        (line.id, _cavity(plumbing, line.start), _cavity(plumbing, line.end), 1.0) for line in description.lines
    ]
    forward_only: list[int] = []
    sources: list[tuple[str, str]] = []
    for part in description.parts:
        if part.id not in plumbing.elements:
            continue
        joins += [("", _cavity(plumbing, f"{part.id}.{port}"), _AMBIENT, 100.0) for port in part.open]
        if part.kind in ("pump", "standby pump"):
            ends = (f"{part.id}.inlet", f"{part.id}.outlet")
            # A standby is at rest in normal running: then it is what a stopped pump is, a leak.
            if part.id in used or (part.kind == "pump" and part.id not in stopped):
                sources.append(ends)
            else:
                joins.append(("", *ends, _DEAD_PUMP))
        elif part.kind == "intake source" and part.id in used:
            # The engine draws; its intake is never above ambient here, so that it only takes. Shut, it joins nothing.
            sources.append((f"{part.id}.inlet", _AMBIENT))
        elif part.kind == "boots valve":
            joins.append(("", f"{part.id}.inlet", f"{part.id}.outlet", 1.0))
        elif part.kind == "regulator":
            joins.append(("", part.id, f"{part.id}.air", 0.2))
        elif part.kind == "check valve":
            forward_only.append(len(joins))
            joins.append(("", f"{part.id}.inlet", f"{part.id}.outlet", 1.0))
        elif part.kind in FILTER_KINDS:
            first, second = plumbing.elements[part.id].ports
            joins.append(("", first, second, 1.0))
        elif is_gyro(part.kind) or part.kind == "restrictor":
            joins.append(("", f"{part.id}.inlet", f"{part.id}.outlet", 0.1))
    return joins, tuple(forward_only), sources


def _linear_flows(joins: list[_Join], shut: set[int], sources: list[tuple[str, str]]) -> np.ndarray:
    """Flow through every join, positive from its first cavity to its second; pumps move one unit each."""
    cavities = sorted({end for _, a, b, _ in joins for end in (a, b)} | {end for pair in sources for end in pair})
    index = {name: number for number, name in enumerate(cavities)}
    matrix = np.eye(len(cavities)) * 1e-12
    right = np.zeros(len(cavities))
    conductances = [_SHUT if number in shut else join[3] for number, join in enumerate(joins)]
    for (_, a, b, _), conductance in zip(joins, conductances, strict=True):
        i, j = index[a], index[b]
        matrix[i, i] += conductance
        matrix[j, j] += conductance
        matrix[i, j] -= conductance
        matrix[j, i] -= conductance
    for inlet, outlet in sources:
        right[index[inlet]] -= 1.0
        right[index[outlet]] += 1.0
    if _AMBIENT in index:
        anchor = index[_AMBIENT]
        matrix[anchor, :] = 0.0
        matrix[anchor, anchor] = 1.0
        right[anchor] = 0.0
    potential = np.linalg.solve(matrix, right)
    return np.array(
        [g * (potential[index[a]] - potential[index[b]]) for (_, a, b, _), g in zip(joins, conductances, strict=True)]
    )
