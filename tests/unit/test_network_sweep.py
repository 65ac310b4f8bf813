"""A sweep, its shape in three numbers, the lamp, and a gauge whose connection nobody knows."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest

from vanewise.aircraft.layouts import make
from vanewise.errors import InputError
from vanewise.network import OperatingPoint, cases, observe, pack, shape, solve_batch, sweep
from vanewise.quantities import M_PER_FT, PA_PER_INHG


def test_the_knee_is_where_two_lines_cross():
    """4 per 1000 rpm from the origin, then 0.5 per 1000 rpm from (1250, 5): they cross at 1250 rpm."""
    rpms = [700.0, 900.0, 1100.0, 1400.0, 1800.0, 2200.0]
    readings = [0.004 * rpm if rpm < 1250.0 else 5.0 + 0.0005 * (rpm - 1250.0) for rpm in rpms]
    found = shape(rpms, readings)
    assert found is not None
    assert found.knee_rpm == pytest.approx(1250.0, abs=1e-6)
    assert found.slope_inhg_per_1000_rpm == pytest.approx(0.5, abs=1e-9)
    assert found.plateau_inhg == readings[-1]


def test_the_knee_of_the_invented_baseline():
    """Scenario D1 (invented): readings 1.8 3.2 4.1 4.6 4.7 4.9 5.0 have their knee at about 1,280 rpm."""
    found = shape([700, 1000, 1200, 1500, 1800, 2100, 2400], [1.8, 3.2, 4.1, 4.6, 4.7, 4.9, 5.0])
    assert found is not None
    assert found.knee_rpm == pytest.approx(1280.0, abs=20.0)


@pytest.mark.parametrize(
    ("rpms", "readings"),
    [
        ([700, 1000, 1200, 1500], [1.8, 3.2, 4.1, 4.6]),
        ([700, 1000, 1200, 1500, 1800], [1.8, 3.2, float("nan"), 4.6, 4.7]),
        ([700, 1000, 1300, 1600, 1900, 2200], [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]),
        ([700, 1000, 1300, 1600, 1900, 2200], [0.0] * 6),
    ],
    ids=["too few", "too few finite", "no bend", "nothing"],
)
def test_without_a_bend_there_is_no_knee(rpms: list[float], readings: list[float]):
    assert shape(rpms, readings) is None


def test_order_of_readings_does_not_matter():
    rpms = [2400.0, 700.0, 1800.0, 1000.0, 1500.0, 1200.0]
    readings = [5.0, 1.8, 4.7, 3.2, 4.6, 4.1]
    turned = shape(rpms[::-1], readings[::-1])
    assert turned == shape(rpms, readings)


def test_points_stand_in_the_order_asked_and_name_every_part():
    packed = pack(make("suction-one-pump"))
    found = sweep(packed, [2400.0, 700.0], 400 * M_PER_FT)
    assert [point.rpm for point in found.points] == [2400.0, 700.0]
    assert found.points[0].altitude_ft == pytest.approx(400.0, abs=0.5)
    assert {part.id for part in found.points[0].parts} == set(packed.owners)
    for point in found.points:
        assert point.status == "converged" and point.radius_pa is not None and point.radius_pa < 0.1


def test_the_flows_of_a_suction_system_add_up():
    """What the pump moves is what the gyros and the regulator let in; the filter passes what the gyros use."""
    [point] = sweep(pack(make("suction-one-pump")), [2400.0]).points
    flow = {part.id: part.flow_cfm or 0.0 for part in point.parts}
    assert flow["filter"] == pytest.approx(flow["attitude"] + flow["heading"], rel=1e-3)
    assert flow["pump"] == pytest.approx(flow["filter"] + flow["regulator"], rel=1e-3)
    assert flow["attitude"] / flow["heading"] == pytest.approx(2.30 / 1.30, rel=0.05)


def test_a_sweep_says_what_a_batch_says():
    packed = pack(make("pressure-one-pump"))
    batch = cases([OperatingPoint(engine_rpm=1500.0, altitude_m=1000.0)], {"pump.slip": 2.0})
    seen = observe(packed, batch, solve_batch(packed, batch, "numpy"))
    [point] = sweep(packed, [1500.0], 1000.0, states={"pump.slip": 2.0}).points
    assert point.gauge_inhg == pytest.approx(float(seen.gauge_pa[0]) / PA_PER_INHG, abs=1e-9)
    assert point.drops_inhg["heading"] == pytest.approx(float(seen.drop_pa["heading"][0]) / PA_PER_INHG, abs=1e-9)


def test_wear_moves_the_knee_and_the_low_end_before_the_plateau():
    """Trade custom, no source: the reading at 1000 rpm and the knee tell of wear before cruise does."""
    packed = pack(make("suction-one-pump"))
    sound, worn = sweep(packed), sweep(packed, states={"pump.slip": 3.0})
    assert sound.shape is not None and worn.shape is not None
    assert sound.r1000_inhg is not None and worn.r1000_inhg is not None
    assert worn.shape.knee_rpm > sound.shape.knee_rpm + 100.0
    assert sound.r1000_inhg - worn.r1000_inhg > 4.0 * (sound.shape.plateau_inhg - worn.shape.plateau_inhg)


def test_the_lamp_goes_out_where_its_difference_is_reached():
    packed = pack(make("suction-one-pump"))
    found = sweep(packed, [900.0, 1500.0])
    assert found.lamp_out_rpm is not None
    lamp = packed.description.lamp
    assert lamp is not None
    [at] = sweep(packed, [found.lamp_out_rpm]).points
    assert at.gauge_inhg == pytest.approx(lamp.trip.number / PA_PER_INHG, abs=0.05)
    assert [point.lamp_on for point in found.points] == [True, False]


def test_an_unknown_connection_gives_both_curves():
    """Each with its regulator set by its own gauge: both read the setting where it is set."""
    description = make("suction-one-pump")
    unknown = msgspec.structs.replace(
        description, gauge=msgspec.structs.replace(description.gauge, high="unknown", low="unknown")
    )
    rpm = pack(description).neutral("regulator.set_at_rpm")
    found = sweep(unknown, [rpm], description.field.elevation.number)
    other = found.other_connection
    assert other is not None
    assert (found.gauge_high, found.gauge_low) != (other.gauge_high, other.gauge_low)
    setting = pack(description).neutral("regulator.setting") / PA_PER_INHG
    assert found.points[0].gauge_inhg == pytest.approx(setting, abs=0.01)
    assert other.points[0].gauge_inhg == pytest.approx(setting, abs=0.01)
    # Set by the line against the cabin, the gyros get less than that.
    assert other.points[0].drops_inhg["attitude"] < found.points[0].drops_inhg["attitude"]
    assert sweep(description, [rpm]).other_connection is None


@pytest.mark.parametrize(
    ("asked", "where"),
    [
        ({"rpms": [-5.0]}, "engine speed"),
        ({"rpms": [2400.0], "altitude_m": 20000.0}, "altitude"),
        ({"rpms": [2400.0], "temperature_k": 100.0}, "air temperature"),
    ],
)
def test_a_point_out_of_range_is_refused(asked: dict[str, object], where: str):
    with pytest.raises(InputError) as refused:
        sweep(make("suction-one-pump"), **asked)  # type: ignore[arg-type]
    assert refused.value.problems[0].where == where


def test_height_costs_a_suction_system_its_margin():
    """At the same speed the same pump holds less, the higher it is: 5,000 m against the field."""
    packed = pack(make("suction-one-pump"))
    low, high = (sweep(packed, [2400.0], altitude).points[0].gauge_inhg for altitude in (0.0, 5000.0))
    assert low is not None and high is not None
    assert 0.1 < low - high < 1.0
    assert np.isfinite([low, high]).all()
