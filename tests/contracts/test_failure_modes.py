"""What every failure mode, check, symptom and event must be: whole, known to each other, and sourced."""

from __future__ import annotations

from pathlib import Path

import msgspec
import numpy as np
import pytest

from vanewise.aircraft import layouts
from vanewise.aircraft.description import Line
from vanewise.aircraft.kinds import KINDS
from vanewise.aircraft.reading import read_description
from vanewise.diagnosis.checks import ACCESS_MINUTES, CHECKS
from vanewise.diagnosis.checks.base import MOST_SHARED
from vanewise.diagnosis.evidence import prepare
from vanewise.diagnosis.hypotheses import CHAINS, UNSAID, context_factor, prior_weight, singles_and_chains
from vanewise.diagnosis.modes import MODES, NONE_OF_THESE, NOTHING_WRONG, applicable, places
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.summing_up import level_of
from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS, freshness
from vanewise.diagnosis.words import REPAIRS

ROOT = Path(__file__).resolve().parents[2]

ASKED_FOR = {
    "standby seized or inoperative": "standby_inoperative",
    "shared line with both sources lost": "shared_line_lost",
    "lamp false": "lamp_false",
    "cap or plug left off": "cap_left_off",
    "wrong or missing pad gasket": "pad_gasket_wrong",
    "water or smoke in filters": "intake_filter_wet_or_tarred",
    "air leak of an autopilot or another user": "accessory_leak",
    "misrouted lines": "lines_misrouted",
    "reversed rotation": "pump_rotation_wrong",
    "moisture": "moisture_or_ice",
    "boots": "boots_or_seal_fault",
    "worn vanes": "worn_vanes",
    "sheared coupling": "coupling_sheared",
    "new pump killed by debris left in the lines": "debris_left_in_lines",
    "oil in the pump": "oil_in_pump",
    "intake filter loaded": "intake_filter_loaded",
    "inline filter loaded": "inline_filter_loaded",
    "leak": "leak",
    "pump-side hose collapsed": "hose_collapsed",
    "instrument-side line restricted": "line_restricted",
    "regulator low": "regulator_low",
    "regulator high": "regulator_high",
    "its filter clogged": "regulator_filter_clogged",
    "regulator seat dirty": "regulator_seat_dirty",
    "regulator stuck open": "regulator_stuck_open",
    "regulator stuck shut": "regulator_stuck_shut",
    "gauge in error": "gauge_in_error",
    "indicator bearing": "indicator_bearing",
    "indicator contaminated": "indicator_contaminated",
    "instrument case leak": "instrument_case_leak",
    "instrument askew or loose in its panel": "instrument_mounting",
    "plug left in an instrument's port": "port_plugged",
    "hoses of one instrument exchanged": "instrument_lines_exchanged",
    "pump of the wrong hand that gives nothing": "pump_turns_wrong_way",
    "autopilot itself": "autopilot_itself",
    "nothing wrong": "nothing_wrong",
    "none of these": "none_of_these",
}


@pytest.mark.parametrize("words", ASKED_FOR)
def test_every_mode_asked_for_is_there(words: str):
    assert ASKED_FOR[words] in MODES


def test_a_leak_is_looked_for_on_every_stretch():
    """Pump side, manifold, instrument side; in suction duty also after the filter, where no reading shows it."""
    for name in layouts.layouts():
        description = layouts.make(name)
        places = MODES["leak"].places(description)
        assert len({place.part for place in places}) == (4 if description.duty == "suction" else 3), name


def test_a_restriction_is_looked_for_on_both_sides_of_the_gauge_port():
    """A gauge on the manifold sees a pinch between it and the regulator, and none between it and the gyros."""
    text = (ROOT / "src" / "vanewise" / "demo" / "d3_case_leak.toml").read_text(encoding="utf-8")
    parts = {place.part for place in MODES["line_restricted"].places(read_description(text))}
    assert {"shared_hose", "regulator_hose", "filter_hose"} <= parts


