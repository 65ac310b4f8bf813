"""What every flow law and every solved network must do, whatever the numbers (Hypothesis).

Flow follows the pressure difference, nothing flows without one, more pressure upstream never means less flow and more
downstream never more. That is what makes a network's solution the only one; the slopes have to be the true ones for
the solver to find it, so each is held against a difference quotient.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from vanewise.aircraft.layouts import layouts, make
from vanewise.network import (
    NotSolved,
    OperatingPoint,
    PackedNetwork,
    Solved,
    cases,
    gauge_reading,
    mass_imbalance,
    observe,
    oracle,
    pack,
    solve,
    solve_batch,
)
from vanewise.network.elements import NOZZLE_K, filter_coefficients, passage, pipe_geometry
from vanewise.network.packed import INTAKE

Floats = NDArray[np.float64]
OneLaw = Callable[[float, float], tuple[float, float, float]]
NAMES = sorted(layouts())
FEW = ("pressure-one-pump", "suction-one-pump", "suction-twin-pumps")
"""Where what is asked hangs on duty and pumps alone; every layout's balance is looked at all the same."""
TWO_WAY = ("orifice", "pipe", "filter")
LAWS = (*TWO_WAY, "valve", "pump")

pressures = st.floats(2e3, 2.5e5)
temperatures = st.floats(220.0, 380.0)


def cell(*numbers: float) -> Floats:
    return np.array(numbers, float).reshape(1, 1, -1)


def one(number: float) -> Floats:
    return np.array([[number]])


def viscosity(temperature: float) -> float:
    return float(1.458e-6 * temperature**1.5 / (temperature + 110.4))


@st.composite
def law_of(draw: st.DrawFn, kind: str) -> OneLaw:
    """One branch of that law with drawn numbers, as a function of its two end pressures."""
    kelvin = draw(temperatures)
    root = one(kelvin**0.5)
    conductance = one(NOZZLE_K * draw(st.floats(1e-10, 5e-4)) / kelvin**0.5)
    if kind == "orifice":
        critical = one(draw(st.floats(0.2, 0.55)))
        return lambda a, b: plain(oracle.orifice(conductance, critical, one(a), one(b)))
    if kind == "pipe":
        bore = draw(st.floats(0.003, 0.03))
        line = cell(*pipe_geometry(draw(st.floats(0.02, 5.0)), bore, draw(st.integers(0, 6)), draw(st.floats(0, 2e-4))))
        return lambda a, b: plain(oracle.pipe(line, root, one(viscosity(kelvin)), one(a), one(b)))
    if kind == "filter":
        laminar, inertial = filter_coefficients(draw(st.floats(1e-4, 0.01)), draw(st.floats(20.0, 5000.0)))
        times = draw(st.floats(0.1, 1e5))
        element = cell(laminar * times, inertial * times, 1.0)
        factor = one(0.5 / (287.05287 * kelvin))
        return lambda a, b: plain(oracle.filter_element(element, factor, one(viscosity(kelvin)), one(a), one(b)))
    if kind == "valve":
        ramp = cell(*passage(1.0), draw(st.floats(0.0, 3e4)), draw(st.floats(5.0, 5e3)))
        return lambda a, b: plain(oracle.valve(conductance, ramp, one(a), one(b)))
    swept = cell(draw(st.floats(1e-7, 1e-5)))
    rpm, gas = one(draw(st.floats(0.0, 3500.0))), one(1.0 / (287.05287 * kelvin))
    return lambda a, b: plain(oracle.pump(swept, rpm, gas, one(a)))


def plain(flow: tuple[Floats, Floats, Floats]) -> tuple[float, float, float]:
    return float(flow[0].item()), float(flow[1].item()), float(flow[2].item())


@pytest.mark.parametrize("kind", [kind for kind in LAWS if kind != "pump"])
@given(data=st.data(), a=pressures, b=pressures)
def test_flow_follows_the_pressure_difference(kind: str, data: st.DataObject, a: float, b: float):
    m, _, _ = data.draw(law_of(kind))(a, b)
    assert m * (a - b) >= 0.0
    if kind in TWO_WAY and abs(a - b) > 1.0:
        assert m != 0.0


