"""What each kind of event reaches: running, stop, cross-feed, turned backwards, maintenance; in either duty.

A stop brings more with it than its own back-fill: another source may have drawn on the dead pump, and the propeller
may have been turned back afterwards. :func:`followed` writes both out as events of their own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import msgspec

from vanewise.aircraft.description import AircraftDescription
from vanewise.contamination import directions
from vanewise.contamination.cross_feed import DRY_PUMPS, sources, ways_of_others
from vanewise.contamination.directions import Ways
from vanewise.contamination.plumbing import Element, Plumbing
from vanewise.contamination.reach import VOLUME_SPREAD, moved_on, orifice_area, refill_volume, sweep, swept_length
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
from vanewise.quantities import PA_PER_INHG, shown
from vanewise.values import judgement

USUAL_SUCTION_PA: Final = 5.0 * PA_PER_INHG


@dataclass(frozen=True, slots=True)
class Setting:
    """What every event is traced in: the aircraft, its plumbing, and the flows where they were solved."""

    description: AircraftDescription
    plumbing: Plumbing
    solution: Solved | None
    running_ways: Ways
    cross_ways: Mapping[str, tuple[Ways, ...]]
    """Dry pump -> the ways while it stands still and another source draws; empty where there is none."""

    @property
    def pumps(self) -> tuple[str, ...]:
        return sources(self.description, ("pump",))

    @property
    def dry_pumps(self) -> tuple[str, ...]:
        """The engine-driven pumps, then those on a motor: both shed, and both are a hole once they stand still."""
        return sources(self.description, DRY_PUMPS)


def setting(description: AircraftDescription, plumbing: Plumbing, solution: Solved | None) -> Setting:
    """Prepare a trace; ways come from the solution where there is one."""
    if solution is not None:
        ways = directions.from_solution(plumbing, solution)
    else:
        ways = directions.from_description(description, plumbing)
    return Setting(
        description=description,
        plumbing=plumbing,
        solution=solution,
        running_ways=ways,
        cross_ways=ways_of_others(description, plumbing),
    )


def followed(at: Setting, events: Sequence[SheddingEvent]) -> tuple[SheddingEvent, ...]:
    """The events, and after each stop what it brings with it, under the stop's own id.

    Cross-feed, unless it is known that no other source ran: the list is an upper bound, so what nobody has said counts
    as having been. And the turns back written beside the stop.
    """
    out: list[SheddingEvent] = []
    for event in events:
        out.append(event)
        if event.kind != "stop":
            continue
        named = msgspec.structs.replace(event, id=event.id or f"stop at {event.part}")
        if event.other_source_used is not False and at.cross_ways.get(event.part):
            out.append(msgspec.structs.replace(named, kind="cross-feed", turns_back=None))
        if event.turns_back is not None:
            out.append(msgspec.structs.replace(named, kind="turned backwards", part=turned_with(at, event.part)))
    return tuple(out)


def reached(
    at: Setting, event: SheddingEvent, cuts: Cuts = NO_CUTS, among: Sequence[SheddingEvent] = ()
) -> dict[str, Visit]:
    """Every element the event's debris can have reached, the source included.

    ``among`` are all events of the trace: a propeller turned back moves on what a stop of the same pump had left.
    """
    _check_event(at, event)
    if event.kind in ("running", "maintenance"):
        return carried(at.plumbing, at.running_ways, event.part, cuts)
    if event.kind == "cross-feed":
        _refuse_lone_source(at, event)
        return _cross_feed(at, event.part, cuts, event.part)
    downstream = carried(at.plumbing, at.running_ways, event.part, cuts)
    if at.description.duty == "pressure":
        pumps = frozenset(at.pumps)
        back = carried(at.plumbing, reversed_ways(at.running_ways), event.part, cuts, dead_pumps=pumps)
        return _union(downstream, back)
    if event.kind == "stop":
        return _union(downstream, _pushed_back(at, event, cuts, 1.0 + VOLUME_SPREAD))
    return _union(downstream, _turned(at, event, cuts, among))


def carried_on(at: Setting, event: SheddingEvent, start: str, cuts: Cuts) -> dict[str, Visit]:
    """What the flow of a running or cross-feed ``event`` carries on from ``start``, where debris lay already."""
    if event.kind == "cross-feed":
        return _cross_feed(at, event.part, cuts, start)
    return carried(at.plumbing, at.running_ways, start, cuts)


def _check_event(at: Setting, event: SheddingEvent) -> None:
    if event.part not in at.plumbing.elements:
        raise wrong(
            "the part that shed debris",
            f"one of {', '.join(sorted(at.plumbing.elements))}",
            f'"{event.part}"',
            "name a part or line of this aircraft",
        )
    fitting = {"cross-feed": at.dry_pumps, "turned backwards": at.pumps}.get(event.kind)
    if fitting is not None and event.part not in fitting:
        raise wrong(
            f"event {event.kind}",
            f"a pump: {', '.join(fitting)}",
            f'"{event.part}"',
            "name the pump that stood still or was turned back",
        )
    _check_turns(event)
    _check_suction(event)


def _check_turns(event: SheddingEvent) -> None:
    if event.turns_back is None:
        return
    where = "turns_back (propeller turned backwards)"
    if event.kind not in ("stop", "turned backwards"):
        raise wrong(
            where,
            "turns with the event stop or turned backwards",
            f"{event.turns_back:g} turns with {event.kind}",
            "leave them out, or enter the turning back as an event of its own",
        )
    if not 0.0 < event.turns_back < math.inf:
        raise wrong(
            where,
            "a number of propeller turns over 0, like 0.5",
            f"{event.turns_back:g}",
            "write how far it was turned; leave it out where nobody knows",
        )


def _check_suction(event: SheddingEvent) -> None:
    if event.kind != "stop" or event.suction_pa is None:
        return
    ambient = atmosphere.pressure(event.altitude_m or 0.0)
    if not 0.0 <= event.suction_pa < ambient:
        raise wrong(
            "suction (gauge just before the stop)",
            f"from 0 to less than the {shown(ambient, 'pressure')} of the air at that altitude",
            shown(event.suction_pa, "pressure"),
            "look at the number, its unit and the altitude again",
        )


def _union(first: Mapping[str, Visit], second: Mapping[str, Visit]) -> dict[str, Visit]:
    """Both, keeping the shorter path of what is in both."""
    merged = dict(first)
    for element_id, visit in second.items():
        held = merged.get(element_id)
        if held is None or visit.distance_m < held.distance_m:
            merged[element_id] = visit
    return merged


def _cross_feed(at: Setting, dead: str, cuts: Cuts, start: str) -> dict[str, Visit]:
    """Another source draws while pump ``dead`` stands still: the flow is the other's."""
    found: dict[str, Visit] = {}
    for ways in at.cross_ways[dead]:
        found = _union(found, carried(at.plumbing, ways, start, cuts, dead_pumps=frozenset({dead})))
    return found


