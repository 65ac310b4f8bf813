"""Ten questions to a first description: "don't know" everywhere, polite refusals, nothing faked."""

from __future__ import annotations

import datetime
import itertools

import pytest

from vanewise.aircraft.answers import describe_from_answers, start_from_answers
from vanewise.aircraft.checks import check
from vanewise.aircraft.questions import DONT_KNOW, QUESTIONS
from vanewise.errors import InputError, NotCovered
from vanewise.quantities import PA_PER_INHG

SPECS = {spec.id: spec for question in QUESTIONS for spec in question.answers}


def test_ten_are_asked_and_one_is_offered() -> None:
    assert [question.number for question in QUESTIONS] == list(range(1, 12))
    assert [question.number for question in QUESTIONS if question.offered] == [11]
    assert all(question.how_to_look and question.answers for question in QUESTIONS)


@pytest.mark.parametrize("unknown", ["", "don't know", "Unknown", None, "?"])
def test_a_person_who_knows_nothing_gets_a_description_with_everything_assumed(unknown: object) -> None:
    start = start_from_answers(dict.fromkeys(SPECS, unknown))
    assert check(start.description) == ()
    assert start.description == describe_from_answers({})
    assert start.description.duty == "suction"
    assert not start.description.duty_confirmed
    assert (start.description.gauge.high, start.description.gauge.low) == ("unknown", "unknown")
    assert {path for path, _ in start.description.assumed()} == {path for path, _ in start.description.all_values()}
    assert {1, 2, 3, 5, 6, 7, 8, 10} <= {number for number, *_ in start.assumed}
    assert {"duty_confirmed", "gauge.high"} <= {remark.path for remark in start.remarks}


def test_every_assumed_answer_names_its_source() -> None:
    assert all(source for _, _, _, source in start_from_answers({}).assumed)


def test_what_is_known_is_entered_and_no_longer_assumed() -> None:
    start = start_from_answers(
        {
            "duty": "pressure",
            "gauge": "cabin",
            "gauge_cruise": "4.9 inHg",
            "band_low": "4.6 inHg",
            "cruise_rpm": "2,300 rpm",
            "drive_ratio": "1.5",
            "lamp": "yes",
            "lamp_out_rpm": "1,050 rpm",
            "elevation": "1200 ft",
            "latitude": "47 N",
            "tach": "2300.4 h",
            "pump_on": datetime.date(2022, 5, 14),
            "pump_tach": "1787.8 h",
            "last_work": "  heading indicator\n overhauled ",
        }
    )
    description = start.description
    regulator, pump = description.part("regulator").values, description.part("pump")
    assert description.duty_confirmed
    assert regulator["setting"].number == pytest.approx(4.9 * PA_PER_INHG)
    assert regulator["set_at_rpm"].number == 2300.0
    assert not regulator["setting"].is_assumed
    assert pump.values["drive_ratio"].number == 1.5
    assert pump.fitted.tach_centihours == 178780
    assert (description.gauge.high, description.gauge.low) == ("regulator.gyro_side", "cabin")
    assert description.lamp is not None
    assert start.lamp_out_rpm == 1050.0
    assert start.last_work == "heading indicator overhauled"
    assert description.meters.tach_centihours == 230040


OUTSIDE = [
    {"pumps": "wet pump"},
    {"pumps": "venturi"},
    {"pumps": "all electric"},
    {"attitude": "electric", "heading": "electric"},
    {"autopilot": "air"},
]


@pytest.mark.parametrize("answers", OUTSIDE)
def test_what_is_not_modelled_is_refused_politely(answers: dict[str, str]) -> None:
    with pytest.raises(NotCovered) as caught:
        start_from_answers(answers)
    (problem,) = caught.value.problems
    assert "outside what is modelled" in problem.found
    assert problem.next_step


def test_standby_boots_and_door_seal_are_named_and_not_computed() -> None:
    start = start_from_answers({"standby": "electric", "boots": "yes", "door_seal": "yes"})
    assert start.description.also_fitted == ("standby source", "de-ice boots", "door seal")
    plain = start_from_answers({}).description
    assert (start.description.parts, start.description.lines) == (plain.parts, plain.lines)
    assert sum("not computed" in remark.found for remark in start.remarks) == 3


def test_everything_wrong_is_told_at_once_and_points_at_its_question() -> None:
    answers = {
        "duty": "sucks",
        "gauge_cruise": "5",
        "tach": "2983.955 h",
        "pump_on": "1/2/2024",
        "colour": "red",
        "band_low": "6 inHg",
    }
    with pytest.raises(InputError) as caught:
        start_from_answers(answers)
    told = {problem.path: problem for problem in caught.value.problems}
    assert set(told) == {"duty", "gauge_cruise", "tach", "pump_on", "colour", "band_high"}
    assert "question 7" in told["gauge_cruise"].where


def test_every_combination_of_choices_is_sound_or_refused() -> None:
    """A walk over all pairs of answers that are chosen from a list."""
    chosen = [(spec.id, word) for spec in SPECS.values() for word in (*spec.choices, DONT_KNOW) if spec.choices]
    for first, second in itertools.combinations(chosen, 2):
        try:
            start = start_from_answers(dict([first, second]))
        except NotCovered:
            continue
        assert check(start.description) == ()


def test_each_choice_is_a_pair_of_word_and_meaning() -> None:
    for spec in SPECS.values():
        assert (spec.kind == "choice") == bool(spec.choices)
        assert all(word and meaning for word, meaning in spec.choices.items())
        if spec.asked_when:
            other, words = spec.asked_when
            assert set(words) <= {*SPECS[other].choices, DONT_KNOW}
