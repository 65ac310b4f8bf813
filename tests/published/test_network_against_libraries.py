"""Air, single lines and a network of lines against ``fluids`` and ``pandapipes`` (see oracles/).

The models are the same where the comparison is tight, and named where they are not: both libraries take friction by
Colebrook; fluids has the acceleration term of isothermal flow, pandapipes leaves it out.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from benches.pipe_network import RPM, pipe_network, without_acceleration
from vanewise.network import OperatingPoint, Solved, atmosphere, pack, solve
from vanewise.network.elements import ideal_nozzle_area, pipe_geometry
from vanewise.network.oracle import orifice, pipe
from vanewise.network.solve import kernel_available
from vanewise.values import ac_43_13_2a, iso_6358


def pipe_flow(inputs: dict[str, float]) -> float:
    geometry = np.array(
        pipe_geometry(inputs["length_m"], inputs["bore_m"], 0.0, inputs["roughness_m"]), dtype=float
    ).reshape(1, 1, -1)
    root_t, viscosity = np.sqrt([[inputs["temperature_k"]]]), np.array([[inputs["viscosity_pa_s"]]])
    high, low = np.array([[inputs["upstream_pa"]]]), np.array([[inputs["downstream_pa"]]])
    return float(pipe(geometry, root_t, viscosity, high, low)[0][0, 0])


def test_standard_atmosphere_against_fluids(oracle: Any):
    """US Standard Atmosphere 1976, geopotential height, -1,000 to 25,000 ft."""
    for case in oracle("standard_atmosphere")["cases"]:
        air = atmosphere.standard(case["inputs"]["geopotential_m"])
        answer = case["answer"]
        assert air.pressure_pa == pytest.approx(answer["pressure_pa"], rel=1e-5)
        assert air.temperature_k == pytest.approx(answer["temperature_k"], abs=1e-3)
        assert air.density_kg_m3 == pytest.approx(answer["density_kg_m3"], rel=1e-5)
        assert air.viscosity_pa_s == pytest.approx(answer["viscosity_pa_s"], rel=1e-4)


def test_turbulent_lines_against_fluids(oracle: Any):
    """Isothermal flow with acceleration, density at the upstream end, Colebrook: the same equation in both.

    Ours takes the acceleration in a fixed number of steps, which shows in short smooth lines at flows that no dry pump
    of this trade moves (Reynolds number above 60,000, some 10 g/s in a 1/2 in line).
    """
    cases = oracle("isothermal_pipe")["cases"]
    usual = [case for case in cases if case["answer"]["reynolds"] < 60_000]
    assert len(usual) > 50
    for case in cases:
        within = 2e-3 if case in usual else 3e-2
        assert pipe_flow(case["inputs"]) == pytest.approx(case["answer"]["mass_flow_kg_s"], rel=within), case


def test_laminar_lines_against_fluids(oracle: Any):
    for case in oracle("laminar_pipe")["cases"]:
        assert pipe_flow(case["inputs"]) == pytest.approx(case["answer"]["mass_flow_kg_s"], rel=1e-3), case


def test_the_acceleration_term_is_held_before_the_choking_point_of_fluids(oracle: Any):
    """Past the choking pressure of isothermal flow the full equation turns back; our law holds its term before it."""
    for case in oracle("isothermal_choking")["cases"]:
        inputs = case["inputs"]
        held_at = float(pipe_geometry(inputs["length_m"], inputs["bore_m"], 0.0, 1.5e-6)[4])
        high, choked = inputs["upstream_pa"], case["answer"]["choking_pa"]
        assert 0.0 < held_at <= (high - choked) / (high + choked)


def test_critical_pressure_ratio_against_fluids(oracle: Any):
    """ISO 6358's ideal nozzle chokes where the isentropic nozzle of a gas with heat ratio 1.4 does."""
    [case] = [case for case in oracle("critical_pressure_ratio")["cases"] if case["inputs"]["heat_ratio"] == 1.4]
    assert iso_6358.IDEAL_NOZZLE_CRITICAL_RATIO.number == pytest.approx(case["answer"]["pressure_ratio"], abs=5e-4)


def test_elbow_allowance_against_fluids(oracle: Any):
    """The one row read of AC 43.13-2A table 11.2 (17.9 bores) is a tight bend: above smooth bends, within a quarter of
    one whose radius is one bore (Rennels), which is as tight as a tube is bent."""
    ours = ac_43_13_2a.ELBOW_LENGTH_OVER_BORE.number
    for case in oracle("elbow")["cases"]:
        theirs = case["answer"]["equivalent_length_bores"]
        assert ours > theirs
        if case["inputs"]["bend_radius_bores"] == 1.0:
            assert ours == pytest.approx(theirs, rel=0.25)


@pytest.mark.parametrize("engine", ["numpy", "kernel"])
def test_a_network_of_lines_against_pandapipes(oracle: Any, engine: str):
    """Twelve pipes with two meshes, friction model Colebrook: every drop and flow within 0.1 %."""
    if engine == "kernel":
        assert kernel_available(), "the compiled solver is part of every check"
    for case in oracle("pipe_network")["cases"]:
        inputs, answer = case["inputs"], case["answer"]
        packed = without_acceleration(pack(pipe_network(inputs, answer), calibrate=False))
        point = OperatingPoint(
            engine_rpm=RPM, temperature_k=inputs["temperature_k"], cabin_temperature_k=inputs["temperature_k"]
        )
        solved = solve(packed, point, engine=engine)
        assert isinstance(solved, Solved)
        for node, theirs in enumerate(answer["pressure_pa"][1:], start=1):
            port = next(port for port in solved.pressure_pa if port.startswith(f"node_{node}."))
            ours = solved.ambient_pa - solved.pressure_pa[port]
            assert ours == pytest.approx(inputs["ambient_pa"] - theirs, rel=1e-3), f"node {node}"
        for number, theirs in enumerate(answer["flow_kg_s"]):
            assert solved.flow_kg_s[f"pipe_{number}"] == pytest.approx(theirs, rel=1e-3), f"pipe {number}"


def test_the_ideal_nozzle_is_within_a_third_of_a_percent_of_the_isentropic_one():
    """Isentropic nozzle, text-book form: m = A p1 sqrt(2k/((k-1) R T) (r^(2/k) - r^((k+1)/k)))."""
    k, p1, t1 = 1.4, 101325.0, 288.15
    conductance = np.array([iso_6358.CHOKED_FLOW_CONSTANT.number * 1e-5 / math.sqrt(t1)])
    critical = np.array([iso_6358.IDEAL_NOZZLE_CRITICAL_RATIO.number])
    for drop_inhg in (1.0, 2.0, 4.0, 5.0, 8.0, 12.0):
        p2 = p1 - drop_inhg * 3386.389
        r = p2 / p1
        theirs = 1e-5 * p1 * math.sqrt(2 * k / ((k - 1) * 287.05287 * t1) * (r ** (2 / k) - r ** ((k + 1) / k)))
        ours = float(orifice(conductance, critical, np.array([p1]), np.array([p2]))[0][0])
        assert ours == pytest.approx(theirs, rel=3.3e-3)
        flow = theirs / 1.225
        assert float(ideal_nozzle_area(flow, p1 - p2)) == pytest.approx(1e-5, rel=3.3e-3)