def test_every_mode_has_a_file_of_its_own():
    folder = ROOT / "src" / "vanewise" / "diagnosis" / "modes"
    shared = {"__init__", "base", "places", "acts"}
    assert {path.stem for path in folder.glob("*.py")} - shared == set(MODES)


TRADE_CARDS = {
    "F01": "worn_vanes",
    "F02": "coupling_sheared",
    "F03": "debris_left_in_lines",
    "F04": "oil_in_pump",
    "F05": "solvent_or_water_in_pump",
    "F06": "hose_collapsed",
    "F07": "hose_liner_loose",
    "F08": "intake_filter_loaded",
    "F09": "regulator_filter_clogged",
    "F10": "regulator_seat_dirty",
    "F11": "regulator_high",
    "F12": "regulator_low",
    "F13": "pump_overheated",
    "F14": "pump_rotation_wrong",
    "F15": "lines_misrouted",
    "F16": "intake_filter_missing",
    "F17": "sealant_drawn_in",
    "F18": "pump_damaged_when_fitted",
    "F19": "pump_port_cracked",
    "F20": "pad_seal_leak",
    "F21": "moisture_or_ice",
    "F22": "indicator_bearing",
    "F23": "instrument_case_leak",
    "F24": "check_valve_leaks",
    "F25": "gauge_in_error",
    "F26": "pump_outlet_blocked",
    "F27": "boots_or_seal_fault",
    "F28": "accessory_leak",
    "F29": "hidden_tube_cracked",
    "F30": "standby_inoperative",
}


@pytest.mark.parametrize("card", TRADE_CARDS)
def test_every_card_of_the_trade_has_its_mode(card: str):
    """The mode says which card it comes from in the note of its rate; common practice, no published list."""
    assert card in MODES[TRADE_CARDS[card]].rate.note


@pytest.mark.parametrize("mode_id", MODES)
def test_mode_is_whole(mode_id: str):
    mode = MODES[mode_id]
    assert mode.id == mode_id
    assert mode.name
    assert mode.name[0].islower()
    assert len(mode.meaning) > 20
    assert mode.rate.number > 0
    assert mode.rate.standing == "judgement"
    assert str(mode.source)
    assert all(event in EVENTS for event in (*mode.contexts, *mode.source_contexts))
    assert all(factor > 0 for factor in (*mode.contexts.values(), *mode.source_contexts.values()))
    assert all(sign in SYMPTOMS and 0 < p < 1 for sign, p in mode.signs.items())
    assert all(check in CHECKS for check in (*mode.confirms, *mode.refutes))
    if mode not in (NONE_OF_THESE, NOTHING_WRONG):
        assert mode.confirms, "no check can show it"


@pytest.mark.parametrize("mode_id", MODES)
@pytest.mark.parametrize("layout", sorted(layouts.layouts()))
def test_effect_names_known_states_and_moves_away_from_sound(mode_id: str, layout: str):
    """Each change is of a state in the table of kinds, inside its bounds, and further from neutral when graver."""
    mode, description = MODES[mode_id], layouts.make(layout)
    owners = {part.id: part.kind for part in description.parts} | dict.fromkeys(
        (line.id for line in description.lines), "line"
    )
    quantiles = np.array([0.05, 0.5, 0.95])
    if description.duty not in mode.duties:
        return
    for place in mode.places(description):
        for change in mode.effect(description, place, mode.severity.at(quantiles)):
            owner, _, state = change.key.rpartition(".")
            spec = {spec.name: spec for spec in KINDS[owners[owner]].states}[state]
            assert np.all((change.values >= spec.low) & (change.values <= spec.high)), change.key
            away = np.abs(change.values - spec.neutral)
            assert np.all(away > 0)
            rising = np.all(np.diff(away) >= 0) or np.all(np.diff(away) <= 0)
            assert rising, f"{change.key} does not go one way with severity"