@pytest.mark.parametrize("kind", [kind for kind in LAWS if kind != "pump"])
@given(data=st.data(), a=pressures)
def test_nothing_flows_without_a_difference(kind: str, data: st.DataObject, a: float):
    law = data.draw(law_of(kind))
    beside = abs(law(a, a * (1.0 - 1e-6))[0])
    assert abs(law(a, a)[0]) <= max(1e-4 * beside, 1e-15)


@pytest.mark.parametrize("kind", LAWS)
@given(data=st.data(), a=pressures, b=pressures, more=st.floats(1e-3, 5e4))
def test_never_less_from_more_upstream_nor_more_against_more_downstream(
    kind: str, data: st.DataObject, a: float, b: float, more: float
):
    law = data.draw(law_of(kind))
    m, d_a, d_b = law(a, b)
    rounding = 1e-12 * max(abs(m), 1e-9)
    assert law(a + more, b)[0] >= m - rounding
    assert law(a, b + more)[0] <= m + rounding
    assert d_a >= 0.0 >= d_b


@pytest.mark.parametrize("kind", TWO_WAY)
@given(data=st.data(), a=pressures, b=pressures)
def test_both_ways_alike(kind: str, data: st.DataObject, a: float, b: float):
    law = data.draw(law_of(kind))
    there, back = law(a, b), law(b, a)
    assert there[0] == pytest.approx(-back[0], rel=1e-12, abs=1e-18)
    if a != b:
        assert there[1] == pytest.approx(-back[2], rel=1e-9, abs=1e-18)


@pytest.mark.parametrize("kind", LAWS)
@given(data=st.data(), a=pressures, b=pressures)
def test_the_slopes_are_those_of_the_flow(kind: str, data: st.DataObject, a: float, b: float):
    """Where a law has a corner inside the step, its slope lies between the one-sided quotients.

    The laminar part of a wide filter may end within a hundredth of a pascal: only small steps tell then.
    """
    law = data.draw(law_of(kind))
    m, d_a, d_b = law(a, b)
    rounding = 1e-4 * abs(m) / min(a, b) + 1e-17

    def agrees(slope: float, up: float, down: float) -> bool:
        for step in (1e-5 * min(a, b), 1e-7 * min(a, b), 1e-9 * min(a, b)):
            ahead = (law(a + up * step, b + down * step)[0] - m) / step
            behind = (m - law(a - up * step, b - down * step)[0]) / step
            room = 2e-3 * max(abs(ahead), abs(behind)) + rounding
            if min(ahead, behind) - room <= slope <= max(ahead, behind) + room:
                return True
        return False

    assert agrees(d_a, 1.0, 0.0)
    assert agrees(d_b, 0.0, 1.0)


@given(data=st.data(), a=pressures, b=pressures)
def test_a_valve_lets_nothing_back(data: st.DataObject, a: float, b: float):
    assert data.draw(law_of("valve"))(min(a, b), max(a, b))[0] == 0.0


@cache
def network(name: str) -> PackedNetwork:
    return pack(make(name))


def pump_of(name: str) -> str:
    return make(name).parts_of("pump")[0].id


def filter_of(name: str) -> str:
    """The filter that all air to the instruments comes through; empty where each has its own."""
    parts = {part.id for part in make(name).parts}
    return next((wanted for wanted in ("filter", "inlet_filter", "inline_filter") if wanted in parts), "")


def leak_keys(name: str) -> list[str]:
    """Leaks downstream of the instruments (in suction) or upstream of them (in pressure duty)."""
    packed = network(name)
    inner = ("manifold.leak", "regulator_hose.leak", "firewall_hose.leak", "attitude_inlet_hose.leak")
    outer = ("manifold.leak", "regulator_hose.leak", "attitude_outlet_hose.leak", "heading_outlet_hose.leak")
    wanted = inner if packed.description.duty == "pressure" else outer
    return [key for key in wanted if key in packed.override_keys]


def readings(name: str, points: list[OperatingPoint], states: list[dict[str, float]]) -> Floats:
    packed = network(name)
    batch = cases(points, states)
    solution = solve_batch(packed, batch, "numpy")
    assert (solution.status != 3).all()
    return np.asarray(gauge_reading(packed, solution.pressure_pa))


points = st.builds(OperatingPoint, engine_rpm=st.floats(500.0, 2800.0), altitude_m=st.floats(0.0, 5000.0))
READ_PA = 0.2
"""Readings are not told apart closer than this [Pa]."""


