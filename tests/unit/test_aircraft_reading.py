"""A description's file: what is read, and that every problem of a file is told at once, each in its four parts."""

from __future__ import annotations

import datetime

import pytest

from vanewise.aircraft.layouts import make
from vanewise.aircraft.reading import read_description
from vanewise.aircraft.writing import write_description
from vanewise.errors import InputError, NotCovered, Problem
from vanewise.quantities import written

BASE = write_description(make("suction-one-pump"))
EXAMPLE_DISPLACEMENT = written(make("suction-one-pump").part("pump").values["displacement"].number, "volume", "in3")


def problems_of(text: str) -> tuple[Problem, ...]:
    with pytest.raises(InputError) as caught:
        read_description(text, "club.toml")
    for problem in caught.value.problems:
        assert all((problem.where, problem.expected, problem.found, problem.next_step)), problem
    return caught.value.problems


def changed(*replacements: tuple[str, str]) -> str:
    text = BASE
    for old, new in replacements:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def line_of(text: str, part: str) -> int:
    return next(number for number, line in enumerate(text.split("\n"), 1) if part in line)


def test_numbers_say_how_they_are_known() -> None:
    text = changed(
        (f'displacement = "{EXAMPLE_DISPLACEMENT} (assumed)"', 'displacement = "6.1 in3"'),
        ('drive_ratio = "1.3 (assumed)"', 'drive_ratio = "1.5 +/- 1 % (own manual: engine data sheet)"'),
        ('length = "0.95 m (assumed)"', 'length = "0.97 m +/- 0.02 m (measured)"'),
    )
    description = read_description(text)
    pump, hose = description.part("pump").values, description.lines[6].values
    example = make("suction-one-pump").part("pump").values["displacement"]
    assert (pump["displacement"].standing, pump["displacement"].is_assumed) == ("as entered", False)
    assert pump["displacement"].spread == pytest.approx(example.spread / 4)
    assert (pump["drive_ratio"].standing, str(pump["drive_ratio"].source)) == ("own manual", "engine data sheet")
    assert (pump["drive_ratio"].spread, pump["drive_ratio"].spread_kind) == (0.01, "relative")
    assert (hose["length"].number, hose["length"].standing) == (0.97, "measured")
    assert (hose["length"].spread, hose["length"].spread_kind) == (0.02, "absolute")
    assert pump["slip_area"].is_assumed


def test_left_out_numbers_are_the_assumed_examples() -> None:
    text = "\n".join(line for line in BASE.split("\n") if not line.startswith(("displacement", "idle_rpm", "trip")))
    assert read_description(text) == make("suction-one-pump")


def test_dates_and_meters_are_read_exactly() -> None:
    text = changed(
        ('id = "pump"\n', 'id = "pump"\nfitted = { on = 2024-11-02, tach = "2941.6 h", condition = "overhauled" }\n'),
        ("[gauge]", '[meters]\ntach = "2983.95 h"\nread_on = "2025-02-22"\n\n[gauge]'),
    )
    description = read_description(text)
    assert description.part("pump").fitted.date == datetime.date(2024, 11, 2)
    assert description.part("pump").fitted.tach_centihours == 294160
    assert description.meters.tach_centihours == 298395
    assert description.meters.read_on == datetime.date(2025, 2, 22)


def test_all_problems_of_a_file_are_told_at_once_with_path_owner_and_line() -> None:
    text = changed(
        ('bore = "5/8 in (assumed)"', 'bore = "5/8"'),
        ('kind = "pump"', 'kind = "pump"\nspeed = "1"'),
        ("duty_confirmed = false", 'duty_confirmed = "no"'),
        ('length = "0.5 m (assumed)"', 'length = "-1 m"'),
        ('to = "manifold.heading"', 'to = "manifold.headin"'),
    )
    found = {problem.path: problem for problem in problems_of(text)}
    assert {"lines[6].bore", "parts[6].speed", "duty_confirmed", "lines[0].length", "lines[4].to"} <= set(found)
    line = line_of(text, 'bore = "5/8"')
    assert found["lines[6].bore"].where == f"lines[6].bore (firewall_hose, line {line})"
    assert "without a unit" in found["lines[6].bore"].found
    assert 'write "heading"' in found["lines[4].to"].next_step