def test_modes_apply_only_where_their_parts_are():
    suction = {mode.id for mode, _ in applicable(layouts.make("suction-one-pump"))}
    pressure = {mode.id for mode, _ in applicable(layouts.make("pressure-one-pump"))}
    assert "intake_filter_loaded" in suction - pressure
    assert {"inline_filter_loaded", "inlet_filter_loaded"} <= pressure - suction
    assert "autopilot_itself" not in suction, "this layout has no autopilot"


def test_twin_pumps_are_two_places_and_a_chain_stays_in_its_pump():
    """Which of two pumps is stopped tells which is worn; what jams the left pump does not shear the right one. Both
    can have stopped, each by itself."""
    description = layouts.make("suction-twin-pumps")
    assert {place.part for place in MODES["worn_vanes"].places(description)} == {"left_pump", "right_pump"}
    for hypothesis in singles_and_chains(description):
        pumps = [m.places[0].part for m in hypothesis.members if m.places[0].part.endswith("_pump")]
        assert len(set(pumps)) <= 1 or set(hypothesis.mode_ids) == {"coupling_sheared"}, hypothesis.id


@pytest.mark.parametrize(
    ("layout", "own", "shared"),
    [
        ("suction-one-pump", {"firewall_hose"}, set()),
        ("suction-twin-pumps", {"left_pump_hose", "right_pump_hose"}, {"pump_manifold_hose"}),
        ("pressure-twin-pumps", {"left_outlet_hose", "right_outlet_hose"}, set()),
        ("suction-standby-pump", {"firewall_hose"}, set()),
    ],
)
def test_every_pump_has_its_own_hose_to_close_and_what_pumps_share_closes_too(
    layout: str, own: set[str], shared: set[str]
):
    """Shut at one pump of two is told from shut where the air of both goes; a cracked port is at a pump."""

    def at(mode: str) -> set[str]:
        return {place.part for place in MODES[mode].places(layouts.make(layout))}

    assert at("hose_collapsed") == at("hose_liner_loose") == own | shared
    assert at("pump_port_cracked") == own
    assert at("hose_off") >= own | shared


def test_water_stands_in_low_loops_and_ice_holds_vanes_and_seats():
    """The trade names lines and vanes; that a valve freezes too is a judgement."""
    for layout in layouts.layouts():
        description = layouts.make(layout)
        parts = {place.part for place in MODES["moisture_or_ice"].places(description)}
        for kind in ("pump", "regulator"):
            assert {part.id for part in description.parts_of(kind)} <= parts, layout
        assert {place.part for place in MODES["line_restricted"].places(description)} <= parts
        assert {place.part for place in MODES["hose_collapsed"].places(description)} <= parts


def test_what_a_layout_draws_is_where_its_modes_sit():
    """Boots, seal, valve and standby that are drawn as parts count, not only those said to be fitted besides."""

    def at(mode: str, layout: str) -> set[str]:
        return {place.part for place in MODES[mode].places(layouts.make(layout))}

    assert at("boots_or_seal_fault", "pressure-boots") == {"boots", "door_seal"}
    assert at("boots_or_seal_fault", "suction-outlet-boots") == {"boots_valve"}
    assert at("standby_inoperative", "suction-standby-pump") == {"standby"}
    assert at("standby_inoperative", "suction-standby-intake") == {"standby"}
    assert at("check_valve_stuck_shut", "suction-standby-pump") == {"pump_check_valve", "standby_check_valve"}
    assert at("shared_line_lost", "suction-standby-pump")


@pytest.mark.parametrize("layout", layouts.layouts())
def test_a_hidden_tube_can_be_meant_in_a_layout_nobody_has_looked_at_line_by_line(layout: str):
    """A ready-made layout does not know which lines are tubes; boots and seals are no way to the gyros."""
    (place,) = MODES["hidden_tube_cracked"].places(layouts.make(layout))
    assert "if one is fitted" in place.label
    assert not place.part.startswith(("boots", "door_seal"))


