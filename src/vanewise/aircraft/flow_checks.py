"""Checks of the way the air goes: every gyro between pump and air, valves the right way round, the regulator between.

In suction duty air goes cabin -> gyros -> regulator -> pump -> engine bay; in pressure duty engine bay -> pump ->
regulator -> gyros -> cabin. A way that ends at a port with nothing joined is not reported again here: that port has
been named already, and what lies beyond it is not known.
"""

from __future__ import annotations

from collections.abc import Iterator, Set
from typing import Final

from vanewise.aircraft.description import AircraftDescription, Part
from vanewise.aircraft.names import nearest
from vanewise.aircraft.places import Places
from vanewise.aircraft.wiring import AIR, Wiring, through_ports
from vanewise.errors import Problem

_ONE_WAY: Final = ("check valve", "inline filter")
Nodes = Set[str]


def flow_problems(description: AircraftDescription, wiring: Wiring) -> Iterator[Problem]:
    places = Places(description)
    suction = description.duty == "suction"
    yield from _missing(wiring)
    for part in wiring.parts.values():
        if part in wiring.gyros:
            yield from _gyro_problems(part, wiring, places, suction)
        elif part.kind == "pump":
            yield from _pump_problems(part, wiring, places, suction)
        elif part.kind == "regulator":
            yield from _regulator_problems(part, wiring, places)
        elif part.kind in _ONE_WAY:
            yield from _direction_problems(part, wiring, places, suction)
    yield from _second_sense_line(wiring, places)
    yield from _stray_parts(wiring, places)
    yield from _turn_instrument(description, wiring)


def _missing(wiring: Wiring) -> Iterator[Problem]:
    wanted = (
        ("an air-driven gyro (attitude, heading or turn indicator)", bool(wiring.gyros)),
        ("an engine-driven pump", bool(wiring.pumps)),
        ("a regulator", any(part.kind == "regulator" for part in wiring.parts.values())),
    )
    for what, there in wanted:
        if not there:
            yield Problem(
                where="parts",
                expected=what,
                found="none",
                next_step="add it with its ports; without it this is not a system that can be computed here",
            )


def _gyro_problems(gyro: Part, wiring: Wiring, places: Places, suction: bool) -> Iterator[Problem]:
    if {"inlet", "outlet"} <= {*gyro.capped}:
        return
    to_pump, to_air = ("outlet", "inlet") if suction else ("inlet", "outlet")
    right, wrong_side = ("inlet", "outlet") if suction else ("outlet", "inlet")
    pumps, pumps_wrong_side = wiring.pump_ports(right), wiring.pump_ports(wrong_side)
    near_pump = wiring.distances(f"{gyro.id}.{to_pump}").keys()
    near_air = wiring.distances(f"{gyro.id}.{to_air}").keys()
    duty, other_duty = ("suction", "pressure") if suction else ("pressure", "suction")
    if not pumps:
        return
    if near_pump & pumps_wrong_side or near_air & pumps_wrong_side:
        yield Problem(
            where=places.of(gyro.id),
            expected=f"in {duty} duty, {gyro.label} joined to the pump's {right}",
            found=f"it is joined to the pump's {wrong_side}",
            next_step=f"look which pump port the line comes from; if it is right, the duty is {other_duty}",
        )
    elif near_air & pumps and not near_pump & pumps:
        yield Problem(
            where=places.of(gyro.id),
            expected=f"{gyro.label} with its {to_pump} towards the pump and its {to_air} towards the air",
            found="it is the wrong way round",
            next_step="swap its two lines: in the description, or on the aircraft if they are so there",
        )
    else:
        yield from _gyro_way_problems(gyro, wiring, places, suction, near_pump, near_air)


