"""A person's own words find the words of evidence; nothing is taken over unasked, nothing is lost."""

from __future__ import annotations

import json
import tomllib

import pytest

from vanewise.diagnosis.free_words import SAID, clauses, suggest, unmatched
from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS
from vanewise.errors import InputError
from vanewise.jobs import own_words
from vanewise.jobs.answers import to_json

SENTENCES = {
    "The horizon leans to the right": "ai_leans",
    "attitude indicator slow to erect": "ai_slow_erect",
    "the DG drifts": "hi_drifts",
    "suction reads low at idle": "gauge_low_idle",
    "vacuum low in flight": "gauge_low_cruise",
    "no vacuum at all": "gauge_zero",
    "pump quit in flight": "stopped_suddenly",
    "the low vacuum light came on": "lamp_on",
    "autopilot rolled off": "ap_rolls_off",
    "black dust at the pump outlet": "soot_heavy",
    "oil dripping under the pump": "oil_at_drain",
    "new vacuum pump last month": "pump_changed",
    "engine wash": "washed",
}
"""Sentences as owners write them in public threads, in our words; the word a mechanic would put down."""


@pytest.mark.parametrize("sentence", SENTENCES)
def test_a_sentence_finds_its_word_among_the_suggestions(sentence: str):
    (clause,) = suggest(sentence)
    assert SENTENCES[sentence] in [suggestion.id for suggestion in clause.suggestions]


def test_every_way_of_saying_belongs_to_a_known_word_and_finds_it():
    for word, said in SAID.items():
        assert word in SYMPTOMS or word in EVENTS, word
        for phrase in said:
            found = [item.id for clause in suggest(phrase) for item in clause.suggestions]
            assert word in found, (phrase, found)


def test_unknown_words_stay_notes_word_for_word():
    found = suggest("The horizon leans; coffee was spilled on the seat")
    assert unmatched(found) == ("coffee was spilled on the seat",)
    assert clauses("A. b") == (), "pieces too short to mean anything"


def test_the_person_chooses_and_the_rest_is_kept():
    meant = own_words.found("horizon leans and the radio hums", "1").data
    written = tomllib.loads(meant.evidence)
    assert [remark["symptom"] for remark in written["remarks"]] == ["ai_leans"]
    assert written["notes"] == ["the radio hums"]
    assert json.loads(to_json(own_words.found("horizon leans")))


def test_a_choice_that_is_not_there_says_so():
    with pytest.raises(InputError) as error:
        own_words.found("horizon leans", "99")
    assert "--choose" in str(error.value)
    with pytest.raises(InputError):
        own_words.found("  ")
