"""Faults that work leaves behind, there from the first start: askew in the panel, a plug left in, hoses exchanged, a
pump of the wrong hand."""

from __future__ import annotations

import datetime
from functools import cache

import msgspec
import numpy as np
import pytest

from vanewise.aircraft import layouts
from vanewise.contamination.told import told
from vanewise.diagnosis import infer
from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.evidence import prepare
from vanewise.diagnosis.hypotheses import singles_and_chains
from vanewise.diagnosis.infer import Options
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.next_check import candidates
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.safety import cautions
from vanewise.diagnosis.summing_up import level_of
from vanewise.diagnosis.types import Cause, Causes
from vanewise.diagnosis.words import BLOWN
from vanewise.network.observe import observe
from vanewise.network.pack import pack
from vanewise.network.solve import cases, solve_batch
from vanewise.network.types import OperatingPoint
from vanewise.quantities import PA_PER_INHG
from vanewise.work.meanwhile import meanwhile
from vanewise.work.plan import plan

SOUND_GAUGE = """
[[readings]]
reading = "4.9 inHg"
rpm = "2400 rpm"
[[readings]]
reading = "4.6 inHg"
rpm = "1500 rpm"
"""
LEANS = (
    SOUND_GAUGE
    + """
[[remarks]]
symptom = "ai_leans"
manner = "to the left"
[[events]]
kind = "panel_work"
hours_ago = "2 h"
"""
)
SPINS_DOWN = """
[[readings]]
reading = "5.1 inHg"
rpm = "2400 rpm"
[[remarks]]
symptom = "hi_spins"
[[remarks]]
symptom = "hi_coast_short"
[[remarks]]
symptom = "ai_leans"
present = false
[[events]]
kind = "gyro_changed"
hours_ago = "1 h"
"""
SLOW = (
    SOUND_GAUGE
    + """
[[remarks]]
symptom = "ai_slow_erect"
[[remarks]]
symptom = "crept_over_months"
"""
)
NOTHING = """
[[readings]]
reading = "0 inHg"
rpm = "2000 rpm"
[[remarks]]
symptom = "gauge_zero"
[[events]]
kind = "pump_changed"
hours_ago = "0 h"
"""
WHOLE = '[[checks]]\ncheck = "coupling_look"\noutcome = "turns"\ngrade = 3\n'
WRONG_HAND = '[[checks]]\ncheck = "pump_marking_look"\noutcome = "wrong_hand"\ngrade = 3\n'


@cache
def answered(text: str) -> Causes:
    evidence = read_evidence(text, "case")
    return infer.diagnose(layouts.make("suction-one-pump"), evidence, seed=0, options=Options(weights=False))


def by_id(text: str) -> dict[str, Cause]:
    return {cause.id: cause for cause in answered(text).causes}


# ---- an instrument askew or loose in its panel --------------------------------------------------------------------


def test_a_lean_that_is_always_the_same_since_panel_work_may_be_the_mount():
    answer = answered(LEANS)
    assert "instrument_mounting" in [cause.id for cause in answer.causes[:3]]
    assert answer.level == "one instrument"
    asked = {(check.id, check.place) for check in answer.next_checks[:3]}
    assert ("mount_look", "attitude") in asked, asked
    assert any("must not fly the autopilot" in remark for remark in answer.remarks)


def test_the_mount_seen_level_and_tight_is_cleared_and_seen_askew_confirmed():
    def looked(outcome: str) -> Cause:
        look = f'[[checks]]\ncheck = "mount_look"\nplace = "attitude"\noutcome = "{outcome}"\ngrade = 3\n'
        return by_id(LEANS + look)["instrument_mounting"]

    before = by_id(LEANS)["instrument_mounting"].probability
    assert looked("level_and_tight").probability < 0.25 * before
    askew = looked("askew_or_loose")
    assert askew.confirmed
    assert askew.probability > 0.8


