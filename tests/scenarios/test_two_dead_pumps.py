"""Two pumps, and neither turns: an answer of its own, so that no leak is sought with certainty where nothing pumps.

Public reports of twins that lost their gyros tell of it as often as of one dead pump and a shared line off.
"""

from __future__ import annotations

import datetime

import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis.hypotheses import pair, singles_and_chains
from vanewise.diagnosis.infer import diagnose
from vanewise.diagnosis.safety import EACH_PUMP
from vanewise.diagnosis.summing_up import level_of
from vanewise.diagnosis.types import Evidence, Reading, Remark
from vanewise.quantities import PA_PER_INHG
from vanewise.work.plan import plan

TWINS = layouts.make("suction-twin-pumps")
BOTH = "coupling_sheared@left_pump>coupling_sheared@right_pump"


def zero(*remarks: Remark) -> Evidence:
    return Evidence(readings=(Reading(id="cruise", value_pa=0.0, engine_rpm=2400.0),), remarks=remarks)


def test_no_air_at_all_from_two_pumps_is_not_put_down_to_a_leak_alone():
    lost = Remark(id="lost", symptom="stopped_suddenly")
    tumbled = Remark(id="tumbled", symptom="ai_tumbles", about="attitude")
    for evidence in (zero(), zero(lost, tumbled)):
        answer = diagnose(TWINS, evidence, seed=0)
        assert answer.repairs["pump"] > 0.05
        assert answer.repairs["leak"] < 0.9
        assert not answer.stop
        sheared = next(cause for cause in answer.causes if cause.id == "coupling_sheared")
        assert sheared.hypotheses[0].id == BOTH
        assert "no pump is left" in sheared.hypotheses[0].words
        assert any(EACH_PUMP in remark for remark in answer.remarks)


def test_with_nothing_pumped_or_an_end_open_one_looks_with_the_engine_off():
    first = diagnose(TWINS, zero(), seed=0).next_checks[0]
    assert first.id == "coupling_look"


def test_a_reading_speaks_against_two_dead_pumps():
    weak = Evidence(
        readings=tuple(
            Reading(id=f"{rpm:.0f}", value_pa=value * PA_PER_INHG, engine_rpm=rpm)
            for rpm, value in ((1000.0, 1.5), (2400.0, 4.0))
        )
    )
    answer = diagnose(TWINS, weak, seed=0)
    shares = [share for cause in answer.causes for share in cause.hypotheses if share.id == BOTH]
    assert sum(share.share for share in shares) < 1e-3
    assert not any(EACH_PUMP in remark for remark in answer.remarks)


@pytest.mark.parametrize("layout", layouts.layouts())
def test_only_aircraft_with_several_pumps_can_lose_several(layout: str):
    description = layouts.make(layout)
    pumps = description.parts_of("pump")
    both = [h for h in singles_and_chains(description) if h.mode_ids == ("coupling_sheared", "coupling_sheared")]
    assert len(both) == len(pumps) * (len(pumps) - 1) // 2
    for hypothesis in both:
        assert len({place.part for member in hypothesis.members for place in member.places}) == 2


def test_one_dead_pump_of_two_leaves_a_weak_supply_and_two_leave_none():
    known = {hypothesis.id: hypothesis for hypothesis in singles_and_chains(TWINS)}
    assert level_of(known["coupling_sheared@left_pump"], 2) == "supply weak"
    assert level_of(known[BOTH], 2) == "supply dead"
    worn = known["worn_vanes@left_pump>coupling_sheared@left_pump"]
    assert level_of(worn, 2) == "supply weak"
    off = next(h for name, h in known.items() if name.startswith("hose_off@left"))
    same_side = pair(known["coupling_sheared@left_pump"], off)
    assert same_side is not None
    assert level_of(same_side, 2) == "supply weak", "the hose of a pump that is lost already takes nothing more"


@pytest.mark.parametrize(("layout", "said"), [("suction-twin-pumps", True), ("suction-one-pump", False)])
def test_the_work_on_a_dead_pump_asks_for_the_others(layout: str, said: bool):
    pump = layouts.make(layout).parts_of("pump")[0].id
    package = plan(layouts.make(layout), "coupling_sheared", None, today=datetime.date(2026, 1, 5), place=pump)
    assert (EACH_PUMP in package.remarks) is said
