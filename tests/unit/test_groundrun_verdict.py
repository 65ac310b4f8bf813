"""Pass, fail and not shown, point by point, on a hand-written plan."""

from __future__ import annotations

import msgspec
import pytest

from vanewise.errors import InputError
from vanewise.groundrun import GroundRunPlan, GroundRunReading, TestPoint, judge, rest_deg
from vanewise.groundrun.drift import transport_rate_deg_h
from vanewise.quantities import PA_PER_INHG

INHG = PA_PER_INHG


def point(rpm, low, high):
    return TestPoint(
        engine_rpm=rpm,
        low_pa=low * INHG,
        high_pa=high * INHG,
        middle_pa=(low + high) / 2 * INHG,
        exposes=("leak",),
    )


PLAN = GroundRunPlan(
    points=(point(1000.0, 2.6, 3.6), point(1200.0, 3.5, 4.5), point(2400.0, 4.5, 5.6)),
    altitude_m=122.0,
    temperature_k=288.0,
    band_low_pa=4.6 * INHG,
    band_high_pa=5.2 * INHG,
    lamp_rpm_low=950.0,
    lamp_rpm_high=1200.0,
    cautions=(),
    basis=(),
    latitude_deg=45.0,
    cover_rpm=1200.0,
    plateau_rpm=2400.0,
    read_sd_pa=0.06 * INHG,
    gyros=("attitude indicator", "heading indicator"),
    has_autopilot=True,
)


def gauge(rpm, inhg, direction="rising"):
    return GroundRunReading(
        id=f"{rpm} {direction} {inhg}", what="gauge", engine_rpm=rpm, value=inhg * INHG, direction=direction
    )


def value(what, number, rpm=None, minutes=15.0):
    return GroundRunReading(id=what, what=what, value=number, engine_rpm=rpm, minutes=minutes)


def seen(what, outcome="pass"):
    return GroundRunReading(id=what, what=what, outcome=outcome)


GOOD = (
    gauge(1000.0, 3.2),
    gauge(1200.0, 4.1),
    gauge(2400.0, 5.0),
    gauge(2400.0, 4.9, "falling"),
    gauge(1000.0, 3.2, "falling"),
    value("lamp out", 1070.0),
    value("lamp on", 1000.0),
    value("cover test", 4.1 * INHG, 1200.0),
    value("erect", 2.7),
    value("drift", -3.4),
    seen("autopilot"),
    seen("disconnect"),
    seen("outlet"),
    seen("drain"),
)


def without(*whats):
    return tuple(reading for reading in GOOD if reading.what not in whats)


def verdict_of(readings, what):
    return next(point for point in judge(PLAN, readings).points if point.what == what)


def test_everything_right_passes():
    verdict = judge(PLAN, GOOD)
    assert verdict.overall == "pass"
    assert {point.verdict for point in verdict.points} == {"pass"}
    assert any("new baseline" in remark for remark in verdict.remarks)


@pytest.mark.parametrize(
    ("missing", "what"),
    [
        ("lamp out", "lamp out"),
        ("cover test", "cover test"),
        ("erect", "attitude erect"),
        ("drift", "heading drift"),
        ("autopilot", "autopilot"),
        ("drain", "drain"),
    ],
)
def test_what_is_missing_is_not_shown_and_so_is_the_run(missing, what):
    verdict = judge(PLAN, without(missing))
    assert verdict.overall == "not shown"
    assert verdict_of(without(missing), what).verdict == "not shown"
    assert any(what in remark for remark in verdict.remarks)


def test_an_empty_run_shows_nothing_and_fails_nothing():
    verdict = judge(PLAN, ())
    assert verdict.overall == "not shown"
    assert {point.verdict for point in verdict.points} == {"not shown"}


def test_above_the_gauge_band_says_stop_even_inside_the_predicted_band():
    readings = (*without("gauge"), gauge(1000.0, 3.2), gauge(1200.0, 4.1), gauge(2400.0, 5.4))
    high = verdict_of(readings, "gauge at 2400 rpm")
    assert high.verdict == "fail"
    assert high.margin == "stop: above the band by 0.2 inHg"
    assert judge(PLAN, readings).overall == "fail"
    assert any("do not fly" in remark for remark in judge(PLAN, readings).remarks)


def test_above_the_band_between_two_test_points_counts_as_well():
    readings = (*GOOD, gauge(1800.0, 5.5))
    assert judge(PLAN, readings).overall == "fail"


def test_low_reading_tells_how_far_below_and_what_it_would_have_exposed():
    readings = (*without("gauge"), gauge(1000.0, 2.2), gauge(1200.0, 4.1), gauge(2400.0, 5.0))
    low = verdict_of(readings, "gauge at 1000 rpm")
    assert low.verdict == "fail"
    assert low.margin == "0.4 inHg below"
    assert low.would_expose == "leak"