def test_only_an_attitude_indicator_is_looked_at_for_its_level():
    for layout in layouts.layouts():
        description = layouts.make(layout)
        attitude = {part.id for part in description.parts_of("attitude indicator")}
        assert {place.part for place in MODES["instrument_mounting"].places(description)} == attitude
        prepared = prepare(description, read_evidence(LEANS, "case"))
        wanted = candidates(description, prepared, [one("instrument_mounting"), one("port_plugged")])
        assert {entry.place for entry in wanted if entry.check.id == "mount_look"} == attitude
        assert {entry.place for entry in wanted if entry.check.id == "ports_look"} >= attitude


def one(mode: str) -> Cause:
    return Cause(
        id=mode,
        name=MODES[mode].name,
        part="",
        probability=0.5,
        present=0.5,
        hypotheses=(),
        evidence=(),
        effective_rows=1000.0,
        log_evidence_se=0.0,
        count_is_rough=False,
    )


# ---- which instrument it was ------------------------------------------------------------------------------------


def test_a_heading_indicators_refit_does_not_clear_the_horizons_bearing():
    """A horizon slow to erect by its bearing: a refit of the heading indicator makes that no less likely beside worn
    vanes, on which no refit has a say; one of the horizon does, and one of nobody knows which may have been it."""

    def beside_worn_vanes(events: str) -> float:
        evidence = read_evidence(SLOW + events, "case")
        options = Options(weights=False)
        answer = infer.diagnose(layouts.make("suction-one-pump"), evidence, seed=1, refine=False, options=options)
        shares = {share.id: share.share for cause in answer.causes for share in cause.hypotheses}
        return shares["indicator_bearing@attitude"] / shares["worn_vanes"]

    refit = '[[events]]\nkind = "gyro_changed"\nhours_ago = "1 h"\n'
    before = beside_worn_vanes("")
    assert beside_worn_vanes(refit + 'about = "heading"\n') == pytest.approx(before)
    assert beside_worn_vanes(refit + 'about = "attitude"\n') == pytest.approx(0.7 * before)
    assert beside_worn_vanes(refit) == pytest.approx(0.7 * before)


def test_the_answer_names_the_instrument_where_it_says_what_the_refit_weighs():
    text = SLOW + '[[events]]\nkind = "gyro_changed"\nhours_ago = "1 h"\nabout = "heading"\n'
    answer = infer.diagnose(layouts.make("suction-one-pump"), read_evidence(text, "case"), seed=1, refine=False)
    refit = {w.words.rpartition(":")[0]: w for cause in answer.causes for w in cause.evidence if "gyro" in w.id}
    assert set(refit) == {"an air-driven instrument changed or refitted (heading indicator)"}


def test_what_came_out_is_not_laid_on_the_one_fitted_now_and_the_other_instrument_keeps_what_was_seen_of_it():
    """Drift of 1 March and another heading indicator on 5 March; the horizon was slow before and since. The drift
    counts no more; without a part, or about the horizon, it does."""
    refit = '[[events]]\nkind = "gyro_changed"\nwhen = 2025-03-05\nhours_ago = "1 h"\n'
    slow = "".join(f'[[remarks]]\nsymptom = "ai_slow_erect"\nwhen = 2025-03-{day}\n' for day in ("01", "09"))
    drift = '[[remarks]]\nid = "drift"\nsymptom = "hi_drifts"\nwhen = 2025-03-01\n'

    def told(about: str, *texts: str) -> Causes:
        text = "".join(texts) + refit + (f'about = "{about}"\n' if about else "")
        options = Options(rows=256, weights=False, next_checks=False)
        evidence = read_evidence(SOUND_GAUGE + text, "case")
        return infer.diagnose(layouts.make("suction-one-pump"), evidence, seed=1, refine=False, options=options)

    def heading(causes: Causes) -> float:
        return sum(s.share for cause in causes.causes for s in cause.hypotheses if s.id == "indicator_bearing@heading")

    found = told("heading", slow, drift)
    assert set(found.left_out) == {"drift"}
    alone = told("heading", slow)
    assert {c.id: c.probability for c in found.causes} == {c.id: c.probability for c in alone.causes}
    for about in ("", "attitude"):
        kept = told(about, slow, drift)
        assert "drift" not in kept.left_out
        assert heading(kept) > 2.0 * heading(found)


