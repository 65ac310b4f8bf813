"""Hose ends on other ports: what is taken to sit where, and what the solved system then does."""

from __future__ import annotations

import pytest

from vanewise.aircraft import layouts
from vanewise.aircraft.description import AircraftDescription
from vanewise.errors import InputError
from vanewise.jobs.miswiring import words
from vanewise.network import OperatingPoint, cases, mass_imbalance, pack, solve_batch
from vanewise.network.miswire import Compared, compare, swapped, swaps_by_reading, wired

CRUISE = (2400.0,)


@pytest.fixture(scope="module")
def suction() -> AircraftDescription:
    return layouts.make("suction-one-pump")


def one(right: AircraftDescription, found: AircraftDescription) -> Compared:
    (point,) = compare(right, found, CRUISE)
    assert point.solved
    return point


def test_a_hose_turned_end_for_end_changes_nothing(suction: AircraftDescription):
    line = next(line for line in suction.lines if line.id == "firewall_hose")
    found = swapped(suction, (line.id, line.start), (line.id, line.end))
    point = one(suction, found)
    assert point.gauge_inhg[1] == pytest.approx(point.gauge_inhg[0], abs=1e-4)
    assert (point.backwards, point.unfiltered) == ((), ())


def test_a_swap_taken_back_is_the_right_system(suction: AircraftDescription):
    first, second = ("firewall_hose", "pump.inlet"), ("outlet_elbow", "pump.outlet")
    found = swapped(suction, first, second)
    assert found != suction
    assert swapped(found, ("firewall_hose", "pump.outlet"), ("outlet_elbow", "pump.inlet")) == suction


def test_pump_ports_swapped_blow_into_the_panel(suction: AircraftDescription):
    """By hand: the pump draws at its inlet and delivers at its outlet, so suction at the panel becomes pressure."""
    found = swapped(suction, ("firewall_hose", "pump.inlet"), ("outlet_elbow", "pump.outlet"))
    point = one(suction, found)
    right, now = point.gauge_inhg
    assert right is not None and now is not None
    assert right > 0 > now
    assert {"attitude", "heading", "filter"} <= set(point.backwards)
    assert set(point.unfiltered) == {"attitude", "heading"}
    # The valve of a suction regulator opens to let air in and cannot let this out: it passes what it was set to hold.
    assert all(abs(drop) > right for _, drop in point.drops_inhg.values())
    # Whatever it is, mass is kept at every junction.
    packed = pack(found, calibrate=False)
    batch = cases([OperatingPoint(engine_rpm=2400.0)])
    solution = solve_batch(packed, batch)
    imbalance = mass_imbalance(packed, batch, solution.pressure_pa, solution.delivery_k)
    assert abs(imbalance).max() < 1e-7, "kg/s; the system passes some 2e-3"


def test_hoses_of_one_gyro_swapped_turn_its_air_round(suction: AircraftDescription):
    found = swapped(suction, ("attitude_inlet_hose", "attitude.inlet"), ("attitude_outlet_hose", "attitude.outlet"))
    point = one(suction, found)
    assert point.backwards == ("attitude",)
    right, now = point.drops_inhg["attitude"]
    assert now == pytest.approx(-right, abs=0.1)


def test_an_open_line_feeds_nothing(suction: AircraftDescription):
    found = wired(suction, {"attitude_outlet_hose": ("attitude.outlet", "cabin")})
    assert found.open_ports == ("manifold.attitude",)
    point = one(suction, found.description)
    assert point.gauge_inhg[1] == pytest.approx(0.0, abs=0.1)
    assert point.drops_inhg["heading"][1] < 1.0


def test_the_second_half_of_a_swap_is_taken_as_such(suction: AircraftDescription):
    found = wired(suction, {"firewall_hose": ("regulator.pump_side", "pump.outlet")})
    assert (found.assumed, found.open_ports, found.shared_ports) == (("outlet_elbow",), (), ())
    assert found.description == swapped(suction, ("firewall_hose", "pump.inlet"), ("outlet_elbow", "pump.outlet"))


def test_two_lines_on_one_port_are_said_to_be(suction: AircraftDescription):
    connections = {line.id: (line.start, line.end) for line in suction.lines}
    connections["attitude_inlet_hose"] = ("filter_tee.attitude", "heading.inlet")
    found = wired(suction, connections)
    assert (found.shared_ports, found.open_ports) == (("heading.inlet",), ("attitude.inlet",))


def test_a_port_that_is_not_there_is_refused(suction: AircraftDescription):
    with pytest.raises(InputError, match="port of this aircraft"):
        wired(suction, {"firewall_hose": ("regulator.pump_side", "pump.side")})


def test_a_swap_no_gauge_shows_says_that_only_the_tags_tell(suction: AircraftDescription):
    found = wired(suction, {"attitude_inlet_hose": ("filter_tee.heading", "attitude.inlet")})
    told = words(suction, found, compare(suction, found.description, CRUISE))
    assert "heading inlet hose is taken to sit" in told[0]
    assert told[-1].startswith("The gauge and the gyros would show nothing")


def test_words_say_what_is_reversed_and_by_how_much(suction: AircraftDescription):
    found = wired(suction, {"attitude_inlet_hose": ("filter_tee.attitude", "attitude.outlet")})
    told = " ".join(words(suction, found, compare(suction, found.description, CRUISE)))
    assert "Air would go through the attitude indicator backwards." in told
    assert "the wrong way round instead of 5.0 inHg" in told


def test_a_swap_is_found_again_from_what_its_gauge_reads():
    """The readings of one exchange, taken from its own solution, lead back to it; the system as mapped does not fit."""
    description = layouts.make("suction-one-pump")
    one, other = ("heading_inlet_hose", "heading.inlet"), ("regulator_hose", "manifold.regulator")
    now = compare(description, swapped(description, one, other), (1000.0, 2400.0))
    read = {point.rpm: point.gauge_inhg[1] for point in now}
    found = swaps_by_reading(description, read)
    assert any({swap.one, swap.other} == {one, other} and swap.off_inhg < 0.01 for swap in found)
    offs = [round(swap.off_inhg, 1) for swap in found]
    assert offs == sorted(offs)
    assert any(not swap.same_bore for swap in found)
