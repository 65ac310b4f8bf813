"""Standby sources and what else lives on the same air: the direction of each, and numbers that can be had by hand."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest

from vanewise.aircraft.layouts import make
from vanewise.aircraft.remarks import remarks
from vanewise.network import OperatingPoint, Solved, pack, solve
from vanewise.network.atmosphere import pressure
from vanewise.quantities import PA_PER_INHG

DEAD = {"pump.stopped": 1.0}


@pytest.fixture(scope="module")
def standby():
    return pack(make("suction-standby-pump"))


@pytest.fixture(scope="module")
def intake():
    return pack(make("suction-standby-intake"))


def drop(packed, states, rpm=2300.0, altitude_m=0.0, gyro="attitude"):
    solved = solve(packed, OperatingPoint(engine_rpm=rpm, altitude_m=altitude_m), states)
    assert isinstance(solved, Solved)
    return (solved.pressure_pa[f"{gyro}.inlet"] - solved.pressure_pa[f"{gyro}.outlet"]) / PA_PER_INHG


def test_a_standby_pump_carries_the_gyros_and_does_not_care_for_engine_speed(standby):
    on = {**DEAD, "standby.running": 1.0}
    assert drop(standby, DEAD) == pytest.approx(0.0, abs=0.01)
    turning, standing = (drop(standby, on, rpm) for rpm in (2300.0, 0.0))
    assert turning > 3.0
    assert standing == pytest.approx(turning, abs=1e-3)


def test_its_swept_flow_is_the_one_that_was_stated(standby):
    """Free flow times the density at its inlet is what it sweeps, slip apart."""
    solved = solve(standby, OperatingPoint(engine_rpm=0.0), {"standby.running": 1.0})
    assert isinstance(solved, Solved)
    density = solved.pressure_pa["standby.inlet"] / (287.05287 * 288.15)
    assert solved.flow_kg_s["standby"] == pytest.approx(standby.neutral("standby.free_flow") * density, rel=1e-4)


def test_the_check_valve_keeps_a_dead_pump_from_feeding_the_standby(standby):
    on = {**DEAD, "standby.running": 1.0}
    assert drop(standby, {**on, "pump_check_valve.stuck_open": 1.0}) < drop(standby, on) - 0.1


def test_an_intake_source_pulls_no_more_than_ambient_is_above_the_intake(intake):
    on = {**DEAD, "standby.selected": 1.0}
    for altitude in (0.0, 1500.0, 3000.0, 4500.0):
        available = (pressure(altitude) - intake.neutral("standby.intake_pressure")) / PA_PER_INHG
        assert drop(intake, on, altitude_m=altitude) <= max(available, 0.0) + 0.01


def test_an_intake_source_fades_with_altitude_and_with_open_throttle(intake):
    on = {**DEAD, "standby.selected": 1.0}
    low, high = (drop(intake, on, altitude_m=altitude) for altitude in (0.0, 4500.0))
    assert low > 3.0 > high
    throttled, open_throttle = (drop(intake, {**on, "standby.intake_pressure": p * PA_PER_INHG}) for p in (15.0, 29.0))
    assert throttled > open_throttle + 1.0
    # Where the intake is above ambient nothing is blown into the gyros.
    assert drop(intake, {**on, "standby.intake_pressure": 40.0 * PA_PER_INHG}) == pytest.approx(0.0, abs=0.01)


def test_boots_on_the_outlet_load_the_pump_and_the_gauge_hardly_sees_it():
    packed = pack(make("suction-outlet-boots"))
    cycle = {"boots_valve.shut": 1.0, "boots.inflating": 1.0}
    rest, filling = (solve(packed, OperatingPoint(engine_rpm=2300.0), states) for states in ({}, cycle))
    assert isinstance(rest, Solved) and isinstance(filling, Solved)
    psi = 6894.757
    assert (rest.pressure_pa["pump.outlet"] - rest.ambient_pa) < 1.0 * psi
    raised = (filling.pressure_pa["pump.outlet"] - filling.ambient_pa) / psi
    assert 3.0 < raised < 21.0
    assert abs(drop(packed, {}) - drop(packed, cycle)) < 0.6
    held = {"boots_valve.shut": 1.0, "boots_relief.stuck_shut": 1.0}
    stuck = solve(packed, OperatingPoint(engine_rpm=2300.0), held)
    assert isinstance(stuck, Solved)
    assert (stuck.pressure_pa["pump.outlet"] - stuck.ambient_pa) / psi > raised


def test_boots_and_a_leaking_seal_take_from_the_gyros_in_pressure_duty():
    packed = pack(make("pressure-boots"))
    assert drop(packed, {"boots.inflating": 1.0}, rpm=1000.0) < drop(packed, {}, rpm=1000.0) - 0.2
    leaks = [drop(packed, {"door_seal.leak": leak}, rpm=1000.0) for leak in (0.0, 5.0, 20.0)]
    assert (np.diff(leaks) < 0.0).all()


def test_either_of_twin_pressure_pumps_carries_the_gyros_and_no_air_leaves_by_the_dead_one():
    packed = pack(make("pressure-twin-pumps"))
    both = drop(packed, {})
    alone = solve(packed, OperatingPoint(engine_rpm=2300.0), {"left_pump.stopped": 1.0})
    assert isinstance(alone, Solved)
    assert abs(alone.flow_kg_s["left_check_valve"]) < 1e-9
    assert drop(packed, {"left_pump.stopped": 1.0}) == pytest.approx(both, abs=0.6)


def test_relief_valves_set_apart_on_one_manifold_are_told():
    description = make("pressure-twin-pumps")
    assert not any("set alike" in remark.expected for remark in remarks(description))
    left = description.part("left_regulator")
    setting = msgspec.structs.replace(left.values["setting"], number=5.5 * PA_PER_INHG)
    left = msgspec.structs.replace(left, values={**left.values, "setting": setting})
    parts = tuple(left if part.id == left.id else part for part in description.parts)
    (told,) = (r for r in remarks(msgspec.structs.replace(description, parts=parts)) if "set alike" in r.expected)
    assert "left pressure regulator" in told.found and "right pressure regulator" in told.found