# ---- a plug left in, hoses exchanged --------------------------------------------------------------------------------


def test_a_gyro_that_spins_down_since_it_was_changed_may_be_plugged_or_its_hoses_exchanged():
    answer = answered(SPINS_DOWN)
    heading = {cause.id for cause in answer.causes[:4] if cause.part == "heading"}
    assert {"port_plugged", "instrument_lines_exchanged"} <= heading
    assert answer.level == "one instrument"
    assert ("ports_look", "heading") in {(check.id, check.place) for check in answer.next_checks[:3]}


@pytest.mark.parametrize(
    ("outcome", "mode"), [("plugged", "port_plugged"), ("exchanged", "instrument_lines_exchanged")]
)
def test_the_look_at_the_ports_shows_which(outcome: str, mode: str):
    look = f'[[checks]]\ncheck = "ports_look"\nplace = "heading"\noutcome = "{outcome}"\ngrade = 3\n'
    first = answered(SPINS_DOWN + look).causes[0]
    assert (first.id, first.part) == (mode, "heading")
    assert first.confirmed


def test_a_plug_starves_its_rotor_and_leaves_gauge_and_the_other_gyro_as_good_as_they_were():
    """With one taker less the gauge stands no lower; the drop at the plugged instrument's hoses is whole."""
    description = layouts.make("suction-one-pump")
    (mode,) = (found for found in singles_and_chains(description) if found.id == "port_plugged@heading")
    quantile = np.array([[0.5, 0.5, 0.5]])
    assert 0.85 < mode.drag("heading", quantile)[0] < 0.98
    assert mode.drag("attitude", quantile)[0] == 0.0
    states = {change.key: float(change.values[0]) for change in mode.changes(description, quantile)}
    assert states == {"heading.jet_fraction": pytest.approx(1.0 - 0.915)}
    packed = pack(description)

    def solved(states: dict[str, float]) -> tuple[float, float]:
        batch = cases([OperatingPoint(engine_rpm=1500.0, altitude_m=0.0)], states)
        seen = observe(packed, batch, solve_batch(packed, batch, "numpy"))
        return float(seen.gauge_pa[0]) / PA_PER_INHG, float(seen.drop_pa["attitude"][0]) / PA_PER_INHG

    sound, plugged = solved({}), solved(states)
    assert all(sound[number] <= plugged[number] < sound[number] + 1.0 for number in (0, 1))


@pytest.mark.parametrize(
    ("report", "mode", "wears"),
    [
        (LEANS, "instrument_mounting", "indicator_bearing"),
        (SPINS_DOWN, "port_plugged", "indicator_bearing"),
        (SPINS_DOWN, "instrument_lines_exchanged", "indicator_bearing"),
        (NOTHING, "pump_turns_wrong_way", "worn_vanes"),
    ],
)
def test_what_was_there_from_the_first_start_crept_over_no_months(report: str, mode: str, wears: str):
    """Said of the same report, it speaks for what wears: the odds of the other fall to less than half."""
    crept = '[[remarks]]\nsymptom = "crept_over_months"\n'

    def odds(text: str) -> float:
        found = by_id(text)
        return found[mode].probability / found[wears].probability

    assert odds(report + crept) < 0.5 * odds(report)
    assert "crept_over_months" not in MODES[mode].signs


# ---- a pump of the wrong hand ---------------------------------------------------------------------------------------


def test_a_new_pump_that_gives_nothing_with_its_coupling_whole_may_be_of_the_wrong_hand():
    without, whole = by_id(NOTHING), by_id(NOTHING + WHOLE)
    assert without["pump_turns_wrong_way"].present > 0.05
    assert whole["pump_turns_wrong_way"].present > whole["coupling_sheared"].present
    assert "pump_turns_wrong_way" in [cause.id for cause in answered(NOTHING + WHOLE).causes[:3]]
    assert "pump_marking_look" in [check.id for check in answered(NOTHING + WHOLE).next_checks[:3]]


