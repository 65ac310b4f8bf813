"""Answers as JSON: stable numbers, one shape for every refusal; and what stands on a command line, read."""

from __future__ import annotations

import json
import math

import msgspec
import pytest

from vanewise.aircraft.layouts import make
from vanewise.errors import InputError, NoAnswer, Problem
from vanewise.jobs.answers import Answer, error_json, rounded, to_json
from vanewise.jobs.compute import field_altitude, numbers, split_answers, state_values


class Point(msgspec.Struct, frozen=True):
    rpm: float
    reading: float | None


@pytest.mark.parametrize(
    ("number", "text"), [(1 / 3, "0.333333"), (101325.4321, "101325.0"), (2.0, "2.0"), (1234567.8, "1234570.0")]
)
def test_floats_have_six_significant_digits(number: float, text: str) -> None:
    assert json.dumps(rounded(number)) == text


def test_whole_numbers_and_truths_stay_as_they_are() -> None:
    assert rounded({"a": (1234567890, True, None, "x")}) == {"a": [1234567890, True, None, "x"]}


def test_what_is_not_a_number_becomes_null() -> None:
    """JSON has no word for it; a reader must not meet a NaN."""
    text = to_json(Answer(data=[Point(700.0, math.nan), Point(1000.0, math.inf)], words=""))
    assert [point["reading"] for point in json.loads(text, parse_constant=pytest.fail)] == [None, None]


def test_two_ways_to_get_the_same_number_give_the_same_text() -> None:
    one, other = 0.1 + 0.2, 0.3
    assert one != other
    assert to_json(Answer(data=one, words="")) == to_json(Answer(data=other, words=""))


@pytest.mark.parametrize(("kind", "word"), [(InputError, "wrong input"), (NoAnswer, "no answer")])
def test_a_refusal_names_its_kind_and_each_problem(kind: type[InputError], word: str) -> None:
    problems = [Problem(where=f"line {n}", expected="a", found="b", next_step="c") for n in (1, 2)]
    body = json.loads(error_json(kind(problems)))
    assert body["error"] == word
    assert [problem["where"] for problem in body["problems"]] == ["line 1", "line 2"]


def test_numbers() -> None:
    assert numbers("700, 1e3,1200.5", "--rpm") == (700.0, 1000.0, 1200.5)
    for text in ("", "700;1000", "700,", "seven"):
        with pytest.raises(InputError) as caught:
            numbers(text, "--rpm")
        assert caught.value.problems[0].where == "--rpm"


def test_states() -> None:
    description = make("suction-one-pump")
    assert state_values(["pump.slip=3", " filter.loading = 8 "], description) == {
        "pump.slip": 3.0,
        "filter.loading": 8.0,
    }
    assert state_values(["pump.slip=0.1", "pump.slip=100"], description) == {"pump.slip": 100.0}, (
        "the bounds are allowed"
    )
    assert state_values(["no.such=5"], description) == {"no.such": 5.0}, "left to the network, which knows near words"
    for text in ("pump.slip=100.1", "pump.slip=0.09", "pump.slip=inf", "pump.slip=", "pump.slip 3", "pump.slip==3"):
        with pytest.raises(InputError) as caught:
            state_values([text], description)
        assert caught.value.problems[0].where == f"--state {text}"


def test_fields_are_bounded_in_si() -> None:
    """A bore of 5/8 in is 0.015875 m; 0.5 m would be a drain pipe."""
    description = make("suction-one-pump")
    assert state_values(["firewall_hose.bore=0.015875"], description) == {"firewall_hose.bore": 0.015875}
    with pytest.raises(InputError):
        state_values(["firewall_hose.bore=0.5"], description)


def test_answers_to_questions() -> None:
    assert split_answers(["duty=suction", "name = a=b "]) == {"duty": "suction", "name": "a=b"}
    with pytest.raises(InputError):
        split_answers(["suction"])


def test_height_left_out_is_the_home_field() -> None:
    description = make("suction-one-pump")
    assert field_altitude(description, None) == description.field.elevation.number
    assert field_altitude(description, 1000.0) == pytest.approx(304.8)
