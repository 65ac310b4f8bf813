"""Reports of what sound aircraft do: 'nothing wrong' among the answers, said for what it is and never as fit to fly.

What sound systems do is common practice, no source; the reports are invented.
"""

from __future__ import annotations

import datetime

import msgspec
import numpy as np
import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis import words
from vanewise.diagnosis.evidence import prepare
from vanewise.diagnosis.hypotheses import pair, singles_and_chains
from vanewise.diagnosis.infer import Options, diagnose
from vanewise.diagnosis.modes import NOTHING_WRONG
from vanewise.diagnosis.often_normal import said
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.types import Causes, Evidence
from vanewise.network import OperatingPoint, cases, observe, pack, solve_batch
from vanewise.quantities import PA_PER_INHG
from vanewise.work.meanwhile import meanwhile

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
    assert any("Until it has not come back" in line for line in sheet.lost)
