"""Ready-made air systems to start from. A person changes what differs; every number is an example with its source."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final

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
from vanewise.errors import wrong
from vanewise.provenance import Value
from vanewise.quantities import to_si


class LayoutInfo(msgspec.Struct, frozen=True, kw_only=True):
    """A ready-made layout as offered to a person."""

    name: str
    title: str
    meaning: str
    duty: Duty


def default_values(kind: str) -> dict[str, Value]:
    """The example numbers of a kind, by field."""
    return {spec.name: spec.default for spec in KINDS[kind].fields if spec.default is not None}


def section_defaults(section: str) -> dict[str, Value]:
    """The example numbers of a section such as ``engine``, by field."""
    return {spec.name: spec.default for spec in SECTIONS[section] if spec.default is not None}


def _part(
    part_id: str,
    kind: str,
    name: str,
    breathes: Mapping[str, Surroundings] = MappingProxyType({}),
    extra_ports: tuple[str, ...] = (),
) -> Part:
    return Part(
        id=part_id, kind=kind, name=name, open=dict(breathes), extra_ports=extra_ports, values=default_values(kind)
    )


def _line(
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


def _engine() -> Engine:
    return Engine(**section_defaults("engine"))


def _home_field() -> Field:
    return Field(**section_defaults("field"))


def _gauge(high: str, low: str) -> Gauge:
    return Gauge(high=high, low=low, **section_defaults("gauge"))


def _lamp(high: str, low: str) -> Lamp:
    return Lamp(high=high, low=low, **section_defaults("lamp"))


_THREE_EIGHTHS, _HALF, _FIVE_EIGHTHS = "3/8 in", "1/2 in", "5/8 in"


def _suction_gyro_parts() -> tuple[Part, ...]:
    """Central filter, two gyros side by side between a filter tee and a manifold."""
    return (
        _part("filter", "intake filter", "central filter", {"air": "cabin"}),
        _part("filter_tee", "manifold", "filter tee", extra_ports=("filter", "attitude", "heading")),
        _part("attitude", "attitude indicator", "attitude indicator"),
        _part("heading", "heading indicator", "heading indicator"),
        _part("manifold", "manifold", "manifold", extra_ports=("attitude", "heading", "regulator")),
    )


def _suction_gyro_lines() -> tuple[Line, ...]:
    return (
        _line("filter_hose", ("filter.clean", "filter_tee.filter"), 0.5, _HALF, 1),
        _line("attitude_inlet_hose", ("filter_tee.attitude", "attitude.inlet"), 0.4, _THREE_EIGHTHS, 0),
        _line("heading_inlet_hose", ("filter_tee.heading", "heading.inlet"), 0.4, _THREE_EIGHTHS, 0),
        _line("attitude_outlet_hose", ("attitude.outlet", "manifold.attitude"), 0.6, _THREE_EIGHTHS, 1),
        _line("heading_outlet_hose", ("heading.outlet", "manifold.heading"), 0.6, _THREE_EIGHTHS, 1),
    )


def _suction_one_pump() -> AircraftDescription:
    return AircraftDescription(
        name="Suction, one pump",
        layout="suction-one-pump",
        duty="suction",
        duty_confirmed=False,
        engine=_engine(),
        field=_home_field(),
        parts=(
            *_suction_gyro_parts(),
            _part("regulator", "regulator", "suction regulator", {"air": "cabin"}),
            _part("pump", "pump", "pump"),
        ),
        lines=(
            *_suction_gyro_lines(),
            _line("regulator_hose", ("manifold.regulator", "regulator.gyro_side"), 0.3, _HALF, 1),
            _line("firewall_hose", ("regulator.pump_side", "pump.inlet"), 0.95, _FIVE_EIGHTHS, 2, "engine bay"),
            _line("outlet_elbow", ("pump.outlet", "engine bay"), 0.1, _FIVE_EIGHTHS, 1, "engine bay", "tube"),
        ),
        gauge=_gauge("attitude.inlet", "attitude.outlet"),
        lamp=_lamp("attitude.inlet", "attitude.outlet"),
        autopilot_takes_attitude="no autopilot",
    )


def _suction_twin_pumps() -> AircraftDescription:
    pumps: list[Part] = []
    lines: list[Line] = []
    for side in ("left", "right"):
        pumps.append(_part(f"{side}_check_valve", "check valve", f"{side} check valve"))
        pumps.append(_part(f"{side}_pump", "pump", f"{side} pump"))
        valve, pump = f"{side}_check_valve", f"{side}_pump"
        lines.append(_line(f"{side}_manifold_hose", (f"pump_manifold.{side}", f"{valve}.inlet"), 0.2, _FIVE_EIGHTHS, 1))
        lines.append(
            _line(f"{side}_pump_hose", (f"{valve}.outlet", f"{pump}.inlet"), 1.5, _FIVE_EIGHTHS, 2, "engine bay")
        )
        lines.append(
            _line(f"{side}_outlet_elbow", (f"{pump}.outlet", "engine bay"), 0.1, _FIVE_EIGHTHS, 1, "engine bay", "tube")
        )
    return AircraftDescription(
        name="Suction, twin pumps",
        layout="suction-twin-pumps",
        duty="suction",
        duty_confirmed=False,
        engine=_engine(),
        field=_home_field(),
        parts=(
            *_suction_gyro_parts(),
            _part("regulator", "regulator", "suction regulator", {"air": "cabin"}),
            _part("pump_manifold", "manifold", "pump manifold", extra_ports=("regulator", "left", "right")),
            *pumps,
        ),
        lines=(
            *_suction_gyro_lines(),
            _line("regulator_hose", ("manifold.regulator", "regulator.gyro_side"), 0.3, _HALF, 1),
            _line("pump_manifold_hose", ("regulator.pump_side", "pump_manifold.regulator"), 0.3, _FIVE_EIGHTHS, 1),
            *lines,
        ),
        gauge=_gauge("attitude.inlet", "attitude.outlet"),
        lamp=_lamp("attitude.inlet", "attitude.outlet"),
        autopilot_takes_attitude="no autopilot",
    )


def _pressure_one_pump() -> AircraftDescription:
    return AircraftDescription(
        name="Pressure, one pump",
        layout="pressure-one-pump",
        duty="pressure",
        duty_confirmed=False,
        engine=_engine(),
        field=_home_field(),
        parts=(
            _part("inlet_filter", "inlet filter", "pump inlet filter", {"air": "engine bay"}),
            _part("pump", "pump", "pump"),
            _part("regulator", "regulator", "pressure regulator", {"air": "engine bay"}),
            _part("inline_filter", "inline filter", "inline filter"),
            _part("manifold", "manifold", "manifold", extra_ports=("filter", "attitude", "heading")),
            _part("attitude", "attitude indicator", "attitude indicator", {"outlet": "cabin"}),
            _part("heading", "heading indicator", "heading indicator", {"outlet": "cabin"}),
        ),
        lines=(
            _line("pump_inlet_hose", ("inlet_filter.clean", "pump.inlet"), 0.3, _FIVE_EIGHTHS, 1, "engine bay"),
            _line("pump_outlet_hose", ("pump.outlet", "regulator.pump_side"), 0.5, _FIVE_EIGHTHS, 2, "engine bay"),
            _line(
                "regulator_hose", ("regulator.gyro_side", "inline_filter.dirty"), 0.4, _FIVE_EIGHTHS, 1, "engine bay"
            ),
            _line("firewall_hose", ("inline_filter.clean", "manifold.filter"), 0.9, _HALF, 2),
            _line("attitude_inlet_hose", ("manifold.attitude", "attitude.inlet"), 0.5, _THREE_EIGHTHS, 1),
            _line("heading_inlet_hose", ("manifold.heading", "heading.inlet"), 0.5, _THREE_EIGHTHS, 1),
        ),
        gauge=_gauge("attitude.inlet", "cabin"),
        lamp=_lamp("attitude.inlet", "cabin"),
        autopilot_takes_attitude="no autopilot",
    )


_LAYOUTS: Final[Mapping[str, tuple[LayoutInfo, Callable[[], AircraftDescription]]]] = MappingProxyType(
    {
        "suction-one-pump": (
            LayoutInfo(
                name="suction-one-pump",
                title="One pump, suction duty, central filter",
                meaning="cabin air through one filter and the gyros, past the regulator, out through the pump",
                duty="suction",
            ),
            _suction_one_pump,
        ),
        "pressure-one-pump": (
            LayoutInfo(
                name="pressure-one-pump",
                title="One pump, pressure duty, inlet and inline filters",
                meaning="engine bay air into the pump, past the relief valve, through the inline filter to the gyros",
                duty="pressure",
            ),
            _pressure_one_pump,
        ),
        "suction-twin-pumps": (
            LayoutInfo(
                name="suction-twin-pumps",
                title="Twin pumps, suction duty, check valves",
                meaning="as one pump in suction duty, with two pumps behind check valves on one manifold",
                duty="suction",
            ),
            _suction_twin_pumps,
        ),
    }
)


def layouts() -> dict[str, LayoutInfo]:
    """The ready-made layouts by name."""
    return {name: info for name, (info, _) in _LAYOUTS.items()}


def make(name: str) -> AircraftDescription:
    """The ready-made layout of that name. Raises :class:`InputError` naming the known ones."""
    if name not in _LAYOUTS:
        known = ", ".join(_LAYOUTS)
        raise wrong("layout", f"one of {known}", f'"{name}"', "choose one of these names")
    return _LAYOUTS[name][1]()
