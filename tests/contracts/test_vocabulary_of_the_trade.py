"""Every row of what people notice, read, do and meet has its words of evidence: in a file and in the forms.

The rows are common practice, no published list: what owners and mechanics of such aircraft tell each other. A row that
loses its word fails here.
"""

from __future__ import annotations

import pytest

from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS
from vanewise.web import choices

NOTICED = {
    "attitude: tumbles": "ai_tumbles",
    "attitude: leans left or right": "ai_leans",
    "attitude: pitch error in level flight": "ai_pitch_error",
    "attitude: slow to erect": "ai_slow_erect",
    "attitude: late to erect when cold": "ai_late_erect_cold",
    "attitude: precesses after a turn": "ai_precesses_after_turn",
    "attitude: jitters": "ai_jitters",
    "attitude: flag": "ai_flag",
    "attitude: bearing noise": "ai_noise",
    "attitude: short coast-down": "ai_coast_short",
    "heading: drifts beyond the earth's rate": "hi_drifts",
    "heading: sudden jump": "hi_sudden_jump",
    "heading: spins": "hi_spins",
    "heading: cannot be set": "hi_not_settable",
    "heading: error after turns": "hi_error_after_turns",
    "heading: noise": "hi_noise",
    "gauge low at idle": "gauge_low_idle",
    "gauge low at run-up": "gauge_low_run_up",
    "gauge low in cruise": "gauge_low_cruise",
    "gauge low at altitude": "gauge_low_at_altitude",
    "gauge high at idle": "gauge_high_idle",
    "gauge high at run-up": "gauge_high_run_up",
    "gauge high in cruise": "gauge_high",
    "gauge high at altitude": "gauge_high_at_altitude",
    "gauge rises with speed without a plateau": "gauge_climbs_with_rpm",
    "gauge at zero": "gauge_zero",
    "gauge backwards": "gauge_below_zero",
    "gauge fluctuates slow, fast or with engine speed": "gauge_fluctuates",
    "gauge slow to rise": "gauge_slow_rise",
    "gauge frozen": "gauge_frozen",
    "gauge does not fall at shutdown": "gauge_stays_up_at_shutdown",
    "gauge off its rest stop": "gauge_off_its_stop",
    "rising and falling sweep differ": "readings_differ_up_and_down",
    "panel and test gauge differ": "gauges_differ",
    "low light on": "lamp_on",
    "low light flickers at idle": "lamp_flickers_at_idle",
    "low light dark on test": "lamp_dark_on_test",
    "low light late to go out": "lamp_slow_to_go_out",
    "one gyro alone right, both together wrong": "good_alone_bad_together",
    "fault went with a swapped instrument and came back": "fault_went_with_instrument",
    "gyros strong although the gauge is low or at zero": "gyros_strong_with_gauge_low",
    "cold right, hot wrong": "worse_when_hot",
    "cold wrong, warm right": "right_again_once_warm",
    "sudden": "stopped_suddenly",
    "worse from one flight to the next": "suddenly_worse",
    "slow, over months": "crept_over_months",
    "comes and goes": "comes_and_goes",
    "one pump cannot hold": "one_source_alone_does_not_hold",
    "every source lost": "both_sources_lost",
    "standby ineffective": "standby_gives_nothing",
    "dip after a boots cycle stays": "dip_after_boots_stays",
    "hiss": "hiss_heard",
    "hiss at a door seal": "hiss_at_seal",
    "oil at the drain": "oil_at_drain",
    "oil on the coupling": "oil_on_coupling",
    "oil inside a line": "oil_in_line",
    "oil below the pump, on the belly": "oil_on_belly",
    "thin soot at the outlet": "soot_thin",
    "heavy soot at the outlet": "soot_heavy",
    "grey dust on the cowl": "grey_dust_on_cowl",
    "pump hot or blue": "pump_hot",
    "pump noise": "pump_noise",
    "hose soft": "hose_soft",
    "hose cracked": "hose_cracked",
    "hose kinked": "hose_kinked",
    "hose liner loose": "hose_liner_loose",
    "rubber slivers": "rubber_slivers",
    "fitting cracked": "fitting_cracked",
    "fitting turned too far": "fitting_overturned",
    "clamp loose": "clamp_loose",
    "nest": "nest_in_outlet",
    "outlet hose kinked": "outlet_hose_kinked",
    "carbon in a hose": "carbon_in_hose",
    "coupling in two": "coupling_parted",
    "pump shaft locked": "pump_shaft_locked",
    "paste of oil and carbon": "oily_paste_in_pump",
    "sealant or tape": "tape_or_sealant_found",
    "jaw marks": "vise_marks_on_pump",
    "water in a loop": "water_in_line",
    "grit in the regulator": "grit_in_regulator",
    "dust track at a joint": "dust_track_at_joint",
    "filter grey": "filter_grey",
    "filter black": "filter_black",
    "filter wet": "filter_wet",
    "filter brown with smoke": "filter_tarred",
    "filter missing": "filter_missing",
    "foam crumbs": "foam_crumbs",
    "foam missing": "regulator_foam_missing",
    "dust at the filter's face": "dust_at_filter_face",
    "carbon in the inline filter": "inline_filter_black",
    "inlet filter dirty": "inlet_filter_dirty",
    "dirt at an instrument's inlet": "dust_at_instrument_inlet",
    "teardown report: dust round the rotor": "shop_found_dust_in_indicator",
    "autopilot wanders": "ap_wanders",
    "autopilot rolls off": "ap_rolls_off",
    "autopilot disconnects": "ap_disconnects",
    "autopilot slow to level": "ap_slow_to_level",
    "autopilot wanders in heading mode": "ap_heading_wanders",
}
BEFORE = {
    "after a gyro change": "gyro_changed",
    "after a pump change": "pump_changed",
    "lines not cleaned at it": "no_line_cleaning_recorded",
    "lines cleaned at it": "lines_cleaned_recorded",
    "the pump before lasted little": "former_pump_short_life",
    "pump past its hours": "pump_past_its_hours",
    "after a wash": "washed",
    "after the annual": "annual_done",
    "after rain": "rain",
    "cold start": "cold_start",
    "hot day": "hot_day",
    "only in hot cruise": "hot_cruise_only",
    "after long parking": "long_parking",
    "after use of de-ice boots": "deice_used",
    "after a hard landing": "hard_landing",
    "panel work": "panel_work",
    "autopilot work": "autopilot_work",
    "work on the engine": "engine_work",
    "another user taken out": "accessory_removed",
    "regulator turned": "regulator_adjusted",
    "hoses changed": "hose_changed",
    "hoses old": "old_hoses",
    "filter overdue": "filter_overdue",
    "dusty fields": "dusty_fields",
    "smoked in": "smoked_in_cabin",
    "propeller turned backwards": "propeller_turned_backwards",
    "second gyro within 90 days": "second_gyro_within_90_days",
    "standby never tested": "standby_never_tested",
}


