"""What must hold for any evidence: order does not matter, nothing counts twice, probabilities are whole."""

from __future__ import annotations

import datetime
import random
from concurrent.futures import ThreadPoolExecutor

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vanewise.aircraft import layouts
from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis import infer, threads
from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.infer import Options
from vanewise.diagnosis.refine import summary
from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS
from vanewise.diagnosis.types import Cause, Causes, CheckResult, Event, Evidence, LampReading, Reading, Remark
from vanewise.quantities import PA_PER_INHG

OPTIONS = Options(rows=64, next_checks=False)
FAST = Options(rows=64, next_checks=False, weights=False)
DAY = datetime.date(2025, 3, 1)
RPMS = (700.0, 1000.0, 1200.0, 1500.0, 1800.0, 2100.0, 2400.0)
TWO_FAULTS = (0.3, 0.5, 0.9, 1.6, 2.6, 6.6, 7.4)
"""What no single fault reads: much too little up to cruise, and far over the setting at the top."""
DESCRIPTION: AircraftDescription = layouts.make("suction-one-pump")

SUCTION_SYMPTOMS = [name for name in SYMPTOMS if name not in ("filter_missing", "inline_filter_black")]
TABLE_CHECKS = [check for check in CHECKS.values() if check.kind == "table" and not check.at_instrument]


def reading(number: int, rpm: float, value: float, sound: bool = False) -> Reading:
    return Reading(id=f"reading {number}", value_pa=value * PA_PER_INHG, engine_rpm=rpm, sound=sound)


readings = st.lists(st.tuples(st.sampled_from(RPMS), st.floats(0.2, 7.0), st.booleans()), min_size=0, max_size=4).map(
    lambda entries: tuple(reading(n, *entry) for n, entry in enumerate(entries))
)
remarks = st.lists(
    st.tuples(st.sampled_from(SUCTION_SYMPTOMS), st.booleans()), max_size=4, unique_by=lambda e: e[0]
).map(
    lambda entries: tuple(
        Remark(id=f"remark {n}", symptom=symptom, present=present, who="pilot")
        for n, (symptom, present) in enumerate(entries)
    )
)
events = st.lists(
    st.sampled_from(["washed", "cold_start", "smoked_in_cabin", "long_parking"]), max_size=2, unique=True
).map(lambda kinds: tuple(Event(id=f"event {kind}", kind=kind) for kind in kinds))
placed_events = st.lists(
    st.tuples(
        st.sampled_from(["washed", "cold_start", "smoked_in_cabin", "long_parking", "gyro_changed"]),
        st.sampled_from(["", "attitude", "heading"]),
    ),
    max_size=2,
    unique=True,
).map(lambda told: tuple(Event(id=f"event {kind} {about}", kind=kind, about=about) for kind, about in told))
checks = st.lists(st.sampled_from(TABLE_CHECKS), max_size=2, unique_by=lambda check: check.id).flatmap(
    lambda chosen: st.tuples(*(st.sampled_from([o.id for o in check.outcomes]) for check in chosen)).map(
        lambda outcomes: tuple(
            CheckResult(id=f"check {check.id}", check=check.id, outcome=outcome, grade=2)
            for check, outcome in zip(chosen, outcomes, strict=True)
        )
    )
)
evidences = st.builds(Evidence, readings=readings, remarks=remarks, events=events, checks=checks)
placed = st.builds(Evidence, readings=readings, remarks=remarks, events=placed_events, checks=checks)
"""The same with events that say which part they are about."""


def answer(evidence: Evidence, options: Options = FAST) -> Causes:
    return infer.diagnose(DESCRIPTION, evidence, seed=1, refine=False, options=options)


@settings(max_examples=15)
@given(placed)
def test_probabilities_are_whole(evidence: Evidence):
    causes = answer(evidence)
    assert sum(cause.probability for cause in causes.causes) == pytest.approx(1.0, abs=1e-9)
    for cause in causes.causes:
        assert 0.0 <= cause.probability <= 1.0 + 1e-12
        assert cause.probability <= cause.present + 1e-9, "a source is there"
        assert sum(share.share for share in cause.hypotheses) <= cause.probability + 1e-9
    assert any(cause.id == "none_of_these" for cause in causes.causes)
    shared = sum(cause.probability for cause in causes.causes if cause.id in causes.group)
    assert shared >= 0.9 - 1e-9
    assert causes.undecided or causes.causes[0].probability >= 0.8
    assert sum(causes.levels.values()) == pytest.approx(1.0, abs=1e-9)


