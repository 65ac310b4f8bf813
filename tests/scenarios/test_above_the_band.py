"""From evidence to the page: a reading above the band, and a pump seen dead."""

from __future__ import annotations

import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis import infer, safety
from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.state import Options
from vanewise.diagnosis.types import Causes

SMALL = Options(rows=256, weights=False)


def answered(text: str, layout: str = "suction-one-pump") -> Causes:
    return infer.diagnose(layouts.make(layout), read_evidence(text, "test"), seed=0, refine=False, options=SMALL)


@pytest.fixture(scope="module")
def high() -> Causes:
    climbs = '[[remarks]]\nsymptom = "gauge_climbs_with_rpm"\n'
    return answered('[[readings]]\nreading = "8.2 inHg"\nrpm = "2300 rpm"\n' + climbs)


def test_above_the_band_what_needs_no_engine_comes_first(high: Causes):
    """Trade notes, section 10: above the green, stop. Engine runs come after, none of them is forbidden."""
    runs = [safety.runs_the_engine(CHECKS[check.id]) for check in high.next_checks]
    assert runs == sorted(runs) and not runs[0]


def test_above_the_band_every_run_carries_the_limit(high: Causes):
    for check in high.next_checks:
        assert (safety.OVER_BAND in check.cautions) == CHECKS[check.id].needs_running_pump
    assert any("stop the engine" in remark for remark in high.remarks)


@pytest.mark.parametrize("said", ["gauge_high", "gauge_high_run_up"])
def test_above_the_band_as_somebody_says_is_above_the_band_too(said: str):
    """No number was written down, and another remark stands beside it: the caution and the limit stay."""
    told = answered(f'[[remarks]]\nsymptom = "{said}"\n[[remarks]]\nsymptom = "ai_jitters"\n')
    assert any("gyros overspeed: do not fly it so" in remark for remark in told.remarks)
    runs = [safety.runs_the_engine(CHECKS[check.id]) for check in told.next_checks]
    assert runs == sorted(runs) and not runs[0]
    for check in told.next_checks:
        assert (safety.OVER_BAND in check.cautions) == CHECKS[check.id].needs_running_pump


@pytest.mark.parametrize("said", ["oil_at_drain", "oil_at_pad_joint", "oil_on_belly"])
def test_the_engines_oil_at_the_pad_is_cautioned(said: str):
    """Common practice, no source: a pad that leaks can empty the engine."""
    told = answered(f'[[remarks]]\nsymptom = "{said}"\n')
    assert "Do not fly before the oil level" in told.remarks[0], "before what is said of the count"
    assert sum("Do not fly before the oil level" in remark for remark in told.remarks) == 1
    absent = answered(f'[[remarks]]\nsymptom = "{said}"\npresent = false\n')
    assert not any("Do not fly before the oil level" in remark for remark in absent.remarks)


def test_where_nothing_is_decided_the_rare_are_counted_and_not_named():
    told = answered('[[remarks]]\nsymptom = "ai_leans"\n[[remarks]]\nsymptom = "hi_drifts"\n')
    (sentence,) = (remark for remark in told.remarks if remark.startswith("Undecided"))
    named = [cause for cause in told.causes if f"{cause.name} (" in sentence]
    assert {cause.id for cause in named} == {
        cause.id for cause in told.causes if cause.id in told.group and cause.probability >= 0.05
    }
    assert f"{len(told.group) - len(named)} more, each less likely than 1 in 20" in sentence
    assert list(told.named) == named, "the pages name the same"


@pytest.mark.parametrize("refine", [False, True])
def test_the_cautions_stand_first_among_the_remarks_in_either_answer(refine: bool):
    evidence = read_evidence('[[remarks]]\nsymptom = "oil_at_drain"\n', "test")
    told = infer.diagnose(layouts.make("suction-one-pump"), evidence, seed=0, refine=refine, options=SMALL)
    assert any("Do not fly before the oil level" in caution for caution in told.cautions)
    assert told.remarks == (*told.cautions, *told.other_remarks) and told.other_remarks


def test_two_pumps_lost_at_once_is_an_emergency():
    said = answered(
        '[[remarks]]\nsymptom="gauge_zero"\n[[remarks]]\nsymptom="both_sources_lost"\n', "suction-twin-pumps"
    )
    assert any("in cloud this is an emergency" in remark for remark in said.remarks)


def test_a_pump_seen_dead_is_asked_what_killed_it():
    seen = '[[checks]]\ncheck = "coupling_look"\noutcome = "stands_still"\ngrade = 3\n'
    said = answered('[[remarks]]\nsymptom="stopped_suddenly"\n[[remarks]]\nsymptom="gauge_zero"\n' + seen)
    assert "find what killed it" in said.stop
    assert not any(CHECKS[check.id].needs_running_pump for check in said.next_checks)


def test_no_instrument_is_swapped_after_a_pump_change_without_clean_lines():
    """One gyro weak twelve hours after the change: no swap. Without the change it is offered."""
    gyro = '[[remarks]]\nsymptom="ai_slow_erect"\n[[remarks]]\nsymptom="ai_leans"\n'
    sweep = "[[sweeps]]\nrpm=[1000,1500,2000,2400]\nreading=[3.1,4.7,5.0,5.0]\n"
    changed = '[[events]]\nkind="pump_changed"\nhours_ago="12 h"\n'
    assert "swap_indicator" in {check.id for check in answered(gyro + sweep).next_checks}
    assert "swap_indicator" not in {check.id for check in answered(gyro + sweep + changed).next_checks}
