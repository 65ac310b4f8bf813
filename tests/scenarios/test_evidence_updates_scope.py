"""What the filter, the shop's report and a look into a line say updates the list of what got dirty, both ways.

The walls are those of the trade: in pressure duty the inline filter is the only one between the pump and the gyros; in
suction duty chips come back at a stop as far as the line fills (common practice, no published table).
"""

from __future__ import annotations

from datetime import date

import msgspec
import pytest

from vanewise import pipeline
from vanewise.aircraft import layouts
from vanewise.contamination import (
    BarrierFinding,
    Closure,
    FrontFinding,
    Scope,
    SheddingEvent,
    open_suspects,
    told,
)
from vanewise.diagnosis.reading import read_evidence
from vanewise.jobs import compute

PRESSURE, SUCTION = layouts.make("pressure-one-pump"), layouts.make("suction-one-pump")
SHED = SheddingEvent(part="pump", kind="running")
STOPPED = SheddingEvent(part="pump", kind="stop")
SOUND = BarrierFinding(part="inline_filter", state="intact", right_way_round=True)
GYROS = {"attitude", "heading"}


def scope_of(description, event, text="", findings=()) -> Scope:
    air = compute.running(description, description.field.elevation.number)
    return pipeline.trace(description, air, (event,), findings, read_evidence(text, "evidence"))


def scope_told(description, text, findings=()) -> Scope:
    """The list that the evidence opens by itself."""
    air = compute.running(description, description.field.elevation.number)
    return pipeline.trace(description, air, (), findings, read_evidence(text, "evidence"))


def check(name: str, outcome: str, place: str = "", more: str = "") -> str:
    where = f'place = "{place}"\n' if place else ""
    return f'[[checks]]\ncheck = "{name}"\noutcome = "{outcome}"\ngrade = 3\n{where}{more}\n'


def remark(symptom: str, about: str = "") -> str:
    return f'[[remarks]]\nsymptom = "{symptom}"\n' + (f'about = "{about}"\n' if about else "")


def test_the_filter_seen_sound_spares_the_gyros_and_black_through_or_missing_takes_them_back():
    assert not GYROS & set(scope_of(PRESSURE, SHED, findings=(SOUND,)).suspect_ids)
    for outcome in ("past_seal", "missing"):
        through = check("inline_filter_look", outcome)
        assert set(scope_of(PRESSURE, SHED, through, (SOUND,)).suspect_ids) >= GYROS, outcome


@pytest.mark.parametrize(
    ("text", "absent"),
    [
        (remark("filter_missing"), {"inline_filter", "inlet_filter"}),
        (remark("filter_missing", "inlet_filter"), {"inlet_filter"}),
        (check("inlet_filter_look", "missing"), {"inlet_filter"}),
        (check("inline_filter_look", "missing"), {"inline_filter"}),
    ],
)
def test_a_filter_that_is_missing_is_no_wall_and_unnamed_any_of_them_may_be(text: str, absent: set[str]):
    found = told(PRESSURE, read_evidence(text, "evidence")).findings
    assert {finding.part for finding in found if getattr(finding, "state", "") == "absent"} == absent


def test_a_light_or_loaded_filter_by_itself_clears_nothing():
    """Nobody has said that it was the right way round and whole."""
    for outcome in ("light", "loaded"):
        look = f'[[checks]]\ncheck = "inline_filter_look"\noutcome = "{outcome}"\ngrade = 3\n'
        scope = scope_of(PRESSURE, SHED, look)
        assert set(scope.suspect_ids) >= GYROS
        assert any("inline filter" in look.what for look in scope.looks), "it says which look would clear them"


