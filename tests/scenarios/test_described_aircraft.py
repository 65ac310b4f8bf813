"""The three invented aircraft, described as files: sound, and shaped as their stories need.

The stories' figures come from another small model and are no published data: what is checked is direction, and size
within 0.35 inHg.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.reading import read_description
from vanewise.aircraft.remarks import remarks
from vanewise.network import Sweep, sweep

DEMO = Path(__file__).parents[2] / "src" / "vanewise" / "demo"
RPMS = (700.0, 1000.0, 1200.0, 1500.0, 1800.0, 2100.0, 2400.0)
ROUGHLY = 0.35


def described(name: str) -> AircraftDescription:
    return read_description((DEMO / name).read_text(encoding="utf-8"), name)


def gauge(found: Sweep) -> list[float]:
    return [point.gauge_inhg or 0.0 for point in found.points]


def drop(found: Sweep, gyro: str) -> list[float]:
    return [point.drops_inhg[gyro] for point in found.points]


@pytest.mark.parametrize("name", ["d1_club_aircraft.toml", "d2_pressure.toml", "d3_case_leak.toml"])
def test_nothing_about_them_is_left_to_ask(name: str) -> None:
    assert described(name).invented
    assert remarks(described(name)) == ()


def test_club_aircraft_has_its_baseline_and_lamp() -> None:
    """Card of 2020-06-20, pump new: 1.8 3.2 4.1 4.6 4.7 4.9 5.0, lamp out at 1,070."""
    aircraft = described("d1_club_aircraft.toml")
    found = sweep(aircraft, RPMS, aircraft.field.elevation.number)
    assert gauge(found) == pytest.approx([1.8, 3.2, 4.1, 4.6, 4.7, 4.9, 5.0], abs=ROUGHLY)
    assert found.lamp_out_rpm == pytest.approx(1070.0, abs=60.0)


def test_club_aircraft_keeps_its_ages() -> None:
    aircraft = described("d1_club_aircraft.toml")
    now = aircraft.meters.tach_centihours
    assert now is not None
    assert now - (aircraft.part("pump").fitted.tach_centihours or 0) == 42_30
    assert now - (aircraft.part("filter").fitted.tach_centihours or 0) == 390_00
    hose = next(line for line in aircraft.lines if line.id == "firewall_hose")
    assert hose.cured is not None
    assert hose.cured.year == 2009


def test_pressure_aircraft_tells_filter_from_pump() -> None:
    """A loaded filter lowers the plateau and leaves idle; a worn pump lowers idle and nearly leaves the plateau."""
    aircraft = described("d2_pressure.toml")
    sound = gauge(sweep(aircraft, RPMS))
    loaded = gauge(sweep(aircraft, RPMS, states={"inline_filter.loading": 8.0}))
    worn = gauge(sweep(aircraft, RPMS, states={"pump.slip": 3.0}))
    assert sound == pytest.approx([1.9, 3.5, 4.4, 4.6, 4.7, 4.9, 5.0], abs=ROUGHLY)
    assert sound[0] - loaded[0] < 0.2 < 0.5 < sound[-1] - loaded[-1]
    assert sound[0] - worn[0] > 0.4 > 0.2 > sound[-1] - worn[-1]


def test_case_leak_stays_within_the_gauge_band_while_both_gyros_starve() -> None:
    """Leaky heading indicator (7.6 mm2): panel 4.9 at 2,400 and within its band, attitude indicator 3.5."""
    aircraft = described("d3_case_leak.toml")
    leaky = sweep(aircraft, RPMS, states={"heading.case_leak": 7.6})
    assert gauge(sweep(aircraft, RPMS)) == pytest.approx([2.1, 3.6, 4.6, 4.7, 4.9, 5.0, 5.2], abs=ROUGHLY)
    assert gauge(leaky) == pytest.approx([1.1, 2.1, 2.8, 3.9, 4.6, 4.8, 4.9], abs=ROUGHLY)
    assert drop(leaky, "attitude") == pytest.approx([0.8, 1.5, 2.0, 2.8, 3.3, 3.4, 3.5], abs=ROUGHLY)


def test_each_gyro_alone_tests_good() -> None:
    """Attitude alone (heading line capped): 3.3 4.3 4.4 4.5 4.7 4.8 4.9 across it, as good as new."""
    aircraft = described("d3_case_leak.toml")
    alone = sweep(aircraft, RPMS, states={"heading.case_leak": 7.6, "heading.capped": 1.0})
    assert drop(alone, "attitude") == pytest.approx([3.3, 4.3, 4.4, 4.5, 4.7, 4.8, 4.9], abs=ROUGHLY)
