"""Where a mode can sit: selectors over a description, each giving one representative per distinguishable place."""

from __future__ import annotations

from typing import Final

import msgspec

from vanewise.aircraft.description import AircraftDescription, Line, Part
from vanewise.aircraft.fitted import fitted_besides
from vanewise.aircraft.kinds import KINDS
from vanewise.diagnosis.modes.base import Place, Places

FEEDS_ONE: Final = "feeds one gyro"
"""Note of a place whose fault only one instrument feels."""
VANES: Final = "vanes held in their slots"
SEAT: Final = "ice under its seat"
MOST_SHARED: Final = 2
"""Shared lines kept apart as places of a restriction or of a hose that came off."""


def _place(owner: Part | Line, note: str = "") -> Place:
    return Place(part=owner.id, label=owner.label, note=note)


def nowhere(description: AircraftDescription) -> tuple[Place, ...]:
    """A mode that sits in no part."""
    return (Place(part="", label=""),)


def of_kind(kind: str) -> Places:
    """Every part of one kind as its own place. Twins are apart: which of two pumps is stopped tells which is worn."""

    def places(description: AircraftDescription) -> tuple[Place, ...]:
        return tuple(_place(part) for part in description.parts_of(kind))

    return places


pump: Final = of_kind("pump")
"""Every engine-driven pump."""


def gyros(description: AircraftDescription) -> tuple[Place, ...]:
    """Every air-driven instrument."""
    return tuple(_place(part) for part in description.parts if KINDS[part.kind].is_gyro)


attitude_indicators: Final = of_kind("attitude indicator")
"""Every air-driven attitude indicator."""


def panel_gauge(description: AircraftDescription) -> tuple[Place, ...]:
    return (Place(part="gauge", label="panel gauge"),)


def lamp(description: AircraftDescription) -> tuple[Place, ...]:
    return () if description.lamp is None else (Place(part="lamp", label="low-pressure lamp"),)


def autopilot(description: AircraftDescription) -> tuple[Place, ...]:
    """The autopilot, where one is fitted."""
    parts = description.parts_of("autopilot")
    if parts:
        return (_place(parts[0]),)
    if description.autopilot_takes_attitude in ("yes", "no"):
        return (Place(part="autopilot", label="autopilot"),)
    return ()


def _owner(port: str) -> str:
    return port.split(".", 1)[0]


def _neighbours(description: AircraftDescription, blocked: frozenset[str]) -> dict[str, set[str]]:
    """Parts joined by lines, leaving out ``blocked`` parts."""
    joined: dict[str, set[str]] = {part.id: set() for part in description.parts}
    for line in description.lines:
        a, b = _owner(line.start), _owner(line.end)
        if a in joined and b in joined and a not in blocked and b not in blocked:
            joined[a].add(b)
            joined[b].add(a)
    return joined


def _reached(description: AircraftDescription, starts: tuple[str, ...], blocked: frozenset[str]) -> set[str]:
    joined = _neighbours(description, blocked)
    seen, queue = set(starts), list(starts)
    while queue:
        for neighbour in sorted(joined[queue.pop()] - seen):
            seen.add(neighbour)
            queue.append(neighbour)
    return seen


def _regulators(description: AircraftDescription) -> frozenset[str]:
    return frozenset(part.id for part in description.parts_of("regulator"))


def pump_side_lines(description: AircraftDescription) -> tuple[Line, ...]:
    """Lines between a pump and the regulator, longest first; those that end at an open outlet are left out."""
    pumps = tuple(part.id for part in description.parts_of("pump"))
    side = _reached(description, pumps, _regulators(description)) | _regulators(description)
    joins = tuple(
        line
        for line in description.lines
        if _owner(line.start) in side and _owner(line.end) in side and not _only_breathes(description, line, pumps)
    )
    return _longest_first(joins)


def _only_breathes(description: AircraftDescription, line: Line, pumps: tuple[str, ...]) -> bool:
    """True for a line that only joins a pump to its inlet filter or outlet: it lies on the open side of the pump."""
    away = _reached_through(description, line, pumps)
    return not away & _regulators(description)