@pytest.mark.parametrize(
    "text",
    [
        '[[remarks]]\nsymptom = "shop_found_dust_in_indicator"\nabout = "heading"\n',
        '[[checks]]\ncheck = "indicator_bench"\nplace = "heading"\noutcome = "dirty"\ngrade = 3\n',
        '[[checks]]\ncheck = "instrument_inlet_look"\nplace = "heading"\noutcome = "black"\ngrade = 3\n',
    ],
)
def test_dust_found_inside_an_indicator_undoes_the_sound_filter(text: str):
    scope = scope_of(PRESSURE, SHED, text, (SOUND,))
    assert set(scope.suspect_ids) >= GYROS, "what passed into one may have passed into the other"
    assert any("Dust was found in the heading indicator" in remark for remark in scope.remarks)


def test_a_shop_that_found_nothing_changes_nothing():
    text = '[[remarks]]\nsymptom = "shop_found_dust_in_indicator"\nabout = "heading"\npresent = false\n'
    bare = scope_of(PRESSURE, SHED, findings=(SOUND,))
    assert scope_of(PRESSURE, SHED, text, (SOUND,)) == bare


def test_dust_in_an_indicator_in_suction_duty_came_by_a_stop_or_with_the_cabins_air():
    """The stop's whole scope, the intake side, and what running carries on: both gyros, whichever was looked at."""
    text = '[[checks]]\ncheck = "indicator_bench"\nplace = "attitude"\noutcome = "dirty"\ngrade = 3\n'
    said = told(SUCTION, read_evidence(text, "evidence"))
    assert {(event.part, event.kind) for event in said.events} == {
        ("pump", "stop"),
        ("filter", "running"),
        ("attitude", "running"),
    }
    scope = scope_told(SUCTION, text)
    assert set(scope.suspect_ids) >= set(scope_of(SUCTION, STOPPED).suspect_ids) | {"filter_hose", "heading"}
    assert "started" not in scope.suspect("attitude").reason
    assert scope.suspect("attitude").reason.startswith("debris was found here")


def test_a_line_seen_clean_shields_what_lies_beyond_and_a_report_without_direct_sight_does_not():
    look = '[[checks]]\ncheck = "borescope_lines"\nplace = "firewall_hose"\noutcome = "clean"\ngrade = {grade}\n'
    seen = scope_of(SUCTION, STOPPED, look.format(grade=3))
    assert not {"regulator", "manifold", *GYROS} & set(seen.suspect_ids)
    assert "firewall_hose" in seen.suspect_ids, "the line itself stays on the list"
    assert scope_of(SUCTION, STOPPED, look.format(grade=1)).suspect_ids == scope_of(SUCTION, STOPPED).suspect_ids


def test_carbon_seen_in_a_line_is_carried_on_by_running():
    text = '[[checks]]\ncheck = "borescope_lines"\nplace = "attitude_outlet_hose"\noutcome = "chips"\ngrade = 3\n'
    said = told(SUCTION, read_evidence(text, "evidence"))
    scope = pipeline.trace(SUCTION, compute.running(SUCTION, 0.0), said.events, ())
    assert {"attitude_outlet_hose", "manifold", "regulator", "firewall_hose", "pump"} <= set(scope.suspect_ids)


def test_a_propeller_turned_backwards_is_an_event_of_its_own():
    said = told(SUCTION, read_evidence('[[events]]\nkind = "propeller_turned_backwards"\n', "evidence"))
    assert [(event.part, event.kind) for event in said.events] == [("pump", "turned backwards")]


NEW_PUMP = '[[events]]\nkind = "pump_changed"\nhours_ago = "6 h"\n'
CLEANED = '[[events]]\nkind = "lines_cleaned_recorded"\nhours_ago = "6 h"\n'
OLD = '[[events]]\nkind = "old_hoses"\n'


