"""Every contradiction of a description is caught before any solve, with part, expectation, finding and next step."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import pytest

from vanewise.aircraft.checks import check, check_operating_point, refuse_unsound
from vanewise.aircraft.compose import Choices, compose
from vanewise.aircraft.description import AircraftDescription, Part
from vanewise.aircraft.layouts import layouts, make
from vanewise.aircraft.remarks import remarks
from vanewise.errors import InputError, Problem

replace = msgspec.structs.replace
SUCTION, PRESSURE, TWIN = make("suction-one-pump"), make("pressure-one-pump"), make("suction-twin-pumps")


def with_line(description: AircraftDescription, line_id: str, **changes: Any) -> AircraftDescription:
    lines = tuple(replace(line, **changes) if line.id == line_id else line for line in description.lines)
    return replace(description, lines=lines)


def with_part(description: AircraftDescription, part_id: str, **changes: Any) -> AircraftDescription:
    parts = tuple(replace(part, **changes) if part.id == part_id else part for part in description.parts)
    return replace(description, parts=parts)


def with_number(description: AircraftDescription, owner: str, field: str, number: float) -> AircraftDescription:
    def changed(item: Any) -> Any:
        value = replace(item.values[field], number=number)
        return replace(item, values={**item.values, field: value})

    return replace(
        description,
        parts=tuple(changed(part) if part.id == owner else part for part in description.parts),
        lines=tuple(changed(line) if line.id == owner else line for line in description.lines),
    )


def swapped(description: AircraftDescription, first: str, end: str, second: str, start: str) -> AircraftDescription:
    """Two lines that meet a part on opposite ports, exchanged there: the part is built in the wrong way round."""
    ends = {line.id: line for line in description.lines}
    new_end, new_start = getattr(ends[second], start), getattr(ends[first], end)
    return with_line(with_line(description, first, **{end: new_end}), second, **{start: new_start})


def only(description: AircraftDescription) -> Problem:
    (problem,) = check(description)
    assert all((problem.where, problem.expected, problem.found, problem.next_step))
    return problem


@pytest.mark.parametrize("name", layouts())
def test_layouts_are_sound(name: str) -> None:
    assert check(make(name)) == ()
    assert refuse_unsound(make(name)) == make(name)


def test_every_choice_of_the_composer_is_sound() -> None:
    for duty in ("suction", "pressure"):
        for gyros in (("attitude",), ("heading",), ("attitude", "heading", "turn")):
            for filters in ("central", "each", "none"):
                for filtered in (True, False):
                    choices = Choices(
                        duty=duty, gyros=gyros, filters=filters, inlet_filter=filtered, inline_filter=filtered
                    )
                    assert check(compose(choices, "any")) == ()


def test_unconnected_ports() -> None:
    description = replace(SUCTION, lines=SUCTION.lines[:-1])
    problem = only(description)
    assert problem.path == "parts[6].outlet"
    assert problem.found == "nothing joined"


def test_gyro_with_no_way_to_the_pump() -> None:
    manifold = Part(id="blind", kind="manifold", extra_ports=("here",))
    description = replace(SUCTION, parts=(*SUCTION.parts, manifold))
    description = with_part(description, "manifold", capped=("heading",))
    description = with_line(description, "heading_outlet_hose", end="blind.here")
    problem = only(description)
    assert problem.path == "parts[3].outlet"
    assert "way from heading indicator to the pump" in problem.expected


def test_gyro_with_no_way_to_the_air() -> None:
    manifold = Part(id="blind", kind="manifold", extra_ports=("here",))
    description = replace(SUCTION, parts=(*SUCTION.parts, manifold))
    description = with_part(description, "filter_tee", capped=("heading",))
    description = with_line(description, "heading_inlet_hose", start="blind.here")
    problem = only(description)
    assert problem.path == "parts[3].inlet"
    assert "the air it breathes" in problem.expected


def test_gyro_the_wrong_way_round() -> None:
    description = swapped(SUCTION, "heading_inlet_hose", "end", "heading_outlet_hose", "start")
    problem = only(description)
    assert problem.path == "parts[3]"
    assert "wrong way round" in problem.found


def test_gyro_bypassed() -> None:
    ports = SUCTION.part("manifold").extra_ports
    description = with_part(SUCTION, "manifold", extra_ports=(*ports, "short"))
    description = with_part(description, "filter_tee", extra_ports=("filter", "attitude", "heading", "short"))
    line = replace(SUCTION.lines[0], id="short_hose", start="filter_tee.short", end="manifold.short")
    found = check(replace(description, lines=(*description.lines, line)))
    assert {problem.path for problem in found} >= {"parts[2]", "parts[3]"}
    assert any("but through the gyro" in problem.expected for problem in found)


@pytest.mark.parametrize("side", ["left", "right"])
def test_reversed_check_valve(side: str) -> None:
    description = swapped(TWIN, f"{side}_manifold_hose", "end", f"{side}_pump_hose", "start")
    problem = only(description)
    assert f"{side}_check_valve" in problem.where
    assert "wrong way round" in problem.found


def test_reversed_inline_filter() -> None:
    problem = only(swapped(PRESSURE, "regulator_hose", "end", "firewall_hose", "start"))
    assert "inline_filter" in problem.where
    assert "arrow" in problem.next_step


def test_duplicate_name() -> None:
    found = check(with_line(SUCTION, "filter_hose", id="pump"))
    assert [problem.path for problem in found] == ["parts[6].id"]
    assert "parts[6], lines[0]" in found[0].found


@pytest.mark.parametrize("bad", ["Pump", "2nd", "cabin", "gauge", "", "a b", "x" * 61])
def test_names_that_cannot_be_used(bad: str) -> None:
    found = check(with_line(SUCTION, "filter_hose", id=bad))
    assert [problem.path for problem in found] == ["lines[0].id"]


def test_unknown_kind_is_told_once() -> None:
    problem = only(with_part(SUCTION, "heading", kind="heading indicater"))
    assert problem.path == "parts[3].kind"
    assert 'write "heading indicator"' in problem.next_step


def test_unknown_port_and_unknown_part() -> None:
    found = check(with_line(with_line(SUCTION, "filter_hose", start="filter.clan"), "firewall_hose", end="pmp.inlet"))
    told = {problem.path: problem for problem in found}
    assert 'write "clean"' in told["lines[0].from"].next_step
    assert 'write "pump"' in told["lines[6].to"].next_step


def test_line_to_itself_and_to_its_own_part() -> None:
    found = check(with_line(SUCTION, "filter_hose", start="filter_tee.filter"))
    assert found[0].path == "lines[0].to"
    assert "both ends" in found[0].found
    own_part = check(with_line(SUCTION, "regulator_hose", end="manifold.attitude"))
    assert "both on the same part" in own_part[0].found


def test_two_lines_on_one_port() -> None:
    found = check(with_line(SUCTION, "heading_outlet_hose", end="manifold.attitude"))
    told = {problem.path: problem.found for problem in found}
    assert told["parts[4].attitude"] == "2 lines: attitude_outlet_hose, heading_outlet_hose"


def test_port_both_open_and_joined() -> None:
    problem = only(with_part(SUCTION, "attitude", open={"inlet": "cabin"}))
    assert problem.path == "parts[2].inlet"
    assert problem.found == "a line and open"


def test_port_open_where_it_cannot_be() -> None:
    found = check(with_part(SUCTION, "filter", open={"air": "engine bay"}))
    assert found[0].path == "parts[0].air"
    assert "cabin" in found[0].expected


GAUGES = [
    ("attitude.inlet", "attitude.inlet", "gauge.low", "always read zero"),
    ("manifold.attitude", "manifold.heading", "gauge.low", "always read zero"),
    ("cabin", "filter.air", "gauge.low", "always read zero"),
    ("regulator.gyro_side", "regulator.pump_side", "gauge.low", "always read zero"),
    ("attitude.outlet", "attitude.inlet", "gauge.high", "below zero"),
    ("attitude.outlet", "cabin", "gauge.high", "below zero"),
    ("attitude.outlet", "heading.inlet", "gauge.high", "below zero"),
    ("pump.inlet", "manifold.heading", "gauge.high", "below zero"),
    ("attitude.inlt", "attitude.outlet", "gauge.high", '"attitude.inlt"'),
    ("attitude.inlet", "somewhere", "gauge.low", '"somewhere"'),
]


@pytest.mark.parametrize(("high", "low", "path", "found"), GAUGES)
def test_gauge_ports_that_contradict(high: str, low: str, path: str, found: str) -> None:
    problem = only(replace(SUCTION, gauge=replace(SUCTION.gauge, high=high, low=low)))
    assert problem.path == path
    assert found in problem.found


@pytest.mark.parametrize(
    ("high", "low"),
    [
        ("unknown", "unknown"),
        ("cabin", "pump.inlet"),
        ("attitude.inlet", "heading.outlet"),
        ("heading.outlet", "pump.inlet"),
    ],
)
def test_gauge_ports_that_do_not_contradict(high: str, low: str) -> None:
    assert check(replace(SUCTION, gauge=replace(SUCTION.gauge, high=high, low=low))) == ()


def test_in_pressure_duty_the_cabin_is_the_low_side() -> None:
    assert (
        check(replace(PRESSURE, gauge=replace(PRESSURE.gauge, high="regulator.gyro_side", low="attitude.inlet"))) == ()
    )
    problem = only(replace(PRESSURE, gauge=replace(PRESSURE.gauge, high="cabin", low="attitude.inlet")))
    assert problem.path == "gauge.high"
    upstream = replace(PRESSURE.gauge, high="attitude.inlet", low="regulator.gyro_side")
    assert only(replace(PRESSURE, gauge=upstream)).path == "gauge.high"


def test_wrong_duty_is_recognised_by_the_pump_port() -> None:
    found = check(replace(SUCTION, duty="pressure"))
    assert any("if it is right, the duty is suction" in problem.next_step for problem in found)


def test_pump_with_no_inlet() -> None:
    found = check(with_line(SUCTION, "firewall_hose", end="pump.outlet"))
    assert {"parts[6].inlet", "parts[6].outlet"} <= {problem.path for problem in found}
    blind = Part(id="blind", kind="manifold", extra_ports=("here",))
    description = replace(PRESSURE, parts=(*(p for p in PRESSURE.parts if p.id != "inlet_filter"), blind))
    problem = only(with_line(description, "pump_inlet_hose", start="blind.here"))
    assert problem.path == "parts[0].inlet"
    assert "an inlet from the air" in problem.expected


def test_regulator_not_between_gyros_and_pump() -> None:
    swapped_regulator = swapped(SUCTION, "regulator_hose", "end", "firewall_hose", "start")
    assert "wrong way round" in only(swapped_regulator).found
    aside = with_part(SUCTION, "manifold", extra_ports=("attitude", "heading", "regulator", "pump"))
    aside = replace(aside, parts=(*aside.parts, Part(id="blind", kind="manifold", extra_ports=("here",))))
    aside = with_line(aside, "firewall_hose", start="manifold.pump")
    extra = replace(SUCTION.lines[5], id="aside_hose", start="regulator.pump_side", end="blind.here")
    problem = only(replace(aside, lines=(*aside.lines, extra)))
    assert "parts[5]" in problem.where
    assert "between gyros and pump" in problem.expected


@pytest.mark.parametrize("port", ["manifold.attitude", "attitude.outlet", "regulator.gyro_side"])
def test_a_regulator_may_sense_elsewhere_in_its_own_air(port: str) -> None:
    assert check(with_part(SUCTION, "regulator", senses=port)) == ()


@pytest.mark.parametrize(
    ("port", "expected"),
    [
        ("manifold.atitude", "a port of this aircraft"),
        ("attitude.inlet", "between the pump and the gyros' jets"),
        ("filter.air", "not in the open"),
        ("pump.outlet", "between the pump and the gyros' jets"),
    ],
)
def test_a_sense_line_that_leads_nowhere_useful_is_named(port: str, expected: str) -> None:
    problem = only(with_part(SUCTION, "regulator", senses=port))
    assert problem.path == "parts[5].senses"
    assert expected in problem.expected
    assert port in problem.found


def test_a_second_sense_line_is_refused() -> None:
    """Each could hold the other open or shut, so there might be two answers."""
    twin = make("pressure-twin-pumps")
    names = [part.id for part in twin.parts_of("regulator")]
    for name in names:
        twin = with_part(twin, name, senses="manifold.attitude")
    problem = only(twin)
    assert names[1] in problem.where and "at most one regulator" in problem.expected


def test_air_it_admits_from_the_air_it_regulates_is_refused() -> None:
    """The proof of one answer needs the regulator's own air apart."""
    sensing = with_part(PRESSURE, "regulator", senses="manifold.attitude", open={})
    sensing = with_part(sensing, "manifold", extra_ports=(*PRESSURE.part("manifold").extra_ports, "back"))
    back = replace(PRESSURE.lines[-1], id="back_hose", start="regulator.air", end="manifold.back")
    problem = only(replace(sensing, lines=(*sensing.lines, back)))
    assert "apart from the air it regulates" in problem.expected