def looked_at(line: Line, material: str) -> Line:
    """A line as a person describes it who has measured it."""
    length = msgspec.structs.replace(line.values["length"], standing="measured")
    return msgspec.structs.replace(line, material=material, values={**line.values, "length": length})


def test_a_hidden_tube_is_the_tube_described_and_none_where_every_line_was_looked_at():
    description = layouts.make("suction-one-pump")
    lines = tuple(looked_at(line, line.material) for line in description.lines)
    hoses = msgspec.structs.replace(description, lines=lines)
    assert MODES["hidden_tube_cracked"].places(hoses) == (), "the elbow at the outlet is no way to the gyros"
    for tube in ("regulator_hose", "firewall_hose"):
        piped = tuple(looked_at(line, "tube") if line.id == tube else line for line in lines)
        found = MODES["hidden_tube_cracked"].places(msgspec.structs.replace(description, lines=piped))
        assert [place.part for place in found] == [tube]


def test_every_family_is_said_as_a_repair():
    assert set(REPAIRS) == {mode.family for mode in MODES.values()}


def test_of_what_was_seen_on_a_part_alone_no_fault_is_the_cause_that_would_have_been_complained_of():
    """Oil on the belly and not a word of an instrument: the report is of the seal, not of a worn bearing."""
    found = {hypothesis.id: hypothesis for hypothesis in singles_and_chains(layouts.make("suction-one-pump"))}
    seal, bearing, none = found["pad_seal_leak"], found["indicator_bearing@attitude"], found["none_of_these"]
    oil = {"oil_on_belly"}
    assert prior_weight(bearing, {}, oil) == pytest.approx(UNSAID * prior_weight(bearing, {}))
    for hypothesis in (seal, none):
        assert prior_weight(hypothesis, {}, oil) == prior_weight(hypothesis, {})
    assert prior_weight(bearing, {}, {*oil, "ai_leans"}) == prior_weight(bearing, {}), "then it is complained of"

    def said(text: str) -> frozenset[str]:
        return prepare(layouts.make("suction-one-pump"), read_evidence(text, "report")).said()

    seen = '[[remarks]]\nsymptom = "oil_on_belly"\n'
    assert said(seen) == oil
    assert said(seen + '[[remarks]]\nsymptom = "ai_leans"\npresent = false\n') == oil
    assert said(seen + '[[remarks]]\nsymptom = "ai_leans"\n') == {*oil, "ai_leans"}
    assert said(seen + '[[readings]]\nreading = "5.0 inHg"\nrpm = "2400 rpm"\nsound = true\n') == oil
    assert said(seen + '[[checks]]\ncheck = "drain_look"\noutcome = "wet"\ngrade = 3\n') == oil
    assert not said('[[remarks]]\nsymptom = "soot_thin"\n'), "every pump shows some to who looks"
    # What was read says for itself how the air is.
    assert not said(seen + '[[readings]]\nreading = "5.0 inHg"\nrpm = "2400 rpm"\n')
    assert not said('[[readings]]\nreading = "5.0 inHg"\nrpm = "2400 rpm"\n')


