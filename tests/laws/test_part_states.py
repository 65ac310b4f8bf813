"""What wear, speed, heat, dirt and collapse do to the parts of a solved system: direction, limits, monotone.

Slip of the pump is an orifice from its delivery to its inlet. So its share of what the pump sweeps grows with wear and
with what the pump works against, falls with speed, and grows with the root of the temperature. Viscosity does not
enter: it is taken as a hole, not as a film.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vanewise.aircraft.layouts import make
from vanewise.network import NotSolved, OperatingPoint, PackedNetwork, Solved, gauge_ports, oracle, pack, solve
from vanewise.network.elements import GAS_R, NOZZLE_B, NOZZLE_K

SUCTION, PRESSURE = "suction-one-pump", "pressure-one-pump"
NAMES = (SUCTION, PRESSURE)
FEW = settings(max_examples=8)
points = st.builds(OperatingPoint, engine_rpm=st.floats(600.0, 2600.0), altitude_m=st.floats(0.0, 4000.0))
ROUNDING = 1e-6


@cache
def packed(name: str) -> PackedNetwork:
    return pack(make(name))


def solved(name: str, point: OperatingPoint, **states: float) -> Solved:
    answer = solve(packed(name), point, {key.replace("__", "."): value for key, value in states.items()})
    assert not isinstance(answer, NotSolved)
    return answer


def slip_share(name: str, point: OperatingPoint, **states: float) -> float:
    flow = solved(name, point, **states).flow_kg_s
    return flow["pump.slip"] / flow["pump"]


def reading(name: str, point: OperatingPoint, **states: float) -> float:
    high, low = gauge_ports(packed(name).description)
    pressure = {**(answer := solved(name, point, **states)).pressure_pa, "cabin": answer.ambient_pa}
    return pressure[high] - pressure[low]


@pytest.mark.parametrize("name", NAMES)
@FEW
@given(point=points, wear=st.floats(0.3, 15.0), more=st.floats(1.05, 3.0))
def test_wear_takes_a_larger_share(name: str, point: OperatingPoint, wear: float, more: float):
    assert slip_share(name, point, pump__slip=wear * more) >= slip_share(name, point, pump__slip=wear) - ROUNDING


@pytest.mark.parametrize("name", NAMES)
@FEW
@given(rpm=st.floats(1500.0, 2200.0), faster=st.floats(1.05, 1.25), wear=st.floats(0.5, 5.0))
def test_speed_takes_a_smaller_share(name: str, rpm: float, faster: float, wear: float):
    """On the plateau, where what the pump works against hardly changes: the hole stays, the sweep grows."""
    slow, fast = (OperatingPoint(engine_rpm=n) for n in (rpm, rpm * faster))
    assert slip_share(name, fast, pump__slip=wear) < slip_share(name, slow, pump__slip=wear)


@FEW
@given(point=points, loading=st.floats(1.0, 50.0), more=st.floats(1.1, 10.0))
def test_what_it_works_against_takes_a_larger_share(point: OperatingPoint, loading: float, more: float):
    """In suction duty a clogged central filter raises the pump's pressure ratio."""
    less, greater = (slip_share(SUCTION, point, filter__loading=n) for n in (loading, loading * more))
    assert greater >= less - 1e-4


@given(kelvin=st.floats(230.0, 400.0), hotter=st.floats(1.01, 1.3), ratio=st.floats(1.05, 3.0))
def test_heat_takes_a_larger_share_at_the_same_pressures(kelvin: float, hotter: float, ratio: float):
    """A hole passes less by the root of the temperature, a swept volume by all of it: the share grows by the root."""
    inlet, swept, area = np.array([[8e4]]), np.array([[[1.5e-6]]]), 4e-6
    shares = []
    for t in (kelvin, kelvin * hotter):
        slip = oracle.orifice(np.array([[NOZZLE_K * area / t**0.5]]), np.array([[NOZZLE_B]]), ratio * inlet, inlet)[0]
        shares.append((slip / oracle.pump(swept, np.array([[1500.0]]), 1.0 / (GAS_R * t), inlet)[0]).item())
    assert shares[1] / shares[0] == pytest.approx(hotter**0.5, rel=1e-9)


@pytest.mark.parametrize("name", NAMES)
@FEW
@given(point=points, open_share=st.floats(0.02, 1.0), further=st.floats(0.1, 0.95))
def test_a_collapsing_hose_never_helps(name: str, point: OperatingPoint, open_share: float, further: float):
    hose = "regulator_hose"
    states = [{f"{hose}.open_fraction": share} for share in (open_share, open_share * further)]
    high, low = ("attitude.inlet", "attitude.outlet")
    drops = []
    for state in states:
        answer = solve(packed(name), point, state)
        assert isinstance(answer, Solved)
        drops.append(answer.pressure_pa[high] - answer.pressure_pa[low])
    # The regulator may give back what a hose beyond its port takes, never more.
    assert drops[1] <= drops[0] + (0.5 if name == PRESSURE else 250.0)


@pytest.mark.parametrize("name", NAMES)
@FEW
@given(point=points)
def test_a_blocked_filter_leaves_nothing(name: str, point: OperatingPoint):
    key = "filter__loading" if name == SUCTION else "inline_filter__loading"
    new, blocked = solved(name, point), solved(name, point, **{key: 1e5})
    for gyro in ("attitude", "heading"):
        assert abs(blocked.flow_kg_s[gyro]) < 0.1 * new.flow_kg_s[gyro]


@pytest.mark.parametrize("name", NAMES)
@FEW
@given(rpm=st.floats(1500.0, 2600.0))
def test_each_fault_of_the_regulator_moves_the_reading_its_own_way(name: str, rpm: float):
    """Dirt on the seat and stuck open lower it, stuck shut and a clogged filter of its own raise it, droop tilts it."""
    point = OperatingPoint(engine_rpm=rpm)
    sound = reading(name, point)
    (
        dirty,
        open_,
    ) = reading(name, point, regulator__held_open=8.0), reading(name, point, regulator__stuck_open=1.0)
    assert open_ < dirty < sound
    shut, clogged = (
        reading(name, point, regulator__stuck_shut=1.0),
        reading(name, point, regulator__filter_loading=300.0),
    )
    assert shut >= clogged - 1.0 and clogged > sound
    stiff = [reading(name, OperatingPoint(engine_rpm=n), regulator__droop=100.0) for n in (rpm, rpm * 1.1)]
    soft = [reading(name, OperatingPoint(engine_rpm=n), regulator__droop=8000.0) for n in (rpm, rpm * 1.1)]
    assert soft[1] - soft[0] > stiff[1] - stiff[0] >= -1.0


@pytest.mark.parametrize("name", NAMES)
def test_stuck_open_is_its_whole_passage_and_stuck_shut_wins(name: str):
    point = OperatingPoint(engine_rpm=2000.0)
    area_mm2 = packed(name).owners["regulator"].values["flow_area"] * 1e6
    stuck = reading(name, point, regulator__stuck_open=1.0)
    # The same as so much dirt with the valve itself kept shut.
    held = reading(name, point, regulator__held_open=area_mm2, regulator__stuck_shut=1.0)
    assert stuck == pytest.approx(held, abs=0.1)
    both = reading(name, point, regulator__stuck_open=1.0, regulator__stuck_shut=1.0)
    assert both == pytest.approx(reading(name, point, regulator__stuck_shut=1.0), abs=0.1)