@settings(max_examples=15)
@given(placed, st.integers(0, 1000))
def test_order_of_entry_does_not_matter(evidence: Evidence, shuffle: int):
    order = random.Random(shuffle)

    def mixed(items: tuple[object, ...]) -> tuple[object, ...]:
        return tuple(order.sample(items, len(items)))

    other = msgspec.structs.replace(
        evidence,
        readings=mixed(evidence.readings),
        remarks=mixed(evidence.remarks),
        events=mixed(evidence.events),
        checks=mixed(evidence.checks),
    )
    assert answer(evidence) == answer(other), "the same answer to the last bit"


@settings(max_examples=15)
@given(placed)
def test_the_same_item_counts_once(evidence: Evidence):
    doubled = msgspec.structs.replace(
        evidence,
        readings=evidence.readings * 2,
        remarks=(*evidence.remarks, *(msgspec.structs.replace(r, note="told again") for r in evidence.remarks)),
        events=evidence.events * 2,
        checks=evidence.checks * 2,
    )
    assert answer(evidence) == answer(doubled)


@settings(max_examples=8)
@given(evidences, st.sampled_from(["pump", "regulator", "gauge", "intake_filter"]), st.sampled_from([None, DAY]))
def test_naming_the_only_part_of_a_kind_says_nothing_new(evidence: Evidence, part: str, when: datetime.date | None):
    """Dated remarks on both sides of the work: what is set aside and what is weighed is the same to the last digit."""
    about = {"intake_filter": "filter"}.get(part, part)
    dated = tuple(
        msgspec.structs.replace(remark, when=DAY + datetime.timedelta(days=10 * (-1) ** number))
        for number, remark in enumerate(evidence.remarks)
    )
    work = Event(id="work", kind=f"{part}_changed", when=when, hours_ago=20.0)
    plain, told = (
        answer(msgspec.structs.replace(evidence, remarks=dated, events=(*evidence.events, event)))
        for event in (work, msgspec.structs.replace(work, about=about))
    )
    assert {cause.id: cause.probability for cause in told.causes} == {c.id: c.probability for c in plain.causes}
    assert (told.left_out, told.contradictory) == (plain.left_out, plain.contradictory)


@settings(max_examples=10)
@given(evidences)
def test_evidence_all_causes_explain_alike_changes_nothing(evidence: Evidence):
    """A bench report of the heading indicator says nothing new when its table is the same for every cause: a remark
    about a part that no cause here concerns is the plainest such item (an inlet filter in suction duty)."""
    alike = Remark(id="zz alike", symptom="inlet_filter_dirty", who="somebody else")
    more = msgspec.structs.replace(evidence, remarks=(*evidence.remarks, alike))
    before = {cause.id: cause.probability for cause in answer(evidence).causes}
    after = {cause.id: cause.probability for cause in answer(more).causes}
    assert after == pytest.approx(before, abs=1e-9)


def test_no_cause_of_this_aircraft_moves_the_remark_of_the_law_above():
    from vanewise.diagnosis.modes import applicable

    symptom = SYMPTOMS["inlet_filter_dirty"]
    assert symptom.drive is None
    assert symptom.gauge is None
    assert not any("inlet_filter_dirty" in mode.signs for mode, _ in applicable(DESCRIPTION))


@settings(max_examples=8)
@given(evidences)
def test_weight_of_an_item_is_the_change_when_it_is_left_out(evidence: Evidence):
    """log10_odds against a second run without the item (the bank is the same, so the two agree closely).

    The same look under two ids is one item, so the second run is without either.
    """
    items = [*evidence.readings, *evidence.remarks, *evidence.checks]
    sound = [item for item in evidence.readings if item.sound]
    items = [item for item in items if item not in sound]
    if not items:
        return
    item = items[0]
    whole = answer(evidence, OPTIONS)
    kinds = {"readings": Reading, "remarks": Remark, "checks": CheckResult}
    look = msgspec.structs.replace(item, id="")
    less = {
        name: tuple(entry for entry in getattr(evidence, name) if msgspec.structs.replace(entry, id="") != look)
        for name in kinds
    }
    without = answer(msgspec.structs.replace(evidence, **less))

    def log_odds(causes: Causes, cause_id: str) -> float:
        p = next(cause.probability for cause in causes.causes if cause.id == cause_id)
        p = min(max(p, 1e-12), 1.0 - 1e-12)
        return float(np.log10(p / (1.0 - p)))

    for cause in whole.causes[:3]:
        told = next(weight for weight in cause.evidence if weight.id == item.id)
        change = log_odds(whole, cause.id) - log_odds(without, cause.id)
        assert told.log10_odds == pytest.approx(change, abs=0.05 + 0.05 * abs(change))