def _gyro_way_problems(
    gyro: Part, wiring: Wiring, places: Places, suction: bool, near_pump: Nodes, near_air: Nodes
) -> Iterator[Problem]:
    to_pump, to_air = ("outlet", "inlet") if suction else ("inlet", "outlet")
    pump_port = "inlet" if suction else "outlet"
    pumps = wiring.pump_ports(pump_port)
    if near_air & pumps:
        yield Problem(
            where=places.of(gyro.id),
            expected=f"no way between {gyro.label} and the pump but through the gyro",
            found=f"its {to_air} is joined to the pump as well as its {to_pump}",
            next_step="look for a line on the wrong manifold",
        )
    if not near_pump & (pumps | wiring.loose_ports):
        yield Problem(
            where=places.of(gyro.id, to_pump),
            expected=f"a way from {gyro.label} to the pump",
            found=f"from its {to_pump} no line leads to a pump's {pump_port}",
            next_step=f"follow the line from its {to_pump} by hand and name where it ends",
        )
    if not near_air & (AIR | wiring.loose_ports):
        way = f"a way from {gyro.label} to the air it breathes" if suction else f"a way for air out of {gyro.label}"
        yield Problem(
            where=places.of(gyro.id, to_air),
            expected=way,
            found=f"from its {to_air} no line leads to the cabin or the engine bay",
            next_step=f"name the line at its {to_air}, or open it to the cabin if it is",
        )


def _pump_problems(pump: Part, wiring: Wiring, places: Places, suction: bool) -> Iterator[Problem]:
    gyro_side, air_side = ("inlet", "outlet") if suction else ("outlet", "inlet")
    near_gyros = wiring.distances(f"{pump.id}.{gyro_side}").keys()
    near_air = wiring.distances(f"{pump.id}.{air_side}").keys()
    gyros = wiring.gyro_ports()
    if gyros and not near_gyros & (gyros | wiring.loose_ports) and not near_air & gyros:
        yield Problem(
            where=places.of(pump.id, gyro_side),
            expected=f"{pump.label} to {'pull air through' if suction else 'push air into'} at least one gyro",
            found=f"from its {gyro_side} no line leads to a gyro",
            next_step=f"follow the line from its {gyro_side} by hand and name where it ends",
        )
    if not near_air & (AIR | gyros | wiring.loose_ports):
        yield Problem(
            where=places.of(pump.id, air_side),
            expected=f"{'a way out for the air of' if suction else 'an inlet from the air for'} {pump.label}",
            found=f"from its {air_side} no line leads to the engine bay",
            next_step=f"open its {air_side} to the engine bay, or name the line or filter there",
        )


def _regulator_problems(regulator: Part, wiring: Wiring, places: Places) -> Iterator[Problem]:
    body = (f"{regulator.id}.gyro_side", f"{regulator.id}.pump_side")
    if _senses_elsewhere(regulator):
        yield from _sense_line_problems(regulator, wiring, places)
    gyros, pumps = wiring.gyro_ports(), wiring.pump_ports("inlet") | wiring.pump_ports("outlet")
    if not (gyros and pumps):
        return
    near_gyro_side, near_pump_side = (wiring.distances(port, without=[regulator.id]).keys() for port in body)
    if near_gyro_side & gyros and near_pump_side & pumps:
        return
    if (near_gyro_side | near_pump_side) & wiring.loose_ports:
        return
    swapped = bool(near_pump_side & gyros and near_gyro_side & pumps)
    found = [
        f"{port} leads to {_seen(bool(near & gyros), bool(near & pumps))}"
        for port, near in (("gyro_side", near_gyro_side), ("pump_side", near_pump_side))
    ]
    yield Problem(
        where=places.of(regulator.id),
        expected=f"{regulator.label} between gyros and pump: gyro_side towards the gyros, pump_side towards the pump",
        found="the wrong way round" if swapped else "; ".join(found),
        next_step="swap the two lines in the description" if swapped else "follow both its lines by hand",
    )


def _senses_elsewhere(part: Part) -> bool:
    body = (f"{part.id}.gyro_side", f"{part.id}.pump_side")
    return part.kind == "regulator" and bool(part.senses) and part.senses not in body