@pytest.mark.parametrize("kind", ["regulator", "pump"])
def test_a_system_needs_its_parts(kind: str) -> None:
    description = replace(SUCTION, parts=tuple(part for part in SUCTION.parts if part.kind != kind))
    assert any(problem.path == "parts" and kind in problem.expected for problem in check(description))


IMPOSSIBLE = [
    ("firewall_hose", "length", 0.0),
    ("firewall_hose", "length", -1.0),
    ("firewall_hose", "bore", 0.5),
    ("firewall_hose", "elbows", -1.0),
    ("pump", "displacement", 0.0),
    ("pump", "drive_ratio", 13.0),
    ("pump", "slip_area", math.nan),
    ("regulator", "setting", math.inf),
    ("regulator", "setting", 0.0),
    ("attitude", "reference_flow", 0.0),
]


@pytest.mark.parametrize(("owner", "field", "number"), IMPOSSIBLE)
def test_impossible_numbers(owner: str, field: str, number: float) -> None:
    problem = only(with_number(SUCTION, owner, field, number))
    assert problem.path.endswith(f".{field}")
    assert owner in problem.where
    assert " from " in problem.expected


def test_numbers_missing_unknown_or_of_another_dimension() -> None:
    pump = SUCTION.part("pump")
    missing = with_part(SUCTION, "pump", values={k: v for k, v in pump.values.items() if k != "drive_ratio"})
    assert only(missing).path == "parts[6].drive_ratio"
    unknown = with_part(SUCTION, "pump", values={**pump.values, "drive_ration": pump.values["drive_ratio"]})
    assert 'write "drive_ratio"' in only(unknown).next_step
    other = with_part(SUCTION, "pump", values={**pump.values, "drive_ratio": pump.values["slip_area"]})
    assert "a ratio" in only(other).expected
    assert only(other).found == "an area"


