"""One instrument is all that anybody speaks of: what fails them all is less likely, until something is read."""

from __future__ import annotations

import pytest

from vanewise.aircraft import layouts
from vanewise.aircraft.compose import Choices, compose
from vanewise.diagnosis.evidence import Prepared, prepare
from vanewise.diagnosis.hypotheses import UNSAID_OF_OTHERS, prior_weight, singles_and_chains
from vanewise.diagnosis.infer import Options, diagnose
from vanewise.diagnosis.types import CheckResult, Evidence, LampReading, Reading, Remark
from vanewise.quantities import PA_PER_INHG

ONE_PUMP = layouts.make("suction-one-pump")
LEANS = Remark(id="leans", symptom="ai_leans")
GREEN = Reading(id="green", value_pa=4.9 * PA_PER_INHG, engine_rpm=2300.0)
OTHERS = {
    "a gauge read": Evidence(remarks=(LEANS,), readings=(GREEN,)),
    "the gauge named": Evidence(remarks=(LEANS, Remark(id="low", symptom="gauge_low_cruise"))),
    "the gauge named as right": Evidence(remarks=(LEANS, Remark(id="low", symptom="gauge_low_cruise", present=False))),
    "both instruments": Evidence(remarks=(LEANS, Remark(id="drifts", symptom="hi_drifts"))),
    "the other named as right": Evidence(remarks=(LEANS, Remark(id="drifts", symptom="hi_drifts", present=False))),
    "it tumbled": Evidence(remarks=(LEANS, Remark(id="tumbled", symptom="ai_tumbles"))),
    "the lamp timed": Evidence(remarks=(LEANS,), lamp_readings=(LampReading(id="lamp", engine_rpm=900.0),)),
    "nothing of an instrument": Evidence(remarks=(Remark(id="oil", symptom="oil_at_drain"),)),
}


def prepared(evidence: Evidence) -> Prepared:
    return prepare(ONE_PUMP, evidence)


def test_one_instrument_and_nothing_else_is_of_one():
    assert prepared(Evidence(remarks=(LEANS,))).of_one()
    going = Remark(id="goes", symptom="comes_and_goes")
    assert prepared(Evidence(remarks=(LEANS, going))).of_one(), "which is said of any complaint"


@pytest.mark.parametrize("other", OTHERS)
def test_whatever_else_was_said_or_read_it_is_not(other: str):
    assert not prepared(OTHERS[other]).of_one()


def test_with_one_instrument_fitted_there_are_no_others():
    alone = compose(Choices(duty="suction", gyros=("attitude",)), "one gyro on air", "one_gyro.toml")
    assert not prepare(alone, Evidence(remarks=(LEANS,))).of_one()


def test_the_reading_left_out_it_is_of_one_again():
    evidence = prepared(OTHERS["a gauge read"])
    assert evidence.of_one(("green",))


def test_what_fails_all_is_held_to_half_and_what_sits_in_one_is_not():
    held = {
        hypothesis.id
        for hypothesis in singles_and_chains(ONE_PUMP)
        if prior_weight(hypothesis, {}, {"ai_leans"}, True)
        == pytest.approx(UNSAID_OF_OTHERS * prior_weight(hypothesis, {}, {"ai_leans"}))
        and prior_weight(hypothesis, {}, {"ai_leans"}) > 0.0
    }
    assert {"worn_vanes", "coupling_sheared", "regulator_seat_dirty", "intake_filter_loaded"} <= held
    assert not held & {"indicator_bearing@attitude", "instrument_mounting", "nothing_wrong", "none_of_these"}


def test_a_lean_alone_is_put_down_to_the_instrument_until_the_gauge_is_said_to_be_low():
    options = Options(rows=256, weights=False, next_checks=False)
    alone, low = (
        diagnose(ONE_PUMP, evidence, seed=0, refine=False, options=options)
        for evidence in (Evidence(remarks=(LEANS,)), OTHERS["the gauge named"])
    )
    assert alone.repairs["instrument"] > 0.25 > low.repairs["instrument"]


def test_a_check_by_words_is_no_reading():
    look = CheckResult(id="hoses", check="hose_squeeze", outcome="sound")
    assert prepared(Evidence(remarks=(LEANS,), checks=(look,))).of_one()
