"""Reports of what sound aircraft do: no fault among the answers, said for what it is and never as fit to fly.

What sound systems do is common practice, no source; the reports are invented.
"""

from __future__ import annotations

import datetime

import msgspec
import numpy as np
import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis import gauge_first, stopping, words
from vanewise.diagnosis.evidence import prepare
from vanewise.diagnosis.hypotheses import pair, singles_and_chains
from vanewise.diagnosis.infer import Options, diagnose
from vanewise.diagnosis.modes import NOTHING_WRONG
from vanewise.diagnosis.often_normal import said
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.stopping import stop_words
from vanewise.diagnosis.types import Cause, Causes, Evidence, NextCheck
from vanewise.network import OperatingPoint, cases, observe, pack, solve_batch
from vanewise.quantities import PA_PER_INHG
from vanewise.work.meanwhile import loss_report, meanwhile
from vanewise.work.plan import plan

AIRCRAFT = layouts.make("suction-one-pump")
QUICK = Options(weights=False, next_checks=False)


def report(*remarks: str, rest: str = "") -> Evidence:
    return read_evidence("".join(f'[[remarks]]\nsymptom = "{symptom}"\n' for symptom in remarks) + rest, "report")


def answered(evidence: Evidence) -> Causes:
    return diagnose(AIRCRAFT, evidence, seed=4, options=QUICK)


def share(causes: Causes, cause: str = "nothing_wrong") -> float:
    return next(entry.probability for entry in causes.causes if entry.id == cause)


def test_a_lamp_that_flickers_at_idle_is_first_of_all_what_lamps_do():
    causes = answered(report("lamp_flickers_at_idle"))
    assert causes.causes[0].id == "nothing_wrong"
    assert causes.undecided
    assert any("At idle the pump turns too slowly" in remark for remark in causes.remarks)


@pytest.mark.parametrize(
    "plain",
    [
        ("ai_tumbles", "hi_spins", "lamp_on", "gauge_zero"),
        ("stopped_suddenly", "ai_leans", "hi_drifts"),
        ("hose_found_off", "gauge_zero"),
    ],
)
def test_where_a_fault_is_plain_hardly_anything_is_left_of_it(plain: tuple[str, ...]):
    """Nor is anything called normal that was said beside it: the lamp's flicker is, where nothing is plain."""
    told = report(*plain, "lamp_flickers_at_idle")
    causes = answered(told)
    assert share(causes) < 0.01
    assert not said(causes.causes, prepare(AIRCRAFT, told))
    mild = report("lamp_flickers_at_idle")
    assert said(answered(mild).causes, prepare(AIRCRAFT, mild))


def normal(*remarks: str) -> str:
    """What is said of these remarks where nothing seems to be wrong."""
    sure = msgspec.structs.replace(answered(report("lamp_flickers_at_idle")).causes[0], probability=0.5)
    assert sure.id == "nothing_wrong"
    return " ".join(said([sure], prepare(AIRCRAFT, report(*remarks))))


def test_what_is_normal_is_said_of_the_very_thing_that_was_told():
    """A gauge lower than it used to be is not normal at idle, and a heading indicator does not erect in heading."""
    assert "same idle speed" in normal("gauge_low_idle") and "too slowly" not in normal("gauge_low_idle")
    turned = normal("hi_error_after_turns")
    assert "reset by the compass" in turned and "within a minute" not in turned
    assert "within a minute" in normal("ai_precesses_after_turn")
    drift = normal("hi_drifts")
    assert drift.startswith("Was the earth's turning taken off?") and "or takes from it" in drift
    assert "on the ground" in normal("oil_on_belly"), "no flight to find where oil comes from"
    assert normal("ai_noise", "hi_noise").count("hum") == 1, "each is said once"
    for remark in ("gauge_slow_rise", "lamp_slow_to_go_out", "ai_slow_erect"):
        assert "It is a fault where" in normal(remark)


def test_readings_as_they_were_while_sound_speak_for_it_and_low_ones_against():
    lines = "rpm = [1000, 1500, 2000, 2400]\nreading = [{}]\n"
    sound = [round(float(value), 1) for value in _sound_sweep()]
    low = [round(value - 1.0, 1) for value in sound]

    def with_sweep(now: list[float]) -> Causes:
        was = '[[sweeps]]\nid = "was"\nsound = true\n' + lines.format(", ".join(map(str, sound)))
        today = '[[sweeps]]\nid = "today"\n' + lines.format(", ".join(map(str, now)))
        return answered(report("hi_error_after_turns", rest=was + today))

    told, bare = with_sweep(sound), answered(report("hi_error_after_turns"))
    assert share(told) > 2.0 * share(bare)
    assert share(with_sweep(low)) < 0.02


def _sound_sweep() -> np.ndarray:
    packed = pack(AIRCRAFT)
    points = [OperatingPoint(engine_rpm=rpm, altitude_m=0.0) for rpm in (1000.0, 1500.0, 2000.0, 2400.0)]
    batch = cases(points, {})
    return np.asarray(observe(packed, batch, solve_batch(packed, batch, "numpy")).gauge_pa / PA_PER_INHG)


def test_it_stands_beside_no_fault():
    hypotheses = {hypothesis.id: hypothesis for hypothesis in singles_and_chains(AIRCRAFT)}
    nothing, worn = hypotheses["nothing_wrong"], hypotheses["worn_vanes"]
    assert pair(nothing, worn) is None
    assert pair(worn, nothing) is None
    assert nothing.network_free()


