"""Remarks about what the description does not have on this air: no say, and said so."""

from __future__ import annotations

from vanewise.aircraft import layouts
from vanewise.aircraft.compose import Choices, compose
from vanewise.diagnosis import infer
from vanewise.diagnosis.evidence import prepare
from vanewise.diagnosis.infer import Options
from vanewise.diagnosis.types import Evidence, Remark

IDLE = Remark(id="idle", symptom="standby_gives_nothing")
ZERO = Remark(id="zero", symptom="gauge_zero")


def symptoms(layout: str, *remarks: Remark) -> list[str]:
    prepared = prepare(layouts.make(layout), Evidence(remarks=remarks))
    return [item.symptom for group in prepared.remarks for item in group.items]


def test_a_second_source_that_nobody_described_says_nothing_and_is_named():
    prepared = prepare(layouts.make("suction-one-pump"), Evidence(remarks=(IDLE, ZERO)))
    assert [item.symptom for group in prepared.remarks for item in group.items] == ["gauge_zero"]
    assert prepared.former.left_out == {"idle": "the description has one source of air alone"}
    assert any("Add the second one to the description" in told for told in prepared.former.said)


def test_where_there_is_a_second_source_the_remark_counts():
    assert "standby_gives_nothing" in symptoms("suction-standby-pump", IDLE, ZERO)
    assert "standby_gives_nothing" in symptoms("suction-twin-pumps", IDLE)


def test_other_remarks_stay():
    assert symptoms("suction-one-pump", ZERO) == ["gauge_zero"]


DRIFTS = Remark(id="drifts", symptom="hi_drifts")
NEEDLE = Remark(id="needle", symptom="turn_needle_sluggish")
LEANS = Remark(id="leans", symptom="ai_leans")
ATTITUDE_ALONE = compose(Choices(duty="suction", gyros=("attitude",)), "one gyro on air", "one_gyro.toml")


def test_an_instrument_that_is_not_on_this_air_says_nothing_and_is_named():
    """A heading indicator driven by electricity: its drift was laid on the horizon's bearing."""
    evidence = Evidence(remarks=(DRIFTS, NEEDLE, LEANS))
    prepared = prepare(ATTITUDE_ALONE, evidence)
    assert [item.symptom for group in prepared.remarks for item in group.items] == ["ai_leans"]
    assert set(prepared.former.left_out) == {"drifts", "needle"}
    assert sum("driven by electricity" in told for told in prepared.former.said) == 2
    options = Options(rows=64, weights=False, next_checks=False, pairs=False)
    found = [
        infer.diagnose(ATTITUDE_ALONE, given, seed=0, refine=False, options=options)
        for given in (evidence, Evidence(remarks=(LEANS,)))
    ]
    assert found[0].repairs == found[1].repairs


def test_an_instrument_on_this_air_is_heard():
    assert symptoms("suction-one-pump", DRIFTS, LEANS) == ["hi_drifts", "ai_leans"]
    assert "turn_needle_sluggish" in symptoms("suction-own-filters", NEEDLE)
