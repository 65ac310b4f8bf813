"""Figures of the study of the diagnosis, on answers whose figures are plain."""

from __future__ import annotations

import pytest

from benches.study_figures import Judged, answers, ruled_out
from benches.study_rows import Row, Said
from vanewise.diagnosis.modes import NOTHING_WRONG


def judged(family: str, **probability: float) -> Judged:
    return Judged(
        Said(probability, undecided=False, level="supply weak", rough=False, seconds=1.0), family, "supply weak"
    )


def test_what_answers_give_to_causes_under_one_in_a_hundred_stands_beside_the_truths_there():
    rows = [
        judged("pump", pump=0.985, leak=0.009, hose=0.006),
        judged("hose", pump=0.5, leak=0.495, hose=0.005),
    ]
    found = answers(rows)
    assert found["given to causes under 1 in 100"]["value"] == pytest.approx((0.015 + 0.005) / 2)
    assert found["true cause under 1 in 100"]["value"] == pytest.approx(0.5)


def test_nothing_is_given_to_them_where_all_stand_higher():
    found = answers([judged("pump", pump=0.6, leak=0.4)])
    assert found["given to causes under 1 in 100"]["value"] == 0.0


def test_the_generators_word_for_a_sound_aircraft_is_held_against_the_programs():
    said = Said({"nothing": 0.9}, undecided=False, level=NOTHING_WRONG.level, rough=False, seconds=1.0)
    assert Judged(said, "nothing", "nothing wrong").level_right
    assert not Judged(said, "pump", "supply weak").level_right


def test_the_truths_ruled_out_are_listed_with_what_was_said_instead():
    def row(number: int, arm: str, **probability: float) -> Row:
        said = Said(probability, undecided=False, level="supply weak", rough=False, seconds=1.0)
        return Row(arm, "twin pumps", number, "leak", "leak", "supply weak", said, said)  # type: ignore[arg-type]

    found = ruled_out(
        [
            row(1, "model true", leak=0.6, pump=0.4),
            row(2, "gauge biased", leak=0.004, pump=0.996),
            row(3, "model true", pump=1.0),
            row(4, "fault outside", pump=1.0),
        ]
    )
    assert [(entry["case"], entry["given"], entry["first"]) for entry in found] == [
        (2, 0.004, "pump"),
        (3, 0.0, "pump"),
    ]
