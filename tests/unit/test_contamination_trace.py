"""Ways, events, barriers and words of the trace on the ready-made layouts."""

from __future__ import annotations

import datetime

import msgspec
import pytest

from vanewise.aircraft.layouts import make
from vanewise.contamination import BarrierFinding, Closure, FrontFinding, SheddingEvent, closure_problem, trace
from vanewise.contamination.closure import open_suspects, suspect_states
from vanewise.contamination.directions import from_description, from_solution
from vanewise.contamination.plumbing import plumbing
from vanewise.errors import InputError
from vanewise.network.types import Solved

SUCTION, PRESSURE, TWIN = "suction-one-pump", "pressure-one-pump", "suction-twin-pumps"


def scope_of(layout, part="pump", kind="stop", findings=(), **more):
    return trace(make(layout), None, SheddingEvent(part=part, kind=kind, **more), findings=findings)


def test_air_moves_from_the_filter_to_the_pump_in_suction_duty():
    description = make(SUCTION)
    ways = from_description(description, plumbing(description))
    assert set(ways.values()) == {1}, "every line of the layout is written in the direction of its flow"


def test_air_moves_from_the_pump_to_the_gyros_in_pressure_duty():
    description = make(PRESSURE)
    assert set(from_description(description, plumbing(description)).values()) == {1}


def test_standing_twin_has_no_flow_worth_the_name_behind_its_check_valve():
    description = make(TWIN)
    ways = from_description(description, plumbing(description), stopped=frozenset({"left_pump"}))
    assert ways["right_pump_hose"] == 1
    assert ways["left_pump_hose"] == 0


def test_solved_flows_decide_the_ways_and_tiny_ones_are_two_way():
    description = make(SUCTION)
    graph = plumbing(description)
    flows = {line.id: -2e-3 for line in description.lines} | {"filter_hose": 5e-7}
    solved = Solved(
        status="converged", radius_pa=1.0, pressure_pa={}, flow_kg_s=flows, ambient_pa=101325.0, temperature_k=288.15
    )
    ways = from_solution(graph, solved)
    assert ways["firewall_hose"] == -1
    assert ways["filter_hose"] == 0


def test_running_suction_pump_soils_only_its_outlet():
    assert set(scope_of(SUCTION, kind="running").suspect_ids) == {"pump", "outlet_elbow"}


def test_running_pressure_pump_soils_everything_up_to_the_gyros_while_the_filter_is_unseen():
    assert {"regulator", "inline_filter", "attitude", "heading", "gauge.high"} <= set(
        scope_of(PRESSURE, kind="running").suspect_ids
    )


def test_inline_filter_cuts_only_when_intact_and_the_right_way_round():
    for finding, shields in (
        (BarrierFinding(part="inline_filter", state="intact", right_way_round=True), True),
        (BarrierFinding(part="inline_filter", state="intact"), False),
        (BarrierFinding(part="inline_filter", state="intact", right_way_round=False), False),
        (BarrierFinding(part="inline_filter", state="breached", right_way_round=True), False),
        (BarrierFinding(part="inline_filter", state="absent"), False),
        (BarrierFinding(part="inline_filter", state="reversed"), False),
        (BarrierFinding(part="inline_filter", state="unknown"), False),
    ):
        scope = scope_of(PRESSURE, kind="running", findings=(finding,))
        assert ("attitude" not in scope.suspect_ids) is shields, finding
        assert "inline_filter" in scope.suspect_ids, "the wall itself is dirty on one side"


def test_reason_names_the_barrier_and_what_is_known_of_it():
    scope = scope_of(PRESSURE, kind="running", findings=(BarrierFinding(part="inline_filter", state="breached"),))
    assert "past the inline filter, found breached" in scope.suspect("attitude").reason
    assert "which nobody has found intact" in scope_of(PRESSURE, kind="running").suspect("attitude").reason


def test_contradicting_findings_leave_the_barrier_open():
    good = BarrierFinding(part="inline_filter", state="intact", right_way_round=True)
    bad = BarrierFinding(part="inline_filter", state="breached")
    for pair in ((good, bad), (bad, good)):
        assert "attitude" in scope_of(PRESSURE, kind="running", findings=pair).suspect_ids


def test_stop_in_pressure_duty_also_bleeds_back_to_the_inlet_filter():
    running, stop = scope_of(PRESSURE, kind="running"), scope_of(PRESSURE, kind="stop")
    assert set(stop.suspect_ids) - set(running.suspect_ids) == {"pump_inlet_hose", "inlet_filter"}


