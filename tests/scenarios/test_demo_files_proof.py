"""The files that ship with the demo, through trace, plan and proof: the conclusions the case was written for."""

from __future__ import annotations

import datetime
from importlib import resources

import pytest

from vanewise.aircraft.reading import read_description
from vanewise.contamination import BarrierFinding, FrontFinding, SheddingEvent, trace
from vanewise.groundrun import judge, predict
from vanewise.groundrun.reading import read_ground_run
from vanewise.quantities import M_PER_FT, PA_PER_INHG
from vanewise.work.plan import plan

DEMO = resources.files("vanewise.demo")


def text(name):
    return DEMO.joinpath(name).read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def club():
    return read_description(text("d1_club_aircraft.toml"), "d1")


@pytest.fixture(scope="module")
def retractable():
    return read_description(text("d2_pressure.toml"), "d2")


def line_at(description, port):
    return next(line.id for line in description.lines if port in (line.start, line.end))


def test_the_hose_at_the_pump_is_well_inside_the_reach_of_the_stop(club):
    """1.83 m at 5,500 ft by hand with 1.8 L; the described lines and remembered case volumes give that within 10 %."""
    stop = SheddingEvent(part="pump", kind="stop", altitude_m=5500.0 * M_PER_FT, suction_pa=4.9 * PA_PER_INHG)
    scope = trace(club, None, stop)
    hose = next(line for line in club.lines if line.id == line_at(club, "pump.inlet"))
    assert scope.reaches[0].length_m == pytest.approx(1.83, rel=0.10)
    assert hose.values["length"].number < scope.reaches[0].length_low_m < scope.reach_upper_m
    assert {hose.id, "regulator", "manifold", "attitude", "heading"} <= set(scope.suspect_ids)


def test_clean_cloth_in_both_outlet_hoses_spares_both_gyros_and_the_plan_leaves_them_in(club):
    stop = SheddingEvent(part="pump", kind="stop", altitude_m=5500.0 * M_PER_FT, suction_pa=4.9 * PA_PER_INHG)
    ends = tuple(
        FrontFinding(
            line=line_at(club, f"{gyro}.outlet"), clean_from_m=0.3, proof="white cloth, port clean on the scope"
        )
        for gyro in ("attitude", "heading")
    )
    scope = trace(club, None, stop, findings=ends)
    assert {"attitude", "heading"}.isdisjoint(scope.suspect_ids)
    package = plan(club, "debris_left_in_lines", scope, today=datetime.date(2025, 2, 23), place="pump")
    assert not any(task.id.endswith("-out") for task in package.tasks)
    assert any("pump-on" in gate.before and "suspects closed" in gate.title for gate in package.gates)


@pytest.mark.parametrize(("name", "overall"), [("first", "fail"), ("second", "pass")])
def test_first_ground_run_fails_above_the_band_and_the_second_passes(club, name, overall):
    run = read_ground_run(text(f"d1_ground_run_{name}.toml"), name)
    altitude = club.field.elevation.number if run.altitude_m is None else run.altitude_m
    rpms = sorted({reading.engine_rpm for reading in run.readings if reading.what == "gauge"})
    prediction = predict(
        club,
        altitude_m=altitude,
        temperature_k=run.temperature_k,
        rpms=rpms,
        baseline=run.baseline,
        changed=run.changed,
        gauge_proved_pa=run.gauge_proved_pa,
    )
    verdict = judge(prediction, run.readings)
    assert verdict.overall == overall, [point for point in verdict.points if point.verdict != "pass"]
    if overall == "fail":
        failed = [point for point in verdict.points if point.verdict == "fail"]
        assert any(point.what == "gauge at 2400 rpm" and point.margin.startswith("stop") for point in failed)


def test_the_bypassed_inline_filter_puts_both_gyros_of_the_retractable_on_the_list(retractable):
    bypassed = BarrierFinding(part="inline_filter", state="breached", note="dark track past the pinched end seal")
    events = (SheddingEvent(part="pump", kind="running"), SheddingEvent(part="pump", kind="stop"))
    scope = trace(retractable, None, *events, findings=(bypassed,))
    assert {"attitude", "heading", "regulator", "inline_filter", "inlet_filter"} <= set(scope.suspect_ids)
    package = plan(retractable, "worn_vanes", scope, today=datetime.date(2024, 12, 14), place="pump")
    ids = {task.id for task in package.tasks}
    assert {"attitude-out", "heading-out", "filters", "hoses", "pump-off"} <= ids
