"""Air systems put together from a few choices: the ready-made layouts, and what a person's answers ask for.

Every number is the example of its kind, with its source; the runs of the hoses are assumed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Final, Literal

import msgspec

from vanewise.aircraft.description import (
    AircraftDescription,
    Duty,
    Engine,
    Field,
    Gauge,
    Lamp,
    Line,
    Material,
    Part,
)
from vanewise.aircraft.kinds import KINDS, SECTIONS, Surroundings
from vanewise.provenance import Value
from vanewise.quantities import to_si

GyroName = Literal["attitude", "heading", "turn"]
_KIND_OF_GYRO: Final[Mapping[str, str]] = MappingProxyType(
    {"attitude": "attitude indicator", "heading": "heading indicator", "turn": "turn indicator"}
)
_THREE_EIGHTHS, _HALF, _FIVE_EIGHTHS = "3/8 in", "1/2 in", "5/8 in"
_NOTHING: Final[Mapping[str, Surroundings]] = MappingProxyType({})


class Choices(msgspec.Struct, frozen=True, kw_only=True):
    """What has to be known to draw a system.

    ``filters`` and ``standby`` (one pump only) are about suction duty, the two other filters about pressure duty. Boots
    hang on the pump's outlet in suction duty and on the way to the gyros in pressure duty; a door seal on the latter.
    """

    duty: Duty
    gyros: tuple[GyroName, ...] = ("attitude", "heading")
    pumps: Literal[1, 2] = 1
    filters: Literal["central", "each", "none"] = "central"
    inlet_filter: bool = True
    inline_filter: bool = True
    lamp: bool = True
    standby: Literal["none", "standby pump", "intake source"] = "none"
    boots: bool = False
    door_seal: bool = False


def compose(choices: Choices, name: str, layout: str = "") -> AircraftDescription:
    """The system of these choices, with the gauge across the first gyro. It passes the checks."""
    if choices.duty == "suction":
        parts, lines = [*_suction_gyros(choices), *_suction_pumps(choices)], [*_suction_lines(choices)]
    else:
        parts, lines = [*_pressure_parts(choices)], [*_pressure_lines(choices)]
    high, low = across(choices)
    return AircraftDescription(
        name=name,
        layout=layout,
        duty=choices.duty,
        duty_confirmed=False,
        engine=Engine(**section_defaults("engine")),
        field=Field(**section_defaults("field")),
        parts=tuple(parts),
        lines=tuple(lines),
        gauge=Gauge(high=high, low=low, **section_defaults("gauge")),
        lamp=Lamp(high=high, low=low, **section_defaults("lamp")) if choices.lamp else None,
        autopilot_takes_attitude="no autopilot",
        turn_instrument="air" if "turn" in choices.gyros else "electric",
    )


def across(choices: Choices) -> tuple[str, str]:
    """Where a gauge across the first gyro is connected: high, low."""
    first = choices.gyros[0]
    return f"{first}.inlet", f"{first}.outlet" if choices.duty == "suction" else "cabin"


def against_cabin(choices: Choices) -> tuple[str, str]:
    """Where a gauge on the regulator's line against the cabin is connected: high, low."""
    line = "regulator.gyro_side"
    return ("cabin", line) if choices.duty == "suction" else (line, "cabin")


def default_values(kind: str) -> dict[str, Value]:
    """The example numbers of a kind, by field."""
    return {spec.name: spec.default for spec in KINDS[kind].fields if spec.default is not None}


def section_defaults(section: str) -> dict[str, Value]:
    """The example numbers of a section such as ``engine``, by field."""
    return {spec.name: spec.default for spec in SECTIONS[section] if spec.default is not None}


def make_part(
    part_id: str,
    kind: str,
    name: str,
    breathes: Mapping[str, Surroundings] = _NOTHING,
    ports: tuple[str, ...] = (),
) -> Part:
    values = default_values(kind)
    return Part(id=part_id, kind=kind, name=name, open=dict(breathes), extra_ports=ports, values=values)


def make_line(
    line_id: str,
    ends: tuple[str, str],
    metres: float,
    bore: str,
    elbows: float = 0.0,
    runs_in: Surroundings = "cabin",
    material: Material = "hose",
) -> Line:
    """A line with an assumed run. Each number keeps the source and spread of the example it stands for."""
    values = default_values("line")
    sizes = {"length": metres, "bore": to_si(bore, "length", line_id), "elbows": elbows}
    values |= {field: msgspec.structs.replace(values[field], number=number) for field, number in sizes.items()}
    return Line(id=line_id, start=ends[0], end=ends[1], material=material, runs_in=runs_in, values=values)