def test_an_unknown_key_is_answered_with_the_nearest_one() -> None:
    (problem,) = problems_of(changed(('id = "firewall_hose"', 'id = "firewall_hose"\nmaterail = "tube"')))
    assert problem.path == "lines[6].materail"
    assert 'write "material"' in problem.next_step


UNITS = [("5.0 inHh", "inHg"), ("5.0 psii", "psi")]


@pytest.mark.parametrize(("text", "near"), UNITS)
def test_an_unknown_unit_is_named(text: str, near: str) -> None:
    (problem,) = problems_of(changed(('setting = "5 inHg (assumed)"', f'setting = "{text}"')))
    assert problem.path == "parts[5].setting"
    assert near in problem.next_step


def test_a_quantity_without_quotes_is_explained_at_its_line() -> None:
    text = changed(('bore = "5/8 in (assumed)"', "bore = 5/8 in"))
    (problem,) = problems_of(text)
    assert f"line {line_of(text, 'bore = 5/8 in')}" in problem.where
    assert "club.toml" in problem.where
    assert "in quotes" in problem.next_step


@pytest.mark.parametrize(
    "text",
    [
        "",
        "name = 3",
        "name = " + "9" * 5000,
        "a = " + "[" * 5000,
        "[[parts]]\n",
        "parts = 5\nlines = 'x'\nname = 'n'\nduty='suction'",
    ],
)
def test_texts_that_are_no_description_are_refused_in_words(text: str) -> None:
    assert problems_of(text)


def test_control_characters_and_endless_texts_are_refused() -> None:
    assert any(p.path == "name" for p in problems_of(changed(('"Suction, one pump"', '"a\\u0000b"'))))
    assert any(p.path == "name" for p in problems_of(changed(('"Suction, one pump"', f'"{"x" * 600}"'))))
    assert problems_of("# " + "x" * 1_100_000)


def test_a_later_format_is_refused() -> None:
    (problem,) = problems_of(changed(("format = 1", "format = 2")))
    assert problem.path == "format"


@pytest.mark.parametrize("kind", ["wet pump", "venturi", "standby source", "electric pump"])
def test_what_is_not_modelled_is_refused_politely(kind: str) -> None:
    text = BASE + f'\n[[parts]]\nid = "other"\nkind = "{kind}"\n'
    with pytest.raises(NotCovered) as caught:
        read_description(text)
    (problem,) = caught.value.problems
    assert problem.path == "parts[7].kind"
    assert "outside what is modelled" in problem.found


@pytest.mark.parametrize("date", ["02/11/2024", "2024-13-01", "2024-11-02T10:00:00", "yesterday"])
def test_dates_that_can_be_read_in_two_ways_are_refused(date: str) -> None:
    problems = problems_of(changed(('id = "pump"\n', f'id = "pump"\nfitted = {{ on = "{date}" }}\n')))
    assert [p.path for p in problems] == ["parts[6].fitted.on"]


def test_a_number_may_carry_all_that_is_known_about_it() -> None:
    table = (
        'slip_area = { value = "2 mm2", standing = "measured", source = "bench run", where = "sheet 3", '
        'spread = "7 %", note = "hot" }'
    )
    value = read_description(changed(('slip_area = "1.35 mm2 (assumed)"', table))).part("pump").values["slip_area"]
    assert (value.number, value.standing, str(value.source)) == (2e-6, "measured", "bench run, sheet 3")
    assert (value.spread, value.note) == (0.07, "hot")


def test_without_checks_a_half_drawn_system_can_be_read() -> None:
    text = BASE[: BASE.index('[[lines]]\nid = "firewall_hose"')]
    assert len(read_description(text, checked=False).lines) == 6
    assert {p.path for p in problems_of(text)} == {"parts[5].pump_side", "parts[6].inlet", "parts[6].outlet"}
