"""Quantities the way people write them: what is read, what is refused and how it is said."""

from __future__ import annotations

import pytest

from vanewise.errors import InputError
from vanewise.quantities import (
    UNITS,
    centihours_text,
    fraction_of_inch,
    known_unit,
    shown,
    to_centihours,
    to_si,
    written,
)

READ = [
    ("5/8 in", "length", 0.015875),
    ("1 1/2 in", "length", 0.0381),
    ('3/8"', "length", 0.009525),
    ("5 ft 3 in", "length", 1.6002),
    ("  0.95 m ", "length", 0.95),
    ("95cm", "length", 0.95),
    ("1,800 rpm", "rpm", 1800.0),
    ("12,500 ft", "altitude", 3810.0),
    ("5 in Hg", "pressure", 16931.945),
    ("169.3 hPa", "pressure", 16930.0),
    ("2 min 40 s", "minutes", 2 + 40 / 60),
    ("45 N", "latitude", 45.0),
    ("33.9° S", "latitude", -33.9),
    ("59 F", "temperature", 288.15),
    ("−5 °C", "temperature", 268.15),
    ("5.6 cu in", "volume", 5.6 * 0.0254**3),
    ("1.3", "ratio", 1.3),
    (1.3, "ratio", 1.3),
    ("5 %", "ratio", 0.05),
    ("75 in-lbs", "torque", 75 * 0.1129848),
]


@pytest.mark.parametrize(("text", "dimension", "si"), READ)
def test_what_people_write_is_read(text: object, dimension: str, si: float) -> None:
    assert to_si(text, dimension, "here") == pytest.approx(si, rel=1e-12)


REFUSED = [
    ("5.0", "pressure", "without a unit"),
    (5, "pressure", "without a unit"),
    ("0,95 m", "length", "0,95"),
    ("1,250 m", "length", "1,250"),
    ("5 inHh", "pressure", "inHh"),
    ("5/0 in", "length", "over nothing"),
    ("1e999 m", "length", "no finite"),
    (float("nan"), "ratio", "nan"),
    ("-300 C", "temperature", "absolute zero"),
    (True, "ratio", "True"),
    ("", "length", '""'),
    ("about 5 inHg", "pressure", "about"),
    ("1" * 300 + " m", "length", "302 characters"),
]


@pytest.mark.parametrize(("text", "dimension", "told"), REFUSED)
def test_what_cannot_be_read_is_refused_in_four_parts(text: object, dimension: str, told: str) -> None:
    with pytest.raises(InputError) as caught:
        to_si(text, dimension, "lines[6].bore")
    (problem,) = caught.value.problems
    assert problem.where == "lines[6].bore"
    assert told in problem.found
    assert problem.expected
    assert problem.next_step


def test_a_slip_in_the_unit_is_answered_with_the_nearest_one() -> None:
    with pytest.raises(InputError, match='write "inHg"'):
        to_si("5 inhgg", "pressure", "gauge.band_low")


def test_a_form_that_prints_the_unit_needs_none_in_its_box() -> None:
    assert to_si("5.0", "pressure", "box", unit="inHg") == to_si("5.0 inHg", "pressure", "box")
    assert to_si("169 hPa", "pressure", "box", unit="inHg") == 16900.0


@pytest.mark.parametrize("dimension", UNITS)
def test_every_unit_is_known_by_its_own_name(dimension: str) -> None:
    for unit in UNITS[dimension]:
        assert known_unit(unit, dimension) == unit
        assert known_unit(unit.upper(), dimension) is not None


HOURS = [("2983.9 h", 298390), ("2,983.95h", 298395), ("0.1 h", 10), ("10 h", 1000), ("2983.90 hrs", 298390)]


@pytest.mark.parametrize(("text", "centihours"), HOURS)
def test_meter_readings_are_exact_hundredths(text: str, centihours: int) -> None:
    assert to_centihours(text, "here") == centihours


@pytest.mark.parametrize("text", ["2983.9", 2983.9, "2983.955 h", "-5 h", "2983.9 min", "h", None, "12 34 h"])
def test_meter_readings_that_are_not_hours_are_refused(text: object) -> None:
    with pytest.raises(InputError) as caught:
        to_centihours(text, "meters.tach")
    assert caught.value.problems[0].where == "meters.tach"


def test_meter_readings_are_written_as_the_meter_shows_them() -> None:
    assert [centihours_text(n) for n in (298390, 298395, 0, 5, -150)] == [
        "2983.9 h",
        "2983.95 h",
        "0.0 h",
        "0.05 h",
        "-1.5 h",
    ]


def test_bores_are_written_as_the_fraction_of_a_rule() -> None:
    assert fraction_of_inch(5 / 8 * 0.0254) == "5/8 in"
    assert fraction_of_inch(1.5 * 0.0254) == "1 1/2 in"
    assert fraction_of_inch(0.0123) is None
    assert written(0.015875, "length", "in") == "5/8 in"
    assert written(0.0123, "length", "in").endswith(" in")


def test_powers_of_ten_are_moved_and_not_multiplied() -> None:
    """60 x 1e-6 is not 6e-5 in binary; the text must be."""
    assert to_si("60 mm2", "area", "here") == 6e-5
    assert written(6e-5, "area", "mm2") == "60 mm2"


def test_numbers_are_shown_with_their_unit_in_both_systems() -> None:
    assert shown(5 * 3386.389, "pressure") == "5.0 inHg"
    assert shown(5 * 3386.389, "pressure", metric=True) == "169 hPa"
    assert shown(121.92, "altitude") == "400 ft"
    assert shown(-33.9, "latitude") == "34 S"
    assert shown(1800.0, "rpm") == "1,800 rpm"
