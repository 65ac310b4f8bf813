"""How debris gets from one element to the next: carried by the flow, or pushed by air that comes back.

Both walks know only plumbing, ways and what cuts; the events that use them are in ``events.py``.
"""

from __future__ import annotations

import heapq
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from vanewise.contamination.directions import Way, Ways
from vanewise.contamination.plumbing import FILTER_KINDS, SURROUNDINGS, Element, Plumbing, is_gyro
from vanewise.contamination.reach import Branch


@dataclass(frozen=True, slots=True)
class Cuts:
    """What a logged finding has cut: barriers seen intact, and lines in which the traces were seen to end."""

    barriers: frozenset[str] = frozenset()
    fronts: frozenset[str] = frozenset()

    def with_(self, element: Element) -> Cuts:
        """These cuts and one more, at a barrier or a line."""
        if element.is_line:
            return Cuts(barriers=self.barriers, fronts=self.fronts | {element.id})
        return Cuts(barriers=self.barriers | {element.id}, fronts=self.fronts)

    def common(self, other: Cuts) -> Cuts:
        """What cuts in both."""
        return Cuts(barriers=self.barriers & other.barriers, fronts=self.fronts & other.fronts)


@dataclass(frozen=True, slots=True)
class Visit:
    """An element reached: the path to it (its own id last), the length of line before it, and air arriving there."""

    path: tuple[str, ...]
    distance_m: float
    arriving_m3: float | None = None


Visits = Mapping[str, Visit]
NO_CUTS: Final = Cuts()


def passes(element: Element, entry: str, leave: str, cuts: Cuts, dead_pumps: frozenset[str]) -> bool:
    """Whether debris that entered a part by one port can leave it by another."""
    if element.kind == "pump" and element.id not in dead_pumps:
        return entry.endswith(".inlet") and leave.endswith(".outlet")
    if element.id not in cuts.barriers:
        return True
    if element.kind in FILTER_KINDS:
        return False
    if element.kind == "check valve":
        return entry.endswith(".inlet")
    return True


def may_leave(way: Way, at_start: bool) -> bool:
    """Whether air moves into a line at that end."""
    return way == 0 or (way == 1) == at_start


def reversed_ways(ways: Ways) -> dict[str, Way]:
    """Every line the other way round."""
    turned: dict[Way, Way] = {1: -1, 0: 0, -1: 1}
    return {line: turned[way] for line, way in ways.items()}


def carried(
    plumbing: Plumbing, ways: Ways, source: str, cuts: Cuts = NO_CUTS, dead_pumps: frozenset[str] = frozenset()
) -> dict[str, Visit]:
    """Everything the flow can carry debris to from ``source`` (itself included), each by its shortest path."""
    found: dict[str, Visit] = {}
    seen: set[tuple[str, str]] = set()
    queue: list[tuple[float, int, tuple[str, ...], str]] = [(0.0, 1, (source,), "")]
    while queue:
        distance, steps, path, entry = heapq.heappop(queue)
        element = plumbing.elements[path[-1]]
        if (element.id, entry) in seen:
            continue
        seen.add((element.id, entry))
        found.setdefault(element.id, Visit(path=path, distance_m=distance))
        if element.id in cuts.fronts and element.id != source:
            continue
        beyond = distance + element.length_m
        for next_id, next_entry in _onward(plumbing, ways, element, entry, cuts, dead_pumps):
            heapq.heappush(queue, (beyond, steps + 1, (*path, next_id), next_entry))
    return found


def _onward(
    plumbing: Plumbing, ways: Ways, element: Element, entry: str, cuts: Cuts, dead_pumps: frozenset[str]
) -> list[tuple[str, str]]:
    """The next elements and the port by which each is entered."""
    if element.is_line:
        start, end = element.ports
        way = ways[element.id]
        exits = [port for port, way_out in ((end, 1), (start, -1)) if way in (0, way_out) and port != entry]
        return [(owner.id, port) for port in exits if (owner := plumbing.owner(port)) is not None]
    if element.is_tap:
        return [] if entry else _from_port(plumbing, element.ports[0])
    host = next((part for part, own in plumbing.attached.items() if own == element.id), None)
    if host is not None:
        return [(host, "")] if not entry else []
    onward: list[tuple[str, str]] = []
    for port in element.ports:
        if port == entry:
            onward += [(tap, port) for tap in plumbing.taps_at.get(port, ())]
        elif not entry or passes(element, entry, port, cuts, dead_pumps):
            onward += [(tap, port) for tap in plumbing.taps_at.get(port, ())]
            onward += [
                (line, port)
                for line in plumbing.lines_at.get(port, ())
                if may_leave(ways[line], plumbing.elements[line].ports[0] == port)
            ]
    return onward


