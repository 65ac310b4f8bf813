"""What must not wait for the answer: lost supply, dead pump, reading above the band, lines that may shed."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vanewise.aircraft import layouts
from vanewise.diagnosis import safety
from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.evidence import Prepared, prepare
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.next_check import candidates
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.stopping import stop_words
from vanewise.diagnosis.symptoms import SUPPLY_LOST
from vanewise.diagnosis.types import Cause, NextCheck
from vanewise.jobs import words

ONE = layouts.make("suction-one-pump")


def told(text: str) -> Prepared:
    return prepare(ONE, read_evidence(text, "test"))


def cause(mode: str, probability: float, present: float | None = None, *, confirmed: bool = False) -> Cause:
    return Cause(
        id=mode,
        name=MODES[mode].name,
        part="pump",
        probability=probability,
        present=probability if present is None else present,
        hypotheses=(),
        evidence=(),
        effective_rows=100.0,
        log_evidence_se=0.1,
        count_is_rough=False,
        confirmed=confirmed,
    )


def remark(symptom: str) -> str:
    return f'[[remarks]]\nsymptom = "{symptom}"\n'


def event(kind: str, hours: str = "12 h") -> str:
    return f'[[events]]\nkind = "{kind}"\nhours_ago = "{hours}"\n'


def offered(found: tuple[Cause, ...], text: str = "", opened: frozenset[str] = frozenset()) -> set[str]:
    return {candidate.check.id for candidate in candidates(ONE, told(text), found, (), opened)}


# ---- a dead pump ----------------------------------------------------------------------------------------------

SHEARED = cause("coupling_sheared", 0.4, 0.997, confirmed=True)
WORN = cause("worn_vanes", 0.25)
PUMP = {"pump": 0.99, "leak": 0.01}


def test_a_dead_pump_seen_asks_what_killed_it():
    said = stop_words(PUMP, SHEARED, (), True, (SHEARED, WORN))
    assert "dead" in said and "Before another goes on, find what killed it" in said
    assert "repair it" not in said


def test_a_dead_pump_that_does_not_lead_asks_so_too():
    worn = cause("worn_vanes", 0.6)
    assert "find what killed it" in stop_words(PUMP, worn, (), True, (worn, SHEARED))


def test_what_killed_it_was_seen():
    """The source leads and was seen: the usual words. It was seen and stands second: it is named."""
    worn = cause("worn_vanes", 0.6, confirmed=True)
    assert "vanes" in stop_words(PUMP, worn, (), True, (worn, SHEARED))
    assert "find what killed it" not in stop_words(PUMP, worn, (), True, (worn, SHEARED))
    said = stop_words(PUMP, SHEARED, (), True, (SHEARED, worn))
    assert worn.name in said and "before another pump goes on" in said


def test_a_pump_likely_dead_is_not_just_replaced():
    likely = cause("coupling_sheared", 0.5, 0.97)
    assert "find what killed it" in stop_words(PUMP, likely, (), True, (likely, WORN))
    alive = cause("worn_vanes", 0.97)
    said = stop_words(PUMP, alive, (), True, (alive,))
    assert "enough to act on" in said and "killed" not in said


def test_every_source_that_ends_in_a_stop_can_have_killed_it():
    assert {"worn_vanes", "oil_in_pump", "debris_left_in_lines", "pump_overheated"} <= safety.KILLERS
    assert safety.DEAD not in safety.KILLERS


def test_a_pump_that_runs_is_not_taken_apart():
    open_question = (cause("leak", 0.5), cause("worn_vanes", 0.4), cause("oil_in_pump", 0.05))
    assert "pump_teardown" not in offered(open_question)
    assert "pump_teardown" in offered(open_question, opened=frozenset({"pump off"}))
    assert "pump_teardown" in offered(open_question, '[[checks]]\ncheck="coupling_turn"\noutcome="drags"\n')
    assert "pump_teardown" in offered((cause("worn_vanes", 0.97),))
    assert "pump_teardown" in offered((SHEARED, WORN))


# ---- lines that may shed --------------------------------------------------------------------------------------

GYRO = (cause("indicator_bearing", 0.8), cause("leak", 0.2))
DIRTY = [
    event("no_line_cleaning_recorded"),
    event("pump_changed"),
    event("second_gyro_within_90_days"),
    remark("carbon_in_hose"),
    remark("dust_at_instrument_inlet"),
    remark("coupling_parted"),
    remark("stopped_suddenly"),
    '[[checks]]\ncheck="borescope_lines"\noutcome="chips"\n',
    '[[checks]]\ncheck="instrument_inlet_look"\nplace="heading"\noutcome="black"\n',
    '[[checks]]\ncheck="coupling_look"\noutcome="stands_still"\n',
]
CLEAN = '[[checks]]\ncheck="borescope_lines"\noutcome="clean"\n'


def test_a_good_instrument_goes_on_lines_nobody_doubts():
    assert "swap_indicator" in offered(GYRO)
    assert "swap_indicator" in offered(GYRO, event("pump_changed") + event("lines_cleaned_recorded"))
    assert "swap_indicator" in offered(GYRO, event("pump_changed") + CLEAN)
    assert "swap_indicator" in offered(GYRO, event("pump_changed", "2000 h"))


@pytest.mark.parametrize("text", DIRTY)
def test_no_good_instrument_goes_on_lines_that_may_shed(text: str):
    assert "swap_indicator" not in offered(GYRO, text)


def test_no_good_instrument_goes_on_beside_a_dead_pump():
    assert "swap_indicator" not in offered((*GYRO, cause("coupling_sheared", 0.6)))


@settings(max_examples=60, deadline=None)
@given(st.sets(st.sampled_from(DIRTY), min_size=1), st.sets(st.sampled_from(DIRTY)))
def test_more_that_was_found_never_makes_dirty_lines_clean(some: set[str], more: set[str]):
    present = {"indicator_bearing": 0.8}
    assert safety.lines_may_shed(ONE, told("".join(sorted(some))), present)
    assert safety.lines_may_shed(ONE, told("".join(sorted(some | more))), present)


def test_carbon_found_outweighs_a_clean_look():
    assert safety.lines_may_shed(ONE, told(CLEAN + remark("carbon_in_hose")), {})
    assert not safety.lines_may_shed(ONE, told(CLEAN), {})


def test_soot_at_the_outlet_heads_for_the_gyros_in_pressure_duty_only():
    pressure = layouts.make("pressure-one-pump")
    said = read_evidence(remark("soot_heavy"), "test")
    assert safety.lines_may_shed(pressure, prepare(pressure, said), {})
    assert not safety.lines_may_shed(ONE, prepare(ONE, said), {})


# ---- cautions -------------------------------------------------------------------------------------------------

CALM = {"supply dead": 0.05, "supply weak": 0.95}


def said_of(found: tuple[Cause, ...], levels: dict[str, float], text: str = "") -> str:
    return " ".join(safety.cautions(found, levels, ONE, told(text)))


@pytest.mark.parametrize("symptom", sorted(SUPPLY_LOST - {"both_sources_lost"}))
def test_a_lost_supply_is_an_emergency_in_cloud_whatever_leads(symptom: str):
    found = (cause("gauge_in_error", 0.9),)
    assert "in cloud this is an emergency" in said_of(found, CALM, remark(symptom))
    assert "in cloud" not in said_of(found, CALM)


def test_both_sources_lost_is_an_emergency():
    """Two pumps, nothing sheared likely, a shared line lost: the level says it, and so does the remark alone."""
    twin = layouts.make("suction-twin-pumps")
    lost = prepare(twin, read_evidence(remark("both_sources_lost"), "test"))
    assert "in cloud" in " ".join(safety.cautions((cause("leak", 0.9),), CALM, twin, lost))


def test_the_level_counts_and_not_two_of_its_causes():
    found = (cause("regulator_stuck_open", 0.35), cause("shared_line_lost", 0.25), cause("leak", 0.4))
    assert said_of(found, {"supply dead": 0.6, "supply weak": 0.4}).startswith("No supply: in cloud")
    assert said_of(found, {"supply dead": 0.3, "supply weak": 0.7}).startswith("The supply may be lost: in cloud")


def test_no_flight_on_a_dead_pump():
    assert "dead pump turning on its pad" in said_of((SHEARED,), {"supply dead": 1.0})
    assert "dead pump" in said_of((cause("coupling_sheared", 0.35),), CALM)
    assert "dead pump" in said_of((cause("coupling_sheared", 0.15),), {"supply dead": 0.6})
    assert "dead pump" not in said_of((cause("coupling_sheared", 0.15),), CALM)
    assert "dead pump" not in said_of((cause("regulator_stuck_open", 1.0),), {"supply dead": 1.0})


# ---- above the band -------------------------------------------------------------------------------------------


def reading(inhg: float, more: str = "") -> str:
    return f'[[readings]]\nreading = "{inhg} inHg"\nrpm = "2300 rpm"\n{more}'


def test_a_reading_above_the_band_stops_the_engine():
    assert safety.above_the_band(ONE, told(reading(8.2)))
    assert not safety.above_the_band(ONE, told(reading(5.5)))
    assert not safety.above_the_band(ONE, told(reading(8.2, "sound = true\n")))
    assert "stop the engine" in said_of((cause("regulator_high", 0.2),), CALM, reading(8.2))


def test_a_reading_above_the_band_counts_though_the_supply_stopped_since():
    """Left out of the answer, but the next pump goes onto the same regulator."""
    stopped = '[[remarks]]\nsymptom="stopped_suddenly"\nwhen=2024-12-01\n'
    assert safety.above_the_band(ONE, told(stopped + reading(7.5, "when=2024-11-30\n")))
    assert not safety.above_the_band(ONE, told(stopped + reading(5.0, "when=2024-11-30\n")))


def test_a_gauge_that_climbs_with_speed_is_not_said_to_stand_above_its_band():
    climbs = '[[remarks]]\nsymptom="gauge_climbs_with_rpm"\n'
    assert not safety.above_the_band(ONE, told(climbs + reading(3.0)))
    assert safety.above_the_band(ONE, told('[[remarks]]\nsymptom="gauge_high"\n' + reading(3.0)))


def asked(check_id: str) -> NextCheck:
    check = CHECKS[check_id]
    return NextCheck(
        id=check.id,
        name=check.name,
        minutes=check.minutes,
        expected_bits=0.3,
        bits_se=0.01,
        why="settles some of what is still open",
        who=check.who,
        cautions=check.cautions,
        preconditions=check.preconditions,
        method=check.method,
    )


def test_the_limit_stands_first_with_what_runs_the_engine_and_nothing_is_forbidden():
    assert safety.with_limit(asked("sweep")).cautions[0] == safety.OVER_BAND
    assert set(CHECKS["sweep"].cautions) < set(safety.with_limit(asked("sweep")).cautions)
    assert safety.with_limit(asked("regulator_seat_look")) == asked("regulator_seat_look")
    assert "sweep" in offered((cause("regulator_high", 0.9),), reading(8.2))


# ---- in words -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("check_id", ["swap_indicator", "cover_test", "pump_teardown"])
def test_a_check_is_printed_with_what_it_needs_and_how_it_is_done(check_id: str):
    text = " ".join(words._check(asked(check_id)).split())
    for needed in CHECKS[check_id].preconditions:
        assert needed in text
    assert "Needs: " in text and f"How: {CHECKS[check_id].method}" in text
