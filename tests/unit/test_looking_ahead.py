"""Two checks ahead, what would change the answer, and the rule for when to stop."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from vanewise.diagnosis.answer import DECIDED_AT
from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.expected import Candidate, Measurable
from vanewise.diagnosis.looking_ahead import (
    Ahead,
    Outlook,
    from_measurable,
    gain,
    membership,
    plans,
    would_change,
)
from vanewise.diagnosis.next_check import minutes_of
from vanewise.diagnosis.stopping import stop_words
from vanewise.diagnosis.types import Cause

BITS = np.array([[a, b] for a in (0, 1) for b in (0, 1)] * 25)


def sample(group: np.ndarray, names: tuple[str, ...] = ("pump", "leak")) -> SimpleNamespace:
    """The part of a posterior sample that looking ahead uses."""
    return SimpleNamespace(size=len(group), group=group, groups=names)


def shown(check: str, outcome: np.ndarray) -> Outlook:
    """A check that shows one of two outcomes for sure."""
    return Outlook(Candidate(CHECKS[check]), np.eye(2)[outcome], ("no", "yes"))


def ahead(among: SimpleNamespace, outlooks: tuple[Outlook, ...], opened: frozenset[str]) -> dict[str, Ahead]:
    """Two checks ahead, with nothing standing above."""
    return {name: plan.ahead() for name, plan in plans(among, outlooks, minutes_of, opened).items()}  # type: ignore[arg-type]


def test_two_checks_that_say_nothing_alone_and_all_together():
    """The fault is the exclusive or of what the two show: each alone 0 bit, both 1 bit, worked out by hand."""
    both = sample(BITS[:, 0] ^ BITS[:, 1])
    first, second = shown("outlet_look", BITS[:, 0]), shown("drain_look", BITS[:, 1])
    even = np.full(both.size, 1.0 / both.size)
    assert gain(membership(both), even, first.table) == pytest.approx(0.0, abs=1e-12)
    found = ahead(both, (first, second), frozenset())
    assert found["outlet_look"].bits == pytest.approx(1.0)
    assert dict(found["outlet_look"].then) == {"no": "drain_look", "yes": "drain_look"}


def test_what_the_first_check_opened_is_open_for_the_second():
    """Cowl off counts once: 5 + 15 min for the outlet, then 5 min only for the drain."""
    both = sample(BITS[:, 0] ^ BITS[:, 1])
    found = ahead(both, (shown("outlet_look", BITS[:, 0]), shown("drain_look", BITS[:, 1])), frozenset())
    assert found["outlet_look"].minutes == pytest.approx(25.0)
    opened = ahead(both, (shown("outlet_look", BITS[:, 0]), shown("drain_look", BITS[:, 1])), frozenset({"cowl off"}))
    assert opened["outlet_look"].minutes == pytest.approx(10.0)


def test_what_stands_above_is_no_second_check():
    """What the two say together is said by the upper one's plan already: the lower one is left with its own, 0 bit."""
    both = sample(BITS[:, 0] ^ BITS[:, 1])
    looks = (shown("outlet_look", BITS[:, 0]), shown("drain_look", BITS[:, 1]))
    plan = plans(both, looks, minutes_of, frozenset())["drain_look"]  # type: ignore[arg-type]
    assert plan.ahead().bits == pytest.approx(1.0)
    alone = plan.ahead(above=["outlet_look"])
    assert alone.bits == pytest.approx(0.0, abs=1e-12)
    assert alone.minutes == pytest.approx(20.0)
    assert alone.then == plan.ahead().then, "what to do after an outcome is told all the same"


def test_what_would_change_the_answer_is_an_outcome_after_which_another_leads():
    group = np.array([0] * 70 + [1] * 30)
    outcome = np.array([0] * 68 + [1] * 2 + [1] * 29 + [0])
    (told,) = would_change(sample(group), shown("section_suction", outcome))
    assert told.startswith("yes") and "the likeliest repair is finding and closing a leak" in told
    assert would_change(sample(group), shown("section_suction", np.zeros(100, dtype=int))) == ()


def test_a_measurement_is_cut_where_it_tells_most():
    """Two groups 2 inHg apart read to 0.1: the spans leave hardly any doubt. The first reading says nothing."""
    group = np.tile([0, 1], 100)
    mean = np.stack([np.full(200, 5.0), 3.0 + 2.0 * group], axis=1)
    covariance = np.broadcast_to(0.01 * np.eye(2), (200, 2, 2))
    outlook = from_measurable(Candidate(CHECKS["sweep"]), Measurable(mean, covariance, "inHg"))
    assert outlook.table.sum(axis=1) == pytest.approx(np.ones(200))
    even = np.full(200, 1.0 / 200)
    assert gain(membership(sample(group)), even, outlook.table) > 0.8


def test_a_rise_is_told_in_tenths_from_nothing_up():
    group = np.repeat([0, 1], 100)
    mean = (0.02 * np.sin(np.arange(200.0)) + 1.5 * group)[:, None]
    measurable = Measurable(mean, np.full((200, 1, 1), 0.003), "inHg", rise=True)
    outcomes = from_measurable(Candidate(CHECKS["cover_test"]), measurable).outcomes
    assert outcomes[0].startswith("rises less than 0.") and len(set(outcomes)) == len(outcomes)
    assert not any("-" in words or "0.0" in words for words in outcomes)


def test_two_causes_alike_within_three_to_one_are_never_decided():
    assert DECIDED_AT > 3.0 / (3.0 + 1.0)


def cause(probability: float, **more: object) -> Cause:
    made = {
        "id": "worn_vanes",
        "name": "vanes worn or scored",
        "part": "pump",
        "probability": probability,
        "present": probability,
        "hypotheses": (),
        "evidence": (),
        "effective_rows": 100.0,
        "log_evidence_se": 0.1,
        "count_is_rough": False,
    }
    return Cause(**{**made, **more})  # type: ignore[arg-type]


def test_the_stop_rule():
    first = cause(0.97)
    assert "enough to act on" in stop_words({"pump": 0.97, "leak": 0.03}, first, (), asked=True)
    assert stop_words({"pump": 0.6, "leak": 0.4}, cause(0.6), (), asked=False) == ""
    assert "no check known here" in stop_words({"pump": 0.6, "leak": 0.4}, cause(0.6), (), asked=True)
    rough = cause(0.97, count_is_rough=True)
    assert "enough" not in stop_words({"pump": 0.97, "leak": 0.03}, rough, (), asked=True)
    assert "enough" not in stop_words({"none": 0.97, "leak": 0.03}, first, (), asked=True)
    seen = stop_words({"pump": 0.6, "leak": 0.4}, cause(0.6, confirmed=True), (), asked=True)
    assert "seen directly" in seen
