"""What the filter, the shop's report and a look into a line say updates the list of what got dirty, both ways.

The walls are those of the trade: in pressure duty the inline filter is the only one between the pump and the gyros; in
suction duty chips come back at a stop as far as the line fills (common practice, no published table).
"""

from __future__ import annotations

from datetime import date

import pytest

from vanewise import pipeline
from vanewise.aircraft import layouts
from vanewise.contamination import BarrierFinding, Scope, SheddingEvent, told
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


def test_the_filter_seen_sound_spares_the_gyros_and_black_through_takes_them_back():
    assert not GYROS & set(scope_of(PRESSURE, SHED, findings=(SOUND,)).suspect_ids)
    through = '[[checks]]\ncheck = "inline_filter_look"\noutcome = "past_seal"\ngrade = 3\n'
    assert set(scope_of(PRESSURE, SHED, through, (SOUND,)).suspect_ids) >= GYROS


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


def test_dust_in_an_indicator_in_suction_duty_makes_everything_behind_it_suspect():
    """Running air carries it on from the indicator: outlet hose, manifold, regulator, pump."""
    text = '[[checks]]\ncheck = "indicator_bench"\nplace = "attitude"\noutcome = "dirty"\ngrade = 3\n'
    said = told(SUCTION, read_evidence(text, "evidence"))
    assert [event.part for event in said.events] == ["attitude"]
    scope = pipeline.trace(SUCTION, compute.running(SUCTION, 0.0), said.events, said.findings)
    assert {"attitude", "attitude_outlet_hose", "manifold", "regulator", "pump"} <= set(scope.suspect_ids)
    assert "heading" not in scope.suspect_ids


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