def _gyro(gyro: str, breathes: Mapping[str, Surroundings] = _NOTHING) -> Part:
    kind = _KIND_OF_GYRO[gyro]
    return make_part(gyro, kind, kind, breathes)


def _suction_gyros(choices: Choices) -> Iterator[Part]:
    """The gyros side by side between their filter or filters and a manifold."""
    if choices.filters == "central":
        yield make_part("filter", "intake filter", "central filter", {"air": "cabin"})
        yield make_part("filter_tee", "manifold", "filter tee", ports=("filter", *choices.gyros))
    for gyro in choices.gyros:
        if choices.filters == "each":
            yield _own_filter(gyro)
        yield _gyro(gyro, {"inlet": "cabin"} if choices.filters == "none" else _NOTHING)
        if gyro == "turn":
            yield make_part("turn_restrictor", "restrictor", "turn indicator restrictor")
    yield make_part("manifold", "manifold", "manifold", ports=(*choices.gyros, "regulator"))


def _own_filter(gyro: str) -> Part:
    """A filter at one instrument: its drop is stated at that instrument's own air use."""
    flow = next(spec.default for spec in KINDS[_KIND_OF_GYRO[gyro]].fields if spec.name == "reference_flow")
    part = make_part(f"{gyro}_filter", "intake filter", f"{gyro} indicator filter", {"air": "cabin"})
    values = dict(part.values)
    if flow is not None:
        values["reference_flow"] = msgspec.structs.replace(values["reference_flow"], number=flow.number)
    return msgspec.structs.replace(part, values=values)


def _suction_pumps(choices: Choices) -> Iterator[Part]:
    yield make_part("regulator", "regulator", "suction regulator", {"air": "cabin"})
    if choices.standby != "none":
        yield make_part("pump_manifold", "manifold", "pump manifold", ports=("regulator", "pump", "standby"))
        yield make_part("pump_check_valve", "check valve", "pump check valve")
        yield make_part("standby_check_valve", "check valve", "standby check valve")
        own: dict[str, Surroundings] = {"outlet": "engine bay"} if choices.standby == "standby pump" else {}
        yield make_part("standby", choices.standby, choices.standby, own)
    if choices.pumps == 1:
        yield make_part("pump", "pump", "pump")
        if choices.boots:
            yield from _outlet_users()
        return
    yield make_part("pump_manifold", "manifold", "pump manifold", ports=("regulator", "left", "right"))
    for side in ("left", "right"):
        yield make_part(f"{side}_check_valve", "check valve", f"{side} check valve")
        yield make_part(f"{side}_pump", "pump", f"{side} pump")


def _suction_lines(choices: Choices) -> Iterator[Line]:
    if choices.filters == "central":
        yield make_line("filter_hose", ("filter.clean", "filter_tee.filter"), 0.5, _HALF, 1)
    for gyro in choices.gyros:
        if choices.filters == "central":
            yield make_line(f"{gyro}_inlet_hose", (f"filter_tee.{gyro}", f"{gyro}.inlet"), 0.4, _THREE_EIGHTHS, 0)
        elif choices.filters == "each":
            yield make_line(f"{gyro}_inlet_hose", (f"{gyro}_filter.clean", f"{gyro}.inlet"), 0.05, _THREE_EIGHTHS, 0)
    for gyro in choices.gyros:
        start = f"{gyro}.outlet"
        if gyro == "turn":
            yield make_line("turn_restrictor_hose", (start, "turn_restrictor.inlet"), 0.05, _THREE_EIGHTHS, 0)
            start = "turn_restrictor.outlet"
        yield make_line(f"{gyro}_outlet_hose", (start, f"manifold.{gyro}"), 0.6, _THREE_EIGHTHS, 1)
    yield make_line("regulator_hose", ("manifold.regulator", "regulator.gyro_side"), 0.3, _HALF, 1)
    if choices.standby != "none":
        yield from _standby_lines()
    elif choices.pumps == 1:
        yield make_line("firewall_hose", ("regulator.pump_side", "pump.inlet"), 0.95, _FIVE_EIGHTHS, 2, "engine bay")
    if choices.pumps == 1:
        if choices.boots:
            yield from _outlet_lines()
        else:
            yield make_line("outlet_elbow", ("pump.outlet", "engine bay"), 0.1, _FIVE_EIGHTHS, 1, "engine bay", "tube")
        return
    yield make_line("pump_manifold_hose", ("regulator.pump_side", "pump_manifold.regulator"), 0.3, _FIVE_EIGHTHS, 1)
    for side in ("left", "right"):
        valve, pump = f"{side}_check_valve", f"{side}_pump"
        yield make_line(f"{side}_manifold_hose", (f"pump_manifold.{side}", f"{valve}.inlet"), 0.2, _FIVE_EIGHTHS, 1)
        yield make_line(f"{side}_pump_hose", (f"{valve}.outlet", f"{pump}.inlet"), 1.5, _FIVE_EIGHTHS, 2, "engine bay")
        yield make_line(
            f"{side}_outlet_elbow", (f"{pump}.outlet", "engine bay"), 0.1, _FIVE_EIGHTHS, 1, "engine bay", "tube"
        )