def _reached_through(description: AircraftDescription, line: Line, pumps: tuple[str, ...]) -> set[str]:
    """Parts that can be reached from ``line`` without passing through a pump, its own ends included."""
    ends = tuple(end for end in (_owner(line.start), _owner(line.end)) if end not in pumps)
    known = {part.id for part in description.parts}
    return _reached(description, tuple(end for end in ends if end in known), frozenset(pumps))


def instrument_side_lines(description: AircraftDescription) -> tuple[Line, ...]:
    """Lines between the regulator and the gyros (in suction duty: on the outlet side of a gyro), longest first."""
    regulators = tuple(sorted(_regulators(description)))
    gyro_ids = frozenset(place.part for place in gyros(description))
    pumps = frozenset(part.id for part in description.parts_of("pump"))
    inner = _reached(description, regulators, gyro_ids | pumps) | set(regulators)
    pump_side = {line.id for line in pump_side_lines(description)}
    lines = tuple(
        line
        for line in description.lines
        if line.id not in pump_side
        and any(_owner(end) in inner for end in (line.start, line.end))
        and all(_owner(end) in inner | gyro_ids for end in (line.start, line.end))
    )
    return _longest_first(lines)


def common_instrument_line(description: AircraftDescription) -> Line | None:
    """The instrument-side line that feeds every gyro, if one does (the longest such)."""
    return next(iter(_shared_lines(description)), None)


def _longest_first(lines: tuple[Line, ...]) -> tuple[Line, ...]:
    def length(line: Line) -> float:
        return line.values["length"].number if "length" in line.values else 0.0

    return tuple(sorted(lines, key=lambda line: (-length(line), line.id)))


def filter_side_lines(description: AircraftDescription) -> tuple[Line, ...]:
    """Lines between an intake filter and the gyros' inlets in suction duty, those that feed every gyro first."""
    if description.duty != "suction":
        return ()
    gyro_ids = frozenset(place.part for place in gyros(description))
    known = {line.id for line in (*pump_side_lines(description), *instrument_side_lines(description))}
    starts = tuple(part.id for part in description.parts_of("intake filter"))
    inner = _reached(description, starts, gyro_ids) | set(starts)
    lines = [
        line
        for line in description.lines
        if line.id not in known and any(_owner(end) in inner - gyro_ids for end in (line.start, line.end))
    ]
    shared = [line for line in lines if not {_owner(line.start), _owner(line.end)} & gyro_ids]
    return (*_longest_first(tuple(shared)), *_longest_first(tuple(line for line in lines if line not in shared)))


def line_sides(description: AircraftDescription) -> dict[str, int]:
    """Every line by id, with its side: 1 between pump and regulator, 2 from there to the gyros, 3 after the intake
    filter, 0 for what is on none of them."""
    sides = (pump_side_lines, instrument_side_lines, filter_side_lines)
    on = {line.id: number for number, side in enumerate(sides, start=1) for line in side(description)}
    return {line.id: on.get(line.id, 0) for line in description.lines}


def leak_places(description: AircraftDescription) -> tuple[Place, ...]:
    """Where a leak is looked for: a pump-side line, a manifold joint, an instrument-side line, one after the filter."""
    found: list[Place] = []
    pump_side = pump_side_lines(description)
    if pump_side:
        found.append(_place(pump_side[0], "between pump and regulator"))
    inner = [part for part in description.parts_of("manifold") if _on_regulator_side(description, part.id)]
    if inner:
        found.append(_place(inner[0], "a joint at the manifold"))
    instrument_side = instrument_side_lines(description)
    if instrument_side:
        found.append(_place(instrument_side[0], "between regulator and gyros"))
    filter_side = filter_side_lines(description)
    if filter_side:
        after = _place(filter_side[0], "after the filter: hardly a reading shows it, unfiltered air enters")
        found.append(msgspec.structs.replace(after, silent=True))
    return tuple(found)


def _on_regulator_side(description: AircraftDescription, part_id: str) -> bool:
    gyro_ids = frozenset(place.part for place in gyros(description))
    return part_id in _reached(description, tuple(sorted(_regulators(description))), gyro_ids)


