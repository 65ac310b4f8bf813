"""Plots as drawn on the server, and the same figures as handed to the script."""

from __future__ import annotations

import datetime
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest

from vanewise.web.plots import Axis, Band, Plot, Points, data, span, svg, ticks

SVG = "{http://www.w3.org/2000/svg}"


def plot(**more: object) -> Plot:
    shape = {
        "title": 'Gauge & "band" <x>',
        "x": Axis(label="Engine speed", unit="rpm", low=500, high=2500),
        "y": Axis(label="Gauge", unit="inHg", low=0, high=6),
        "band": Band(x=(700, 2400), low=(1.5, 4.8), high=(2.1, 5.2), middle=(1.8, 5.0)),
        "points": (Points(x=(700, 1500), y=(1.0, 3.4), label="read", mark="dot"),),
        "limits": ((4.5, "low"), (9.0, "off the plot")),
    }
    return Plot(**{**shape, **more})  # type: ignore[arg-type]


@pytest.mark.parametrize(("low", "high"), [(0, 6), (700, 2700), (1.0e-3, 2.0e-3), (3, 3.001), (0, 12345)])
def test_ticks_are_round_few_and_inside(low: float, high: float) -> None:
    found = ticks(low, high)
    assert 1 <= len(found) <= 9
    assert all(low - 1e-9 <= value <= high + 1e-9 for value in found)
    steps = {round(later - earlier, 12) for earlier, later in pairwise(found)}
    assert len(steps) <= 1


def test_a_dead_supply_is_a_line_at_nothing_and_no_mountain_of_rounding() -> None:
    low, high = span([0.0, 3e-10], floor=0.0, least=1.0)
    assert low == 0.0 and 1.0 <= high < 1.2
    assert span([1.0, 5.0], least=1.0) == span([1.0, 5.0])


def test_a_plot_is_well_formed_and_named_for_a_screen_reader() -> None:
    root = ET.fromstring(svg(plot()))
    assert root.attrib["aria-label"] == 'Gauge & "band" <x>'
    assert root.attrib["role"] == "img"


def test_points_lie_where_their_numbers_say() -> None:
    root = ET.fromstring(svg(plot(points=(Points(x=(500, 2500), y=(0, 6)),))))
    first, second = (element for element in root.iter(f"{SVG}circle"))
    # Left below and right above: the corners of the frame.
    assert float(first.attrib["cx"]) < float(second.attrib["cx"])
    assert float(first.attrib["cy"]) > float(second.attrib["cy"])
    axis = next(path for path in root.iter(f"{SVG}path") if path.attrib["class"] == "axis")
    assert f"M{float(first.attrib['cx']):g}" in axis.attrib["d"]


def test_a_limit_off_the_plot_is_not_drawn_at_its_edge() -> None:
    words = [element.text for element in ET.fromstring(svg(plot())).iter(f"{SVG}text")]
    assert "low" in words
    assert "off the plot" not in words


def test_dates_are_months_and_days_reach_the_script_as_seconds() -> None:
    first = datetime.date(2025, 1, 15).toordinal()
    axis = Axis(label="Date", unit="", low=first, high=first + 200, dates=True)
    drawn = plot(x=axis, band=None, points=(Points(x=(first + 20,), y=(4.0,)),), limits=())
    words = [element.text for element in ET.fromstring(svg(drawn)).iter(f"{SVG}text")]
    assert any(word and word.endswith("2025") for word in words)
    seconds = data(drawn)["data"][0][0]
    assert datetime.datetime.fromtimestamp(seconds, datetime.UTC).date() == datetime.date(2025, 2, 4)


def test_the_script_gets_gaps_where_a_series_has_no_value() -> None:
    given = data(plot())
    columns = given["data"]
    assert all(len(column) == len(columns[0]) for column in columns)
    read = columns[-1]
    assert read[columns[0].index(1500)] == 3.4
    assert read[columns[0].index(2400)] is None
    assert given["band"] == [1, 2]


def test_a_span_never_goes_below_its_floor() -> None:
    assert span([0.1, 5.0], floor=0.0)[0] == 0.0
    assert span([]) < (1.0, 2.0)