def test_a_new_pump_on_lines_nobody_cleaned_warns_in_scope_causes_and_plan():
    warned = "new pump on old lines"
    assert any(warned in remark for remark in scope_of(SUCTION, STOPPED, NEW_PUMP).remarks)
    assert not any(warned in remark for remark in scope_of(SUCTION, STOPPED, NEW_PUMP + CLEANED).remarks)
    old = [text for text in scope_of(SUCTION, STOPPED, NEW_PUMP).remarks if "new pump on" in text.lower()]
    assert len(old) == 1, "said once, by the evidence where it knows of the pump"
    assert any("lines that are not closed" in text for text in scope_of(SUCTION, STOPPED).remarks)
    assert any("A new pump on old hoses" in remark for remark in scope_of(SUCTION, STOPPED, NEW_PUMP + OLD).remarks)
    text = compute.new_description("suction-one-pump")
    answer = compute.diagnose(text, "a.toml", NEW_PUMP, "e.toml", refine=False)
    assert warned in " ".join(answer.words.split())
    assert any(warned in remark for remark in answer.data.remarks)
    for cause in ("hose_off", "coupling_sheared"):
        package = compute.plan(text, "a.toml", NEW_PUMP, "e.toml", cause=cause, today=date(2025, 3, 1)).data
        assert any(warned in remark for remark in package.remarks), cause


def test_the_plan_takes_what_the_evidence_says_of_dirt():
    """The cause itself sheds nothing; the shop's report does the telling."""
    text = compute.new_description("pressure-one-pump")
    dust = '[[remarks]]\nsymptom = "shop_found_dust_in_indicator"\nabout = "heading"\n'
    package = compute.plan(text, "a.toml", dust, "e.toml", cause="indicator_bearing", today=date(2025, 3, 1)).data
    assert package.scope is not None
    assert "heading" in package.suspects


def test_dust_in_one_gyro_of_a_pressure_system_puts_everything_the_pump_feeds_on_the_list():
    scope = scope_told(PRESSURE, check("indicator_bench", "dirty", "attitude"))
    fed = set(scope_of(PRESSURE, SHED).suspect_ids)
    assert fed <= set(scope.suspect_ids)
    assert {"pump", "regulator", "inline_filter", "manifold", "heading"} <= fed
    assert any("dust found in the attitude indicator" in text for text in scope.remarks)
    assert "replaced: another pump" not in scope.suspect("pump").proof[0], "it may have shed: looked into, or replaced"


def test_carbon_in_the_hose_of_a_suction_pump_came_back_from_a_stop():
    for text in (check("borescope_lines", "chips", "firewall_hose"), remark("carbon_in_hose", "firewall_hose")):
        scope = scope_told(SUCTION, text)
        assert set(scope.suspect_ids) >= set(scope_of(SUCTION, STOPPED).suspect_ids)
        assert any("at what height" in question for question in scope.questions)


def test_where_no_air_gets_by_the_volumes_the_pumps_count_all_the_same_and_it_is_said():
    """Carbon before the gyros in suction duty: no back-fill gets through their jets."""
    scope = scope_told(SUCTION, check("borescope_lines", "chips", "filter_hose"))
    assert {"firewall_hose", "pump", "filter", *GYROS} <= set(scope.suspect_ids)
    assert any("a way they do not explain" in text for text in scope.remarks)


