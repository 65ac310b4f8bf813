"""What a person tells of a check that was done is offered as its result; nothing is taken over unasked."""

from __future__ import annotations

import itertools
import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.checks.base import GAUGE_READ
from vanewise.diagnosis.free_words import clauses, suggest, unmatched, unweighed
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.sayings_felt import FELT
from vanewise.diagnosis.sayings_of_checks import GROUPS, NUMBERS, TOLD_CHECKS
from vanewise.diagnosis.told_checks import MOST_CHECKS, told_checks
from vanewise.diagnosis.types import CheckResult, Evidence, Remark
from vanewise.errors import InputError
from vanewise.jobs import own_words

TABLE = tomllib.loads((Path(__file__).parent / "told_checks.toml").read_text(encoding="utf-8"))
LEAST = {"held_out": 22, "held_out_later": 10, "held_out_last": 10}
"""How many of the phrases held out were offered their check when they were first tried."""


def offered(text: str) -> set[str]:
    return {
        one.id + (f":{one.outcome}" if one.outcome else "") + (f"@{one.about.replace(' ', '_')}" if one.about else "")
        for clause in suggest(text)
        for one in clause.checks
    }


def right(row: dict[str, str]) -> bool:
    """Offered with its outcome and instrument; where nothing was done, nothing."""
    return row["means"] in offered(row["said"]) if row["means"] else not offered(row["said"])


@pytest.mark.parametrize("row", TABLE["tuned"], ids=lambda row: row["said"])
def test_what_was_done_is_offered_with_what_it_showed(row: dict[str, str]):
    assert right(row), offered(row["said"])


@pytest.mark.parametrize("name", sorted(LEAST))
def test_phrases_held_out_are_offered_no_less_than_at_first(name: str):
    assert sum(map(right, TABLE[name])) >= LEAST[name]


def test_every_check_has_its_ways_of_telling_and_no_unknown_outcome():
    assert set(TOLD_CHECKS) == set(CHECKS)
    for check, told in TOLD_CHECKS.items():
        known = {outcome.id for outcome in CHECKS[check].outcomes}
        assert set(told.tells) <= set(told.says) <= known, check
        assert bool(NUMBERS.get(CHECKS[check].kind)) == (CHECKS[check].kind != "table"), check
        if CHECKS[check].kind == "table":
            assert set(told.says) == known, check
    phrases = [
        phrase
        for told in TOLD_CHECKS.values()
        for phrase in (*told.done, *itertools.chain(*told.says.values(), *told.tells.values()))
    ]
    assert {name for phrase in phrases for name in re.findall(r"@(\w+)", phrase)} <= set(GROUPS)


def written(phrase: str) -> str:
    """A phrase with the first of its words that may stand in each place."""
    words = []
    for word in phrase.lstrip("~+").split():
        first = word.split("/")[0]
        words.append((GROUPS[first[1:]].split("/")[0] if first.startswith("@") else first).removeprefix("="))
    return " ".join(words)


@pytest.mark.parametrize("check", [check for check in CHECKS if TOLD_CHECKS[check].says])
def test_what_was_done_with_each_outcome_offers_the_check_with_it(check: str):
    """Each outcome in its plainest words, after the first way of saying what was done."""
    told = TOLD_CHECKS[check]
    for outcome, says in told.says.items():
        text = f"{written(told.done[0])}: {written(says[0])}"
        assert f"{check}:{outcome}" in {one.split("@")[0] for one in offered(text)}, (text, offered(text))


ACTS = (
    "squeeze every hose",
    "turn the pump by hand",
    "swap the gauge",
    "open the pump",
    "hook up a test gauge",
    "cover the regulator intake",
    "look inside the regulator",
    "soap the joints",
    "cap the horizon",
)
FOUND = ("no change", "nothing", "it read the same", "vanes in pieces", "no bubbles")


@given(
    how=st.sampled_from(
        ("going to", "want to", "did not", "we never did", "have yet to", "should", "he told me to please", "will")
    ),
    act=st.sampled_from(ACTS),
    found=st.sampled_from(("", *(f", {one}" for one in FOUND))),
)
def test_what_is_planned_or_was_not_done_offers_no_check(how: str, act: str, found: str):
    text = f"{how} {act}"
    assert offered(text) == set()
    assert not {one.split(":")[0] for one in offered(text + found)} & {one.split(":")[0] for one in offered(act)}


