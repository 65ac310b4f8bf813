"""The work packages of the cases, checked for what a mechanic would miss if it were not there."""

from __future__ import annotations

import datetime

from vanewise.aircraft.layouts import make
from vanewise.contamination import BarrierFinding, SheddingEvent, trace
from vanewise.diagnosis.types import Cause, Causes, NextCheck
from vanewise.provenance import Source, Value
from vanewise.quantities import NM_PER_IN_LB
from vanewise.work.plan import plan
from vanewise.work.torque import Wrench

TODAY = datetime.date(2025, 2, 23)


def club():
    description = make("suction-one-pump")
    scope = trace(description, None, SheddingEvent(part="pump", kind="stop", altitude_m=1676.0))
    own = Value(
        number=90 * NM_PER_IN_LB, dimension="torque", standing="own manual", source=Source("pump maker's sheet", "2")
    )
    return plan(
        description,
        "debris_left_in_lines",
        scope,
        today=TODAY,
        place="pump",
        manual_values={"pump.nut_torque": own},
        wrench=Wrench(lever_m=0.254, offset_m=0.0254),
        report=("attitude indicator leaned 6 deg right after the pump stopped",),
    )


def test_debris_in_the_lines_plans_the_lines_and_not_only_the_pump():
    package = club()
    ids = {task.id for task in package.tasks}
    assert {"pump-off", "pump-look", "trace-look", "hoses", "regulator-clean", "manifolds", "filters", "pad"} <= ids
    assert any("5/8 in bore" in part for part in package.parts)
    assert any("regulator filter" in part for part in package.parts)
    assert any("hose clamps" in part for part in package.parts)
    assert any("documents" in part for part in package.parts)


def test_nuts_and_washers_are_counted_as_found_on_that_pad():
    counts = {count.id: count.expected for count in club().counts}
    assert counts["pad nuts"] == 4
    assert counts["plain washers"] is None
    assert counts["lock washers"] is None


def test_own_torque_value_is_corrected_for_the_adapter():
    line = club().torques[0]
    assert "pump maker's sheet, 2" in line.wanted
    # 90 in-lb, 10 in lever, 1 in adapter: 90 x 10 / 11 = 81.8 in-lb.
    assert line.setting == "82 in-lb"


def test_pump_hold_points_and_gates_are_there():
    package = club()
    assert "drain at the bottom" in package.task("pump-on").hold_point
    assert any("suspects closed" in gate.title and "pump-on" in gate.before for gate in package.gates)
    assert package.task("regulator-set").only_if


def test_instrument_goes_to_the_shop_with_what_was_found_and_reported():
    note = next(note for note in club().shop_notes if note.part == "attitude")
    assert "leaned" in note.symptoms[0]
    assert "came back through the stopped pump" in note.contamination


def test_follow_up_looks_at_one_ten_and_twenty_five_hours():
    assert [look.after_hours for look in club().follow_ups] == [1.0, 10.0, 25.0]


def test_pressure_duty_sends_both_instruments_away_and_renews_every_filter():
    description = make("pressure-one-pump")
    scope = trace(
        description,
        None,
        SheddingEvent(part="pump", kind="running"),
        SheddingEvent(part="pump", kind="stop"),
        findings=(BarrierFinding(part="inline_filter", state="breached"),),
    )
    package = plan(description, "worn_vanes", scope, today=TODAY, place="pump")
    ids = {task.id for task in package.tasks}
    assert {"attitude-out", "heading-out", "attitude-documents", "heading-documents"} <= ids
    filters = package.task("filters")
    assert {"inline_filter", "inlet_filter"} <= set(filters.closes)
    assert any("black is carbon" in step for step in filters.steps)
    assert any("cut open" in look.what for look in package.follow_ups)


def test_a_sick_instrument_is_proved_fed_before_it_goes_anywhere():
    package = plan(make("suction-one-pump"), "indicator_bearing", None, today=TODAY, place="attitude")
    ids = [task.id for task in package.tasks]
    assert ids.index("air-first") < ids.index("attitude-out")
    assert package.waiting_days > 0
    assert any("autopilot" in remark.lower() for remark in package.remarks)


def test_a_gauge_in_error_leaves_the_regulator_alone():
    package = plan(make("suction-one-pump"), "gauge_in_error", None, today=TODAY, place="gauge")
    assert all(task.id != "regulator-set" for task in package.tasks)
    assert any("regulator is not touched" in step for task in package.tasks for step in task.steps)


def causes(undecided):
    cause = Cause(
        id="worn_vanes",
        name="worn vanes",
        part="pump",
        probability=0.4,
        present=0.4,
        hypotheses=(),
        evidence=(),
        effective_rows=100.0,
        log_evidence_se=0.1,
        count_is_rough=False,
    )
    check = NextCheck(
        id="cover_test",
        name="cover test",
        minutes=2.0,
        expected_bits=0.8,
        bits_se=0.02,
        why="splits the seat from leak and pump",
        who="mechanic",
        cautions=(),
        preconditions=("the intake can be reached from the cabin",),
        method="Note rpm and both readings.",
        predicted={"regulator seat dirty": "rises to 3.7 inHg"},
    )
    return Causes(
        causes=(cause,),
        undecided=undecided,
        group=("worn_vanes", "leak"),
        next_checks=(check,),
        remarks=(),
        refined=True,
        engine="numpy",
        rows_per_hypothesis=64,
        rests_on_priors=False,
        sources=(),
        description_digest="",
        seed=0,
    )


def test_an_undecided_answer_plans_checks_and_buys_nothing():
    package = plan(make("suction-one-pump"), causes(undecided=True), None, today=TODAY)
    assert package.parts == ()
    assert "Cover test" in [task.title for task in package.tasks]
    steps = [step for task in package.tasks for step in task.steps]
    assert any("rises to 3.7 inHg" in step for step in steps)
    assert "Needs: the intake can be reached from the cabin" in steps and "Note rpm and both readings." in steps


def test_a_decided_answer_plans_its_leading_cause():
    package = plan(make("suction-one-pump"), causes(undecided=False), None, today=TODAY)
    assert package.cause == "worn_vanes"
    assert package.place == "pump"


def test_an_instrument_that_is_not_level_goes_to_no_shop_unless_debris_reached_it():
    description = make("suction-one-pump")
    package = plan(description, "instrument_mounting", None, today=TODAY, place="attitude")
    ids = {task.id for task in package.tasks}
    assert "mount" in ids and not ids & {"attitude-out", "attitude-documents", "attitude-on"}
    assert package.waiting_days == 0.0 and not package.shop_notes
    reached = trace(description, None, SheddingEvent(part="pump", kind="stop", altitude_m=1676.0))
    traced = plan(description, "instrument_mounting", reached, today=TODAY, place="attitude")
    assert "is on the list" in traced.task("attitude-out").why


def test_a_pump_of_the_wrong_hand_is_held_against_its_pads_mark():
    for mode in ("pump_rotation_wrong", "pump_turns_wrong_way"):
        look = plan(make("suction-one-pump"), mode, None, today=TODAY, place="pump").task("pump-look")
        assert any("rotation mark" in step for step in look.steps), mode