def _outlet_users() -> Iterator[Part]:
    """What a suction system's pump outlet feeds: boots, with the valve that sends the air there and a relief valve."""
    yield make_part("outlet_tee", "manifold", "outlet tee", ports=("pump", "valve", "relief", "boots"))
    yield make_part("boots_valve", "boots valve", "boots valve", {"outlet": "engine bay"})
    yield make_part("boots_relief", "relief valve", "boots relief valve", {"outlet": "engine bay"})
    yield make_part("boots", "de-ice boots", "de-ice boots")


def _outlet_lines() -> Iterator[Line]:
    yield make_line("outlet_hose", ("pump.outlet", "outlet_tee.pump"), 0.3, _FIVE_EIGHTHS, 1, "engine bay")
    yield make_line("boots_valve_hose", ("outlet_tee.valve", "boots_valve.inlet"), 0.2, _FIVE_EIGHTHS, 1, "engine bay")
    yield make_line(
        "boots_relief_hose", ("outlet_tee.relief", "boots_relief.inlet"), 0.2, _FIVE_EIGHTHS, 1, "engine bay"
    )
    yield make_line("boots_hose", ("outlet_tee.boots", "boots.supply"), 2.0, _HALF, 4, "engine bay")


def _standby_lines() -> Iterator[Line]:
    yield make_line("pump_manifold_hose", ("regulator.pump_side", "pump_manifold.regulator"), 0.3, _FIVE_EIGHTHS, 1)
    yield make_line("pump_valve_hose", ("pump_manifold.pump", "pump_check_valve.inlet"), 0.2, _FIVE_EIGHTHS, 1)
    yield make_line("firewall_hose", ("pump_check_valve.outlet", "pump.inlet"), 0.95, _FIVE_EIGHTHS, 2, "engine bay")
    yield make_line("standby_valve_hose", ("pump_manifold.standby", "standby_check_valve.inlet"), 0.2, _HALF, 1)
    yield make_line("standby_hose", ("standby_check_valve.outlet", "standby.inlet"), 0.9, _HALF, 2, "engine bay")


def _pressure_twins(choices: Choices) -> Iterator[Part]:
    """Two pumps, each with its inlet filter, its own relief valve and a check valve, on one manifold."""
    yield make_part("pump_manifold", "manifold", "pump manifold", ports=("left", "right", "gyros"))
    for side in ("left", "right"):
        if choices.inlet_filter:
            yield make_part(f"{side}_inlet_filter", "inlet filter", f"{side} inlet filter", {"air": "engine bay"})
        yield make_part(
            f"{side}_pump", "pump", f"{side} pump", _NOTHING if choices.inlet_filter else {"inlet": "engine bay"}
        )
        yield make_part(f"{side}_regulator", "regulator", f"{side} pressure regulator", {"air": "engine bay"})
        yield make_part(f"{side}_check_valve", "check valve", f"{side} check valve")


