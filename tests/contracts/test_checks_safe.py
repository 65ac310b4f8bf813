"""What a check takes and how it is done agree: who runs an engine is told so, warned and charged for it."""

from __future__ import annotations

import re

import pytest

from vanewise.diagnosis.checks import CHECKS, Check
from vanewise.diagnosis.checks.base import AIR_TEST, AT_THE_ENGINE, ENGINE_RUN, GYROS_SPIN, SUCTION_SOURCE
from vanewise.diagnosis.expected import Candidate
from vanewise.diagnosis.next_check import ENGINE_RISK_MIN, access_minutes, minutes_of

RUNS = re.compile(
    r"\b(run|runs|running|start|sweep|sweeps|rpm|engine speeds?|cruise speed|ground run)\b", re.IGNORECASE
)
NO_RUN_OF_ITS_OWN = {"coast_down_listening"}
"""Done at the end of a run that is made anyway; its method says so."""
MAY_IDLE = {"standby_test"}
"""A standby is tried with the engine off, or idling where its supplement wants it: warned, not charged."""
AIR = re.compile(r"\b(shop air|compressed air|blow\w*|psi)\b", re.IGNORECASE)


def words_of(check: Check) -> str:
    """Name and method, without the running down of an instrument and the running condition of a pump."""
    return re.sub(r"instrument running down", "", f"{check.name}. {check.method}")


@pytest.mark.parametrize("check_id", CHECKS)
def test_what_runs_the_engine_is_warned_and_charged(check_id: str):
    check = CHECKS[check_id]
    if not RUNS.search(words_of(check)):
        return
    assert set(ENGINE_RUN) <= set(check.cautions), "an engine run without its cautions"
    assert check.needs_running_pump, "an engine run that would be offered on a dead pump"
    risk = minutes_of(Candidate(check)) - check.minutes - access_minutes(check)
    assert risk == pytest.approx(0.0 if check_id in NO_RUN_OF_ITS_OWN else ENGINE_RISK_MIN)


@pytest.mark.parametrize("check_id", CHECKS)
def test_an_engine_run_says_when_to_stop(check_id: str):
    """Trade notes, sections 1.5 and 10: a reading above the band is an immediate stop."""
    check = CHECKS[check_id]
    if check.needs_running_pump or check_id in MAY_IDLE:
        assert any("band" in caution and "stop the engine" in caution for caution in check.cautions)


@pytest.mark.parametrize("check_id", CHECKS)
def test_who_watches_a_shutdown_leaves_the_gyros_alone(check_id: str):
    check = CHECKS[check_id]
    if "shutdown" in words_of(check):
        assert set(GYROS_SPIN) <= set(check.cautions)


@pytest.mark.parametrize("check_id", CHECKS)
def test_who_reaches_under_the_cowling_knows_the_propeller_is_live(check_id: str):
    """Trade notes, section 10: any task at propeller or pump."""
    check = CHECKS[check_id]
    if {"cowl off", "pump off"} & set(check.access):
        assert set(AT_THE_ENGINE) <= set(check.cautions)


@pytest.mark.parametrize("check_id", CHECKS)
def test_shop_air_carries_the_cautions_of_compressed_air(check_id: str):
    check = CHECKS[check_id]
    if AIR.search(words_of(check)):
        assert set(AIR_TEST) <= set(check.cautions)


@pytest.mark.parametrize("check_id", CHECKS)
def test_a_suction_source_carries_its_limit(check_id: str):
    check = CHECKS[check_id]
    if any("suction source" in tool for tool in check.tools) or "workshop suction" in check.name:
        assert set(SUCTION_SOURCE) <= set(check.cautions)


def test_oil_is_looked_at_before_anything_is_wiped_or_run():
    """The look as found takes no run; wiping and running is the check of the pad joint, with a run's cautions."""
    assert not CHECKS["drain_look"].needs_running_pump
    assert "before anything is wiped" in CHECKS["drain_look"].method
    assert CHECKS["pad_joint_look"].needs_running_pump


@pytest.mark.parametrize("check_id", CHECKS)
def test_every_check_says_how_it_is_done(check_id: str):
    assert CHECKS[check_id].method
