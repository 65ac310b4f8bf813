"""What each kind of event reaches: running, stop, cross-feed, turned backwards, maintenance; in either duty."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from vanewise.aircraft.description import AircraftDescription
from vanewise.contamination import directions
from vanewise.contamination.directions import Way, Ways
from vanewise.contamination.plumbing import Plumbing
from vanewise.contamination.reach import VOLUME_SPREAD, orifice_area, refill_volume, sweep, swept_length
from vanewise.contamination.spread import (
    NO_CUTS,
    Cuts,
    SuctionTree,
    Visit,
    beyond_blocks,
    carried,
    reversed_ways,
    suction_tree,
)
from vanewise.contamination.types import Reach, SheddingEvent
from vanewise.errors import wrong
from vanewise.network import atmosphere
from vanewise.network.types import Solved
from vanewise.quantities import PA_PER_INHG

USUAL_SUCTION_PA: Final = 5.0 * PA_PER_INHG


@dataclass(frozen=True, slots=True)
class Setting:
    """What every event is traced in: the aircraft, its plumbing, and the flows where they were solved."""

    description: AircraftDescription
    plumbing: Plumbing
    solution: Solved | None
    running_ways: Ways

    @property
    def pumps(self) -> tuple[str, ...]:
        return tuple(part.id for part in self.description.parts_of("pump"))


def setting(description: AircraftDescription, plumbing: Plumbing, solution: Solved | None) -> Setting:
    """Prepare a trace; ways come from the solution where there is one."""
    if solution is not None:
        ways = directions.from_solution(plumbing, solution)
    else:
        ways = directions.from_description(description, plumbing)
    return Setting(description=description, plumbing=plumbing, solution=solution, running_ways=ways)


def reached(at: Setting, event: SheddingEvent, cuts: Cuts = NO_CUTS) -> dict[str, Visit]:
    """Every element the event's debris can have reached, the source included."""
    _check_source(at, event)
    if event.kind in ("running", "maintenance"):
        return carried(at.plumbing, at.running_ways, event.part, cuts)
    if event.kind == "cross-feed":
        return _cross_feed(at, event, cuts)
    downstream = carried(at.plumbing, at.running_ways, event.part, cuts)
    if at.description.duty == "pressure":
        pumps = frozenset(at.pumps)
        back = carried(at.plumbing, reversed_ways(at.running_ways), event.part, cuts, dead_pumps=pumps)
        return _union(downstream, back)
    if event.kind == "stop":
        return _union(downstream, _pushed_back(at, event, cuts, 1.0 + VOLUME_SPREAD))
    return _union(downstream, _turned(at, event, cuts))


def _check_source(at: Setting, event: SheddingEvent) -> None:
    if event.part not in at.plumbing.elements:
        raise wrong(
            "the part that shed debris",
            f"one of {', '.join(sorted(at.plumbing.elements))}",
            f'"{event.part}"',
            "name a part or line of this aircraft",
        )
    if event.kind in ("cross-feed", "turned backwards") and event.part not in at.pumps:
        raise wrong(
            f"event {event.kind}",
            f"a pump: {', '.join(at.pumps)}",
            f'"{event.part}"',
            "name the pump that stood still or was turned back",
        )


def _union(first: Mapping[str, Visit], second: Mapping[str, Visit]) -> dict[str, Visit]:
    """Both, keeping the shorter path of what is in both."""
    merged = dict(first)
    for element_id, visit in second.items():
        held = merged.get(element_id)
        if held is None or visit.distance_m < held.distance_m:
            merged[element_id] = visit
    return merged


def _cross_feed(at: Setting, event: SheddingEvent, cuts: Cuts) -> dict[str, Visit]:
    """Another pump runs while this one stands still: the flow is the other's."""
    others = [pump for pump in at.pumps if pump != event.part]
    if not others:
        raise wrong(
            "event cross-feed",
            "an aircraft with another source of air",
            f"one pump only, {event.part}",
            "trace the event as running or stop, or describe the other source",
        )
    dead = frozenset({event.part})
    ways = directions.from_description(at.description, at.plumbing, stopped=dead)
    own_line_ways: dict[str, Way] = {
        line: 0 for port in at.plumbing.elements[event.part].ports for line in at.plumbing.lines_at.get(port, ())
    }
    # The dead pump's own lines are two-way: whether its check valve leaks decides which, and only a look can say.
    return carried(at.plumbing, {**ways, **own_line_ways}, event.part, cuts, dead_pumps=dead)


def pump_of(at: Setting, part: str) -> str:
    """The pump whose suction side holds ``part``; the first one when several do."""
    if part in at.pumps:
        return part
    for pump in at.pumps:
        if part in suction_tree(at.plumbing, pump).visits:
            return pump
    return at.pumps[0]


def tree_of(at: Setting, part: str, cuts: Cuts = NO_CUTS, through_gyros: bool = False) -> SuctionTree:
    """The suction side behind the pump that ``part`` belongs to."""
    return suction_tree(at.plumbing, pump_of(at, part), cuts, through_gyros)


def ambient_and_suction(at: Setting, event: SheddingEvent) -> tuple[float, float]:
    """Ambient and the suction [Pa] just before the stop: as read, else as solved, else the regulator's setting."""
    ambient = atmosphere.pressure(event.altitude_m)
    if event.suction_pa is not None:
        return ambient, event.suction_pa
    pump_inlet = f"{pump_of(at, event.part)}.inlet"
    if at.solution is not None and pump_inlet in at.solution.pressure_pa:
        return ambient, max(0.0, at.solution.ambient_pa - at.solution.pressure_pa[pump_inlet])
    for regulator in at.description.parts_of("regulator"):
        if "setting" in regulator.values:
            return ambient, regulator.values["setting"].number
    return ambient, USUAL_SUCTION_PA


