"""Invented cases written as a mechanic writes them, with the cause that was found later.

They were written before anybody looked at what the tool answers. What ought to hold: every word is known; the source is
among the first three; it stays undecided where two causes fit; one of the first three checks is one that a good
mechanic would do; and the story in free words finds the words of evidence.
"""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from vanewise.aircraft import layouts
from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.reading import read_description
from vanewise.diagnosis import infer
from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.free_words import suggest
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.types import Causes

HERE = Path(__file__).parent / "found_later"
DEMO = Path(__file__).resolve().parents[2] / "src" / "vanewise" / "demo"
CASES: dict[str, dict[str, Any]] = {
    case["name"]: case
    for path in sorted(HERE.glob("*.toml"))
    for case in tomllib.loads(path.read_text(encoding="utf-8"))["case"]
}


EVERY = 3
"""Every so manieth case is looked at in the check; all of them in the long run, for their seconds."""
SOME = [pytest.param(name, marks=() if number % EVERY == 0 else pytest.mark.long) for number, name in enumerate(CASES)]
OPEN = [param for param in SOME if CASES[str(param.values[0])].get("undecided")]


def described(case: dict[str, Any]) -> AircraftDescription:
    if case.get("autopilot"):
        return read_description((DEMO / "d1_club_aircraft.toml").read_text(encoding="utf-8"), "d1_club_aircraft.toml")
    return layouts.make(case["layout"])


@cache
def answered(name: str) -> Causes:
    case = CASES[name]
    return infer.diagnose(described(case), read_evidence(case["evidence"], name), seed=0)


def test_the_cases_name_known_modes_and_checks_and_are_enough():
    assert len(CASES) >= 24
    for name, case in CASES.items():
        assert set(case["sources"]) <= set(MODES), name
        assert set(case["first_checks"]) <= set(CHECKS), name
    duties = {layouts.make(case["layout"]).duty for case in CASES.values()}
    assert duties == {"suction", "pressure"}
    assert len({case["layout"] for case in CASES.values()}) >= 7


@pytest.mark.parametrize("name", SOME)
def test_the_source_is_among_the_first_three(name: str):
    first = [cause.id for cause in answered(name).causes[:3]]
    assert set(CASES[name]["sources"]) & set(first), first


@pytest.mark.parametrize("name", OPEN)
def test_it_stays_undecided_where_two_causes_fit(name: str):
    answer = answered(name)
    assert answer.undecided
    assert len(answer.group) >= 2


@pytest.mark.parametrize("name", SOME)
def test_one_of_the_first_three_checks_is_what_a_mechanic_would_do(name: str):
    """Unless it says that there is enough to act on, or nothing left that would tell.

    ``within`` is more than three where two short looks behind one open cowl are told before the longer one.
    """
    answer = answered(name)
    asked = [check.id for check in answer.next_checks[: CASES[name].get("within", 3)]]
    assert asked or answer.stop, "no check, and no reason to stop asking"
    assert answer.stop or set(CASES[name]["first_checks"]) & set(asked), asked


@pytest.mark.parametrize("name", CASES)
def test_the_story_finds_the_words_of_evidence(name: str):
    meant = {
        f"{'' if item.present else '-'}{item.id}"
        for clause in suggest(CASES[name]["said"])
        for item in clause.suggestions
    }
    assert set(CASES[name]["means"]) <= meant


def test_a_gauge_at_zero_with_instruments_that_run_may_be_the_gauge():
    """Zero means pump drive, hose off, gauge line or gauge; instruments that still run ask for the gauge first."""
    ran = "".join(
        f'[[remarks]]\nsymptom = "{word}"\npresent = false\n' for word in ("ai_leans", "hi_drifts", "ai_tumbles")
    )
    reading = '[[readings]]\nreading = "0.0 inHg"\nrpm = "2400 rpm"\n'
    description = layouts.make("suction-one-pump")
    options = infer.Options(weights=False, next_checks=True)
    asked = infer.diagnose(description, read_evidence(reading + ran, "e"), seed=0, options=options)
    bare = infer.diagnose(description, read_evidence(reading, "e"), seed=0, options=options)
    assert "gauge_in_error" in [cause.id for cause in asked.causes[:3]]
    assert {"engine_off_gauge", "test_gauge"} & {check.id for check in asked.next_checks[:3]}
    first = [cause.id for cause in bare.causes[:3]]
    assert "coupling_sheared" in first, "without a word about the instruments it is the pump first"
