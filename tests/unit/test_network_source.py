"""Workshop suction with a flow meter, engine off; and the regulator's spring, set as a person sets it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from vanewise.aircraft.layouts import layouts, make
from vanewise.errors import InputError
from vanewise.network import (
    BatchCases,
    OperatingPoint,
    PackedNetwork,
    calibrate_preload,
    cases,
    gauge_reading,
    pack,
    solve_batch,
    source_flow,
    with_source,
    workshop_suction,
)
from vanewise.network.calibrate import regulators
from vanewise.network.source import engine_off, regulator_states
from vanewise.quantities import M3S_PER_CFM, PA_PER_INHG

STANDARD_DENSITY = 1.225
PORT = "manifold.regulator"


def cfm(flow_kg_s: float) -> float:
    return flow_kg_s / STANDARD_DENSITY / M3S_PER_CFM


@pytest.fixture(scope="module")
def suction() -> PackedNetwork:
    return pack(make("suction-one-pump"))


def test_the_meter_reads_what_the_two_instruments_use():
    """AC 43.13-2A table 11.1: 2.30 + 1.30 = 3.60 CFM at 4.00 in. Hg, with lines and filter made so wide that they count
    for nothing."""
    description = make("suction-one-pump")
    packed = pack(description)
    wide = {f"{line.id}.bore": 0.04 for line in description.lines} | {"filter.loading": 0.1}
    flow = workshop_suction(packed, PORT, 4.0 * PA_PER_INHG, {**wide, "filter.missing": 1.0}, regulator="blanked")
    assert cfm(flow) == pytest.approx(3.60, rel=0.01)


def test_a_tight_valve_reads_alike_fitted_covered_and_blanked(suction: PackedNetwork):
    """Below its setting a sound regulator is shut, so covering its intake changes nothing."""
    flows = [
        workshop_suction(suction, PORT, 4.0 * PA_PER_INHG, regulator=how) for how in ("fitted", "covered", "blanked")
    ]
    assert max(flows) - min(flows) < 1e-5 * max(flows)


def test_a_dirty_seat_is_the_difference_that_covering_makes(suction: PackedNetwork):
    """8 mm2 of ideal jet at 4 inHg: about 0.146 cfm a mm2 and root inHg, from 2.30 cfm at 4 inHg through 7.886 mm2."""
    dirty = {"regulator.held_open": 8.0}
    fitted = workshop_suction(suction, PORT, 4.0 * PA_PER_INHG, dirty)
    covered = workshop_suction(suction, PORT, 4.0 * PA_PER_INHG, dirty, regulator="covered")
    sound = workshop_suction(suction, PORT, 4.0 * PA_PER_INHG, regulator="covered")
    assert covered == pytest.approx(sound, rel=1e-4)
    assert cfm(fitted - covered) == pytest.approx(8.0 * 2.30 / 7.886, rel=0.05)


def test_the_engine_is_off_and_its_pump_capped_unless_told(suction: PackedNetwork):
    capped = workshop_suction(suction, PORT, 3.0 * PA_PER_INHG, regulator="blanked")
    through_pump = workshop_suction(suction, PORT, 3.0 * PA_PER_INHG, regulator="blanked", pumps_capped=False)
    assert through_pump > capped


def test_pressure_flows_the_other_way():
    packed = pack(make("pressure-one-pump"))
    assert workshop_suction(packed, "manifold.filter", -3.0 * PA_PER_INHG) < 0.0


def test_too_much_suction_is_refused(suction: PackedNetwork):
    with pytest.raises(InputError, match="spare the instruments"):
        workshop_suction(suction, PORT, 7.0 * PA_PER_INHG)


def test_an_unknown_port_is_refused(suction: PackedNetwork):
    with pytest.raises(InputError, match="manifold"):
        workshop_suction(suction, "manifold.regulato", PA_PER_INHG)


def test_many_scenarios_with_a_source_at_once(suction: PackedNetwork):
    joined = with_source(suction, PORT)
    base = {**engine_off(joined), **regulator_states(joined, "blanked")}
    leaks = np.array([0.0, 2.0, 8.0])
    batch = cases(
        [OperatingPoint(engine_rpm=0.0)] * 3,
        [{**base, "manifold.leak": leak} for leak in leaks],
        source_pa=np.full(3, -4.0 * PA_PER_INHG),
    )
    flow = source_flow(joined, batch, solve_batch(joined, batch, "numpy"))
    single = [
        workshop_suction(suction, PORT, 4.0 * PA_PER_INHG, {"manifold.leak": leak}, regulator="blanked")
        for leak in leaks
    ]
    assert flow == pytest.approx(single, rel=1e-9)
    assert (np.diff(flow) > 0.0).all()


@pytest.mark.parametrize("name", sorted(layouts()))
def test_the_sound_system_reads_its_setting_where_it_is_set(name: str):
    packed = pack(make(name))
    point = OperatingPoint(
        engine_rpm=packed.neutral(f"{regulators(packed)[0]}.set_at_rpm"),
        altitude_m=packed.description.field.elevation.number,
    )
    setting = packed.neutral(f"{regulators(packed)[0]}.setting")
    solution = solve_batch(packed, cases([point]), "numpy")
    # Set to 0.5 Pa, and as much again for what the hot outlet is settled to.
    assert gauge_reading(packed, solution.pressure_pa)[0] == pytest.approx(setting, abs=1.0)


def drawn(packed: PackedNetwork, count: int) -> BatchCases:
    rng = np.random.default_rng(5)
    columns = ("pump.displacement", "firewall_hose.bore", "attitude.reference_flow", "filter.loading")
    values = np.stack(
        [
            packed.neutral(key) * np.exp(rng.normal(0.0, spread, count))
            for key, spread in zip(columns, (0.1, 0.05, 0.1, 0.4), strict=True)
        ],
        axis=1,
    )
    return BatchCases(columns, values, np.full(count, 2400.0), np.full(count, 99000.0), np.full(count, 290.0))


def test_each_drawn_system_gets_the_spring_its_own_gauge_asked_for(suction: PackedNetwork):
    batch = drawn(suction, 40)
    target = np.linspace(4.6, 5.2, 40) * PA_PER_INHG
    preload = calibrate_preload(suction, batch, target, engine="numpy")
    trial = replace(
        batch,
        columns=(*batch.columns, "regulator.preload"),
        values=np.concatenate([batch.values, preload[:, None]], axis=1),
    )
    reading = gauge_reading(suction, solve_batch(suction, trial, "numpy").pressure_pa)
    assert np.abs(reading - target).max() < 0.5


def test_a_pump_too_weak_for_its_setting_leaves_the_spring_at_the_setting(suction: PackedNetwork):
    weak = BatchCases(
        ("pump.displacement_factor",), np.array([[0.3]]), np.array([2400.0]), np.array([99000.0]), np.array([290.0])
    )
    target = 5.0 * PA_PER_INHG
    assert calibrate_preload(suction, weak, target, engine="numpy")[0] == target


def test_a_pump_too_strong_for_its_valve_leaves_no_spring_at_all(suction: PackedNetwork):
    """The valve is open all the way; a spring that pulled it open would be none."""
    strong = BatchCases(
        ("regulator.flow_area",), np.array([[5e-6]]), np.array([2400.0]), np.array([99000.0]), np.array([290.0])
    )
    assert calibrate_preload(suction, strong, 4.0 * PA_PER_INHG, engine="numpy")[0] == 0.0