def test_engine_speeds_and_gauge_band_in_order() -> None:
    engine = SUCTION.engine
    slow = replace(engine, max_rpm=replace(engine.max_rpm, number=1500.0))
    assert {problem.path for problem in check(replace(SUCTION, engine=slow))} == {"engine.max_rpm"}
    gauge = replace(SUCTION.gauge, band_low=SUCTION.gauge.band_high)
    assert only(replace(SUCTION, gauge=gauge)).path == "gauge.band_high"


def test_turn_instrument_agrees_with_the_parts() -> None:
    assert only(replace(SUCTION, turn_instrument="air")).path == "turn_instrument"


@pytest.mark.parametrize(
    ("point", "where"),
    [
        ((-1.0, 0.0, None), "rpm"),
        ((9000.0, 0.0, None), "rpm"),
        ((1000.0, 20000.0, None), "altitude"),
        ((1000.0, 0.0, 500.0), "temperature"),
        ((math.nan, 0.0, None), "rpm"),
    ],
)
def test_operating_points_out_of_range(point: tuple[float, float, float | None], where: str) -> None:
    (problem,) = check_operating_point(*point)
    assert problem.where == where


def test_operating_points_within_range() -> None:
    assert check_operating_point(0.0) == ()
    assert check_operating_point(2700.0, 5500.0, 250.0) == ()


def test_refusing_tells_everything() -> None:
    description = with_number(with_part(SUCTION, "pump", kind="pmup"), "firewall_hose", "length", 0.0)
    with_two = with_number(description, "filter_hose", "bore", 1.0)
    with pytest.raises(InputError) as caught:
        refuse_unsound(with_two)
    assert {p.path for p in caught.value.problems} >= {"parts[6].kind", "lines[6].length", "lines[0].bore"}


def test_remarks_are_no_problems() -> None:
    assert [remark.path for remark in remarks(SUCTION)] == ["duty_confirmed"]
    description = replace(SUCTION, duty_confirmed=True, also_fitted=("standby source",))
    (remark,) = remarks(description)
    assert remark.path == "also_fitted"
    assert "not computed" in remark.found
    assert check(description) == ()
    unfiltered = compose(Choices(duty="pressure", inline_filter=False), "x")
    assert any("inline filter" in remark.expected for remark in remarks(unfiltered))