def test_check_valve_seen_sound_shields_the_other_pump_from_cross_feed():
    assert "right_pump" in scope_of(TWIN, part="left_pump", kind="cross-feed").suspect_ids
    sound = BarrierFinding(part="left_check_valve", state="intact", right_way_round=True)
    scope = scope_of(TWIN, part="left_pump", kind="cross-feed", findings=(sound,))
    assert "right_pump" not in scope.suspect_ids
    assert "found intact" in dict(scope.shielded)["right_pump"]


def test_cross_feed_needs_another_source():
    with pytest.raises(InputError, match="another source"):
        scope_of(SUCTION, kind="cross-feed")


def test_foam_crumbs_from_the_regulator_go_to_the_pump():
    scope = scope_of(SUCTION, part="regulator.filter", kind="running")
    assert set(scope.suspect_ids) == {"regulator.filter", "regulator", "firewall_hose", "pump", "outlet_elbow"}


def test_swarf_left_at_work_goes_downstream():
    scope = scope_of(SUCTION, part="heading_outlet_hose", kind="maintenance")
    assert "pump" in scope.suspect_ids
    assert "heading" not in scope.suspect_ids


def test_turning_back_is_bounded_by_the_turns_once_they_are_known():
    unknown = set(scope_of(SUCTION, kind="turned backwards").suspect_ids)
    one_turn = set(scope_of(SUCTION, kind="turned backwards", turns_back=1.0).suspect_ids)
    assert {"pump", "firewall_hose"} <= one_turn < unknown
    assert "attitude" in unknown
    assert "attitude" not in one_turn


def test_end_of_traces_shields_what_lies_beyond_and_not_the_hose():
    end = FrontFinding(line="attitude_outlet_hose", clean_from_m=0.3, proof="white cloth", by="the mechanic")
    scope = scope_of(SUCTION, findings=(end,))
    assert "attitude" not in scope.suspect_ids
    assert {"attitude_outlet_hose", "heading"} <= set(scope.suspect_ids)
    assert "seen to end there" in dict(scope.shielded)["attitude"]


def test_every_part_is_either_suspect_or_shielded_with_a_reason():
    description = make(TWIN)
    scope = trace(description, None, SheddingEvent(part="left_pump", kind="stop"))
    named = set(scope.suspect_ids) | {element for element, _ in scope.shielded}
    assert named == set(plumbing(description).elements)
    assert all(reason for _, reason in scope.shielded)
    assert all(suspect.reason and suspect.proof and suspect.closures for suspect in scope.suspects)


def test_looks_say_truly_what_they_would_clear():
    scope = scope_of(PRESSURE, kind="running")
    look = next(look for look in scope.looks if look.at == ("inline_filter",))
    after = scope_of(
        PRESSURE,
        kind="running",
        findings=(BarrierFinding(part="inline_filter", state="intact", right_way_round=True),),
    )
    assert set(scope.suspect_ids) - set(after.suspect_ids) == set(look.clears)


def test_what_an_earlier_stop_left_is_carried_on_by_later_running():
    """Pump A's pieces in the hose reach pump B, and B's outlet, once B runs on the old hose."""
    description = make(TWIN)
    stop = SheddingEvent(part="left_pump", kind="stop", id="A", when=datetime.date(2024, 10, 19))
    later = SheddingEvent(part="right_pump", kind="running", id="B runs", when=datetime.date(2024, 11, 2))
    both = trace(description, None, stop, later)
    assert {"right_pump", "right_outlet_elbow"} <= set(both.suspect_ids)
    assert set(trace(description, None, stop).suspect_ids) <= set(both.suspect_ids)


def test_unknown_part_and_finding_at_no_barrier_are_refused_in_four_parts():
    with pytest.raises(InputError) as wrong_part:
        scope_of(SUCTION, part="pmp")
    assert wrong_part.value.problems[0].next_step
    with pytest.raises(InputError) as wrong_finding:
        scope_of(SUCTION, findings=(BarrierFinding(part="attitude", state="intact"),))
    assert "attitude" in wrong_finding.value.problems[0].where


def test_scope_survives_its_json_form():
    end = FrontFinding(line="attitude_outlet_hose", clean_from_m=0.3, proof="white cloth")
    scope = scope_of(SUCTION, findings=(end, BarrierFinding(part="filter", state="intact")))
    assert msgspec.json.decode(msgspec.json.encode(scope), type=type(scope)) == scope