@pytest.mark.parametrize("row", NOTICED)
def test_what_is_noticed_can_be_written_and_ticked(row: str):
    word = NOTICED[row]
    found = read_evidence(f'[[remarks]]\nsymptom = "{word}"\npresent = false\nwho = "pilot"\nwhen = 2025-01-19\n', "e")
    assert found.remarks[0].symptom == word
    assert word in {symptom for _, _, items in choices.symptom_groups() for symptom, _ in items}


@pytest.mark.parametrize("row", BEFORE)
def test_what_came_before_can_be_written(row: str):
    found = read_evidence(f'[[events]]\nkind = "{BEFORE[row]}"\nhours_ago = "3 h"\n', "e")
    assert found.events[0].kind == BEFORE[row]


def test_every_word_counts_for_some_cause_or_follows_from_pressures():
    """A word that moves nothing would be kept in vain."""
    signs = {sign for mode in MODES.values() for sign in mode.signs}
    for symptom in SYMPTOMS.values():
        assert symptom.drive or symptom.gauge or symptom.id in signs, symptom.id
    moved = {event for mode in MODES.values() for event in mode.contexts}
    assert set(EVENTS) - moved <= {"propeller_turned_backwards"} | {
        event.id for event in EVENTS.values() if event.changes
    }


def test_a_reading_says_where_when_warm_or_cold_rising_or_falling_and_under_what():
    text = """
[[readings]]
instrument = "test gauge"
high = "attitude.inlet"
low = "cabin"
reading = "4.1 inHg"
rpm = "2400 rpm"
altitude = "9000 ft"
temperature = "15 C"
warm = false
direction = "falling"
under = { "heading.capped" = 1 }
when = 2025-01-19
who = "mechanic"
flight = "second"
[[lamp]]
rpm = "1400 rpm"
direction = "falling"
[[checks]]
check = "swap_indicator"
place = "attitude"
outcome = "fault_goes"
"""
    evidence = read_evidence(text, "e")
    reading = evidence.readings[0]
    assert (reading.direction, reading.warm, reading.under) == ("falling", False, {"heading.capped": 1.0})
    assert evidence.lamp_readings[0].direction == "falling"
    assert evidence.checks[0].place == "attitude"