def test_own_lower_limit_counts_on_the_plateau_only():
    """4.5 at 2,400 is inside the predicted band and below the gauge's own 4.6; 4.1 at 1,200 is below it and right."""
    readings = (*without("gauge"), gauge(1000.0, 3.2), gauge(1200.0, 4.1), gauge(2400.0, 4.5))
    assert verdict_of(readings, "gauge at 2400 rpm").verdict == "fail"
    assert verdict_of(readings, "gauge at 1200 rpm").verdict == "pass"


@pytest.mark.parametrize(("falling", "verdict"), [(3.0, "pass"), (2.9, "fail")])
def test_rising_against_falling(falling, verdict):
    """0.2 inHg apart is allowed (common practice, no source), 0.3 is not."""
    readings = (*without("gauge"), gauge(1000.0, 3.2), gauge(1000.0, falling, "falling"), gauge(2400.0, 5.0))
    assert verdict_of(readings, "rising against falling").verdict == verdict


def test_lamp_too_late_fails_and_a_lamp_that_comes_on_above_where_it_went_out_sticks():
    assert verdict_of((*without("lamp out"), value("lamp out", 1450.0)), "lamp out").verdict == "fail"
    assert verdict_of((*without("lamp on"), value("lamp on", 1200.0)), "lamp on").verdict == "fail"


@pytest.mark.parametrize(("covered", "verdict"), [(4.1, "pass"), (4.2, "pass"), (4.6, "fail")])
def test_cover_test_shows_the_seat(covered, verdict):
    readings = (*without("cover test"), value("cover test", covered * INHG, 1200.0))
    assert verdict_of(readings, "cover test").verdict == verdict


def test_cover_test_above_the_knee_shows_nothing():
    readings = (*without("cover test"), value("cover test", 6.0 * INHG, 2400.0))
    point = verdict_of(readings, "cover test")
    assert point.verdict == "not shown"
    assert "knee" in point.margin


def test_drift_is_judged_after_the_earth_took_its_share():
    """At 45 N the earth takes 2.65 degrees in 15 minutes: -3.4 leaves -0.7, and +0.4 leaves +3.1."""
    assert rest_deg(-3.4, 15.0, 45.0) == pytest.approx(-0.75, abs=0.01)
    good = verdict_of(GOOD, "heading drift")
    assert good.reading == "-3.4 deg in 15 min, of which earth -2.7, rest -0.7"
    assert verdict_of((*without("drift"), value("drift", 0.4)), "heading drift").verdict == "fail"
    # Over half an hour twice as much is allowed: -5.3 of the earth, so +0.8 leaves +6.1 of the allowed 6.
    assert verdict_of((*without("drift"), value("drift", 0.8, minutes=30.0)), "heading drift").verdict == "fail"
    assert verdict_of((*without("drift"), value("drift", 0.4, minutes=30.0)), "heading drift").verdict == "pass"


def test_without_a_latitude_the_drift_cannot_be_judged():
    plan = msgspec.structs.replace(PLAN, latitude_deg=None)
    assert judge(plan, GOOD).overall == "not shown"


def test_transport_wander_adds_to_the_east():
    assert transport_rate_deg_h(45.0, 60.0) == pytest.approx(1.0)
    assert transport_rate_deg_h(45.0, -60.0) == pytest.approx(-1.0)


def test_attitude_slower_than_five_minutes_fails():
    assert verdict_of((*without("erect"), value("erect", 6.5)), "attitude erect").verdict == "fail"


def test_soot_at_the_outlet_fails_with_the_words_written():
    readings = (*without("outlet"), seen("outlet", "fail: heavy soot"))
    assert verdict_of(readings, "outlet").reading == "fail: heavy soot"
    assert judge(PLAN, readings).overall == "fail"


@pytest.mark.parametrize(
    "bad",
    [
        GroundRunReading(id="a", what="humming", value=1.0),
        GroundRunReading(id="b", what="gauge", value=5.0 * INHG),
        GroundRunReading(id="c", what="gauge", engine_rpm=2400.0),
        GroundRunReading(id="d", what="erect", value=float("nan")),
        GroundRunReading(id="e", what="drain"),
        GroundRunReading(id="f", what="drift", value=1.0, minutes=0.0),
    ],
)
def test_readings_that_cannot_be_used_are_refused_by_name(bad):
    with pytest.raises(InputError, match=f"reading {bad.id}"):
        judge(PLAN, (bad,))


def test_latitude_beyond_the_pole_is_refused():
    with pytest.raises(InputError, match="latitude"):
        rest_deg(0.0, 15.0, 91.0)