def closing(suspect, how, when=None, method="done", proof="seen", by="A. Person"):
    return Closure(suspect=suspect, how=how, method=method, proof=proof, by=by, when=when)


def test_a_gyro_is_not_cleaned_by_a_mechanic_and_a_filter_is_not_washed():
    scope = scope_of(PRESSURE, kind="running")
    assert closure_problem(scope, closing("attitude", "cleaned and inspected")) is not None
    assert closure_problem(scope, closing("inline_filter", "cleaned and inspected")) is not None
    assert closure_problem(scope, closing("attitude", "back from instrument shop")) is None


@pytest.mark.parametrize("field", ["method", "proof", "by"])
def test_a_closure_without_method_proof_or_name_closes_nothing(field):
    scope = scope_of(SUCTION)
    bare = closing("firewall_hose", "replaced", **{field: "  "})
    assert closure_problem(scope, bare) is not None
    assert "firewall_hose" in open_suspects(scope, (bare,))


def test_a_later_event_reopens_what_was_closed():
    event = SheddingEvent(part="pump", kind="stop", id="second stop", when=datetime.date(2025, 2, 22))
    scope = trace(make(SUCTION), None, event)
    early = closing("firewall_hose", "replaced", when=datetime.date(2024, 11, 2))
    state = next(state for state in suspect_states(scope, (early,)) if state.id == "firewall_hose")
    assert state.is_open
    assert "2025-02-22" in state.reopened_by
    late = closing("firewall_hose", "replaced", when=datetime.date(2025, 3, 8))
    for order in ((early, late), (late, early)):
        assert "firewall_hose" not in open_suspects(scope, order)


@pytest.mark.parametrize(
    ("second", "closed", "stands"),
    [
        (datetime.date(2024, 6, 1), datetime.date(2024, 3, 5), False),
        (None, datetime.date(2024, 3, 5), False),
        (datetime.date(2024, 6, 1), None, False),
        (datetime.date(2024, 3, 5), datetime.date(2024, 3, 5), False),
        (datetime.date(2024, 3, 4), datetime.date(2024, 3, 5), True),
    ],
)
def test_in_doubt_an_event_reopens_and_says_why(second, closed, stands):
    """Without a date, or on the same day, the event counts as after what was closed."""
    first = SheddingEvent(part="pump", kind="stop", id="e1", when=datetime.date(2024, 3, 1))
    scope = trace(make(SUCTION), None, first, SheddingEvent(part="pump", kind="stop", id="e2", when=second))
    closure = closing("firewall_hose", "replaced", when=closed)
    state = next(state for state in suspect_states(scope, (closure,)) if state.id == "firewall_hose")
    assert state.is_open is not stands
    if second is None or closed in (None, second):
        assert "count" in state.reopened_by
    # Closed against a list that held both events, it stands unless the event is dated after it.
    known = msgspec.structs.replace(closure, answers=("e1", "e2"))
    later = second is not None and closed is not None and second > closed
    assert ("firewall_hose" in open_suspects(scope, (known,))) is later


def test_an_event_without_a_date_happened_no_later_than_it_was_entered():
    event = SheddingEvent(part="pump", kind="stop", id="e1", known_by=datetime.date(2024, 3, 5))
    scope = trace(make(SUCTION), None, event)
    assert "firewall_hose" not in open_suspects(
        scope, (closing("firewall_hose", "replaced", when=datetime.date(2024, 3, 6)),)
    )
    assert "firewall_hose" in open_suspects(
        scope, (closing("firewall_hose", "replaced", when=datetime.date(2024, 3, 4)),)
    )


def test_users_of_the_air_that_are_not_computed_are_named_in_the_scope():
    description = msgspec.structs.replace(make(SUCTION), also_fitted=("de-ice boots",))
    scope = trace(description, None, SheddingEvent(part="pump", kind="stop"))
    assert any("a scope does not follow it" in remark for remark in scope.remarks)
    assert not any("a scope does not follow it" in remark for remark in scope_of(SUCTION).remarks)


@pytest.mark.parametrize("layout", [SUCTION, PRESSURE, TWIN])
def test_solved_flows_and_the_plumbing_alone_give_the_same_ways(layout):
    """The linear stand-in must agree with the network wherever air moves."""
    from vanewise.network import OperatingPoint, pack, solve

    description = make(layout)
    graph = plumbing(description)
    solved = solve(pack(description), OperatingPoint(engine_rpm=2400.0))
    assert isinstance(solved, Solved)
    from_network, alone = from_solution(graph, solved), from_description(description, graph)
    assert {line: way for line, way in from_network.items() if way} == {
        line: way for line, way in alone.items() if from_network[line]
    }
    assert sum(way != 0 for way in from_network.values()) >= len(description.lines) - 1