def _refuse_lone_source(at: Setting, event: SheddingEvent) -> None:
    if not at.cross_ways[event.part]:
        raise wrong(
            "event cross-feed",
            "an aircraft with another source of air",
            f"one source only, {event.part}",
            "trace the event as running or stop, or describe the other source",
        )


def pump_of(at: Setting, part: str) -> str:
    """The pump whose suction side holds ``part``; the first one when several do."""
    if part in at.dry_pumps:
        return part
    for pump in at.pumps:
        if part in suction_tree(at.plumbing, pump).visits:
            return pump
    return at.pumps[0]


def turned_with(at: Setting, part: str) -> str:
    """The pump that a propeller turned back turns, where that is written beside a stop of ``part``: its own; or beside
    one that runs on a motor the engine's, by the suction side that holds it."""
    pump = pump_of(at, part)
    if pump in at.pumps or not at.pumps:
        return pump
    return next((own for own in at.pumps if part in suction_tree(at.plumbing, own).visits), at.pumps[0])


def tree_of(at: Setting, part: str, cuts: Cuts = NO_CUTS, through_gyros: bool = False) -> SuctionTree:
    """The suction side behind the pump that ``part`` belongs to."""
    return suction_tree(at.plumbing, pump_of(at, part), cuts, through_gyros)


def altitude_of(event: SheddingEvent) -> float:
    """Pressure altitude [m] an event is traced at: its own, else the highest a stop is taken to have been at.

    The reach grows with height, and what is not known must not shorten the list.
    """
    return judgement.HIGHEST_STOP.number if event.altitude_m is None else event.altitude_m


def ambient_and_suction(at: Setting, event: SheddingEvent) -> tuple[float, float]:
    """Ambient and the suction [Pa] just before the stop: as read, else as solved, else the regulator's setting."""
    ambient = atmosphere.pressure(altitude_of(event))
    # A suction read low down can be more than the air there is at the height assumed for want of a better one.
    most = math.nextafter(ambient, 0.0)
    return ambient, min(_suction(at, event), most) if event.altitude_m is None else _suction(at, event)