@pytest.mark.parametrize("name", NAMES)
@given(point=points, slip=st.floats(0.3, 20.0), leak=st.floats(0.0, 100.0), jet=st.floats(0.05, 2.0))
def test_mass_closes_at_every_junction(name: str, point: OperatingPoint, slip: float, leak: float, jet: float):
    packed = network(name)
    states = {f"{pump_of(name)}.slip": slip, "manifold.leak": leak, "attitude.jet_fraction": jet}
    batch = cases([point], states)
    solution = solve_batch(packed, batch, "numpy")
    assert solution.status[0] != 3
    assert np.abs(mass_imbalance(packed, batch, solution.pressure_pa, solution.delivery_k)).max() < 1e-8


@pytest.mark.parametrize("name", FEW)
@given(data=st.data(), point=points, sizes=st.tuples(st.floats(0.0, 200.0), st.floats(0.0, 200.0)))
def test_a_bigger_leak_never_raises_the_reading(
    name: str, data: st.DataObject, point: OperatingPoint, sizes: tuple[float, float]
):
    key = data.draw(st.sampled_from(leak_keys(name)))
    small, large = sorted(sizes)
    less, more = readings(name, [point] * 2, [{key: small}, {key: large}])
    assert more <= less + READ_PA


@pytest.mark.parametrize("name", FEW)
@given(point=points, sizes=st.tuples(st.floats(0.1, 50.0), st.floats(0.1, 50.0)))
def test_more_pump_slip_never_raises_the_reading(name: str, point: OperatingPoint, sizes: tuple[float, float]):
    key = f"{pump_of(name)}.slip"
    tight, worn = sorted(sizes)
    less, more = readings(name, [point] * 2, [{key: tight}, {key: worn}])
    assert more <= less + READ_PA


@pytest.mark.parametrize("name", FEW)
@given(point=points, sizes=st.tuples(st.floats(1.0, 1e5), st.floats(1.0, 1e5)))
def test_a_blocked_filter_never_raises_the_drop_across_a_gyro(
    name: str, point: OperatingPoint, sizes: tuple[float, float]
):
    key, packed = f"{filter_of(name)}.loading", network(name)
    batch = cases([point] * 2, [{key: size} for size in sorted(sizes)])
    drops = observe(packed, batch, solve_batch(packed, batch, "numpy")).drop_pa
    for gyro, (cleaner, dirtier) in drops.items():
        assert dirtier <= cleaner + READ_PA, gyro


@pytest.mark.parametrize("name", NAMES)
@given(point=points)
def test_stopped_pumps_leave_no_suction_or_pressure(name: str, point: OperatingPoint):
    stopped = {f"{pump.id}.stopped": 1.0 for pump in make(name).parts_of("pump")}
    packed = network(name)
    solved = solve(packed, point, stopped)
    assert isinstance(solved, Solved)
    assert all(
        abs(pressure - solved.ambient_pa) < 0.5 for port, pressure in solved.pressure_pa.items() if port != INTAKE
    )
    assert max(abs(flow) for flow in solved.flow_kg_s.values()) < 1e-6


@pytest.mark.parametrize("name", FEW)
@settings(max_examples=12)
@given(data=st.data())
def test_two_swapped_hose_ends_solve_or_say_so(name: str, data: st.DataObject):
    """Somebody has put two hoses on each other's fittings: an answer with its proof, or none; never a guess."""
    built = make(name)
    first, second = data.draw(st.lists(st.sampled_from(built.lines), min_size=2, max_size=2, unique_by=lambda x: x.id))
    swapped = {
        first.id: msgspec.structs.replace(first, end=second.end),
        second.id: msgspec.structs.replace(second, end=first.end),
    }
    lines = tuple(swapped.get(line.id, line) for line in built.lines)
    packed = pack(msgspec.structs.replace(built, lines=lines), calibrate=False)
    batch = cases([OperatingPoint(engine_rpm=2300.0)])
    answer = solve(packed, OperatingPoint(engine_rpm=2300.0))
    if isinstance(answer, NotSolved):
        assert answer.reason and answer.worst_junction in packed.junction_names
        return
    assert answer.radius_pa < 1.0
    solution = solve_batch(packed, batch, "numpy")
    assert np.abs(mass_imbalance(packed, batch, solution.pressure_pa, solution.delivery_k)).max() < 1e-8