def _from_port(plumbing: Plumbing, port: str) -> list[tuple[str, str]]:
    owner = plumbing.owner(port)
    return [] if owner is None else [(owner.id, port)]


@dataclass(frozen=True, slots=True)
class SuctionTree:
    """The suction side as a tree away from a pump's inlet, the pump itself as root with no volume."""

    order: tuple[str, ...]
    branches: Mapping[str, Branch]
    visits: Mapping[str, Visit]
    """Path and distance of every element in it, as if nothing bounded the reach."""
    is_tree: bool
    """False when the walk met an element twice: the split of the air is then only an estimate."""

    @property
    def volume_m3(self) -> float:
        return sum(branch.volume_m3 for branch in self.branches.values())


def suction_tree(plumbing: Plumbing, pump: str, cuts: Cuts = NO_CUTS, through_gyros: bool = False) -> SuctionTree:
    """What lies between a pump's inlet and the gyros' jets. A check valve seen intact seals what is beyond it."""
    order: list[str] = []
    children: dict[str, list[str]] = {}
    visits: dict[str, Visit] = {}
    is_tree = True
    queue: list[tuple[str, str, Visit]] = [(pump, f"{pump}.outlet", Visit(path=(pump,), distance_m=0.0))]
    while queue:
        element_id, entry, visit = queue.pop(0)
        if element_id in visits:
            is_tree = False
            continue
        visits[element_id] = visit
        order.append(element_id)
        children[element_id] = []
        if len(visit.path) > 1:
            children[visit.path[-2]].append(element_id)
        element = plumbing.elements[element_id]
        beyond = visit.distance_m + element.length_m
        for next_id, next_entry in _upstream(plumbing, element, entry, cuts, through_gyros, pump):
            if next_id not in visit.path:
                queue.append((next_id, next_entry, Visit(path=(*visit.path, next_id), distance_m=beyond)))
    branches = {
        element_id: Branch(
            id=element_id,
            volume_m3=0.0 if element_id == pump else plumbing.elements[element_id].volume_m3,
            children=tuple(children[element_id]),
        )
        for element_id in order
    }
    return SuctionTree(order=tuple(order), branches=branches, visits=visits, is_tree=is_tree)


def _upstream(
    plumbing: Plumbing, element: Element, entry: str, cuts: Cuts, through_gyros: bool, pump: str
) -> list[tuple[str, str]]:
    """The next elements against the normal flow of suction duty."""
    if element.is_line:
        far = plumbing.far_end(element.id, entry)
        owner = plumbing.owner(far)
        # A tap at that port is beside the part, not behind it: it takes its share of the air by its own volume.
        return [] if owner is None else [(owner.id, far), *((tap, far) for tap in plumbing.taps_at.get(far, ()))]
    if element.is_tap or (element.kind == "pump" and element.id != pump):
        return []
    if element.kind == "check valve" and element.id in cuts.barriers and entry.endswith(".outlet"):
        return []
    onward: list[tuple[str, str]] = []
    if is_gyro(element.kind) and not through_gyros:
        return onward
    for port in element.ports:
        if port in (entry, f"{element.id}.air"):
            continue
        onward += [(tap, port) for tap in plumbing.taps_at.get(port, ())]
        onward += [(line, port) for line in plumbing.lines_at.get(port, ())]
    return onward


def beyond_blocks(plumbing: Plumbing, visits: Visits, cuts: Cuts) -> frozenset[str]:
    """Elements whose path leads through a filter seen intact or a line in which the traces end."""
    blocks = {part for part in cuts.barriers if plumbing.elements[part].kind in FILTER_KINDS} | cuts.fronts
    return frozenset(element for element, visit in visits.items() if blocks & set(visit.path[1:-1]))


def ends_open(element: Element) -> bool:
    """True for a line that ends in the surroundings."""
    return any(port in SURROUNDINGS for port in element.ports)