def test_the_wrong_mark_is_seen_once_and_confirms_the_likelier_of_the_two():
    """A pump that gives nothing, and one that gives little, are one thing seen on the mark and two in the readings."""

    def confirmed(text: str) -> set[str]:
        return {cause.id for cause in answered(text + WRONG_HAND).causes if cause.confirmed}

    weak = NOTHING.replace('"0 inHg"', '"3.0 inHg"').replace("gauge_zero", "gauge_low_cruise")
    assert confirmed(NOTHING) == {"pump_turns_wrong_way"}
    assert confirmed(weak) == {"pump_rotation_wrong"}
    assert set(CHECKS["pump_marking_look"].or_confirms) <= set(CHECKS["pump_marking_look"].confirms)


def test_a_pump_that_never_gave_anything_was_not_killed_by_anything():
    """Seen to be of the wrong hand: no search for what killed it, and no engine run to learn more."""
    answer = answered(NOTHING + WRONG_HAND)
    assert "what killed it" not in answer.stop
    assert "repair it" in answer.stop
    assert not any(CHECKS[check.id].needs_running_pump for check in answer.next_checks)


@pytest.mark.parametrize(
    ("layout", "level"), [("suction-one-pump", "supply dead"), ("suction-twin-pumps", "supply weak")]
)
def test_one_of_two_pumps_of_the_wrong_hand_leaves_a_weak_supply(layout: str, level: str):
    description = layouts.make(layout)
    sources = len(description.parts_of("pump"))
    found = [h for h in singles_and_chains(description) if h.mode_ids == ("pump_turns_wrong_way",)]
    assert len(found) == sources
    assert {level_of(hypothesis, sources) for hypothesis in found} == {level}


def test_no_engine_run_once_the_mark_is_seen_to_be_of_the_other_hand():
    """Weak or without effect, whichever the reading makes it: no run blows more of its carbon about."""
    description = layouts.make("suction-one-pump")
    weak = NOTHING.replace('"0 inHg"', '"3.0 inHg"').replace("gauge_zero", "gauge_low_cruise")

    def offered(text: str) -> list[bool]:
        prepared = prepare(description, read_evidence(text, "case"))
        wanted = candidates(description, prepared, [one("pump_rotation_wrong"), one("leak")])
        return [entry.check.needs_running_pump for entry in wanted]

    assert any(offered(weak))
    assert offered(weak + WRONG_HAND) and not any(offered(weak + WRONG_HAND))


@pytest.mark.parametrize(("layout", "way"), [("suction-one-pump", "push where"), ("pressure-one-pump", "pull where")])
def test_a_pump_that_may_blow_is_looked_at_before_the_engine_runs(layout: str, way: str):
    description = layouts.make(layout)
    nothing = prepare(description, read_evidence(SPINS_DOWN, "case"))

    def said(*found: tuple[str, float]) -> str:
        present = [msgspec.structs.replace(one(mode), present=chance) for mode, chance in found]
        return " ".join(cautions(present, {"supply dead": 0.2}, description, nothing))

    together = said(("pump_turns_wrong_way", 0.2), ("lines_misrouted", 0.15))
    assert way in together and "before the engine runs" in together
    assert "before the engine runs" not in said(("pump_turns_wrong_way", 0.2), ("leak", 0.8))


def test_where_a_pump_may_have_blown_a_trace_clears_nothing_and_no_loaner_goes_on():
    description = layouts.make("suction-one-pump")
    for said in (WRONG_HAND, '[[remarks]]\nsymptom = "gauge_below_zero"\n'):
        assert BLOWN in told(description, read_evidence(said, "case")).remarks
    assert BLOWN not in told(description, read_evidence(NOTHING, "case")).remarks
    day = datetime.date(2026, 3, 1)
    for mode in ("pump_turns_wrong_way", "lines_misrouted"):
        assert MODES[mode].sheds is not None
        assert BLOWN in plan(description, mode, None, today=day, place="pump").remarks
    assert BLOWN not in plan(description, "worn_vanes", None, today=day, place="pump").remarks
    sheet = meanwhile(description, answered(NOTHING + WRONG_HAND), read_evidence(NOTHING, "case"), dated=day)
    assert any("No loaner" in line for line in sheet.elsewhere)
