"""The three invented cases, and plain single faults whose readings are computed from a hidden truth.

Truths are set as part states and solved; the diagnosis sees only what a person would have read, to a tenth.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from vanewise.aircraft import layouts
from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.reading import read_description
from vanewise.diagnosis import infer, regulator_lock
from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.infer import Options
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.symptoms import EVENTS
from vanewise.diagnosis.types import Causes, CheckResult, Event, Evidence, LampReading, Reading, Remark
from vanewise.network.observe import observe
from vanewise.network.pack import pack
from vanewise.network.solve import cases, solve_batch
from vanewise.network.types import OperatingPoint
from vanewise.quantities import PA_PER_INHG

DEMO = Path(__file__).resolve().parents[2] / "src" / "vanewise" / "demo"
RPMS = (700.0, 1000.0, 1200.0, 1500.0, 1800.0, 2100.0, 2400.0)
AIRCRAFT = {
    "d1_evidence_27h.toml": "d1_club_aircraft.toml",
    "d1_evidence.toml": "d1_club_aircraft.toml",
    "d2_evidence.toml": "d2_pressure.toml",
    "d3_evidence.toml": "d3_case_leak.toml",
}


def described(name: str) -> AircraftDescription:
    return read_description((DEMO / name).read_text(encoding="utf-8"), name)


def evidence_of(name: str) -> Evidence:
    return read_evidence((DEMO / name).read_text(encoding="utf-8"), name)


@cache
def answered(name: str) -> Causes:
    return infer.diagnose(described(AIRCRAFT[name]), evidence_of(name), seed=0)


def solved_gauge(description: AircraftDescription, states: Mapping[str, float], rpms: tuple[float, ...]) -> np.ndarray:
    """What a perfect gauge would read at the home field [inHg]."""
    packed = pack(description)
    points = [OperatingPoint(engine_rpm=rpm, altitude_m=description.field.elevation.number) for rpm in rpms]
    batch = cases(points, states)
    return observe(packed, batch, solve_batch(packed, batch, "numpy")).gauge_pa / PA_PER_INHG


@pytest.mark.parametrize(
    ("name", "sweep", "states"),
    [
        ("d1_evidence_27h.toml", "baseline 2020", {}),
        (
            "d1_evidence_27h.toml",
            "as found",
            {"regulator.held_open": 0.65 / 0.146, "pump.slip": 1.5, "regulator.set_shift_inhg": 0.45},
        ),
        ("d2_evidence.toml", "baseline 2022", {}),
        ("d2_evidence.toml", "as found", {"inline_filter.loading": 4.0, "pump.slip": 3.0}),
        ("d3_evidence.toml", "baseline", {}),
        ("d3_evidence.toml", "as found", {"heading.case_leak": 7.6}),
    ],
)
def test_sweeps_in_the_files_come_from_the_story(name: str, sweep: str, states: Mapping[str, float]):
    found = [reading for reading in evidence_of(name).readings if reading.id.startswith(f"{sweep} ")]
    assert len(found) == len(RPMS)
    told = [reading.value_pa / PA_PER_INHG for reading in found]
    assert told == pytest.approx(solved_gauge(described(AIRCRAFT[name]), states, RPMS), abs=0.06)


def present(causes: Causes) -> dict[str, float]:
    return {cause.id: cause.present for cause in causes.causes}


def test_a_cause_that_two_rows_of_the_bank_speak_for_is_drawn_again():
    """Debris that wore the new pump's vanes does to the air what worn vanes do, and so explains it as well.

    The bank holds one or two rows near this sweep, five nats short of it; that must not settle the matter.
    """
    name = "d1_evidence_27h.toml"
    state = infer.infer(described(AIRCRAFT[name]), evidence_of(name), seed=0, options=Options(pairs=False))
    posterior = state.posterior
    at = {hypothesis.id: number for number, hypothesis in enumerate(posterior.hypotheses)}
    chain, alone = at["debris_left_in_lines>worn_vanes"], at["worn_vanes"]
    assert posterior.effective_rows[chain] > 20.0
    assert posterior.log_evidence[chain] == pytest.approx(posterior.log_evidence[alone], abs=1.0)


def test_d1_at_27_hours_is_undecided_between_seat_pump_and_leak():
    causes = answered("d1_evidence_27h.toml")
    there = present(causes)
    assert causes.undecided
    assert there["regulator_seat_dirty"] >= 0.10
    assert there["worn_vanes"] >= 0.10
    assert there["leak"] + there["pump_port_cracked"] >= 0.10, "a cracked port at the pump is a leak as well"
    assert {"regulator_seat_dirty", "worn_vanes", "leak"} <= set(causes.group)
    assert causes.level == "supply weak"
    assert not any(cause.confirmed for cause in causes.causes)


def test_d1_at_27_hours_lifts_debris_for_the_unrecorded_line_cleaning():
    causes = {cause.id: cause for cause in answered("d1_evidence_27h.toml").causes}
    debris = causes["debris_left_in_lines"]
    assert debris.probability > 0.05
    weights = {weight.id: weight.log10_odds for weight in debris.evidence}
    assert weights["no_line_cleaning_recorded"] > 0.2
    assert weights["pump_changed"] > 0.2


def test_d1_at_27_hours_asks_for_the_cover_test_and_says_what_it_would_show():
    causes = answered("d1_evidence_27h.toml")
    first = causes.next_checks[0]
    assert first.id == "cover_test"
    assert first.minutes == 2.0
    assert any("above the knee" in caution for caution in first.cautions)
    assert first.predicted["leak"] == "no change"
    assert first.predicted["worn_vanes"] == "no change"
    assert first.predicted["regulator_seat_dirty"].startswith("rises")


def test_d1_at_27_hours_says_that_the_plateau_cannot_be_trusted():
    remarks = " ".join(answered("d1_evidence_27h.toml").remarks)
    assert "setting was changed" in remarks
    assert "plateau cannot be trusted" in remarks
    assert "give the same sweep" in remarks


def test_d1_cover_test_rises_to_its_own_prediction_and_then_the_seat_is_there():
    """Expected 2.3 -> 3.8 (solved: 2.28 covered 3.79): the seat leaks by that much."""
    evidence = evidence_of("d1_evidence_27h.toml")
    done = CheckResult(
        id="cover", check="cover_test", value=1.5 * PA_PER_INHG, engine_rpm=1200.0, altitude_m=400 * 0.3048
    )
    more = Evidence(
        readings=evidence.readings,
        lamp_readings=evidence.lamp_readings,
        remarks=evidence.remarks,
        events=evidence.events,
        checks=(done,),
        altitude_m=evidence.altitude_m,
    )
    there = present(
        infer.diagnose(described("d1_club_aircraft.toml"), more, seed=0, options=Options(next_checks=False))
    )
    assert there["regulator_seat_dirty"] > 0.9
    assert there["leak"] < 0.05


def test_d1_after_the_failure_the_source_is_the_former_pumps_carbon():
    causes = answered("d1_evidence.toml")
    first = causes.causes[0]
    assert not causes.undecided
    assert first.id == "debris_left_in_lines"
    assert first.confirmed
    assert "belong to no vane" in first.confirmed_by
    there = present(causes)
    assert there["coupling_sheared"] > 0.95, "the victim"
    assert there["regulator_seat_dirty"] > 0.5, "the other victim"
    assert there["leak"] < 0.01
    assert there["indicator_contaminated"] < 0.01
    assert causes.level == "supply dead"


def test_d2_names_two_effects_and_tells_source_from_victims():
    causes = answered("d2_evidence.toml")
    first = causes.causes[0]
    there = present(causes)
    assert first.id == "worn_vanes"
    assert not causes.undecided
    assert there["worn_vanes"] > 0.9
    assert there["inline_filter_loaded"] > 0.9
    assert there["indicator_contaminated"] > 0.9
    best = first.hypotheses[0]
    assert best.modes == ("worn_vanes", "inline_filter_loaded", "indicator_contaminated")
    by_id = {cause.id: cause.probability for cause in causes.causes}
    assert by_id["inline_filter_loaded"] < 0.1, "there, but not the source"


def test_d2_sweep_alone_calls_for_both_filter_and_pump():
    """Before anything is opened: sweeps, lamp, filter drop. One fault explains the plateau, another the low speeds."""
    evidence = evidence_of("d2_evidence.toml")
    kept = tuple(check for check in evidence.checks if check.check in ("filter_drop", "test_gauge", "shop_air"))
    less = Evidence(
        readings=evidence.readings,
        lamp_readings=evidence.lamp_readings,
        checks=kept,
        altitude_m=evidence.altitude_m,
    )
    causes = infer.diagnose(described("d2_pressure.toml"), less, seed=0, options=Options(next_checks=False))
    there = present(causes)
    assert there["inline_filter_loaded"] > 0.8
    assert there["worn_vanes"] > 0.3


def test_d3_finds_the_leak_in_the_other_instruments_case():
    causes = answered("d3_evidence.toml")
    first = causes.causes[0]
    assert first.id == "instrument_case_leak"
    assert first.part == "heading"
    assert first.confirmed
    assert not causes.undecided


def test_d3_before_any_case_is_tested_a_gauge_within_the_band_does_not_clear_the_instruments():
    """Two gauges across different spans are a flow meter: panel 4.9, attitude 3.6, and each good alone."""
    evidence = evidence_of("d3_evidence.toml")
    kept = tuple(check for check in evidence.checks if check.check != "case_suction")
    less = Evidence(
        readings=evidence.readings,
        lamp_readings=evidence.lamp_readings,
        remarks=evidence.remarks,
        events=evidence.events,
        checks=kept,
        altitude_m=evidence.altitude_m,
    )
    causes = infer.diagnose(described("d3_case_leak.toml"), less, seed=0)
    first = causes.causes[0]
    assert (first.id, first.part) == ("instrument_case_leak", "heading")
    assert not first.confirmed, "nobody has seen it"


# ---- plain single faults ----------------------------------------------------------------------------------------

SUCTION = layouts.make("suction-one-pump")


def sweep_of(
    description: AircraftDescription, states: Mapping[str, float], sound: bool = False, rpms: tuple[float, ...] = RPMS
) -> tuple[Reading, ...]:
    """Readings as a person writes them, to a tenth."""
    name = "baseline" if sound else "now"
    values = np.round(solved_gauge(description, states, rpms), 1)
    return tuple(
        Reading(id=f"{name} {rpm:.0f}", value_pa=float(value) * PA_PER_INHG, engine_rpm=rpm, sound=sound)
        for rpm, value in zip(rpms, values, strict=True)
    )


def causes_of(description: AircraftDescription, states: Mapping[str, float], **more: object) -> Causes:
    evidence = Evidence(
        readings=(*sweep_of(description, {}, sound=True), *sweep_of(description, states)),
        **more,  # type: ignore[arg-type]
    )
    return infer.diagnose(description, evidence, seed=0, options=Options(rows=256, next_checks=False, weights=False))


def test_loaded_intake_filter():
    causes = causes_of(
        SUCTION,
        {"filter.loading": 12.0},
        checks=(CheckResult(id="look", check="intake_filter_look", outcome="loaded", grade=3),),
    )
    assert causes.causes[0].id == "intake_filter_loaded"
    assert not causes.undecided


def test_regulator_turned_down_is_flat_and_low():
    causes = causes_of(SUCTION, {"regulator.set_shift_inhg": -1.2})
    assert causes.causes[0].id == "regulator_low"
    assert present(causes)["worn_vanes"] < 0.05


def test_regulator_stuck_shut_climbs_without_a_plateau():
    causes = causes_of(SUCTION, {"regulator.stuck_shut": 1.0})
    assert causes.level == "supply high"
    assert present(causes)["regulator_stuck_shut"] + present(causes)["regulator_filter_clogged"] > 0.8


def test_gauge_half_an_inch_low_everywhere_and_a_test_gauge_that_differs():
    shifted = tuple(
        Reading(id=r.id, value_pa=r.value_pa - 0.7 * PA_PER_INHG, engine_rpm=r.engine_rpm)
        for r in sweep_of(SUCTION, {}, rpms=(1500.0, 1800.0, 2100.0, 2400.0))
    )
    evidence = Evidence(
        readings=(*sweep_of(SUCTION, {}, sound=True), *shifted),
        checks=(CheckResult(id="compared", check="test_gauge", outcome="differs", grade=3),),
    )
    causes = infer.diagnose(SUCTION, evidence, seed=0, options=Options(rows=256, next_checks=False, weights=False))
    assert causes.causes[0].id == "gauge_in_error"
    assert causes.causes[0].confirmed
    assert causes.level == "indication"
    assert not any("Contradictory" in remark for remark in causes.remarks), "a wrong gauge explains its readings"


def test_two_faults_where_one_cannot_explain_the_evidence():
    """A loaded filter (proved by its drop) takes the plateau, a leak takes the low speeds."""
    evidence = Evidence(
        readings=(
            *sweep_of(SUCTION, {}, sound=True),
            *sweep_of(SUCTION, {"filter.loading": 14.0, "manifold.leak": 5.0}),
        ),
        checks=(
            CheckResult(
                id="drop", check="filter_drop", place="filter", value=2.0 * PA_PER_INHG, engine_rpm=2400.0, grade=3
            ),
        ),
    )
    causes = infer.diagnose(SUCTION, evidence, seed=0, options=Options(rows=256, next_checks=False, weights=False))
    there = present(causes)
    assert there["intake_filter_loaded"] > 0.9
    alike = ("leak", "pump_port_cracked", "worn_vanes", "oil_in_pump", "regulator_seat_dirty", "instrument_case_leak")
    assert sum(there[mode] for mode in alike) > 0.9, "what takes the low speeds"
    assert there["leak"] > 0.15, "one of six that do the same to the air, and their prior shares decide between them"
    assert any(len(share.modes) == 2 for share in causes.causes[0].hypotheses)
    assert any("at once" in remark for remark in causes.remarks)


def test_a_dead_pump_with_nothing_else_is_dead_and_its_cause_open():
    evidence = Evidence(
        readings=(Reading(id="zero", value_pa=0.0, engine_rpm=2400.0),),
        remarks=(Remark(id="sudden", symptom="stopped_suddenly", who="pilot"),),
    )
    causes = infer.diagnose(SUCTION, evidence, seed=0, options=Options(rows=256))
    assert causes.level == "supply dead"
    assert present(causes)["coupling_sheared"] > 0.6
    assert causes.undecided, "why it stopped is not known"
    assert not any(check.id == "cover_test" for check in causes.next_checks), "no engine-run check on a dead pump"


def test_one_instrument_bad_with_supply_proved_right():
    evidence = Evidence(
        readings=(*sweep_of(SUCTION, {}, sound=True), *sweep_of(SUCTION, {})),
        remarks=(
            Remark(id="slow", symptom="ai_slow_erect", who="pilot"),
            Remark(id="leans", symptom="ai_leans", who="pilot"),
            Remark(id="short", symptom="ai_coast_short", who="pilot"),
            Remark(id="heading fine", symptom="hi_drifts", present=False, who="pilot"),
        ),
        checks=(
            CheckResult(id="ear", check="coast_down_listening", place="attitude", outcome="short_or_noisy", grade=1),
        ),
    )
    causes = infer.diagnose(SUCTION, evidence, seed=0, options=Options(rows=256, next_checks=False, weights=False))
    assert causes.causes[0].id == "indicator_bearing"
    assert causes.causes[0].part == "attitude"
    assert any("must not fly the autopilot" in remark for remark in causes.remarks)


def test_a_fault_outside_the_list_is_not_forced_into_it():
    """Readings that fall as engine speed rises: nothing here does that."""
    values = (4.8, 4.2, 3.4, 2.6, 1.9, 1.2, 0.7)
    strange = tuple(
        Reading(id=f"now {rpm:.0f}", value_pa=value * PA_PER_INHG, engine_rpm=rpm)
        for rpm, value in zip(RPMS, values, strict=True)
    )
    evidence = Evidence(readings=(*sweep_of(SUCTION, {}, sound=True), *strange))
    causes = infer.diagnose(SUCTION, evidence, seed=0, options=Options(rows=256, next_checks=False, weights=False))
    by_id = {cause.id: cause.probability for cause in causes.causes}
    assert causes.undecided
    assert by_id["none_of_these"] > 0.5


@pytest.mark.parametrize(
    "states",
    [{"pump.slip": 3.0}, {"manifold.leak": 3.0}, {"regulator.held_open": 4.0}, {"filter.loading": 10.0}],
)
def test_faults_on_the_list_leave_little_for_none_of_these(states: Mapping[str, float]):
    by_id = {cause.id: cause.probability for cause in causes_of(SUCTION, states).causes}
    assert by_id["none_of_these"] < 0.02


def test_one_wrong_digit_is_named_and_does_not_kill_the_truth():
    found = list(sweep_of(SUCTION, {"regulator.set_shift_inhg": -1.2}))
    place = next(n for n, r in enumerate(found) if r.engine_rpm == 1800.0)
    found[place] = Reading(id="now 1800", value_pa=7.3 * PA_PER_INHG, engine_rpm=1800.0)
    evidence = Evidence(readings=(*sweep_of(SUCTION, {}, sound=True), *found))
    # A loaded filter across this gauge makes much the same plateau, so the truth need not come first; it must live.
    # Few states come near such a sweep: three draws of the bank, of which none may lose it.
    there = []
    for seed in range(3):
        causes = infer.diagnose(
            SUCTION, evidence, seed=seed, options=Options(rows=256, next_checks=False, weights=False)
        )
        assert "regulator_low" in [cause.id for cause in causes.causes[:2]]
        there.append(next(cause.probability for cause in causes.causes if cause.id == "regulator_low"))
    assert float(np.mean(there)) > 0.2
    assert any("Contradictory" in remark and "1800" in remark for remark in causes.remarks)


def test_a_baseline_turns_small_pump_into_changed_since():
    """The same low sweep: a pump small from the start explains it unless earlier readings say it once was not low."""
    states = {"pump.slip": 3.0}
    alone = infer.diagnose(
        SUCTION,
        Evidence(readings=sweep_of(SUCTION, states)),
        seed=0,
        options=Options(rows=256, next_checks=False, weights=False),
    )
    with_baseline = causes_of(SUCTION, states)
    alike = ("worn_vanes", "leak", "regulator_seat_dirty", "oil_in_pump", "instrument_case_leak", "hidden_tube_cracked")

    def weak(causes: Causes) -> float:
        return sum(cause.probability for cause in causes.causes if cause.id in alike)

    assert weak(with_baseline) > weak(alone)
    assert weak(with_baseline) > 0.85


def test_lamp_alone_carries_the_trend():
    evidence = Evidence(
        lamp_readings=(
            LampReading(id="once", engine_rpm=1090.0, sound=True),
            LampReading(id="now", engine_rpm=1500.0),
        )
    )
    causes = infer.diagnose(SUCTION, evidence, seed=0, options=Options(rows=256, next_checks=False, weights=False))
    assert causes.level == "supply weak"


def test_numpy_engine_says_that_its_bank_is_smaller():
    evidence = Evidence(readings=sweep_of(SUCTION, {"pump.slip": 3.0}, rpms=(1000.0, 1800.0)))
    causes = infer.diagnose(
        SUCTION, evidence, seed=0, refine=False, engine="numpy", options=Options(next_checks=False, weights=False)
    )
    assert causes.engine == "numpy"
    assert causes.rows_per_hypothesis == 64
    assert any("64 states" in remark for remark in causes.remarks)


def test_regulator_screw_is_locked_until_filter_leaks_and_gauge_are_proved():
    """A plateau an inch low where the sound one is known: the screw is among the causes, and is not touched yet."""
    low = {"regulator.set_shift_inhg": -1.0}
    before = causes_of(SUCTION, low)
    after = causes_of(
        SUCTION,
        low,
        events=(Event(id="e", kind="intake_filter_changed", hours_ago=2.0),),
        checks=(
            CheckResult(id="a", check="section_suction", outcome="tight"),
            CheckResult(id="b", check="test_gauge", outcome="agrees"),
        ),
    )
    assert "regulator_low" in before.group
    assert "regulator_low" in after.group
    lock = [remark for remark in before.remarks if "screw" in remark]
    assert len(lock) == 1
    assert all(step in lock[0] for step in ("fit a new one", "leak test the lines", "with a test gauge"))
    assert not [remark for remark in after.remarks if "screw" in remark]
    for proof in regulator_lock.PROOFS:
        assert proof.by_events <= EVENTS.keys()
        for check, outcome in proof.by_results | proof.against:
            assert outcome in [known.id for known in CHECKS[check].outcomes]
