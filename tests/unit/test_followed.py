"""Figures that are followed: each brought to one measure, from sweeps, lamps, climbs and what was timed."""

from __future__ import annotations

import datetime

import pytest

from vanewise.network.atmosphere import pressure
from vanewise.quantities import PA_PER_INHG
from vanewise.watch.followed import FOLLOWED, Airframe, Taken, TimedFigure, followable

DAY = datetime.date(2031, 5, 1)
FIELD = Airframe(field_m=0.0, run_up_rpm=1800.0, cruise_rpm=2400.0, latitude_deg=50.0)


def gauge(rpm: float, inhg: float, **more: object) -> Taken:
    return Taken(date=DAY, hours=100.0, engine_rpm=rpm, gauge_pa=inhg * PA_PER_INHG, **more)  # type: ignore[arg-type]


def values(*taken: Taken, timed: tuple[TimedFigure, ...] = (), airframe: Airframe = FIELD) -> dict[str, float]:
    found = followable(taken, timed, airframe, pressure)
    return {one.key: one.series.readings[0].value for one in found}


def test_a_sweep_gives_its_figures() -> None:
    sweep = [gauge(r, v) for r, v in ((700, 1.75), (1000, 2.5), (1500, 3.75), (1800, 5.0), (2100, 5.0), (2400, 5.0))]
    found = values(*sweep, Taken(date=DAY, hours=100.0, engine_rpm=1080.0))
    assert found["lamp_out"] == 1080.0
    assert found["gauge_1000"] == pytest.approx(2.5, abs=1e-6)
    assert found["knee"] == pytest.approx(2000.0, rel=1e-6), "a line of 0.0025 inHg per rpm meets 5.0 at 2,000 rpm"
    assert found["plateau"] == pytest.approx(5.0) and found["run_up"] == pytest.approx(5.0)


def test_a_high_field_is_brought_to_sea_level_below_the_knee_alone() -> None:
    high = Airframe(field_m=1524.0, run_up_rpm=1800.0, cruise_rpm=2400.0)
    found = values(gauge(1000, 2.0), gauge(1800, 5.0), airframe=high)
    assert found["gauge_1000"] == pytest.approx(2.0 * 1013.25 / 843.07, rel=1e-3), "843.07 hPa at 5,000 ft, standard"
    assert found["run_up"] == pytest.approx(5.0)


def test_sag_comes_from_two_heights_of_one_day() -> None:
    """5.0 inHg at 1,000 ft and 4.4 at 11,000 ft: 0.06 for each 1,000 ft, by hand."""
    low, high = gauge(2400, 5.0, altitude_m=304.8), gauge(2400, 4.4, altitude_m=3352.8)
    assert values(low, high)["sag"] == pytest.approx(0.06, rel=1e-6)
    assert "sag" not in values(low, gauge(2400, 4.4, altitude_m=500.0)), "too near each other"


def test_the_earths_turning_is_taken_out_of_a_drift() -> None:
    """15 deg an hour times sin 50 deg is 2.87 deg in 15 minutes."""
    drift = TimedFigure(what="drift", date=DAY, hours=100.0, value=-2.87)
    known = values(timed=(drift,))["drift"]
    unknown = values(timed=(drift,), airframe=Airframe(field_m=0.0, run_up_rpm=1800.0, cruise_rpm=2400.0))["drift"]
    assert min(abs(known), abs(known + 5.74)) < 0.02
    assert unknown == pytest.approx(-2.87)


def test_every_figure_says_which_way_is_bad_and_what_its_scatter_is_worth() -> None:
    for key, what in FOLLOWED.items():
        assert what.scatter.standing == "judgement" and what.scatter.number > 0, key
        assert what.speaks_of and what.worse in ("rising", "falling", "either")
