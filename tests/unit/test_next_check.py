"""Expected information of a check, and how checks are ranked."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from vanewise.aircraft import layouts
from vanewise.chances import about as chance
from vanewise.diagnosis import next_check
from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.evidence import prepare
from vanewise.diagnosis.expected import Candidate, Measurable, information, measured_worth
from vanewise.diagnosis.looking_ahead import After, Ahead, Outlook, Plan
from vanewise.diagnosis.next_check import candidates, in_order, ranked
from vanewise.diagnosis.posterior import log_mean, shares
from vanewise.diagnosis.types import Evidence
from vanewise.diagnosis.words import weight

GROUP = np.tile(np.array([0, 0, 1, 1], dtype=np.int64), 50)


def judged(table: np.ndarray):
    """A judge for a table check: outcome probabilities of the judging rows."""

    def judge(here: np.ndarray, there: np.ndarray) -> np.ndarray:
        return np.broadcast_to(table[there].T[None, :, :], (len(here), table.shape[1], len(there)))

    return judge


def test_a_perfect_check_of_two_even_groups_is_worth_one_bit():
    table = np.where(GROUP[:, None] == np.array([[0, 1]]), 1.0, 0.0)
    bits, se = information(judged(table), table, GROUP, 2)
    assert bits == pytest.approx(1.0)
    assert se == pytest.approx(0.0, abs=1e-12)


def test_a_check_that_shows_the_same_whatever_the_cause_is_worth_nothing():
    table = np.tile(np.array([[0.7, 0.3]]), (len(GROUP), 1))
    assert information(judged(table), table, GROUP, 2)[0] == pytest.approx(0.0, abs=1e-12)


def test_an_imperfect_check_against_the_textbook_sum():
    """Sensitivity 0.8, specificity 0.9, even groups: I = H(Y) - H(Y|G), worked out here."""
    table = np.where(GROUP[:, None] == 0, np.array([[0.9, 0.1]]), np.array([[0.2, 0.8]]))

    def entropy(p: float) -> float:
        return -(p * math.log2(p) + (1 - p) * math.log2(1 - p))

    exact = entropy(0.5 * 0.1 + 0.5 * 0.8) - 0.5 * entropy(0.1) - 0.5 * entropy(0.8)
    assert information(judged(table), table, GROUP, 2)[0] == pytest.approx(exact, rel=1e-9)


def test_rows_do_not_recognise_themselves():
    """Each row shows an outcome of its own that says nothing of its group: a judge that held the row itself would call
    that full information; disjoint halves do not."""
    size = 40
    group = np.arange(size, dtype=np.int64) // 2 % 2
    table = np.full((size, size), 1e-6)
    np.fill_diagonal(table, 1.0)
    table /= table.sum(axis=1, keepdims=True)
    bits, _ = information(judged(table), table, group, 2)
    assert bits < 0.2


def worth(check: str, bits: float, se: float = 0.0) -> next_check._Worth:
    candidate = Candidate(CHECKS[check])
    return next_check._Worth(candidate, bits, se, {}, Outlook(candidate, np.ones((1, 1)), ("shown",)))


def test_information_of_several_groups_is_that_of_a_plain_loop():
    """In single precision as measurements are judged; the third group has rows in one half only."""
    generator = np.random.default_rng(4)
    group = generator.integers(0, 2, 60) * 3
    group[[4, 8, 30]] = 1
    table = generator.random((60, 5)).astype(np.float32)
    likelihood = generator.random((60, 5, 60)).astype(np.float32)
    gains = np.zeros(60)
    for row in range(60):
        others = [other for other in range(60) if other % 2 != row % 2]
        alike = [other for other in others if group[other] == group[row]] or others
        for outcome in range(5):
            own, overall = (np.mean(likelihood[row, outcome, some], dtype=float) for some in (alike, others))
            gains[row] += table[row, outcome] * np.log2(own / overall)
    bits, se = information(lambda here, there: likelihood[np.ix_(here, range(5), there)], table, group, 4)
    assert bits == pytest.approx(max(0.0, gains.mean()), abs=1e-5)
    assert se == pytest.approx(gains.std() / np.sqrt(60), rel=1e-4)


SHARES = np.array([0.3, 0.2, 0.15, 0.1, 0.1, 0.08, 0.04, 0.03])
"""Eight repairs, about as many rows each as a sample has."""


def read_of_repairs(readings: int, seed: int) -> tuple[float, float, float]:
    """Information of readings whose causes lie about a centre of each repair: exact, as found, and its error.

    Exact is the mean over 100,000 drawn readings of the logarithm of the normal density of its repair over all.
    """
    generator = np.random.default_rng(seed)
    centre = np.random.default_rng(99).normal(0.0, 0.6, (len(SHARES), 3))[:, :readings]
    group = generator.choice(len(SHARES), size=800, p=SHARES)
    mean = centre[group] + generator.normal(0.0, 0.5, (800, readings))
    covariance = np.tile(np.eye(readings) * 0.01, (800, 1, 1))
    subjects = [SimpleNamespace(kind="single")] * 800
    sample = SimpleNamespace(subjects=subjects, group=group, groups=tuple(range(len(SHARES))))
    bits, se = measured_worth(sample, Measurable(mean, covariance, "inHg"))  # type: ignore[arg-type]
    drawn = generator.choice(len(SHARES), size=100_000, p=SHARES)
    read = centre[drawn] + generator.normal(0.0, math.sqrt(0.5**2 + 0.01), (100_000, readings))
    density = np.exp(-0.5 * ((read[:, None, :] - centre) ** 2).sum(axis=2) / (0.5**2 + 0.01))
    exact = np.log2(density[np.arange(100_000), drawn] / (density @ SHARES)).mean()
    return float(exact), bits, se


@pytest.mark.parametrize("seed", range(4))
def test_several_readings_at_once_tell_more_than_one_and_no_more_than_is_there(seed: int):
    """Rows lie a long way apart for what a gauge reads: 0.1 of causes spread over 0.5 and more."""
    found = {readings: read_of_repairs(readings, seed) for readings in (1, 2, 3)}
    for readings, (exact, bits, se) in found.items():
        assert bits <= exact + 2.0 * se, readings
        assert bits >= 0.5 * exact, readings
    assert found[2][1] > found[1][1]
    assert found[3][1] > found[1][1]


def test_ranked_by_information_for_the_minutes():
    found = ranked([worth("section_suction", 0.9), worth("cover_test", 0.5)])
    assert [entry.candidate.check.id for entry in found] == ["cover_test", "section_suction"]


def test_a_minute_that_says_next_to_nothing_is_left_out():
    found = ranked([worth("engine_off_gauge", 0.01), worth("section_suction", 0.6)])
    assert [entry.candidate.check.id for entry in found] == ["section_suction"]


def test_differences_inside_the_sampling_error_go_to_fewer_minutes():
    """Rates 0.0100 and 0.0102 per minute with errors of a tenth: the shorter one comes first."""
    long, short = worth("section_suction", 0.90, 0.1), worth("wear_port", 0.34, 0.04)
    assert long.rate > short.rate
    assert next(iter(ranked([long, short]))).candidate.check.id == "wear_port"


def test_of_plans_alike_the_check_that_says_more_by_itself_comes_first():
    """A pair says as much in either order: five minutes at the drain do not lead by what the flow meter says after."""
    quick = replace(worth("drain_look", 0.067, 0.02), two=Ahead(0.64, 90.0, ()))
    telling = replace(worth("section_suction", 0.594, 0.02), two=Ahead(0.64, 90.0, ()))
    assert [entry.candidate.check.id for entry in ranked([quick, telling])] == ["section_suction", "drain_look"]


def test_the_second_place_is_not_earned_by_what_the_first_says():
    """Behind one cowl the outlet costs 20 min and the coupling 5 more. The pair is the coupling's plan read backwards:
    whoever comes to the second place has looked at the coupling or cannot, and the outlet is left with its own."""
    coupling, outlet, warm = (
        worth("coupling_look", 0.557, 0.02),
        worth("outlet_look", 0.217, 0.02),
        worth("warm_hangar_repeat", 0.545, 0.02),
    )
    planned = {
        "coupling_look": Plan(0.557, 20.0, ()),
        "outlet_look": Plan(0.217, 20.0, (After("clean", 1.0, (("coupling_look", 0.42, 5.0),)),)),
        "warm_hangar_repeat": Plan(0.545, 28.0, ()),
    }
    assert planned["outlet_look"].ahead().rate > planned["warm_hangar_repeat"].ahead().rate
    found = in_order([coupling, outlet, warm], planned)
    assert [entry.candidate.check.id for entry in found] == ["coupling_look", "warm_hangar_repeat", "outlet_look"]
    assert found[2].two is not None and found[2].two.bits == pytest.approx(0.217)


def test_the_first_place_is_judged_with_every_other_as_its_second():
    first, second = worth("outlet_look", 0.06, 0.001), worth("warm_hangar_repeat", 0.50, 0.001)
    planned = {
        "outlet_look": Plan(0.06, 20.0, (After("clean", 1.0, (("warm_hangar_repeat", 0.90, 8.0),)),)),
        "warm_hangar_repeat": Plan(0.50, 28.0, ()),
    }
    assert next(iter(in_order([first, second], planned))).candidate.check.id == "outlet_look"


def offered(*there: tuple[str, float]) -> set[str]:
    """Checks offered on an aircraft with one pump where these modes are there, each with its chance."""
    causes = [
        SimpleNamespace(id=mode, probability=chance, present=chance, hypotheses=(), confirmed=False)
        for mode, chance in there
    ]
    aircraft = layouts.make("suction-one-pump")
    found = candidates(aircraft, prepare(aircraft, Evidence()), causes)  # type: ignore[arg-type]
    return {candidate.check.id for candidate in found}


def test_no_engine_run_where_it_reads_nothing_and_does_harm():
    """A dead pump, a hose off and crossed lines count together: each is looked at with the engine off (F02, F15)."""
    stopped = offered(("lines_misrouted", 0.45), ("coupling_sheared", 0.06), ("indicator_bearing", 0.06))
    assert not {check for check in stopped if CHECKS[check].needs_running_pump}
    assert {"hose_map_trace", "coupling_look"} <= stopped
    doubtful = offered(("lines_misrouted", 0.30), ("coupling_sheared", 0.06), ("indicator_bearing", 0.6))
    assert {"sweep", "gauge_at_run_up", "cover_test"} <= doubtful


def test_a_supply_lost_to_the_regulator_is_still_run():
    """The pump pulls: a regulator stuck open is told by covering it, so the level alone forbids no run."""
    assert "cover_test" in offered(("regulator_stuck_open", 0.9), ("coupling_sheared", 0.05))


def test_listening_at_a_shutdown_is_charged_no_run_of_its_own():
    """The run-down follows a run that is made anyway; a sweep is a run of its own. Minutes of the trade notes, C03."""
    assert next_check.minutes_of(Candidate(CHECKS["coast_down_listening"])) == pytest.approx(10.0)
    assert next_check.minutes_of(Candidate(CHECKS["sweep"])) == pytest.approx(15.0 + 8.0 + next_check.ENGINE_RISK_MIN)


def test_a_standby_is_tried_only_where_one_is_fitted():
    test = CHECKS["standby_test"]
    assert next_check.has_its_part(layouts.make("suction-standby-pump"), test)
    assert next_check.has_its_part(layouts.make("suction-standby-intake"), test)
    assert not next_check.has_its_part(layouts.make("suction-one-pump"), test)


def test_a_place_is_called_as_the_description_calls_it():
    aircraft = layouts.make("suction-one-pump")
    assert next_check.at_words(aircraft, "attitude") == next(p.label for p in aircraft.parts if p.id == "attitude")
    assert next_check.at_words(aircraft, "regulator.gyro_side").endswith(", gyro side")
    assert next_check.at_words(aircraft, "") == ""
    title = next_check.title_of(aircraft, Candidate(CHECKS["isolate_gyro"], "heading"))
    assert title.startswith("cap one instrument and sweep again (heading")


def test_nothing_is_proposed_when_nothing_splits():
    assert ranked([worth("engine_off_gauge", 0.01)]) == []


@pytest.mark.parametrize(
    ("probability", "words"),
    [
        (1.0, "more than 99 in 100"),
        (0.97, "more than 19 in 20"),
        (0.72, "about 7 in 10"),
        (0.12, "about 1 in 8"),
        (0.034, "about 1 in 30"),
        (0.0, "less than 1 in 100"),
    ],
)
def test_chances_are_said_with_one_figure_and_never_as_certain(probability: float, words: str):
    assert chance(probability) == words
    assert "100 %" not in chance(probability)


def test_weights_in_words_go_both_ways():
    assert "for it" in weight(0.8)
    assert "against it" in weight(-0.8)
    assert "next to nothing" in weight(0.02)


def test_mean_weight_effective_rows_and_error():
    """Four equal weights and four of nothing: mean one half, four effective rows, error sqrt(1/4 - 1/8)."""
    log = np.array([0.0] * 4 + [-np.inf] * 4)
    mean, effective, error = log_mean(log)
    assert mean == pytest.approx(math.log(0.5))
    assert effective == pytest.approx(4.0)
    assert error == pytest.approx(math.sqrt(1 / 4 - 1 / 8))


def test_flattened_priors():
    evidence, prior = np.log(np.array([1.0, 4.0])), np.array([0.9, 0.1])
    assert shares(evidence, prior) == pytest.approx([0.9 / 1.3, 0.4 / 1.3])
    assert shares(evidence, prior, power=0.0) == pytest.approx([0.2, 0.8])