def test_the_sheet_for_the_meantime_gives_no_verdict():
    """However likely: no placard is left out, and nothing calls the aircraft fit."""
    causes = answered(report("lamp_flickers_at_idle"))
    level = NOTHING_WRONG.level
    sure = msgspec.structs.replace(causes, level=level, levels={level: 0.9}, undecided=False)
    sheet = meanwhile(AIRCRAFT, sure, report("lamp_flickers_at_idle"), dated=datetime.date(2026, 3, 1))
    assert words.NO_FINDING in sheet.finding
    assert sheet.placard and sheet.questions
    assert any("In doubt until it was looked into" in line for line in sheet.lost)
    assert "No part is known to be lost" in sheet.lost[0]


def test_the_report_after_a_loss_says_so_beside_it():
    evidence = report("lamp_flickers_at_idle")
    draft = loss_report(AIRCRAFT, answered(evidence), evidence, words="", dated=datetime.date(2026, 3, 1))
    may_be = next(section for section in draft.sections if section.title == "What it may have been").held
    assert any(NOTHING_WRONG.name in line and words.NO_FINDING in line for line in may_be)
    assert sum(words.NO_FINDING in line for line in may_be) == 1


# ---- why to stop asking ---------------------------------------------------------------------------------------------

AGREES = '[[checks]]\ncheck = "test_gauge"\noutcome = "agrees"\ngrade = 3\n'
BESIDE = "".join(
    f'[[readings]]\nreading = "4.8 inHg"\nrpm = "2300 rpm"\n{instrument}'
    for instrument in ("", 'instrument = "test gauge"\n')
)


_ASKED = NextCheck(
    id="sweep", name="sweep", minutes=15.0, expected_bits=0.2, bits_se=0.01, why="", who="mechanic", cautions=()
)


def no_fault(probability: float) -> Cause:
    return msgspec.structs.replace(
        answered(report("lamp_flickers_at_idle")).causes[0], probability=probability, count_is_rough=False
    )


def test_no_fault_left_is_no_leave_to_fly():
    stop = stop_words({"nothing": 0.97, "pump": 0.03}, no_fault(0.97), (), True, gauge_proved=True)
    assert "nothing to repair by what was told" in stop and words.NO_FINDING in stop
    assert "Keep reading the gauge" in stop and "out of cloud" in stop
    assert "flight" not in words.NOTHING_LEFT


def test_it_ends_no_asking_while_something_must_not_wait_or_the_gauge_is_not_proved():
    by_repair, sure, check = {"nothing": 0.97, "pump": 0.03}, no_fault(0.97), (_ASKED,)
    assert stop_words(by_repair, sure, check, True, gauge_proved=True)
    assert stop_words(by_repair, sure, check, True) == ""
    assert stop_words(by_repair, sure, check, True, cautioned=True, gauge_proved=True) == ""


def test_with_no_check_left_and_no_fault_leading_nothing_is_repaired():
    by_repair, likely = {"nothing": 0.5, "pump": 0.3, "leak": 0.2}, no_fault(0.5)
    stop = stop_words(by_repair, likely, (), True)
    assert words.NOTHING_LEFT in stop and "repair" not in stop
    assert words.NOTHING_LEFT not in stop_words(by_repair, likely, (), True, cautioned=True)


@pytest.mark.parametrize(
    ("rest", "proved"),
    [
        ("", False),
        (AGREES, True),
        (AGREES.replace("agrees", "differs"), False),
        (BESIDE, True),
        (BESIDE.replace("4.8 inHg", "4.0 inHg", 1), False),
        ('[[readings]]\nreading = "4.8 inHg"\nrpm = "2300 rpm"\n', False),
    ],
)
def test_the_panel_gauge_is_proved_by_another_that_agrees(rest: str, proved: bool):
    assert gauge_first.proved(AIRCRAFT, prepare(AIRCRAFT, report("lamp_flickers_at_idle", rest=rest))) is proved


def test_the_answer_asks_for_the_gauge_in_place_of_a_stop(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(stopping, "STOP_AT", 0.05)
    bare = answered(report("lamp_flickers_at_idle"))
    assert words.GAUGE_UNPROVED in bare.remarks and "nothing to repair" not in bare.stop
    proved = answered(report("lamp_flickers_at_idle", rest=AGREES))
    assert words.GAUGE_UNPROVED not in proved.remarks and words.NO_FINDING in proved.stop
    oily = answered(report("lamp_flickers_at_idle", "oil_on_belly", rest=AGREES))
    assert oily.cautions and "nothing to repair" not in oily.stop


# ---- wherever it is named ----------------------------------------------------------------------------------------


def test_where_it_is_named_the_answer_says_that_it_is_no_finding():
    """In the remarks, and by itself for the pages that show none; not where a fault is plain."""
    named = answered(report("lamp_flickers_at_idle"))
    assert words.NO_FAULT_NAMED in named.remarks and named.no_finding == words.NO_FAULT_NAMED
    plain = answered(report("hose_found_off", "gauge_zero"))
    assert words.NO_FAULT_NAMED not in plain.remarks and plain.no_finding == ""


def test_no_name_for_it_says_more_than_was_told():
    assert NOTHING_WRONG.name == "no fault by what was told"
    assert NOTHING_WRONG.level == "no fault told of"
    assert "by what was told" in words.REPAIRS[NOTHING_WRONG.family]
    package = plan(AIRCRAFT, NOTHING_WRONG.id, None, today=datetime.date(2026, 3, 1))
    assert "by what was told" in package.cause_name and words.NO_FAULT_NAMED in package.remarks