def test_the_solution_gives_the_suction_at_a_stop():
    from vanewise.network import OperatingPoint, pack, solve

    description = make(SUCTION)
    solved = solve(pack(description), OperatingPoint(engine_rpm=2400.0, altitude_m=1371.6))
    scope = trace(description, solved, SheddingEvent(part="pump", kind="stop", altitude_m=1371.6))
    below = solved.ambient_pa - solved.pressure_pa["pump.inlet"]
    assert scope.reaches[0].suction_pa == pytest.approx(below)
    assert below > 5.0 * 3386.389, "the pump sees more than the gauge does"


@pytest.mark.parametrize(
    ("label", "words"),
    [
        ("central filter", "the central filter"),
        ("pump B", "pump B"),
        ("hose 7", "hose 7"),
        ("filter IF-2", "filter IF-2"),
        ("Attitude indicator", "the Attitude indicator"),
    ],
)
def test_labels_stand_in_a_sentence(label, words):
    from vanewise.contamination.plumbing import the

    assert the(label) == words


def test_the_scope_names_every_part_in_words():
    scope = scope_of(SUCTION)
    assert scope.labels["gauge.low"] == "gauge line, low side"
    assert {element for element, _ in scope.shielded} <= set(scope.labels)


def test_time_run_on_another_source_and_missing_pieces_are_all_spoken_of():
    """One event may have all three; none keeps another from being said."""
    scope = scope_of(TWIN, "left_pump", ran_on_minutes=18.0, other_source_used=True, fragments_complete=False)
    said = " ".join(scope.remarks)
    assert "ran on for 18 min" in said
    assert "as cross-feed" in said
    assert "missing" in said
    asked = " ".join(scope.questions)
    assert "for how long" not in asked and "accounted for" not in asked


def test_time_run_on_and_pieces_are_asked_for_while_unknown():
    asked = " ".join(scope_of(SUCTION).questions)
    assert "for how long" in asked and "accounted for" in asked and "turned backwards" in asked


def test_a_new_pump_on_old_hoses_is_warned_of():
    said = " ".join(scope_of(SUCTION).remarks)
    assert "A new pump on lines that are not closed" in said
    assert not any("A new pump" in remark for remark in scope_of(SUCTION, "regulator", "running").remarks)


STANDBY, INTAKE = "suction-standby-pump", "suction-standby-intake"
STANDBY_SIDE = {"standby_valve_hose", "standby_check_valve", "standby_hose", "standby"}


@pytest.mark.parametrize("layout", [STANDBY, INTAKE])
def test_a_standby_that_was_used_draws_the_dead_pumps_debris_through_a_leaking_flap(layout):
    """Flap, manifold, standby valve, hose and the standby itself: until the pump's own flap is seen sound."""
    scope = scope_of(layout, kind="cross-feed")
    assert {"firewall_hose", "pump_check_valve", "pump_valve_hose", "pump_manifold"} | STANDBY_SIDE <= set(
        scope.suspect_ids
    )
    assert {"regulator", "manifold", "attitude"}.isdisjoint(scope.suspect_ids), (
        "the flow goes to the standby, not there"
    )
    sound = BarrierFinding(part="pump_check_valve", state="intact", right_way_round=True)
    held = scope_of(layout, kind="cross-feed", findings=(sound,))
    assert STANDBY_SIDE.isdisjoint(held.suspect_ids)
    assert "found intact" in dict(held.shielded)["standby"]


def test_a_propeller_turned_back_turns_the_engines_pump_beside_a_standby_that_stopped():
    """The standby runs on a motor: the propeller does not turn it."""
    description = make(STANDBY)
    stop = SheddingEvent(part="standby", kind="stop", altitude_m=0.0, other_source_used=False)
    turned = SheddingEvent(part="pump", kind="turned backwards", altitude_m=0.0, turns_back=2.0)
    apart = trace(description, None, stop, turned)
    beside = trace(description, None, msgspec.structs.replace(stop, turns_back=2.0))
    assert set(beside.suspect_ids) == set(apart.suspect_ids)
    assert set(trace(description, None, stop).suspect_ids) <= set(beside.suspect_ids)


