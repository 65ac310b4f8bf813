"""Readings over time, by example: the club aircraft's lamp card (invented), signals, run rules, refusals."""

from __future__ import annotations

import pytest

from vanewise.errors import InputError
from vanewise.quantities import PA_PER_INHG
from vanewise.watch.trend import Budget, RunRule, Series, TrendReading, follow, run_rule
from vanewise.watch.trend_signals import (
    RunConditions,
    SweepReading,
    altitude_sag,
    drift_rest,
    gauge_corrected,
    on_reference_day,
    sweep_figures,
    wander,
)


def readings(*pairs: tuple[float, float]) -> tuple[TrendReading, ...]:
    return tuple(TrendReading(hours=hours, value=value) for hours, value in pairs)


CARD = readings((2941.6, 1210.0), (2947.2, 1320.0), (2958.6, 1450.0), (2960.3, 1450.0), (2968.6, 1450.0))
"""Invented: engine speed at which the low-suction lamp went out, after the replacement pump was fitted."""


def test_the_lamp_card_of_the_club_aircraft_would_have_told() -> None:
    answer = run_rule(CARD, RunRule(limit=1200.0, runs=3), "lamp out", "rpm", baseline=(1070.0, 70.0))
    assert answer.alarm_hours == 2958.6
    # P(above 1,200) = 1 - Phi(130 / 70) = 0.0317, worked out apart; a run of three once in about 32,000.
    assert answer.readings_between_false_alarms == pytest.approx((1 - 0.0317**3) / ((1 - 0.0317) * 0.0317**3), rel=0.02)
    assert "once in about 30,000 runs" in answer.words[1]


def test_one_high_reading_among_good_ones_is_no_run() -> None:
    calm = readings((1, 1050.0), (2, 1250.0), (3, 1080.0), (4, 1230.0), (5, 1240.0), (6, 1100.0))
    assert run_rule(calm, RunRule(limit=1200.0, runs=3), "lamp out", "rpm").alarm_hours is None
    low = readings((1, 4.7), (2, 4.2), (3, 4.1))
    assert run_rule(low, RunRule(limit=4.4, runs=2, beyond="below"), "run-up", "inHg").alarm_hours == 3


def series(values: list[float], **more: object) -> Series:
    points = readings(*((10.0 * i, v) for i, v in enumerate(values)))
    return Series(name="run-up", unit="inHg", worse="falling", scatter=0.1, readings=points, **more)  # type: ignore[arg-type]


def test_few_readings_say_how_many_more() -> None:
    answer = follow(series([4.7, 4.6, 4.7]))
    assert answer.state == "too few"
    assert "3 more readings" in answer.words[0]


def test_a_fall_is_told_with_size_place_and_budget() -> None:
    answer = follow(series([4.7, 4.6, 4.7, 4.7, 4.6, 4.7, 4.65, 4.2, 4.1, 4.2, 4.15]))
    assert answer.state == "changed" and answer.how in ("jumped", "crept")
    assert answer.since_hours == 70.0
    assert answer.change == pytest.approx(-0.5, abs=0.1)
    assert "down by" in answer.words[0] and "Look now" in answer.words[0]
    assert "at most 1 in 20 spells of 100 readings" in answer.words[1]
    assert answer.words[-1].startswith("Trends miss sudden failures")


def test_a_steady_series_stays_steady() -> None:
    answer = follow(series([4.7, 4.6, 4.7, 4.7, 4.6] * 6))
    assert answer.state == "steady"
    assert all(abs(point.step) < 1.0 and abs(point.creep) < 1.0 for point in answer.sums)


@pytest.mark.parametrize(
    ("change", "where"),
    [({"scatter": 0.0}, "run-up, scatter"), ({"readings": readings((1.0, float("nan")))}, "run-up at 1 h")],
)
def test_useless_series_are_refused(change: dict[str, object], where: str) -> None:
    settings: dict[str, object] = {"scatter": 0.1, "readings": readings((1.0, 4.7)), **change}
    with pytest.raises(InputError) as caught:
        follow(Series(name="run-up", unit="inHg", worse="falling", **settings))  # type: ignore[arg-type]
    assert caught.value.problems[0].where == where


