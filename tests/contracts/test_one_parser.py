"""One parser for the file, a form and an answer: the same wrong value gives the same four parts."""

from __future__ import annotations

import pytest

from vanewise.aircraft.answers import start_from_answers
from vanewise.aircraft.fields import parse_field
from vanewise.aircraft.kinds import KINDS, SECTIONS
from vanewise.aircraft.layouts import make
from vanewise.aircraft.reading import read_description
from vanewise.aircraft.tables import parse_date
from vanewise.aircraft.writing import write_description
from vanewise.errors import InputError, Problem
from vanewise.quantities import to_centihours

BASE = write_description(make("suction-one-pump"))

WRONG = [
    ("line", "bore", "5/8", 'bore = "1/2 in (assumed)"', "lines[0].bore"),
    ("line", "bore", "5/8 im", 'bore = "1/2 in (assumed)"', "lines[0].bore"),
    ("line", "length", "-1 m", 'length = "0.5 m (assumed)"', "lines[0].length"),
    ("line", "length", "0,95 m", 'length = "0.5 m (assumed)"', "lines[0].length"),
    ("line", "length", "0.95 m (guessed)", 'length = "0.5 m (assumed)"', "lines[0].length"),
    ("line", "length", "0.95 m +/- x", 'length = "0.5 m (assumed)"', "lines[0].length"),
    ("pump", "drive_ratio", "13", 'drive_ratio = "1.3 (assumed)"', "parts[6].drive_ratio"),
    ("regulator", "setting", "about 5", 'setting = "5 inHg (assumed)"', "parts[5].setting"),
    ("gauge", "band_low", "45 inHg", 'band_low = "4.5 inHg (assumed)"', "gauge.band_low"),
    ("engine", "idle_rpm", "700", 'idle_rpm = "700 rpm (assumed)"', "engine.idle_rpm"),
]


def parts(problem: Problem) -> tuple[str, str, str, str]:
    return problem.path, problem.expected, problem.found, problem.next_step


def from_file(old: str, new: str) -> tuple[str, str, str, str]:
    assert old in BASE, old
    with pytest.raises(InputError) as caught:
        read_description(BASE.replace(old, new, 1))
    (problem,) = caught.value.problems
    return parts(problem)


@pytest.mark.parametrize(("kind", "field", "wrong", "line", "path"), WRONG)
def test_file_and_form_say_the_same(kind: str, field: str, wrong: str, line: str, path: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_field(kind, field, wrong, path)
    (problem,) = caught.value.problems
    assert from_file(line, f'{field} = "{wrong}"') == parts(problem)


ANSWERS = [
    ("gauge_cruise", "regulator", "setting", "5.0"),
    ("drive_ratio", "pump", "drive_ratio", "thirteen"),
    ("cruise_rpm", "engine", "cruise_rpm", "24000 rpm"),
    ("elevation", "field", "elevation", "400 foots"),
]


@pytest.mark.parametrize(("answer", "kind", "field", "wrong"), ANSWERS)
def test_answer_and_form_say_the_same(answer: str, kind: str, field: str, wrong: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_field(kind, field, wrong, answer)
    with pytest.raises(InputError) as answered:
        start_from_answers({answer: wrong})
    assert [parts(p) for p in answered.value.problems] == [parts(p) for p in caught.value.problems]


def test_dates_and_meter_readings_have_one_parser_each() -> None:
    with pytest.raises(InputError) as date:
        parse_date("2/11/2024", "meters.read_on")
    with pytest.raises(InputError) as hours:
        to_centihours("2983", "meters.tach")
    for line, error in (('read_on = "2/11/2024"', date), ('tach = "2983"', hours)):
        (problem,) = error.value.problems
        assert from_file("[gauge]", f"[meters]\n{line}\n\n[gauge]") == parts(problem)


def test_every_field_of_every_kind_reads_its_own_example() -> None:
    for kind in (*KINDS, *SECTIONS):
        specs = SECTIONS[kind] if kind in SECTIONS else KINDS[kind].fields
        for spec in specs:
            if spec.default is not None:
                from vanewise.aircraft.fields import write_field

                text = write_field(kind, spec.name, spec.default)
                assert text is not None
                assert parse_field(kind, spec.name, text, "x") == spec.default
                assert spec.low <= spec.default.number <= spec.high