@pytest.mark.parametrize(
    ("layout", "pump", "other"),
    [(STANDBY, "pump", "standby"), (INTAKE, "pump", "standby"), (TWIN, "left_pump", "right_pump")],
)
def test_a_stop_with_another_source_used_is_traced_as_cross_feed_as_well(layout, pump, other):
    """Nobody has to enter the cross-feed by hand, and what it reaches is never called beyond the reach."""
    used = scope_of(layout, pump, altitude_m=152.4, other_source_used=True)
    assert other in used.suspect_ids
    assert used.suspect(other).event == "cross-feed"
    assert "followed" in " ".join(used.remarks)
    assert [event.kind for event in used.events] == ["stop"], "the events are those that were entered"
    kept = scope_of(layout, pump, altitude_m=152.4, other_source_used=False)
    assert other not in kept.suspect_ids
    assert "another source" not in " ".join(kept.questions)


def test_until_somebody_says_whether_another_source_ran_it_counts_as_having_run():
    scope = scope_of(TWIN, "left_pump", altitude_m=152.4)
    assert "right_pump" in scope.suspect_ids
    assert any("it is taken that it did" in remark for remark in scope.remarks)
    assert "Was the right pump used while the left pump stood still?" in scope.questions


def test_a_source_that_ran_and_is_not_described_is_said_not_to_be_followed():
    said = " ".join(scope_of(SUCTION, other_source_used=True).remarks)
    assert "none is described" in said


def test_the_intake_of_the_engine_takes_what_passes_and_gives_nothing():
    """Its way is always towards the intake; the list says that it ends there and that the engine is beyond it."""
    scope = scope_of(INTAKE, kind="cross-feed")
    assert "through the engine" in " ".join(scope.remarks)
    description = make(INTAKE)
    ways = from_description(
        description, plumbing(description), stopped=frozenset({"pump"}), used=frozenset({"standby"})
    )
    assert ways["standby_hose"] == ways["standby_valve_hose"] == 1
    assert ways["pump_manifold_hose"] == 1 and ways["firewall_hose"] == 0


def test_swarf_that_lay_beyond_the_flap_is_carried_to_the_standby_too():
    """A sound flap keeps the pump's own pieces; what was left behind it goes with the other source's flow."""
    sound = BarrierFinding(part="pump_check_valve", state="intact", right_way_round=True)
    left = SheddingEvent(part="pump_manifold", kind="maintenance")
    cross = SheddingEvent(part="pump", kind="cross-feed")
    assert "standby" in trace(make(STANDBY), None, left, cross, findings=(sound,)).suspect_ids


def test_a_standby_pump_that_broke_is_a_source_like_any_pump():
    scope = scope_of(STANDBY, "standby", "stop", altitude_m=0.0)
    assert scope.suspect("standby").closures == ("replaced",)
    assert {"standby_hose", "pump"} <= set(scope.suspect_ids), "the engine's pump drew on it meanwhile"


@pytest.mark.parametrize("layout", [STANDBY, INTAKE])
def test_with_the_standby_drawing_the_network_gives_the_same_ways(layout):
    from vanewise.network import OperatingPoint, pack, solve

    description = make(layout)
    graph = plumbing(description)
    on = "running" if layout == STANDBY else "selected"
    packed = pack(description).with_values({"pump.stopped": 1.0, f"standby.{on}": 1.0})
    solved = solve(packed, OperatingPoint(engine_rpm=2400.0))
    assert isinstance(solved, Solved)
    from_network = from_solution(graph, solved)
    alone = from_description(description, graph, stopped=frozenset({"pump"}), used=frozenset({"standby"}))
    for line in ("standby_hose", "standby_valve_hose", "pump_manifold_hose", "regulator_hose", "attitude_outlet_hose"):
        assert from_network[line] == alone[line] == 1, line


def test_a_stop_at_no_stated_height_is_taken_high_up_and_asked_about():
    """Twin pumps: at sea level the heading indicator is out of reach, at 25,000 ft it is not."""
    sea = scope_of(TWIN, "left_pump", altitude_m=0.0, suction_pa=17000.0)
    unknown = scope_of(TWIN, "left_pump", suction_pa=17000.0)
    assert "heading" not in sea.suspect_ids and "heading" in unknown.suspect_ids
    assert "25,000 ft is taken" in " ".join(unknown.remarks)
    assert "25,000 ft" not in " ".join(sea.remarks)
    assert any("pressure altitude" in question for question in unknown.questions)
    assert not any("pressure altitude" in question for question in sea.questions)