def test_what_can_be_no_cause_of_a_complaint_weighs_less_without_a_sign_of_its_own():
    """Oil at a pad seal makes no horizon lean; a leak after the filter starves no gyro. Rates are of reports."""
    found = {hypothesis.id: hypothesis for hypothesis in singles_and_chains(layouts.make("suction-one-pump"))}
    seal, leak, after = found["pad_seal_leak"], found["leak@manifold"], found["leak@filter_hose"]
    for hypothesis in (seal, after):
        assert prior_weight(hypothesis, {}, {"ai_leans"}) == pytest.approx(UNSAID * prior_weight(hypothesis, {}))
        assert prior_weight(hypothesis, {}, ()) == prior_weight(hypothesis, {}), "no complaint, no change"
    assert prior_weight(seal, {}, {"ai_leans", "oil_at_drain"}) == prior_weight(seal, {})
    assert prior_weight(after, {}, {"ai_leans", "hiss_heard"}) == prior_weight(after, {})
    assert prior_weight(leak, {}, {"ai_leans"}) == prior_weight(leak, {})
    silent = {mode.id for mode in MODES.values() if mode.silent}
    # A complaint of the gauge is of no bearing; nor does a word that goes with any complaint make it one of the gauge.
    bearing = found["indicator_bearing@attitude"]
    assert prior_weight(bearing, {}, {"gauge_low_cruise"}) == pytest.approx(UNSAID * prior_weight(bearing, {}))
    of_any = ({"suddenly_worse"}, {"fault_went_with_instrument"}, {"good_alone_bad_together"})
    for said in ({"gauge_low_cruise", "ai_leans"}, {"gauge_low_cruise", "ap_wanders"}, *of_any):
        assert prior_weight(bearing, {}, said) == prior_weight(bearing, {})
    assert prior_weight(bearing, {}, {"gauge_low_cruise", "fault_went_with_instrument"}) == prior_weight(bearing, {})
    assert prior_weight(leak, {}, {"gauge_low_cruise"}) == prior_weight(leak, {})
    assert all(not MODES[mode].gyro_drag for mode in silent)


def test_one_job_said_in_two_words_counts_once():
    """Who changed an instrument has worked behind the panel; with another event the factors multiply."""
    found = {hypothesis.id: hypothesis for hypothesis in singles_and_chains(layouts.make("suction-one-pump"))}
    for name in ("instrument_mounting", "port_plugged@attitude", "hidden_tube_cracked"):
        contexts = found[name].source.contexts
        both = context_factor(found[name], {"gyro_changed": 1.0, "panel_work": 1.0})
        assert both == pytest.approx(max(contexts["gyro_changed"], contexts["panel_work"]))
        faded = context_factor(found[name], {"gyro_changed": 0.1, "panel_work": 1.0})
        assert faded == pytest.approx(contexts["panel_work"])
    contexts = found["instrument_mounting"].source.contexts
    landed = context_factor(found["instrument_mounting"], {"gyro_changed": 1.0, "hard_landing": 1.0})
    assert landed == pytest.approx(contexts["gyro_changed"] * contexts["hard_landing"])


def test_a_hose_off_at_an_instrument_leaves_every_gyro_without_air():
    """An open line beside the manifold takes what the pump moves: by the solver next to nothing is left for any."""
    description = layouts.make("suction-one-pump")
    for hypothesis in singles_and_chains(description):
        if hypothesis.id.startswith("hose_off@"):
            assert level_of(hypothesis) == "supply dead", hypothesis.id


@pytest.mark.parametrize(
    ("layout", "shared"),
    [
        ("suction-twin-pumps", ["regulator_hose"]),
        ("suction-own-filters", ["regulator_hose"]),
        ("pressure-twin-pumps", ["firewall_hose", "regulator_hose"]),
        ("pressure-boots", ["firewall_hose", "regulator_hose"]),
    ],
)
def test_a_line_is_shared_when_no_gyro_is_reached_without_it(layout: str, shared: list[str]):
    """Not the boots' own hose, nor that of one pump of two, nor that of one instrument behind its restrictor."""
    description = layouts.make(layout)
    every = "feeds every gyro"
    assert [place.part for place in places.hoses_that_come_off(description) if place.note == every] == shared
    assert [place.part for place in places.restricting_lines(description) if place.note == every] == shared


def test_chains_name_known_modes_and_leave_room_for_the_source_alone():
    share: dict[tuple[str, str], float] = {}
    for chain in CHAINS:
        assert chain.source in MODES
        assert all(victim in MODES for victim in chain.victims)
        other = chain.source not in chain.victims or chain.other_place
        assert other, "source and victims are different things, or the same at another place"
        for duty in chain.duties:
            share[chain.source, duty] = share.get((chain.source, duty), 0.0) + chain.share
    assert all(total <= 1.0 + 1e-12 for total in share.values()), share