FELT_ALONE = sorted({phrase for said in FELT.values() for phrase in said})
TAILS = (
    "",
    " in cruise",
    " since last week",
    ", fine on the ground",
    ". The same on the next flight",
    " and nothing helps",
)


@given(phrases=st.lists(st.sampled_from(FELT_ALONE), min_size=1, max_size=3), tail=st.sampled_from(TAILS))
def test_what_an_indicator_does_offers_no_check(phrases: list[str], tail: str):
    assert offered("; ".join(phrases) + tail) == set()


@given(st.text("abcdefghijklmnopqrstuvwxyz ,.;?!'-0123456789", max_size=60), st.sampled_from(("", *ACTS)))
def test_offers_stand_in_their_clauses_and_are_few_and_the_same_again(noise: str, act: str):
    text = f"{noise} {act}"
    pieces = clauses(text)
    told = told_checks(text, pieces)
    assert all(0 <= one.first <= one.last < len(pieces) for one in told)
    assert all(sum(one.first == place for one in told) <= MOST_CHECKS for place in range(len(pieces)))
    assert told == told_checks(text, pieces)
    assert all(not (one.numbers and one.outcome) for one in told)


def test_the_outcome_told_in_the_next_clause_is_no_note_of_its_own():
    found = suggest("Soaped the joints, nothing. The radio hums.")
    assert [clause.shows for clause in found] == [(), ("shop_air",), ()]
    assert unmatched(found) == ("The radio hums",)


@pytest.mark.parametrize(
    ("said", "about"),
    [
        ("swapped the horizon, no change", "attitude indicator"),
        ("the DG drifts. Swapped it for another gyro, no change", "heading indicator"),
        ("capped the horizon and the DG", ""),
        ("swapped the horizon and the DG, no change", ""),
        ("swapped another gyro in, no change", ""),
    ],
)
def test_the_instrument_is_named_only_where_exactly_one_is(said: str, about: str):
    assert {one.about for clause in suggest(said) for one in clause.checks} == {about}


def test_a_chosen_result_is_entered_as_told_and_not_as_seen():
    meant = own_words.found("squeezed every hose, nothing", "1").data
    assert [one.id for one in meant.chosen_checks] == ["hose_squeeze"] and meant.notes == ()
    (result,) = read_evidence(meant.evidence, "evidence.toml").checks
    assert (result.check, result.outcome, result.grade) == ("hose_squeeze", "sound", 0)


def test_nothing_is_taken_over_without_the_instrument_or_the_outcome():
    swapped = tomllib.loads(own_words.found("swapped a second gyro in, no change", "1").data.evidence)
    assert swapped["checks"][0]["place"] == ""
    bent = tomllib.loads(own_words.found("bent every hose", "1").data.evidence)
    assert bent["checks"][0]["outcome"] == ""


@pytest.mark.parametrize(
    "said", ["swept the rpm from idle to full", "put my finger over the regulator and it came right up"]
)
def test_a_check_answered_by_numbers_is_offered_with_them_and_takes_nothing_over(said: str):
    first = suggest(said)[0]
    (one,) = first.checks
    assert one.numbers == NUMBERS[CHECKS[one.id].kind] and one.outcome == ""
    meant = own_words.found(said, "1").data
    assert tomllib.loads(meant.evidence).get("checks") is None
    assert one.numbers in meant.evidence and first.text in meant.notes


def test_gauge_readings_are_never_check_results():
    assert {check.id for check in CHECKS.values() if check.kind in GAUGE_READ} == {"sweep", "gauge_at_run_up"}
    with pytest.raises(InputError):
        own_words.found("swept the rpm from idle to full", "99")


def test_a_note_that_tells_of_a_check_is_told_to_weigh_nothing():
    note = "Squeezed every hose, nothing. Put my finger over the regulator and it came right up."
    told = unweighed(Evidence(notes=(note,)))
    assert len(told) == 2
    assert "check hose_squeeze, outcome sound" in told[0] and "the gauge before and while covered" in told[1]
    entered = Evidence(notes=(note,), checks=(CheckResult(id="a", check="hose_squeeze", outcome="sound"),))
    assert ["hose_squeeze" in line for line in unweighed(entered)] == [False]


def test_what_is_entered_as_noticed_is_not_asked_for_as_a_check_again():
    note = "coupling drive sheared"
    (line,) = unweighed(Evidence(notes=(note,)))
    assert "coupling_parted" in line and "coupling_turn" in line
    assert unweighed(Evidence(notes=(note,), remarks=(Remark(id="a", symptom="coupling_parted"),))) == ()