def hoses_at_pumps(description: AircraftDescription) -> tuple[Place, ...]:
    """The pump-side hose of each pump: the longest of those that only it has."""
    cuts = [(line, _cut_off(description, line)) for line in pump_side_lines(description)]
    own = (next((line for line, cut in cuts if cut == {place.part}), None) for place in pump(description))
    return tuple(_place(line) for line in own if line is not None)


def collapsing_hoses(description: AircraftDescription) -> tuple[Place, ...]:
    """The pump-side hoses whose passage can close: sucked flat, kinked, or by their own liner. With more pumps than one
    also the longest of those that the air of them all goes through."""
    pumps = {place.part for place in pump(description)}
    shared = [line for line in pump_side_lines(description) if len(pumps) > 1 and _cut_off(description, line) == pumps]
    return (*hoses_at_pumps(description), *(_place(line, "shared by the pumps") for line in shared[:1]))


def _cut_off(description: AircraftDescription, line: Line) -> set[str]:
    """The pumps that reach no regulator without a line."""
    rest = msgspec.structs.replace(description, lines=tuple(own for own in description.lines if own is not line))
    pumps = [part.id for part in description.parts_of("pump")]
    regulators = _regulators(description)
    return {
        pump
        for pump in pumps
        if not _reached(rest, (pump,), frozenset(other for other in pumps if other != pump)) & regulators
    }


AT_ONE: Final = "at one instrument"


def hoses_that_come_off(description: AircraftDescription) -> tuple[Place, ...]:
    """The hoses of the pumps, those that every gyro's air goes through, and at each instrument the one on its
    regulator's side."""
    found = list(collapsing_hoses(description))
    gyro_ids = {place.part for place in gyros(description)}
    found += [_place(line, "feeds every gyro") for line in _shared_lines(description)]
    served: set[str] = set()
    for line in instrument_side_lines(description):
        own = ({_owner(line.start), _owner(line.end)} & gyro_ids) - served
        if own:
            served |= own
            found.append(_place(line, AT_ONE))
    return tuple(found)


def restricting_lines(description: AircraftDescription) -> tuple[Place, ...]:
    """Lines that can be restricted, as far as gauge and gyros tell them apart: shared ones, and each gyro's own.

    Every shared line counts: which side of the gauge's port it lies on decides whether the gauge sees it.
    """
    gyro_ids = {place.part for place in gyros(description)}
    lines = instrument_side_lines(description)
    found = [_place(line, "feeds every gyro") for line in _shared_lines(description)]
    found += [_place(line, "feeds every gyro, after the filter") for line in _shared_after_filter(description)]
    served: set[str] = set()
    for line in lines:
        own = {_owner(line.start), _owner(line.end)} & gyro_ids
        if own and not own & served:
            served |= own
            found.append(_place(line, FEEDS_ONE))
    return tuple(found)


def where_water_stands(description: AircraftDescription) -> tuple[Place, ...]:
    """Lines with a low loop, as far as they can be told apart, the pumps' own among them; pumps and regulators."""
    pumps = (msgspec.structs.replace(place, note=VANES) for place in pump(description))
    valves = (msgspec.structs.replace(place, note=SEAT) for place in of_kind("regulator")(description))
    return (*restricting_lines(description), *collapsing_hoses(description), *pumps, *valves)


def _shared_lines(description: AircraftDescription) -> tuple[Line, ...]:
    """Instrument-side lines that every gyro's air goes through, the longest of them: without one no gyro is reached.

    Not those of boots or a seal, nor of one pump of two, nor of an instrument behind its restrictor.
    """
    gyro_ids = {place.part for place in gyros(description)}

    def to_a_gyro(lines: tuple[Line, ...]) -> bool:
        return any({_owner(line.start), _owner(line.end)} & gyro_ids for line in lines)

    def parts_them_all(line: Line) -> bool:
        rest = tuple(other for other in description.lines if other is not line)
        return not to_a_gyro(instrument_side_lines(msgspec.structs.replace(description, lines=rest)))

    lines = instrument_side_lines(description)
    return tuple(line for line in lines if not to_a_gyro((line,)) and parts_them_all(line))[:MOST_SHARED]


