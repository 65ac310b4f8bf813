"""Flying habit and dates, by example and against simulation."""

from __future__ import annotations

import datetime

import numpy as np
import pytest

from vanewise.errors import InputError
from vanewise.watch.utilisation import (
    MonthFlown,
    Utilisation,
    chance_by_month,
    date_at,
    dates_of_hours,
    flown_by,
    months_of,
    rate_a_year,
    span_words,
    utilisation,
)

TODAY = datetime.date(2031, 3, 31)


def test_a_yearly_figure_alone_gives_even_months() -> None:
    use = utilisation([], hours_a_year=195.0)
    assert use.hours_a_year == pytest.approx(195.0)
    assert use.month_hours == pytest.approx((195.0 / 12,) * 12)


def test_a_record_takes_over_and_shows_its_season() -> None:
    summer = {5: 3000, 6: 3500, 7: 4000, 8: 3500, 9: 2500}
    months = [
        MonthFlown(year=y, month=m, centihours=summer.get(m, 500)) for y in (2028, 2029, 2030) for m in range(1, 13)
    ]
    use = utilisation(months, hours_a_year=100.0)
    assert use.hours_a_year == pytest.approx(193.2, abs=2.0)  # (36 months of 200 h a year and 3 of 100) / 39
    assert use.month_hours[6] > 3 * use.month_hours[0]
    assert use.month_cv < 0.6


def test_dates_agree_with_simulated_flying() -> None:
    """Months drawn one by one from gamma distributions; the day on which 150 h are reached."""
    use = Utilisation(
        month_hours=(4.0, 4.0, 8.0, 14.0, 20.0, 24.0, 26.0, 24.0, 18.0, 10.0, 5.0, 4.0), month_cv=0.6, months_seen=36
    )
    rng = np.random.default_rng(5)
    mean = np.array([use.month_hours[(TODAY.month + i) % 12] for i in range(30)])
    flown = np.cumsum(rng.gamma(1 / 0.36, 0.36 * mean, size=(40_000, 30)), axis=1)
    simulated = (flown >= 150.0).mean(axis=0)
    ours = chance_by_month(use, TODAY, np.array([150.0]), months=31)[1:]
    assert np.max(np.abs(ours - simulated)) < 0.02


def test_uncertain_hours_widen_the_dates() -> None:
    use = utilisation([], hours_a_year=195.0)
    sure = chance_by_month(use, TODAY, np.array([600.0]))
    unsure = chance_by_month(use, TODAY, np.array([300.0, 600.0, 900.0]))
    for p, compare in ((0.1, lambda a, b: a < b), (0.9, lambda a, b: a > b)):
        one, other = date_at(unsure, p, TODAY), date_at(sure, p, TODAY)
        assert one is not None and other is not None
        assert compare(one, other)


def test_hours_already_reached_are_today_and_far_ones_have_an_end() -> None:
    dates = dates_of_hours(utilisation([], hours_a_year=20.0), TODAY)
    assert dates(0) == (TODAY, TODAY, TODAY)
    assert dates(10_000_000)[2].year == 2051


def test_dates_grow_with_hours() -> None:
    dates = dates_of_hours(utilisation([], hours_a_year=195.0), TODAY)
    found = [dates(hours * 100) for hours in (1, 10, 50, 200, 800)]
    for place in range(3):
        column = [row[place] for row in found]
        assert column == sorted(column)
    for early, middle, late in found:
        assert early <= middle <= late


def test_the_rest_of_a_month_counts_by_its_days() -> None:
    use = utilisation([], hours_a_year=120.0)
    mean, _ = flown_by(use, datetime.date(2031, 3, 16), 2)
    assert mean[0] == pytest.approx(10.0 * 15 / 31)
    assert mean[1] == pytest.approx(10.0 * 15 / 31 + 10.0)


@pytest.mark.parametrize(
    ("months", "yearly", "where"),
    [
        ([], None, "hours a year"),
        ([], 0.0, "hours a year"),
        ([MonthFlown(year=2030, month=1, centihours=-5)], 100.0, "hours of 2030-01"),
        ([MonthFlown(year=2030, month=1, centihours=5)] * 2, 100.0, "hours of 2030-01"),
        ([MonthFlown(year=2030, month=1, centihours=0)], None, "hours flown"),
    ],
)
def test_what_cannot_be_is_refused(months: list[MonthFlown], yearly: float | None, where: str) -> None:
    with pytest.raises(InputError) as caught:
        utilisation(months, yearly)
    assert caught.value.problems[0].where == where


def test_spans_in_words() -> None:
    assert span_words(datetime.date(2026, 3, 2), datetime.date(2026, 6, 1)) == "about March to June 2026"
    assert span_words(datetime.date(2025, 12, 2), datetime.date(2026, 2, 1)) == "about December 2025 to February 2026"
    assert span_words(datetime.date(2026, 5, 2), datetime.date(2026, 5, 30)) == "about May 2026"


def test_months_come_from_meter_readings_and_gaps_say_nothing() -> None:
    """31 h over the 31 days of March is 1 h a day; a spell of a year between readings tells no month apart."""
    day = datetime.date
    readings = [
        (day(2030, 2, 20), 10_000),
        (day(2030, 3, 1), 10_000),
        (day(2030, 4, 1), 13_100),
        (day(2031, 4, 1), 20_000),
    ]
    assert months_of(readings) == (MonthFlown(year=2030, month=3, centihours=3100),)
    assert rate_a_year(readings) == pytest.approx(100.0 / 405 * 365.25)
    assert rate_a_year(readings[:2]) is None and months_of(readings[:1]) == ()
