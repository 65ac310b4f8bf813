"""Laws of the proof: bands that hold what they promise, verdicts that do not depend on the order of readings."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanewise.aircraft.layouts import make
from vanewise.diagnosis import sampling
from vanewise.diagnosis.solving import point_at, tapped, taps
from vanewise.groundrun import GroundRunPlan, GroundRunReading, TestPoint, judge, predict, rest_deg
from vanewise.groundrun.conditioning import DIMENSIONS, Solver, as_read, gauge_errors
from vanewise.network import pack
from vanewise.network.solve import best_engine
from vanewise.quantities import PA_PER_INHG

INHG = PA_PER_INHG


@pytest.mark.parametrize("layout", ["suction-one-pump", "pressure-one-pump"])
def test_the_band_holds_as_many_fresh_sound_aircraft_as_it_promises(layout):
    """Aircraft drawn anew, with gauge and reading errors: 98 % inside at each point, give or take sampling."""
    description = make(layout)
    rpms = (1000.0, 1500.0, 2400.0)
    plan = predict(description, altitude_m=100.0, rpms=rpms, seed=1)
    packed = pack(description)
    errors = gauge_errors(packed, None)
    solver = Solver(packed=packed, changed=frozenset(), engine=best_engine(), errors=errors)
    z = sampling.normals(sampling.uniforms(512, DIMENSIONS, 987654))
    points = [point_at(rpm, 100.0, plan.temperature_k) for rpm in rpms]
    true = tapped(solver.pressures(z, points), taps(packed, None, None))
    noise = np.random.default_rng(5).normal(size=true.shape)
    reading = as_read(true, z, errors) + noise * np.hypot(errors.read_pa, 0.02 * true)
    for at, point in enumerate(plan.points):
        inside = np.mean((reading[:, at] >= point.low_pa) & (reading[:, at] <= point.high_pa))
        assert 0.955 < inside < 0.998, f"{inside:.3f} at {point.engine_rpm}"


PLAN = GroundRunPlan(
    points=tuple(
        TestPoint(engine_rpm=rpm, low_pa=low * INHG, high_pa=high * INHG, middle_pa=(low + high) / 2 * INHG)
        for rpm, low, high in ((1000.0, 2.6, 3.6), (2400.0, 4.5, 5.6))
    ),
    altitude_m=0.0,
    temperature_k=288.0,
    band_low_pa=4.6 * INHG,
    band_high_pa=5.2 * INHG,
    lamp_rpm_low=None,
    lamp_rpm_high=None,
    cautions=(),
    basis=(),
)

readings = st.lists(
    st.tuples(st.sampled_from([1000.0, 1800.0, 2400.0]), st.floats(0.0, 8.0), st.sampled_from(["rising", "falling"])),
    max_size=8,
)


def as_readings(entries):
    return tuple(
        GroundRunReading(id=str(number), what="gauge", engine_rpm=rpm, value=inhg * INHG, direction=direction)
        for number, (rpm, inhg, direction) in enumerate(entries)
    )


@given(readings, st.randoms())
def test_the_order_of_readings_does_not_matter(entries, random):
    taken = list(as_readings(entries))
    before = judge(PLAN, taken).overall
    random.shuffle(taken)
    assert judge(PLAN, taken).overall == before


@given(readings, st.sampled_from([1000.0, 1800.0, 2400.0]), st.floats(5.3, 12.0))
def test_one_reading_above_the_band_fails_any_run(entries, rpm, inhg):
    high = GroundRunReading(id="high", what="gauge", engine_rpm=rpm, value=inhg * INHG)
    assert judge(PLAN, (*as_readings(entries), high)).overall == "fail"


@given(readings)
def test_more_readings_never_turn_a_failed_run_into_a_good_one(entries):
    taken = as_readings(entries)
    if taken and judge(PLAN, taken[:-1]).overall == "fail":
        failed = {point.what for point in judge(PLAN, taken[:-1]).points if point.verdict == "fail"}
        still = {point.what for point in judge(PLAN, taken).points if point.verdict == "fail"}
        # Another falling reading can average out the difference between rising and falling, and nothing else.
        assert failed - {"rising against falling"} <= still


@given(st.floats(-89.0, 89.0), st.floats(1.0, 60.0), st.floats(-30.0, 30.0))
def test_north_and_south_mirror_each_other(latitude, minutes, drift):
    assert rest_deg(drift, minutes, latitude) == pytest.approx(-rest_deg(-drift, minutes, -latitude), abs=1e-9)