def _suction(at: Setting, event: SheddingEvent) -> float:
    if event.suction_pa is not None:
        return event.suction_pa
    pump = pump_of(at, event.part)
    # In the solution the engine-driven pumps turn; a standby is at rest in it, with nothing to say of its suction.
    if at.solution is not None and pump in at.pumps and f"{pump}.inlet" in at.solution.pressure_pa:
        return max(0.0, at.solution.ambient_pa - at.solution.pressure_pa[f"{pump}.inlet"])
    for regulator in at.description.parts_of("regulator"):
        if "setting" in regulator.values:
            return regulator.values["setting"].number
    return USUAL_SUCTION_PA


def _pushed_back(at: Setting, event: SheddingEvent, cuts: Cuts, factor: float) -> dict[str, Visit]:
    """The back-fill of the suction side, by volume. Debris that lay at ``event.part`` is pushed on from there."""
    tree = tree_of(at, event.part, cuts)
    seen = tree if event.part in at.dry_pumps else _seen_from(at, tree, event.part)
    return _keep(at, seen, _filled_back(at, event, tree, factor), cuts)


def _filled_back(at: Setting, event: SheddingEvent, tree: SuctionTree, factor: float) -> dict[str, float]:
    """Air [m3] that comes back to each element of ``tree`` in a stop, ``factor`` times the refill computed."""
    ambient, suction = ambient_and_suction(at, event)
    if event.part in at.dry_pumps:
        return sweep(tree.branches, tree.order, factor * refill_volume(tree.volume_m3, suction, ambient))
    return _pushed_on(tree, event.part, factor * refill_volume(1.0, suction, ambient))


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


def _turned(at: Setting, event: SheddingEvent, cuts: Cuts, among: Sequence[SheddingEvent]) -> dict[str, Visit]:
    """A pump turned backwards blows into its own suction line: turns times what it sweeps, each branch taken whole.

    What a stop of the same pump had left lies at the end of the back-fill, and is moved on from there: the two reaches
    add. Whichever came first, the sum is not exceeded (see the explanation of the trace).
    """
    tree = tree_of(at, event.part, cuts, through_gyros=True)
    lying: dict[str, float] = {}
    for stop in among:
        if stop.kind != "stop" or pump_of(at, stop.part) != event.part:
            continue
        back = _filled_back(at, stop, tree_of(at, stop.part, cuts), 1.0 + VOLUME_SPREAD)
        lying |= {name: max(air, lying.get(name, 0.0)) for name, air in back.items() if name in tree.branches}
    volume = turned_volume(at, event.part, among or (event,))
    return _keep(at, tree, moved_on(tree.branches, tree.order, lying, volume), cuts)


def turned_volume(at: Setting, pump: str, events: Sequence[SheddingEvent]) -> float:
    """Air [m3] that all turns back of ``pump`` moved, at most; infinite while nobody knows how far it was turned."""
    turned = [event for event in events if event.kind == "turned backwards" and event.part == pump]
    if any(event.turns_back is None for event in turned):
        return math.inf
    turns = sum(event.turns_back for event in turned if event.turns_back is not None)
    return (1.0 + VOLUME_SPREAD) * turns * swept_per_turn(at, pump)


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
    first = first_line(at, tree)
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


def at_most_m(at: Setting, events: Sequence[SheddingEvent], figures: Sequence[Reach]) -> float | None:
    """The furthest [m of the bore at the pump] that stops and turns back carried debris; None where nothing bounds it.

    Suction duty only. The volume of the system is taken 30 % out, as it is for the list.
    """
    lengths: list[float] = []
    for pump in at.dry_pumps:
        stops = [f.length_high_m for f in figures if any(_figure_of(at, e, f, pump) for e in events)]
        turned = turned_volume(at, pump, events) if pump in at.pumps else 0.0
        line = first_line(at, tree_of(at, pump))
        if line is not None and (stops or turned > 0.0):
            lengths.append(max(stops, default=0.0) + swept_length(turned, line.bore_m))
    furthest = max(lengths, default=math.inf)
    return furthest if at.description.duty == "suction" and math.isfinite(furthest) else None


def _figure_of(at: Setting, event: SheddingEvent, figure: Reach, pump: str) -> bool:
    return event.kind == "stop" and event.id == figure.event and pump_of(at, event.part) == pump


def first_line(at: Setting, tree: SuctionTree) -> Element | None:
    """The line at the pump's inlet."""
    return next((at.plumbing.elements[name] for name in tree.order if at.plumbing.elements[name].is_line), None)


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
