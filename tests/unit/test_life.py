"""Lives from few records: censoring, causes, rates, sharing, replacement."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest

from vanewise.errors import InputError, NoAnswer
from vanewise.watch.kaplan_meier import kaplan_meier
from vanewise.watch.life import (
    DEFAULT_LIFE_PRIORS,
    LifeGrid,
    LifeRate,
    competing,
    in_words,
    life_grid,
    life_model,
    life_rate,
    without_unit,
)
from vanewise.watch.lifetimes import LifeRecord, lifetimes, of_cause
from vanewise.watch.replacement import Costs, check_costs, replace_by_age, replace_this_one
from vanewise.watch.sharing import share
from vanewise.watch.weibull import derivatives, fit, log_likelihood, prepare

HOURS = np.array([0.0, 50.0, 200.0, 700.0, 1500.0])


def ended(hours: float, cause: str = "worn", **more: object) -> LifeRecord:
    return LifeRecord(lived_to=hours, ended_by=hours, cause=cause, **more)  # type: ignore[arg-type]


MIXED = lifetimes(
    [310.0, 480.0, 200.0, 0.0, 900.0, 640.0],
    [310.0, 480.0, 350.0, 150.0, math.inf, 640.0],
    entry=[0.0, 120.0, 0.0, 0.0, 400.0, 600.0],
    weight=[1.0, 2.0, 1.0, 1.0, 3.0, 1.0],
)


@pytest.mark.parametrize(("a", "s"), [(6.2, 0.3), (6.8, -0.4), (5.5, 0.9)])
def test_derivatives_agree_with_differences(a: float, s: float) -> None:
    data, step = prepare(MIXED), 1e-5
    _, gradient, hessian = derivatives(data, a, s)
    ups = [derivatives(data, a + step, s), derivatives(data, a, s + step)]
    downs = [derivatives(data, a - step, s), derivatives(data, a, s - step)]
    slopes = [(up[0] - down[0]) / (2 * step) for up, down in zip(ups, downs, strict=True)]
    bends = np.array([(up[1] - down[1]) / (2 * step) for up, down in zip(ups, downs, strict=True)])
    assert gradient == pytest.approx(slopes, rel=1e-6, abs=1e-6)
    assert hessian == pytest.approx(bends, rel=1e-5, abs=1e-5)


def test_the_likelihood_is_what_it_says() -> None:
    """Each kind of life by its own formula, written out."""
    eta, beta = 600.0, 1.7

    def survival(t: float) -> float:
        return math.exp(-((t / eta) ** beta))

    def density(t: float) -> float:
        return beta / eta * (t / eta) ** (beta - 1) * survival(t)

    expected = (
        math.log(density(310.0))
        + 2.0 * math.log(density(480.0) / survival(120.0))
        + math.log(survival(200.0) - survival(350.0))
        + math.log(1.0 - survival(150.0))
        + 3.0 * math.log(survival(900.0) / survival(400.0))
        + math.log(density(640.0) / survival(600.0))
    )
    assert log_likelihood(MIXED, eta, beta) == pytest.approx(expected, rel=1e-12)


def test_the_fit_is_a_peak() -> None:
    found = fit(MIXED)
    for eta, beta in ((1.01, 1.0), (0.99, 1.0), (1.0, 1.01), (1.0, 0.99)):
        assert log_likelihood(MIXED, found.eta * eta, found.beta * beta) < found.log_likelihood


def test_left_truncation_matters_and_is_honoured() -> None:
    rng = np.random.default_rng(4)
    lives, entry = 1000.0 * rng.weibull(2.5, 40_000), rng.uniform(0.0, 1200.0, 40_000)
    seen = lives > entry
    honoured = fit(lifetimes(lives[seen], lives[seen], entry[seen]))
    ignored = fit(lifetimes(lives[seen], lives[seen]))
    assert honoured.eta == pytest.approx(1000.0, rel=0.02) and honoured.beta == pytest.approx(2.5, rel=0.04)
    assert ignored.eta > 1100.0


@pytest.mark.parametrize(("lower", "upper"), [([500.0, 600.0], [math.inf, math.inf]), ([500.0, 500.0], [500.0, 500.0])])
def test_where_no_fit_exists_none_is_given(lower: list[float], upper: list[float]) -> None:
    with pytest.raises(NoAnswer):
        fit(lifetimes(lower, upper))


@pytest.mark.parametrize(
    ("lower", "upper", "entry"),
    [([100.0], [50.0], [0.0]), ([100.0], [100.0], [200.0]), ([-1.0], [5.0], [0.0]), ([math.nan], [5.0], [0.0])],
)
def test_lives_that_cannot_be_are_refused(lower: list[float], upper: list[float], entry: list[float]) -> None:
    with pytest.raises(InputError) as caught:
        lifetimes(lower, upper, entry)
    assert caught.value.problems[0].where == "life 1"


RECORDS = (
    ended(420.0, "coupling", unit="a"),
    ended(815.0, unit="b"),
    ended(930.0, unit="c"),
    ended(760.0, unit="d"),
    ended(1010.0, unit="e"),
    LifeRecord(lived_to=600.0, ended_by=700.0, cause="worn", unit="f"),
    LifeRecord(lived_to=350.0, unit="g"),
    LifeRecord(lived_to=900.0, watched_from=400.0, unit="h"),
)


def test_an_end_of_one_cause_is_still_running_for_another() -> None:
    worn, coupling = of_cause(RECORDS, "worn"), of_cause(RECORDS, "coupling")
    assert worn.events == 5 and coupling.events == 1
    assert np.isinf(worn.upper[0]) and worn.lower[0] == 420.0
    found_between = of_cause(RECORDS, "coupling")
    assert found_between.lower[5] == 600.0 and np.isinf(found_between.upper[5])


def test_few_ends_give_a_rate_and_more_a_grid() -> None:
    lives = competing(RECORDS)
    assert isinstance(lives.models["worn"], LifeGrid)
    assert isinstance(lives.models["coupling"], LifeRate)
    assert {told.cause: told.ends for told in lives.told} == {"coupling": 1, "worn": 5}


def test_a_rate_is_a_gamma_posterior() -> None:
    """One end in 4,000 h on top of half an end in 750 h: ((4750)/(4750 + t))**1.5."""
    lives = lifetimes([1000.0, 3000.0], [1000.0, math.inf])
    rate = life_rate(lives)
    assert rate.survival(np.array([100.0]))[0] == pytest.approx((4750 / 4850) ** 1.5)
    assert not rate.wears_out


def test_chances_by_cause_add_up() -> None:
    lives = competing(RECORDS)
    by_cause = lives.chance_by_cause(300.0, age=500.0)
    assert sum(by_cause.values()) == pytest.approx(1.0 - lives.survival(np.array([300.0]), age=500.0)[0], abs=1e-4)
    assert by_cause["worn"] > by_cause["coupling"]


def test_one_unit_is_left_out_when_it_is_forecast() -> None:
    rest = without_unit(RECORDS, "b")
    assert len(rest) == len(RECORDS) - 1 and all(record.unit != "b" for record in rest)
    # Leaving a running unit out, and telling its age to the rest, is the same as counting it in.
    without, counted = life_grid(of_cause(without_unit(RECORDS, "g"), "worn")), life_grid(of_cause(RECORDS, "worn"))
    assert without.survival(HOURS, age=350.0, counted=False) == pytest.approx(
        counted.survival(HOURS, age=350.0, counted=True), abs=2e-3
    )


def test_the_grid_averages_over_what_a_fit_would_fix() -> None:
    """The same as weighted draws from the prior, each weighed by its likelihood."""
    lives = of_cause(RECORDS, "worn")
    grid, rng, priors, draws = life_grid(lives), np.random.default_rng(2), DEFAULT_LIFE_PRIORS, 5000
    eta = priors.scale.number * np.exp(priors.scale.spread * rng.standard_normal(draws))
    beta = priors.shape.number * np.exp(priors.shape.spread * rng.standard_normal(draws))
    data = prepare(lives)
    logs = np.array([log_likelihood(data, float(a), float(s)) for a, s in zip(eta, beta, strict=True)])
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    for hours, ours in zip(HOURS, grid.survival(HOURS), strict=True):
        each = np.exp(-((hours / eta) ** beta))
        expected = float(weight @ each)
        error = math.sqrt(float(((weight * (each - expected)) ** 2).sum()))
        assert abs(ours - expected) < 4 * error + 1e-4


def test_no_records_leave_the_prior() -> None:
    assert life_rate(of_cause([], "worn")).events == DEFAULT_LIFE_PRIORS.rate_events.number


def test_words_say_when_age_means_nothing() -> None:
    early = lifetimes([20.0, 90.0, 300.0, 900.0, 2200.0], [20.0, 90.0, 300.0, 900.0, 2200.0])
    lines = in_words(life_model(early), "couplings")
    assert any("no wear-out age" in line for line in lines)


def fleet(seed: int, scales: dict[str, float], count: int) -> list[LifeRecord]:
    rng = np.random.default_rng(seed)
    return [
        ended(float(scale * rng.weibull(3.0)), group=name, unit=f"{name}{i}")
        for name, scale in scales.items()
        for i in range(count)
    ]


def test_groups_lend_each_other_what_they_know() -> None:
    def middle(grid: LifeGrid) -> float:
        hours = np.linspace(0.0, 6000.0, 1201)
        return float(np.interp(0.5, 1.0 - grid.survival(hours), hours))

    records = [*fleet(1, {"a": 700.0, "b": 750.0, "c": 720.0}, 5), ended(1600.0, group="d", unit="d0")]
    shared = share(records)
    alone = life_grid(of_cause([r for r in records if r.group == "d"]))
    assert middle(shared.group("d")) < middle(alone)
    assert middle(shared.group("a")) < middle(shared.group("d"))
    assert 400.0 < middle(shared.group("never seen")) < 1200.0


def test_a_group_with_many_lives_stands_by_itself() -> None:
    records = [*fleet(3, {"many": 500.0}, 60), *fleet(4, {"other": 2500.0}, 60)]
    shared = share(records)
    many = math.exp(float(shared.group("many").weight.sum(axis=1) @ shared.group("many").log_eta))
    assert many == pytest.approx(fit(of_cause([r for r in records if r.group == "many"])).eta, rel=0.05)
    assert shared.spread_between > 0.5


def test_sharing_needs_a_life() -> None:
    with pytest.raises(InputError):
        share([])


WORN_OUT = lifetimes([780.0, 820.0, 860.0, 900.0, 930.0, 960.0], [780.0, 820.0, 860.0, 900.0, 930.0, 960.0])


def test_replacement_by_age_follows_the_costs() -> None:
    model = life_model(WORN_OUT)
    cheap = replace_by_age(model, Costs(planned=1.0, unplanned=20.0), "pump")
    equal = replace_by_age(model, Costs(planned=1.0, unplanned=1.0), "pump")
    assert cheap.kind == "at an age" and cheap.hours is not None and 200.0 < cheap.hours < 850.0
    assert equal.kind == "keep to the end"
    dearer = replace_by_age(model, Costs(planned=1.0, unplanned=200.0), "pump")
    assert dearer.hours is not None and dearer.hours < cheap.hours


def test_a_failure_in_cloud_is_priced_by_the_user_alone() -> None:
    costs = Costs(planned=1.0, unplanned=2.0, in_cloud=0.1, no_standby=1.0, loss_given_those=0.05, loss=10_000.0)
    assert costs.failure == pytest.approx(2.0 + 50.0)
    with pytest.raises(InputError, match="in_cloud"):
        check_costs(msgspec.structs.replace(costs, in_cloud=2.0))
    with pytest.raises(InputError):
        check_costs(Costs(planned=0.0, unplanned=1.0))


def test_this_very_unit() -> None:
    hours = np.linspace(0.0, 2000.0, 401)
    worn = np.exp(-(((800.0 + hours) / 1000.0) ** 4 - 0.8**4))
    young = np.exp(-((hours / 1000.0) ** 4))
    costs = Costs(planned=1.0, unplanned=10.0)
    assert replace_this_one(hours, worn, costs, 0.002, 0.001).kind == "now"
    later = replace_this_one(hours, young, costs, 0.002, 0.001)
    assert later.kind == "in so many hours" and later.hours is not None and later.hours > 300.0
    capped = replace_this_one(hours, young, costs, 0.002, next_flight_stop=1 / 200, cap=1 / 1000)
    assert capped.kind == "now" and "1 in 200" in capped.words[0]
    with pytest.raises(InputError):
        replace_this_one(hours, young, costs, 0.002, 0.001, cap=0.0)


def test_survival_steps_take_late_entry_and_refuse_unknown_ends() -> None:
    steps = kaplan_meier(lifetimes([10.0, 20.0, 30.0], [10.0, 20.0, math.inf], entry=[0.0, 15.0, 0.0]))
    assert steps.at_risk.tolist() == [2.0, 2.0]
    assert steps.surviving.tolist() == [0.5, 0.25]
    with pytest.raises(InputError, match="between two looks"):
        kaplan_meier(lifetimes([10.0], [20.0]))