def _pushed_back(at: Setting, event: SheddingEvent, cuts: Cuts, factor: float) -> dict[str, Visit]:
    """The back-fill of the suction side, by volume. Debris that lay at ``event.part`` is pushed on from there."""
    tree = tree_of(at, event.part, cuts)
    ambient, suction = ambient_and_suction(at, event)
    if event.part in at.pumps:
        air = factor * refill_volume(tree.volume_m3, suction, ambient)
        return _keep(at, tree, sweep(tree.branches, tree.order, air), cuts)
    arriving = _pushed_on(tree, event.part, factor * refill_volume(1.0, suction, ambient))
    return _keep(at, _seen_from(at, tree, event.part), arriving, cuts)


def _seen_from(at: Setting, tree: SuctionTree, part: str) -> SuctionTree:
    """The same tree with paths and distances from ``part`` on, for what lies behind it."""
    start = tree.visits.get(part)
    if start is None:
        return tree
    before = start.distance_m + at.plumbing.elements[part].length_m
    visits = {
        element: replace(
            visit,
            path=visit.path[len(start.path) - 1 :],
            distance_m=max(0.0, visit.distance_m - before),
        )
        for element, visit in tree.visits.items()
        if part in visit.path
    }
    return replace(tree, visits=visits)


def _pushed_on(tree: SuctionTree, part: str, air_per_volume: float) -> dict[str, float]:
    """Debris that lay at ``part`` is moved by all the air that fills what is behind it."""
    if part not in tree.visits:
        return {}
    inside = tuple(element for element in tree.order if part in tree.visits[element].path)
    branches = {element: tree.branches[element] for element in inside}
    branches[part] = replace(branches[part], volume_m3=0.0)
    passing = air_per_volume * sum(branch.volume_m3 for branch in branches.values())
    return sweep(branches, inside, passing) if passing > 0.0 else {part: 0.0}


def _turned(at: Setting, event: SheddingEvent, cuts: Cuts) -> dict[str, Visit]:
    """A pump turned backwards blows into its own suction line: turns times what it sweeps, each branch taken whole."""
    tree = tree_of(at, event.part, cuts, through_gyros=True)
    volume = math.inf if event.turns_back is None else event.turns_back * swept_per_turn(at, event.part)
    return _keep(at, tree, sweep(tree.branches, tree.order, volume, divide=False), cuts)


def swept_per_turn(at: Setting, pump: str) -> float:
    """Air [m3] a pump moves in one propeller turn (its drive ratio counted)."""
    values = at.description.part(pump).values
    return values["displacement"].number * values["drive_ratio"].number


def _keep(at: Setting, tree: SuctionTree, arriving: Mapping[str, float], cuts: Cuts) -> dict[str, Visit]:
    """Visits of what air arrived at and nothing seen intact shields, the regulator's own filter with the regulator."""
    blocked = beyond_blocks(at.plumbing, tree.visits, cuts)
    kept = {
        element_id: replace(tree.visits[element_id], arriving_m3=air)
        for element_id, air in arriving.items()
        if element_id not in blocked
    }
    for host, own in at.plumbing.attached.items():
        if host in kept and host not in cuts.barriers:
            kept[own] = replace(kept[host], path=(*kept[host].path, own))
    return kept


def reach(at: Setting, event: SheddingEvent, cuts: Cuts = NO_CUTS) -> Reach | None:
    """The reach figures of a stop in suction duty; None for every other event."""
    if event.kind != "stop" or at.description.duty != "suction":
        return None
    tree = tree_of(at, event.part, cuts)
    first = next((at.plumbing.elements[name] for name in tree.order if at.plumbing.elements[name].is_line), None)
    if first is None:
        return None
    ambient, suction = ambient_and_suction(at, event)
    refill = refill_volume(tree.volume_m3, suction, ambient)
    length = swept_length(refill, first.bore_m)
    share = share_through_pump(at, pump_of(at, event.part))
    return Reach(
        event=event.id,
        line=first.id,
        volume_m3=tree.volume_m3,
        suction_pa=suction,
        ambient_pa=ambient,
        refill_m3=refill,
        length_m=length,
        length_low_m=length * (1.0 - VOLUME_SPREAD),
        length_high_m=length * (1.0 + VOLUME_SPREAD),
        estimate_m=length * share,
        share_through_pump=share,
    )


def share_through_pump(at: Setting, pump: str) -> float:
    """Share of the refill that comes through the stopped pump: its slip area against the gyros' jets beside it.

    The regulator is left out: it shuts as the suction falls. A broken pump leaks more than a sound one, so this is a
    figure to sort by and nothing else.
    """
    slip_value = at.description.part(pump).values.get("slip_area")
    slip = 0.0 if slip_value is None else slip_value.number
    jets = sum(
        orifice_area(part.values["reference_flow"].number, part.values["reference_drop"].number)
        for part in at.description.parts
        if part.id in at.plumbing.elements and "indicator" in part.kind and "reference_flow" in part.values
    )
    return slip / (slip + jets) if slip + jets > 0.0 else 1.0


def estimated(at: Setting, event: SheddingEvent, cuts: Cuts) -> frozenset[str]:
    """What the middle estimate of a stop in suction duty reaches; used for sorting only."""
    share = share_through_pump(at, pump_of(at, event.part))
    return frozenset(_pushed_back(at, event, cuts, share)) | frozenset(
        carried(at.plumbing, at.running_ways, event.part, cuts)
    )