def test_the_suction_at_the_stop_is_asked_for_while_nobody_read_it():
    assert any("what did the gauge read" in question for question in scope_of(SUCTION, altitude_m=0.0).questions)
    assert not any("gauge read" in question for question in scope_of(SUCTION, altitude_m=0.0, suction_pa=1e4).questions)
    assert not any("gauge read" in question for question in scope_of(PRESSURE).questions), "no reach hangs on it there"


def test_one_figure_is_the_reach_in_headline_remark_and_reason():
    scope = scope_of(TWIN, "left_pump", altitude_m=0.0, suction_pa=17000.0)
    figure = scope.reaches[0]
    assert scope.reach_upper_m == pytest.approx(figure.length_high_m) == pytest.approx(1.3 * figure.length_m)
    assert f"{figure.length_high_m:.2f} m" in dict(scope.shielded)["heading"]
    assert f"at most {figure.length_high_m:.2f} m" in " ".join(scope.remarks)


def test_a_suction_above_the_air_there_is_is_refused_in_four_parts():
    with pytest.raises(InputError) as caught:
        scope_of(SUCTION, altitude_m=7000.0, suction_pa=9e4)
    problem = caught.value.problems[0]
    assert problem.where.startswith("suction") and problem.found and problem.next_step
    assert "pump" in scope_of(SUCTION, suction_pa=9e4).suspect_ids, "at no stated height it may have been low down"


def test_turns_back_move_on_what_a_stop_had_left():
    """The back-fill ends in the hose at the pump, and half a turn alone would not leave it; both together do."""
    weak = {"altitude_m": 0.0, "suction_pa": 5000.0}
    stop = set(scope_of(SUCTION, **weak).suspect_ids)
    turned = set(scope_of(SUCTION, kind="turned backwards", turns_back=0.8).suspect_ids)
    both = scope_of(SUCTION, turns_back=0.8, **weak)
    assert "regulator" not in stop | turned
    assert "regulator" in both.suspect_ids
    assert both.reach_upper_m > scope_of(SUCTION, **weak).reach_upper_m
    assert f"{both.reach_upper_m:.2f} m" in dict(both.shielded)["heading"]


def test_two_events_of_one_pump_add_as_one_event_with_its_turns_does():
    weak = {"altitude_m": 0.0, "suction_pa": 5000.0}
    apart = trace(
        make(SUCTION),
        None,
        SheddingEvent(part="pump", kind="turned backwards", turns_back=0.8),
        SheddingEvent(part="pump", kind="stop", **weak),
    )
    assert set(apart.suspect_ids) == set(scope_of(SUCTION, turns_back=0.8, **weak).suspect_ids)


def test_turns_nobody_counted_leave_no_bound_to_print():
    scope = scope_of(SUCTION, kind="turned backwards")
    assert scope.reach_upper_m is None
    assert any("nothing bounds its reach" in question for question in scope.questions)


@pytest.mark.parametrize("turns", [0.0, -1.0, float("nan"), float("inf")])
def test_turns_back_are_over_nought(turns):
    with pytest.raises(InputError) as caught:
        scope_of(SUCTION, kind="turned backwards", turns_back=turns)
    problem = caught.value.problems[0]
    assert problem.where.startswith("turns_back") and "over 0" in problem.expected and problem.next_step


def test_turns_back_go_with_a_stop_or_with_turning_back_only():
    with pytest.raises(InputError, match="turned backwards"):
        scope_of(SUCTION, kind="running", turns_back=1.0)


def test_a_wall_called_intact_without_a_word_of_its_arrow_is_said_to_cut_nothing():
    silent = scope_of(PRESSURE, kind="running", findings=(BarrierFinding(part="inline_filter", state="intact"),))
    assert "attitude" in silent.suspect_ids
    assert any("its arrow was not stated" in remark for remark in silent.remarks)
    stated = BarrierFinding(part="inline_filter", state="intact", right_way_round=True)
    assert not any("arrow" in remark for remark in scope_of(PRESSURE, kind="running", findings=(stated,)).remarks)


def test_only_what_a_wall_shields_is_called_shielded():
    from vanewise.contamination import is_shielded

    end = FrontFinding(line="attitude_outlet_hose", clean_from_m=0.3, proof="white cloth")
    reasons = dict(scope_of(SUCTION, findings=(end,)).shielded)
    assert is_shielded(reasons["attitude"])
    assert not is_shielded(reasons["filter"]) and not is_shielded(reasons["filter_tee"])
    beyond = dict(scope_of(TWIN, "left_pump", altitude_m=0.0, suction_pa=17000.0).shielded)["heading"]
    assert "beyond the reach" in beyond and not is_shielded(beyond)