def test_worn_pump_loaded_filter_contaminated_indicator_is_a_chain():
    found = [h for h in singles_and_chains(layouts.make("pressure-one-pump")) if h.kind == "chain"]
    modes = {hypothesis.mode_ids for hypothesis in found}
    assert ("worn_vanes", "inline_filter_loaded", "indicator_contaminated") in modes


def test_hypotheses_have_names_of_their_own_and_none_of_these_comes_last():
    for layout in layouts.layouts():
        found = singles_and_chains(layouts.make(layout))
        assert len({hypothesis.id for hypothesis in found}) == len(found)
        assert [h.id for h in found if h.kind == "none"] == [found[-1].id] == ["none_of_these"]


@pytest.mark.parametrize("check_id", CHECKS)
def test_check_is_whole(check_id: str):
    check = CHECKS[check_id]
    assert check.minutes > 0
    assert all(name in ACCESS_MINUTES for name in check.access)
    if check.needs_running_pump:
        assert any("propeller" in caution for caution in check.cautions), "engine run without its caution"
    if "suction source" in check.tools:
        assert any("6 inHg" in caution for caution in check.cautions), "workshop suction without its limit"
    if check.kind != "table":
        assert not check.outcomes, "the solver answers it"
        return
    assert sum(check.background) == pytest.approx(1.0)
    assert len(check.background) == len(check.outcomes) >= 2
    for mode, rows in check.table.items():
        assert mode in MODES
        assert 1 <= len(rows) <= 2
        for row in rows:
            assert len(row) == len(check.outcomes)
            assert sum(row) == pytest.approx(1.0)
            assert min(row) >= 0
    outcomes = {outcome.id for outcome in check.outcomes}
    for outcome, mode in check.confirms.items():
        assert outcome in outcomes
        assert mode in MODES


@pytest.mark.parametrize("check_id", [check.id for check in CHECKS.values() if check.confirms])
def test_what_confirms_a_mode_is_hardly_shown_by_any_other(check_id: str):
    """A sign that several causes share is strong evidence at best; only modes that bring it about may."""
    check = CHECKS[check_id]
    number = {outcome.id: place for place, outcome in enumerate(check.outcomes)}
    for outcome, mode in check.confirms.items():
        at = number[outcome]
        let_off = {mode, *check.or_confirms.get(outcome, ()), *check.brought_by.get(outcome, ())}
        others = {name: max(row[at] for row in rows) for name, rows in check.table.items() if name not in let_off}
        assert {name: share for name, share in others.items() if share > MOST_SHARED} == {}
        assert check.background[at] <= MOST_SHARED
        for own in (mode, *check.or_confirms.get(outcome, ())):
            assert max(row[at] for row in check.table[own]) >= 0.5, "and the fault itself mostly shows it"
    assert check.brought_by.keys() | check.or_confirms.keys() <= check.confirms.keys()
    assert not check.act or check.harmless, "an act confirms by both ways, which only harmless acts may"


@pytest.mark.parametrize("code", [f"C{number:02d}" for number in (*range(1, 16), 17, 18, 19, 21, 23, 24)])
def test_checks_of_the_trade_are_held(code: str):
    assert any(check.code == code for check in CHECKS.values())


@pytest.mark.parametrize("event_id", EVENTS)
def test_an_event_fades_and_never_turns_round(event_id: str):
    word = EVENTS[event_id]
    weights = [freshness(word, hours) for hours in (None, 0.0, 10.0, 50.0, 150.0, 1000.0)]
    assert weights[0] == 1.0
    assert weights == sorted(weights, reverse=True)
    assert all(0.0 <= weight <= 1.0 for weight in weights)
