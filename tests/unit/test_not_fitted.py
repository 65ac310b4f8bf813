"""Remarks about a second source of air where only one is described: no say, and said so."""

from __future__ import annotations

from vanewise.aircraft import layouts
from vanewise.diagnosis.evidence import prepare
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
