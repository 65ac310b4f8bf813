"""The pump stops, and the standby that nobody had tested gives nothing: both are dead, and no leak need be sought."""

from __future__ import annotations

import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis.hypotheses import singles_and_chains
from vanewise.diagnosis.infer import diagnose
from vanewise.diagnosis.types import Causes, Event, Evidence, Remark

BOTH = "coupling_sheared>standby_inoperative"
SAID = (Remark(id="zero", symptom="gauge_zero"), Remark(id="standby", symptom="standby_gives_nothing"))
NEVER_TESTED = Event(id="never", kind="standby_never_tested")


def share_of(answer: Causes, hypothesis: str) -> float:
    return sum(share.share for cause in answer.causes for share in cause.hypotheses if share.id == hypothesis)


@pytest.mark.parametrize("layout", ["suction-standby-pump", "suction-standby-intake"])
def test_a_standby_never_tested_may_be_dead_as_well(layout: str):
    """Two public reports tell of it: the engine's pump lost, and a standby that failed for lack of use."""
    fitted = layouts.make(layout)
    plain = diagnose(fitted, Evidence(remarks=SAID), seed=0)
    never = diagnose(fitted, Evidence(remarks=SAID, events=(NEVER_TESTED,)), seed=0)
    assert 0.02 < share_of(plain, BOTH) < share_of(never, BOTH)
    assert share_of(never, BOTH) > 0.1
    pump = next(cause for cause in never.causes if cause.id == "coupling_sheared")
    assert "the standby had failed unnoticed" in pump.hypotheses[0].words
    assert "coupling_look" in [check.id for check in never.next_checks] and "standby_test" in [
        check.id for check in never.next_checks
    ]


def test_a_standby_that_brings_the_gauge_up_speaks_against_it():
    held = Remark(id="standby", symptom="standby_gives_nothing", present=False)
    answer = diagnose(layouts.make("suction-standby-pump"), Evidence(remarks=(SAID[0], held)), seed=0)
    assert share_of(answer, BOTH) < 0.02
    assert next(iter(answer.repairs)) == "pump"


@pytest.mark.parametrize("layout", ["suction-one-pump", "suction-twin-pumps"])
def test_without_a_standby_there_is_no_such_answer(layout: str):
    assert BOTH not in {hypothesis.id for hypothesis in singles_and_chains(layouts.make(layout))}
