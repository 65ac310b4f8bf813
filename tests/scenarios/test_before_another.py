"""An instrument that dust reached, and a pump that did not last: what is to be found out before another is fitted.

Both repairs are plain before their cause is. What tells the cause is asked for beside the next checks, whatever the
information about the repair says, and a known good instrument is not put onto a supply that may be shedding.
"""

from __future__ import annotations

import datetime

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanewise.aircraft import layouts
from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis import infer
from vanewise.diagnosis.before_another import reached_an_instrument
from vanewise.diagnosis.evidence import prepare
from vanewise.diagnosis.infer import Options
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS
from vanewise.diagnosis.types import BeforeAnother, Causes, CheckResult, Event, Evidence, Remark
from vanewise.jobs import words
from vanewise.work.plan import plan

SUCTION = layouts.make("suction-one-pump")
PRESSURE = layouts.make("pressure-one-pump")
QUICK = Options(rows=128, weights=False)


def events(*kinds: str) -> tuple[Event, ...]:
    return tuple(Event(id=kind, kind=kind) for kind in kinds)


def remarks(*symptoms: str) -> tuple[Remark, ...]:
    return tuple(Remark(id=symptom, symptom=symptom) for symptom in symptoms)


def answered(evidence: Evidence, description: AircraftDescription = SUCTION, options: Options = QUICK) -> Causes:
    return infer.diagnose(description, evidence, seed=0, refine=False, options=options)


def asked(causes: Causes, question: str) -> BeforeAnother | None:
    return next((entry for entry in causes.before_another if entry.id == question), None)


DUSTY = Evidence(
    remarks=remarks("ai_slow_erect", "ai_leans", "shop_found_dust_in_indicator"),
    events=events("second_gyro_within_90_days", "gyro_changed"),
)
DEAD_AGAIN = Evidence(
    remarks=remarks("stopped_suddenly", "gauge_zero", "pump_shaft_locked", "coupling_parted"),
    events=events("pump_changed", "former_pump_short_life"),
)


def test_a_second_gyro_dead_of_dust_is_a_victim_until_its_source_is_found():
    causes = answered(DUSTY)
    question = asked(causes, "instrument")
    assert causes.level == "one instrument" and "victim" in causes.level_note
    assert question is not None and "Fit no other instrument until the source is found" in question.caution
    looks = {(check.id, check.place) for check in question.checks}
    assert looks >= {
        ("borescope_lines", ""),
        ("instrument_inlet_look", "attitude"),
        ("instrument_inlet_look", "heading"),
        ("intake_filter_look", ""),
    }
    assert "swap_indicator" not in {check.id for check in causes.next_checks}
    told = words.caused(causes)
    assert "victim" in told.split("Worth doing next")[0]
    assert "borescope lines" in told.split("Before another instrument is fitted")[1]


def test_in_pressure_duty_the_inline_filter_is_the_wall_that_is_looked_at():
    question = asked(answered(DUSTY, PRESSURE), "instrument")
    assert question is not None
    assert {"inline_filter_look", "borescope_lines", "instrument_inlet_look"} == {check.id for check in question.checks}


@pytest.mark.parametrize(
    "evidence",
    [
        Evidence(events=events("second_gyro_within_90_days")),
        Evidence(remarks=remarks("shop_found_dust_in_indicator")),
        Evidence(remarks=remarks("dust_at_instrument_inlet")),
        Evidence(checks=(CheckResult(id="a", check="indicator_bench", outcome="dirty", place="attitude", grade=3),)),
        Evidence(checks=(CheckResult(id="a", check="instrument_inlet_look", outcome="black", place="attitude"),)),
    ],
    ids=["two gyros", "shop's report", "dust at the inlet", "bench", "inlet look"],
)
def test_each_sign_of_dirt_asks_the_question_by_itself(evidence: Evidence):
    assert reached_an_instrument(prepare(SUCTION, evidence))


def test_no_sign_no_question():
    sound = Evidence(
        remarks=(*remarks("ai_leans"), Remark(id="no", symptom="shop_found_dust_in_indicator", present=False)),
        checks=(CheckResult(id="a", check="indicator_bench", outcome="worn", place="attitude"),),
    )
    assert reached_an_instrument(prepare(SUCTION, sound)) == ()
    assert answered(sound).before_another == ()


@given(
    more=st.lists(st.sampled_from(sorted(SYMPTOMS)), max_size=3, unique=True),
    done=st.lists(st.sampled_from(sorted(EVENTS)), max_size=3, unique=True),
)
def test_no_further_remark_or_event_takes_the_question_away(more: list[str], done: list[str]):
    evidence = Evidence(
        remarks=remarks(*dict.fromkeys(("shop_found_dust_in_indicator", *more))),
        events=events(*dict.fromkeys(("second_gyro_within_90_days", *done))),
    )
    first = set(reached_an_instrument(prepare(SUCTION, DUSTY)))
    assert first <= set(reached_an_instrument(prepare(SUCTION, evidence)))