@pytest.mark.parametrize(
    ("description", "text", "events"),
    [
        (PRESSURE, check("inline_filter_look", "past_seal"), {("pump", "running"), ("inline_filter", "running")}),
        (PRESSURE, check("inline_filter_look", "missing"), {("pump", "running"), ("inline_filter", "running")}),
        (PRESSURE, check("inline_filter_look", "loaded"), {("pump", "running")}),
        (PRESSURE, remark("inline_filter_black"), {("pump", "running")}),
        (PRESSURE, remark("grit_in_regulator"), {("pump", "running"), ("regulator", "running")}),
        (PRESSURE, check("pump_teardown", "broken"), {("pump", "running"), ("pump", "stop")}),
        (PRESSURE, check("pump_teardown", "foreign_carbon"), {("pump", "running"), ("pump", "stop")}),
        (SUCTION, check("pump_teardown", "vanes_short"), {("pump", "stop")}),
        (SUCTION, check("pump_teardown", "broken"), {("pump", "stop")}),
        (SUCTION, check("outlet_look", "chips"), {("pump", "stop")}),
        (SUCTION, check("regulator_seat_look", "grit_bedded"), {("pump", "stop"), ("regulator", "running")}),
        (SUCTION, check("borescope_lines", "chips"), {("pump", "stop")}),
        (
            SUCTION,
            check("borescope_lines", "grey_film", "outlet_elbow"),
            {("pump", "running"), ("outlet_elbow", "running")},
        ),
        (SUCTION, remark("tape_or_sealant_found", "firewall_hose"), {("firewall_hose", "maintenance")}),
    ],
)
def test_what_filter_regulator_and_teardown_say_opens_the_list(description, text, events):
    """Common practice: cut the old filter open; a teardown report can be the first evidence of contamination."""
    said = told(description, read_evidence(text, "evidence"))
    assert {(event.part, event.kind) for event in said.events} == events
    assert scope_told(description, text).suspects


@pytest.mark.parametrize(
    "text",
    [check("pump_teardown", "ordinary"), check("inline_filter_look", "light"), check("outlet_look", "thin_soot")],
)
def test_what_is_ordinary_opens_nothing(text):
    assert told(PRESSURE, read_evidence(text, "evidence")).events == ()


def test_a_loaded_filter_that_was_seen_intact_still_spares_the_gyros():
    """It caught the dust: that it is black on its dirty side does not say that it let any go."""
    scope = scope_told(PRESSURE, check("inline_filter_look", "loaded"), (SOUND,))
    assert not GYROS & set(scope.suspect_ids)
    assert "inline_filter" in scope.suspect_ids


@pytest.mark.parametrize(
    ("text", "word"),
    [
        (check("borescope_lines", "chips"), "line or part"),
        (check("indicator_bench", "dirty"), "instrument"),
        (remark("shop_found_dust_in_indicator"), "instrument"),
        (check("coupling_turn", "locked_or_parted"), "did the pump stop"),
    ],
)
def test_dirt_without_a_place_and_a_stop_without_a_day_are_asked_about(text, word):
    said = told(SUCTION, read_evidence(text, "evidence"))
    assert any(word in question for question in said.questions)
    if said.events:
        assert set(said.questions) <= set(scope_told(SUCTION, text).questions)


MARCH = SheddingEvent(part="pump", kind="stop", id="event 1", when=date(2024, 3, 1))
BEYOND = {"regulator", "manifold", *GYROS}


@pytest.mark.parametrize(
    ("done", "look", "stands"),
    [
        ("", "when = 2024-06-01", True),
        ('kind = "hose_changed"\nwhen = 2024-03-06', "when = 2024-06-01", False),
        ('kind = "hose_changed"\nwhen = 2024-03-06', "when = 2024-03-02", True),
        ('kind = "hose_changed"\nwhen = 2024-03-06', "", False),
        ('kind = "hose_changed"', "when = 2024-06-01", False),
        ('kind = "hose_changed"\nwhen = 2023-03-06', "when = 2024-06-01", True),
        ('kind = "pump_changed"\nwhen = 2024-03-05', "when = 2024-06-01", False),
        ('kind = "lines_cleaned_recorded"\nwhen = 2024-03-05', "when = 2024-06-01", False),
        ('kind = "inline_filter_changed"\nwhen = 2024-03-05', "when = 2024-06-01", True),
        ("", "when = 2024-02-01", False),
    ],
)
def test_a_line_seen_clean_proves_nothing_where_it_may_be_another_one_or_was_run_again(done, look, stands):
    text = check("borescope_lines", "clean", "firewall_hose", look) + (f"[[events]]\n{done}\n" if done else "")
    scope = scope_of(SUCTION, MARCH, text)
    assert (not BEYOND & set(scope.suspect_ids)) == stands
    if not stands:
        assert any("takes nothing off the list" in said for said in scope.remarks)


