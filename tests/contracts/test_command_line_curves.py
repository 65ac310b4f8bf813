"""The commands for curves: same answer as JSON and in words, and refusals with four parts."""

from __future__ import annotations

import json

import pytest

from tests.contracts.answer_shapes import answer, example, run

D1 = example("d1_club_aircraft.toml")


def test_margin_answers_in_words_and_as_json() -> None:
    found = answer("margin", D1, "--wear", "3", "--needs", "attitude=4.5")
    attitude = next(one for one in found["gyros"] if one["gyro"] == "attitude")
    assert attitude["needed_inhg"] == 4.5 and not attitude["needed_assumed"]
    assert len(attitude["ceiling_ft"]) == len(found["rpms"]) == len(attitude["ceiling_low_ft"])
    assert found["states"] == {"pump.slip": 3.0} and found["rows"] > 0 and found["assumed"] > 0
    assert "enough up to" in run("margin", D1, "--wear", "3").output


def test_load_names_what_raises_it_and_budget_adds_up() -> None:
    raised = answer("load", D1)["raisers"]
    assert any(one["part"] == "pump" and one["state"] == "outlet_blocked" for one in raised)
    assert "does not show it" in run("load", D1).output
    budget = answer("budget", D1, "--rpm", "2400", "--state", "pump.slip=2")
    assert sum(share["cfm"] for share in budget["shares"]) == pytest.approx(budget["intake_cfm"], rel=1e-3)
    assert "100 %" in run("budget", D1).output


def test_with_standby_says_what_it_gives_alone_and_never_that_it_may_be_done() -> None:
    found = answer("with-standby", D1, "pump", "--rpm", "1000,2400")
    assert len(found["on_standby"]) > 3 and len(found["before"]) == 2
    assert "Computed, not approved" in run("with-standby", D1, "intake", "--rpm", "2400").output


def test_two_ends_exchanged_and_which_exchange_reads_so() -> None:
    found = answer("swapped", D1, "attitude.inlet", "attitude.outlet")
    assert any("backwards" in words for words in found["words"])
    alike = answer("reads-like", D1, "2400=0", "1000=0")
    assert alike["fits"] and all(swap["off_inhg"] <= alike["near_inhg"] for swap in alike["fits"])
    assert "Other faults read like this too" in run("reads-like", D1, "2400=0").output


@pytest.mark.parametrize(
    "words",
    [
        ("margin", "--wear", "0.2"),
        ("margin", "--needs", "attitud=4"),
        ("margin", "--needs", "attitude=40"),
        ("load", "--pump", "pmup"),
        ("budget", "--state", "pump.slip=soon"),
        ("swapped", "attitude.inlet", "attitude.inlet"),
        ("swapped", "attitude.inlett", "attitude.outlet"),
        ("reads-like", "2400"),
        ("reads-like", "2400=90"),
    ],
)
def test_what_is_wrong_is_refused_with_a_next_step(words: tuple[str, ...]) -> None:
    done = run(words[0], D1, *words[1:], "--json")
    assert done.exit_code == 2, done.output
    assert all(problem["next_step"] for problem in json.loads(done.stdout)["problems"])