def _pressure_twin_lines(choices: Choices) -> Iterator[Line]:
    bay: Surroundings = "engine bay"
    for side in ("left", "right"):
        pump, regulator, valve = f"{side}_pump", f"{side}_regulator", f"{side}_check_valve"
        if choices.inlet_filter:
            ends = (f"{side}_inlet_filter.clean", f"{pump}.inlet")
            yield make_line(f"{side}_inlet_hose", ends, 0.3, _FIVE_EIGHTHS, 1, bay)
        yield make_line(f"{side}_outlet_hose", (f"{pump}.outlet", f"{regulator}.pump_side"), 0.5, _FIVE_EIGHTHS, 2, bay)
        yield make_line(f"{side}_valve_hose", (f"{regulator}.gyro_side", f"{valve}.inlet"), 0.3, _FIVE_EIGHTHS, 1, bay)
        yield make_line(
            f"{side}_manifold_hose", (f"{valve}.outlet", f"pump_manifold.{side}"), 1.0, _FIVE_EIGHTHS, 2, bay
        )


def _pressure_users(choices: Choices) -> Iterator[Part]:
    """What shares the air with the gyros in pressure duty, joined before the inline filter."""
    users = [name for name, there in (("boots", choices.boots), ("door_seal", choices.door_seal)) if there]
    if users:
        yield make_part("users_tee", "manifold", "users tee", ports=("pump", "gyros", *users))
    if choices.boots:
        yield make_part("boots", "de-ice boots", "de-ice boots")
    if choices.door_seal:
        yield make_part("door_seal", "door seal", "door seal")


def _pressure_user_lines(choices: Choices, start: str) -> Iterator[Line]:
    yield make_line("users_hose", (start, "users_tee.pump"), 0.2, _FIVE_EIGHTHS, 0, "engine bay")
    if choices.boots:
        yield make_line("boots_hose", ("users_tee.boots", "boots.supply"), 2.0, _HALF, 4, "engine bay")
    if choices.door_seal:
        yield make_line("door_seal_hose", ("users_tee.door_seal", "door_seal.supply"), 1.5, _THREE_EIGHTHS, 2)


def _pressure_parts(choices: Choices) -> Iterator[Part]:
    if choices.pumps == 2:
        yield from _pressure_twins(choices)
    else:
        if choices.inlet_filter:
            yield make_part("inlet_filter", "inlet filter", "pump inlet filter", {"air": "engine bay"})
        yield make_part("pump", "pump", "pump", _NOTHING if choices.inlet_filter else {"inlet": "engine bay"})
        yield make_part("regulator", "regulator", "pressure regulator", {"air": "engine bay"})
    yield from _pressure_users(choices)
    if choices.inline_filter:
        yield make_part("inline_filter", "inline filter", "inline filter")
    yield make_part("manifold", "manifold", "manifold", ports=("filter", *choices.gyros))
    for gyro in choices.gyros:
        if gyro == "turn":
            yield make_part("turn_restrictor", "restrictor", "turn indicator restrictor")
        yield _gyro(gyro, {"outlet": "cabin"})


def _pressure_lines(choices: Choices) -> Iterator[Line]:
    if choices.pumps == 2:
        yield from _pressure_twin_lines(choices)
        start = "pump_manifold.gyros"
    else:
        if choices.inlet_filter:
            yield make_line(
                "pump_inlet_hose", ("inlet_filter.clean", "pump.inlet"), 0.3, _FIVE_EIGHTHS, 1, "engine bay"
            )
        yield make_line("pump_outlet_hose", ("pump.outlet", "regulator.pump_side"), 0.5, _FIVE_EIGHTHS, 2, "engine bay")
        start = "regulator.gyro_side"
    if choices.boots or choices.door_seal:
        yield from _pressure_user_lines(choices, start)
        start = "users_tee.gyros"
    if choices.inline_filter:
        yield make_line("regulator_hose", (start, "inline_filter.dirty"), 0.4, _FIVE_EIGHTHS, 1, "engine bay")
        start = "inline_filter.clean"
    yield make_line("firewall_hose", (start, "manifold.filter"), 0.9, _HALF, 2)
    for gyro in choices.gyros:
        end = f"{gyro}.inlet"
        if gyro == "turn":
            yield make_line("turn_restrictor_hose", ("turn_restrictor.outlet", end), 0.05, _THREE_EIGHTHS, 0)
            end = "turn_restrictor.inlet"
        yield make_line(f"{gyro}_inlet_hose", (f"manifold.{gyro}", end), 0.5, _THREE_EIGHTHS, 1)