def test_the_weight_of_a_complaint_counts_what_it_does_to_a_fault_that_is_no_cause_of_it():
    """A pad seal moves no air: without the complaint it keeps its whole rate, and the remark's weight says so."""
    complaint = Evidence(remarks=(Remark(id="drifts", symptom="hi_drifts", who="pilot", flight="one"),))

    def seal(causes: Causes) -> Cause:
        return next(cause for cause in causes.causes if cause.id == "pad_seal_leak")

    def log_odds(p: float) -> float:
        return float(np.log10(p / (1.0 - p)))

    whole, without = seal(answer(complaint, OPTIONS)), seal(answer(Evidence(), OPTIONS))
    told = next(weight.log10_odds for weight in whole.evidence if weight.id == "drifts")
    assert told == pytest.approx(log_odds(whole.probability) - log_odds(without.probability), abs=0.05)
    assert told < -0.5


def test_soft_remarks_are_held_to_thirty_to_one():
    """Any number of reports of one person about one flight moves no cause by more than thirty to one."""
    soft = [name for name, symptom in SYMPTOMS.items() if not symptom.direct]
    told = tuple(Remark(id=name, symptom=name, who="pilot", flight="one") for name in soft)
    bare = answer(Evidence())
    said = answer(Evidence(remarks=told))

    def ratios(first: Causes, second: Causes) -> list[float]:
        before = {c.id: c.probability for c in first.causes}
        return [c.probability / before[c.id] for c in second.causes if before[c.id] > 0]

    found = ratios(bare, said)
    assert max(found) / min(found) <= 10.0**1.5 * 1.001
    assert said.capped


def test_same_seed_same_answer_and_refined_too():
    evidence = Evidence(
        readings=(reading(1, 1000.0, 1.9), reading(2, 1800.0, 4.6)),
        lamp_readings=(LampReading(id="lamp", engine_rpm=1400.0),),
    )
    runs = [
        infer.infer(DESCRIPTION, evidence, seed=4, options=Options(rows=64, next_checks=False, weights=False))
        for _ in range(2)
    ]
    assert summary(runs[0].posterior) == summary(runs[1].posterior)
    mixed = msgspec.structs.replace(evidence, readings=evidence.readings[::-1])
    other = infer.infer(DESCRIPTION, mixed, seed=4, options=Options(rows=64, next_checks=False, weights=False))
    assert summary(runs[0].posterior) == summary(other.posterior)


def test_cores_change_no_bit_of_a_refined_answer(monkeypatch: pytest.MonkeyPatch):
    """Families and pairs are drawn on threads of their own where there are cores, in the same waves without.

    The readings are two faults' at once, so that pairs are drawn too.
    """
    evidence = Evidence(
        readings=tuple(reading(n, rpm, value) for n, (rpm, value) in enumerate(zip(RPMS, TWO_FAULTS, strict=True))),
        checks=(CheckResult(id="filter", check="test_gauge", outcome="agrees", grade=2),),
    )
    found = []
    for cores in (1, 3):
        monkeypatch.setenv("NUMBA_NUM_THREADS", str(cores))
        monkeypatch.setattr(threads, "_pool", lambda cores=cores: ThreadPoolExecutor(cores) if cores > 1 else None)
        found.append(infer.infer(DESCRIPTION, evidence, seed=3, options=FAST).posterior)
    assert any(hypothesis.kind == "pair" for hypothesis in found[0].hypotheses)
    assert np.array_equal(found[0].log_evidence, found[1].log_evidence)
    assert np.array_equal(found[0].probability, found[1].probability)


def test_every_event_word_has_a_say_or_changes_something():
    from vanewise.diagnosis.modes import MODES

    used = {event for mode in MODES.values() for event in mode.contexts}
    assert all(name in used or EVENTS[name].changes for name in EVENTS), set(EVENTS) - used
