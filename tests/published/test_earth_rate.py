"""Apparent drift of a free heading gyro: Flight Navigator Handbook, apparent precession, 15 x sine of the latitude."""

from __future__ import annotations

import pytest

from vanewise.groundrun import earth_rate_deg_h, earth_share_deg


@pytest.mark.parametrize(("latitude", "rate"), [(45.0, 10.61), (30.0, 7.50)])
def test_rates_the_handbook_prints(latitude, rate):
    """Flight Navigator Handbook, page 59 of the edition read: 45 N 10.61 deg/h, 30 N 7.50 deg/h."""
    assert earth_rate_deg_h(latitude) == pytest.approx(rate, abs=0.005)


def test_a_quarter_of_an_hour_at_45_north():
    """10.61 deg/h over 15 minutes is 2.65 degrees, the indication falling north of the equator."""
    assert earth_share_deg(45.0, 15.0) == pytest.approx(-2.65, abs=0.005)


def test_nothing_on_the_equator_and_the_other_way_south_of_it():
    assert earth_rate_deg_h(0.0) == 0.0
    assert earth_share_deg(-45.0, 15.0) == pytest.approx(2.65, abs=0.005)


def test_fifteen_degrees_an_hour_at_the_pole():
    """The earth turns 360 degrees in a day of 24 h: 15 deg/h."""
    assert earth_rate_deg_h(90.0) == pytest.approx(360.0 / 24.0)
