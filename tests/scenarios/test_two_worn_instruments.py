"""Horizon and heading indicator both worn, each by itself: an answer of its own, so that one plan is not the end."""

from __future__ import annotations

import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis.hypotheses import singles_and_chains
from vanewise.diagnosis.infer import diagnose
from vanewise.diagnosis.types import Causes, CheckResult, Evidence, Reading, Remark
from vanewise.quantities import PA_PER_INHG

ONE_PUMP = layouts.make("suction-one-pump")
BOTH = "indicator_bearing@attitude>indicator_bearing@heading"
FELT = tuple(
    Remark(id=symptom, symptom=symptom, about=part)
    for symptom, part in (("ai_leans", "attitude"), ("ai_slow_erect", "attitude"), ("hi_drifts", "heading"))
)
GREEN = tuple(Reading(id=f"{rpm:.0f}", value_pa=4.9 * PA_PER_INHG, engine_rpm=rpm) for rpm in (1800.0, 2300.0))


def benched(*instruments: str) -> tuple[CheckResult, ...]:
    return tuple(CheckResult(id=part, check="indicator_bench", place=part, outcome="worn") for part in instruments)


def share_of(answer: Causes) -> float:
    return sum(share.share for cause in answer.causes for share in cause.hypotheses if share.id == BOTH)


def test_both_found_worn_on_the_bench_are_both_worn():
    """They were exclusive: 0.8 for the one and 0.2 for the other, with both seen."""
    answer = diagnose(ONE_PUMP, Evidence(readings=GREEN, remarks=FELT, checks=benched("attitude", "heading")), seed=0)
    assert share_of(answer) > 0.7
    assert next(iter(answer.repairs)) == "instrument"
    assert any("Several instruments may be worn" in remark for remark in answer.remarks)
    assert answer.causes[0].hypotheses[0].words == "two instruments are worn, each by itself"


def test_with_the_gauge_right_both_complaints_are_told_of():
    answer = diagnose(ONE_PUMP, Evidence(readings=GREEN, remarks=FELT), seed=0)
    assert share_of(answer) > 0.05
    assert answer.levels["one instrument"] > answer.levels["supply weak"]


def test_words_alone_of_both_still_speak_for_the_common_supply():
    answer = diagnose(ONE_PUMP, Evidence(remarks=FELT), seed=0)
    assert share_of(answer) < 0.05
    assert answer.levels["supply weak"] + answer.levels["supply dead"] > 0.8
    assert not any("Several instruments" in remark for remark in answer.remarks)


def test_one_complaint_and_one_bench_speak_of_that_instrument():
    complaint = tuple(remark for remark in FELT if remark.about == "attitude")
    answer = diagnose(ONE_PUMP, Evidence(readings=GREEN, remarks=complaint, checks=benched("attitude")), seed=0)
    assert share_of(answer) < 0.1
    assert answer.causes[0].part == "attitude"


@pytest.mark.parametrize("layout", ["suction-one-pump", "suction-own-filters"])
def test_each_two_instruments_stand_once(layout: str):
    both = [own.id for own in singles_and_chains(layouts.make(layout)) if own.mode_ids.count("indicator_bearing") > 1]
    instruments = 3 if layout == "suction-own-filters" else 2
    assert len(both) == len(set(both)) == instruments * (instruments - 1) // 2