def test_traces_that_are_still_there_were_not_swept_and_a_new_hose_has_none_of_the_old():
    """Judgement: running air takes the near end along as well. A pump run since voids only a line clean all along."""
    ends = FrontFinding(line="firewall_hose", clean_from_m=0.3, proof="cloth", when=date(2024, 6, 1))
    run = '[[events]]\nkind = "pump_changed"\nwhen = 2024-03-05\n'
    assert not BEYOND & set(scope_of(SUCTION, MARCH, run, (ends,)).suspect_ids)
    new = '[[events]]\nkind = "hose_changed"\nwhen = 2024-03-05\n'
    assert set(scope_of(SUCTION, MARCH, new, (ends,)).suspect_ids) >= BEYOND


def test_whoever_knows_that_it_was_the_same_hose_may_say_so():
    """The answer settles what the dates leave open, and not what they rule out."""
    undated = '[[events]]\nkind = "hose_changed"\n'
    look = FrontFinding(line="firewall_hose", clean_from_m=0.0, proof="borescope", when=date(2024, 6, 1))
    asked = scope_of(SUCTION, MARCH, undated, (look,))
    assert any("the one that was on at the time" in question for question in asked.questions)
    same = msgspec.structs.replace(look, as_it_was=True)
    assert not BEYOND & set(scope_of(SUCTION, MARCH, undated, (same,)).suspect_ids)
    dated = '[[events]]\nkind = "hose_changed"\nwhen = 2024-03-06\n'
    assert set(scope_of(SUCTION, MARCH, dated, (same,)).suspect_ids) >= BEYOND


@pytest.mark.parametrize(
    "beyond", [check("borescope_lines", "chips", "regulator_hose"), check("indicator_bench", "dirty", "attitude")]
)
def test_a_clean_line_does_not_stand_where_dirt_was_seen_beyond_it(beyond):
    scope = scope_of(SUCTION, STOPPED, check("borescope_lines", "clean", "firewall_hose") + beyond)
    assert set(scope.suspect_ids) >= BEYOND
    assert any("debris was found beyond it" in said for said in scope.remarks)


def test_a_new_inline_filter_found_intact_says_nothing_of_the_old_one():
    shed = SheddingEvent(part="pump", kind="running", when=date(2024, 3, 1))
    text = '[[events]]\nkind = "inline_filter_changed"\nwhen = 2024-03-06\n'
    assert set(scope_of(PRESSURE, shed, text, (SOUND,)).suspect_ids) >= GYROS
    early = msgspec.structs.replace(SOUND, when=date(2024, 3, 4))
    assert not GYROS & set(scope_of(PRESSURE, shed, text, (early,)).suspect_ids)


def test_a_find_that_the_journal_already_explains_is_not_told_twice():
    """The same pump and kind: one reach, one remark; only a later find stays, to reopen what was closed between."""
    text = check("borescope_lines", "chips", "firewall_hose", "when = 2024-02-01")
    scope = scope_of(SUCTION, MARCH, text)
    assert [event.id for event in scope.events if event.kind == "stop"] == ["event 1"]
    later = scope_of(SUCTION, MARCH, text.replace("2024-02-01", "2025-05-01"))
    assert len([event for event in later.events if event.kind == "stop"]) == 2
    assert len(later.reaches) == 1
    closed = Closure(
        suspect="regulator",
        how="replaced",
        method="new",
        proof="seen",
        by="A",
        when=date(2024, 4, 1),
        answers=("event 1",),
    )
    assert "regulator" not in open_suspects(scope, (closed,))
    assert "regulator" in open_suspects(later, (closed,))


def test_shares_do_not_grow_when_a_find_says_again_what_was_reported():
    once = scope_of(PRESSURE, SHED)
    twice = scope_of(PRESSURE, SHED, check("inline_filter_look", "loaded"))
    assert {s.id: s.share for s in twice.suspects} == {s.id: s.share for s in once.suspects}