def _shared_after_filter(description: AircraftDescription) -> tuple[Line, ...]:
    gyro_ids = {place.part for place in gyros(description)}
    lines = filter_side_lines(description)
    return tuple(line for line in lines if not {_owner(line.start), _owner(line.end)} & gyro_ids)[:1]


def open_port(description: AircraftDescription) -> tuple[Place, ...]:
    """A spare or capped port on the gyro side: the manifold, or the first instrument-side line where there is none."""
    inner = [part for part in description.parts_of("manifold") if _on_regulator_side(description, part.id)]
    if inner:
        return (_place(inner[0], "a spare or capped port"),)
    lines = instrument_side_lines(description)
    return (_place(lines[0], "a spare or capped port"),) if lines else ()


def accessory(description: AircraftDescription) -> tuple[Place, ...]:
    """Where another user of the air joins, if there can be one: an autopilot, or what is fitted besides."""
    users = set(fitted_besides(description)) - {"standby source"}
    fitted = bool(users) or bool(autopilot(description))
    return tuple(_renamed(place, "another user of the air") for place in open_port(description)) if fitted else ()


_USERS: Final = ("de-ice boots", "door seal", "boots valve")


def boots_or_seal(description: AircraftDescription) -> tuple[Place, ...]:
    """Boots, a door seal and the valve of boots; where they are only said to be fitted, where they take their air.

    Boots on a pump's outlet take nothing from the gyros: there only their valve counts, which loads the pump.
    """
    drawn = [part for kind in _USERS for part in description.parts_of(kind)]
    if description.duty == "suction":
        drawn = [part for part in drawn if part.kind == "boots valve"]
    if drawn:
        return tuple(_place(part) for part in drawn)
    fitted = set(fitted_besides(description)) - {"standby source"}
    return tuple(_renamed(place, " and ".join(sorted(fitted))) for place in open_port(description)) if fitted else ()


_STANDBYS: Final = ("standby pump", "intake source")


def standby(description: AircraftDescription) -> tuple[Place, ...]:
    """The standby source, where one is fitted."""
    drawn = [part for kind in _STANDBYS for part in description.parts_of(kind)]
    if drawn:
        return tuple(_place(part) for part in drawn)
    fitted = "standby source" in fitted_besides(description)
    return (Place(part="standby", label="standby source"),) if fitted else ()


def shared_line(description: AircraftDescription) -> tuple[Place, ...]:
    """The line every source and instrument hangs on, in an aircraft with more than one source."""
    sources = len(description.parts_of("pump")) + len(standby(description))
    line = common_instrument_line(description)
    return (_place(line, "shared by every source"),) if sources > 1 and line is not None else ()


_HIDDEN: Final = "out of sight behind the panel"


def hidden_tubes(description: AircraftDescription) -> tuple[Place, ...]:
    """The longest hard line the gyros' air goes through: on the instrument side, else towards the pump or filter.

    Where no line has been looked at yet (its run is an example), the longest behind the panel may be a tube.
    """
    sides = (instrument_side_lines, pump_side_lines, filter_side_lines)
    tubes = [line for side in sides for line in side(description) if line.material == "tube"]
    if tubes:
        return (_place(tubes[0], _HIDDEN),)
    users = {part.id for kind in _USERS for part in description.parts_of(kind)}
    lines = [line for line in instrument_side_lines(description) if not {_owner(line.start), _owner(line.end)} & users]
    unseen = [line for line in lines if _only_assumed(line)]
    return (Place(part=unseen[0].id, label="tube behind the panel, if one is fitted", note=_HIDDEN),) if unseen else ()


def _only_assumed(line: Line) -> bool:
    """True for a line whose run nobody has measured: its length is the example of a ready-made layout."""
    return line.runs_in == "cabin" and "length" in line.values and line.values["length"].standing == "judgement"


def _renamed(place: Place, label: str) -> Place:
    return Place(part=place.part, label=f"{label} at the {place.label}", note=place.note)