def test_what_killed_the_second_pump_is_asked_though_the_repair_is_plain():
    causes = answered(DEAD_AGAIN)
    question = asked(causes, "pump")
    assert (
        causes.stop.startswith("enough to act on: the pump")
        and "before another pump is fitted stands below" in causes.stop
    )
    assert question is not None
    assert [check.id for check in question.checks] == ["pump_teardown", "borescope_lines"]
    teardown = question.checks[0]
    assert teardown.expected_bits > 0.5, "it tells the causes of a dead pump apart"
    assert not any(check.id == "pump_teardown" for check in causes.next_checks), "of the repair it tells nothing"
    told = words.caused(causes)
    assert told.index("Enough to act on") < told.index("Before another pump is fitted")
    assert "Caution: Fit no other pump" in told


def test_with_the_pump_off_opening_it_costs_its_own_minutes_only():
    options = Options(rows=128, weights=False, opened=("cowl off", "pump off"))
    question = asked(answered(DEAD_AGAIN, options=options), "pump")
    assert question is not None and question.checks[0].access_minutes == 0.0


def test_a_look_that_was_done_is_not_asked_for_again_and_a_killer_seen_ends_the_question():
    opened = CheckResult(id="t", check="pump_teardown", outcome="broken", grade=3)
    question = asked(answered(msgspec.structs.replace(DEAD_AGAIN, checks=(opened,))), "pump")
    assert question is not None and [check.id for check in question.checks] == ["borescope_lines"]
    found = msgspec.structs.replace(opened, outcome="foreign_carbon")
    assert asked(answered(msgspec.structs.replace(DEAD_AGAIN, checks=(found,))), "pump") is None
    parted = CheckResult(id="c", check="coupling_turn", outcome="locked_or_parted", grade=3)
    assert asked(answered(msgspec.structs.replace(DEAD_AGAIN, checks=(parted,))), "pump") is not None


@pytest.mark.parametrize("event", ["pump_changed", "former_pump_short_life"])
def test_either_event_asks_of_a_pump_that_only_goes(event: str):
    weak = Evidence(remarks=remarks("gauge_low_idle", "soot_heavy", "pump_noise"), events=events(event))
    assert asked(answered(weak), "pump") is not None
    assert asked(answered(msgspec.structs.replace(weak, events=())), "pump") is None, "an old pump wears"


def test_any_dead_pump_asks():
    assert asked(answered(msgspec.structs.replace(DEAD_AGAIN, events=())), "pump") is not None


def test_a_new_pump_does_not_ask_where_no_pump_goes():
    wrong_gauge = Evidence(
        remarks=remarks("gauge_off_its_stop", "gyros_strong_with_gauge_low"), events=events("pump_changed")
    )
    assert asked(answered(wrong_gauge), "pump") is None


def test_the_first_answer_says_the_caution_without_any_checks():
    first = Options(rows=128, weights=False, next_checks=False)
    question = asked(answered(DEAD_AGAIN, options=first), "pump")
    assert question is not None and question.checks == () and question.caution


def test_the_same_check_at_two_instruments_says_which():
    causes = answered(Evidence(remarks=remarks("ai_leans", "hi_drifts")))
    titles = [check.title for check in causes.next_checks]
    assert len(set(titles)) == len(titles)
    placed = [check for check in causes.next_checks if check.place]
    assert placed, "some check is done at one instrument at a time"
    assert all(check.at and check.at in check.title for check in placed)
    told = words.caused(causes)
    assert all(check.at in told for check in placed if check in causes.next_checks[:3])


def test_a_pump_seen_dead_is_planned_for_whatever_killed_it():
    """Oil at the drain leads as the source, undecided; the pump is off its drive all the same and comes off."""
    said = "".join(f'[[remarks]]\nsymptom = "{symptom}"\n' for symptom in ("oil_at_drain", "coupling_parted"))
    seen = f'{said}[[checks]]\ncheck = "coupling_turn"\noutcome = "locked_or_parted"\n'
    description = layouts.make("suction-one-pump")
    evidence = read_evidence(f"{seen}grade = 3\n", "report")
    found = infer.diagnose(description, evidence, seed=0)
    assert found.undecided and found.causes[0].id == "oil_in_pump"
    assert plan(description, found, None, today=datetime.date(2026, 3, 1)).cause == "coupling_sheared"
