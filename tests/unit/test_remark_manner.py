"""Which way a symptom showed: one of its own words, kept and shown, weighed as the symptom itself."""

from __future__ import annotations

import json

import pytest

from vanewise.aircraft.layouts import make
from vanewise.diagnosis.evidence import prepare
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.weighing import item_words
from vanewise.errors import InputError


def remarks(*items: dict[str, str]) -> str:
    return json.dumps({"remarks": list(items)})


def test_the_way_it_leans_is_kept_and_said():
    text = remarks({"id": "lean", "symptom": "ai_leans", "manner": "to the left"})
    prepared = prepare(make("suction-one-pump"), read_evidence(text, "case"))
    assert item_words(prepared)["lean"] == "attitude indicator leans to the left"


def test_left_and_right_are_two_items_and_the_same_twice_is_one():
    lean = {"symptom": "ai_leans", "who": "pilot", "flight": "last"}
    left, right = {**lean, "manner": "to the left"}, {**lean, "manner": "to the right"}
    prepared = prepare(make("suction-one-pump"), read_evidence(remarks(left, right, left), "case"))
    assert sum(len(group.items) for group in prepared.remarks) == 2


@pytest.mark.parametrize(
    ("symptom", "expected"), [("ai_leans", "to the left, to the right"), ("ai_jitters", "nothing")]
)
def test_another_way_is_refused_with_the_ways_there_are(symptom: str, expected: str):
    with pytest.raises(InputError) as caught:
        read_evidence(remarks({"symptom": symptom, "manner": "upwards"}), "case")
    assert expected in caught.value.problems[0].expected