def test_a_useless_budget_is_refused() -> None:
    with pytest.raises(InputError, match="false-alarm budget"):
        follow(series([4.7] * 8), Budget(chance=0.9))


def points(*pairs: tuple[float, float]) -> list[SweepReading]:
    return [SweepReading(engine_rpm=rpm, suction_pa=inhg * PA_PER_INHG) for rpm, inhg in pairs]


BASELINE = points((700, 1.8), (1000, 3.2), (1200, 4.1), (1500, 4.6), (1800, 4.7), (2100, 4.9), (2400, 5.0))
"""The baseline sweep of the invented club aircraft, 45 degrees north, 400 ft."""


def test_figures_of_a_sweep() -> None:
    found = sweep_figures(BASELINE, RunConditions(cabin_k=288.15))
    assert found.at_1000_pa == pytest.approx(3.2 * PA_PER_INHG)
    assert found.plateau_pa == pytest.approx(4.8 * PA_PER_INHG, rel=0.03)
    # The line through 3.2 at 1,000 and 4.1 at 1,200 meets 4.8 at 1,356 rpm.
    assert found.knee_rpm == pytest.approx(1356.0, rel=0.04)
    assert found.remarks == ()


def test_a_sweep_without_a_plateau_has_no_knee() -> None:
    found = sweep_figures(points((700, 1.0), (1000, 1.8), (1500, 3.1), (2000, 4.4)), RunConditions())
    assert found.plateau_pa is None and found.knee_rpm is None
    assert any("no plateau" in line for line in found.remarks)
    assert any("Temperature not written" in line for line in found.remarks)
    with pytest.raises(InputError, match="three engine speeds"):
        sweep_figures(points((700, 1.0)), RunConditions())


def test_the_reference_day_scales_by_pressure_and_root_of_temperature() -> None:
    reading = SweepReading(engine_rpm=1000.0, suction_pa=9000.0)
    there = on_reference_day(reading, RunConditions(ambient_pa=84307.3, cabin_k=258.15))
    assert there.suction_pa == pytest.approx(9000.0 * 101325.0 / 84307.3)
    assert there.engine_rpm == pytest.approx(1000.0 * (288.15 / 258.15) ** 0.5)
    pressure = on_reference_day(reading, RunConditions(cabin_k=288.15, pump_air_k=258.15))
    assert pressure.engine_rpm == pytest.approx(1000.0 * 288.15 / 258.15)
    with pytest.raises(InputError):
        on_reference_day(reading, RunConditions(ambient_pa=29.92))
    with pytest.raises(InputError):
        on_reference_day(reading, RunConditions(cabin_k=15.0))


def test_a_gauge_card_corrects_what_is_shown() -> None:
    card = [(4.0, 4.2), (5.0, 5.1)]
    assert gauge_corrected(4.5, card) == pytest.approx(4.65)
    assert gauge_corrected(3.0, card) == pytest.approx(3.2)
    assert gauge_corrected(4.5, []) == 4.5


def test_signals_of_their_own() -> None:
    assert wander([4.4, 4.9, 4.6]) == pytest.approx(0.5)
    assert altitude_sag(300.0, 4.9, 2800.0, 4.6) == pytest.approx(0.12)
    with pytest.raises(InputError):
        wander([4.4])
    with pytest.raises(InputError):
        altitude_sag(300.0, 4.9, 600.0, 4.6)


def test_heading_drift_leaves_the_instruments_own_share() -> None:
    """Club aircraft at 45 N: -3.4 degrees in 15 min, of which the earth's share is 15 sin(45) / 4 = 2.65."""
    assert drift_rest(-3.4, 15.0, 45.0) == pytest.approx(-0.75, abs=0.01)
    assert drift_rest(-6.8, 30.0, 45.0) == pytest.approx(-0.75, abs=0.01)