def _sense_line_problems(regulator: Part, wiring: Wiring, places: Places) -> Iterator[Problem]:
    """What would leave more than one answer, or none that the regulator has a hand in."""
    where, found = places.of(regulator.id, "senses"), f'it senses "{regulator.senses}"'
    if regulator.senses not in wiring.ports:
        yield Problem(
            where=where,
            expected="a port of this aircraft, written part.port",
            found=found,
            next_step=f"{nearest(regulator.senses, wiring.ports)}; leave it out if it senses at its own port",
        )
        return
    held = wiring.distances(f"{regulator.id}.gyro_side").keys() | wiring.distances(f"{regulator.id}.pump_side").keys()
    held -= AIR
    if regulator.senses not in held or wiring.cavity(regulator.senses) in AIR:
        yield Problem(
            where=where,
            expected="a port in the air that it regulates: between the pump and the gyros' jets, not in the open",
            found=found,
            next_step="follow its sense line by hand and name the port where it is joined",
        )
    elif wiring.distances(f"{regulator.id}.air", without=[regulator.id]).keys() & held:
        yield Problem(
            where=places.of(regulator.id, "air"),
            expected="where it senses elsewhere: the air that it admits or dumps apart from the air it regulates",
            found="its air port is joined to the same air",
            next_step="follow the line at its air port; if it is right, leave `senses` out; the plateau is rough then",
        )


def _second_sense_line(wiring: Wiring, places: Places) -> Iterator[Problem]:
    """Two regulators that sense elsewhere can each hold the other open or shut: more than one state may last."""
    found = [part for part in wiring.parts.values() if _senses_elsewhere(part)]
    for part in found[1:]:
        yield Problem(
            where=places.of(part.id, "senses"),
            expected="at most one regulator that senses elsewhere than at its own port",
            found=f"{found[0].label} does so already",
            next_step="leave `senses` out of one of them, and treat the plateau as rough",
        )


def _seen(gyros: bool, pumps: bool) -> str:
    words = [word for word, seen in (("gyros", gyros), ("a pump", pumps)) if seen]
    return " and ".join(words) or "neither gyro nor pump"


def _direction_problems(part: Part, wiring: Wiring, places: Places, suction: bool) -> Iterator[Problem]:
    """A valve or inline filter is reversed when the gyros are only on the side where the pump should be."""
    through = through_ports(part.kind)
    if through is None:
        return
    gyros = wiring.gyro_ports()
    gyro_side, pump_side = through if suction else through[::-1]
    at_gyro_side = wiring.reaches(f"{part.id}.{gyro_side}", gyros, without=[part.id])
    at_pump_side = wiring.reaches(f"{part.id}.{pump_side}", gyros, without=[part.id])
    if at_pump_side and not at_gyro_side:
        yield Problem(
            where=places.of(part.id),
            expected=f"{part.label} with its {gyro_side} towards the gyros and its {pump_side} towards the pump",
            found="it is the wrong way round",
            next_step="look at the arrow on its body; swap its two lines in the description, or turn the part",
        )


def _stray_parts(wiring: Wiring, places: Places) -> Iterator[Problem]:
    """A part whose own joined-up corner holds neither gyro nor pump: nothing can be said about its pressure."""
    goals = wiring.gyro_ports() | wiring.pump_ports("inlet") | wiring.pump_ports("outlet")
    for part in wiring.parts.values():
        nodes = [node for node in wiring.neighbours if node == part.id or node.startswith(f"{part.id}.")]
        if not goals or not nodes or part in wiring.gyros or part.kind == "pump":
            continue
        if not any(wiring.reaches(node, goals | wiring.loose_ports) for node in nodes):
            yield Problem(
                where=places.of(part.id),
                expected=f"{part.label} joined to the rest of the system",
                found="no line leads from it to a gyro or a pump",
                next_step="name the lines at its ports, or take it out",
            )


def _turn_instrument(description: AircraftDescription, wiring: Wiring) -> Iterator[Problem]:
    on_air = any(part.kind == "turn indicator" for part in wiring.gyros)
    if on_air != (description.turn_instrument == "air"):
        yield Problem(
            where="turn_instrument",
            expected='"air" when a turn indicator is among the parts, "electric" or "none" otherwise',
            found=f'"{description.turn_instrument}" and {"a" if on_air else "no"} turn indicator among the parts',
            next_step="look which power the turn instrument has, and make both agree",
        )
