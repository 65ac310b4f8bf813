"""Laws of the wear forecast: what must hold whatever was read."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vanewise.watch.types import WearReading
from vanewise.watch.wear import Horizons, forecast, limit_chances, posterior_of
from vanewise.watch.wear_history import PumpHistory
from vanewise.watch.wear_priors import DEFAULT_PRIORS, Member
from vanewise.watch.wear_rates import Conditions

FEW = settings(max_examples=12)
kinds = st.sampled_from(["length", "seen", "not seen", "within limit"])
shares = st.floats(0.0, 1.1)


@st.composite
def histories(draw: st.DrawFn) -> PumpHistory:
    now = draw(st.floats(50.0, 1500.0))
    readings = []
    for _ in range(draw(st.integers(0, 3))):
        kind = draw(kinds)
        share = draw(shares) if kind == "length" else None
        readings.append(WearReading(hours=draw(st.floats(1.0, now)), kind=kind, wear_fraction=share, sd=0.05))
    return PumpHistory(
        hours_now=now,
        conditions=Conditions(duty=draw(st.sampled_from(["suction", "pressure"]))),
        readings=tuple(readings),
        seen_means="good",
        polarity_confirmed_by="test",
        port_wear_fraction=0.8,
    )


@FEW
@given(histories())
def test_the_chance_of_passing_the_limit_never_falls_with_time(history: PumpHistory) -> None:
    hours, chance = limit_chances(history)
    assert np.all(np.diff(chance) >= -1e-9)
    assert hours[0] == 0.0 and chance[0] >= 0.0 and chance[-1] <= 1.0 + 1e-9


@FEW
@given(histories(), st.randoms(use_true_random=False))
def test_the_order_of_entry_does_not_matter(history: PumpHistory, random: object) -> None:
    shuffled = list(history.readings)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    one = forecast(history)
    other = forecast(msgspec.structs.replace(history, readings=tuple(shuffled)))
    assert one.hours_left == other.hours_left
    assert one.prob_past_now == other.prob_past_now


@FEW
@given(st.floats(100.0, 1200.0), shares, shares)
def test_two_readings_at_one_hour_have_no_order(hours: float, first: float, second: float) -> None:
    both = [WearReading(hours=hours, kind="length", wear_fraction=y, sd=0.05) for y in (first, second)]
    base = PumpHistory(hours_now=hours, conditions=Conditions(duty="suction"))
    one, other = (
        forecast(msgspec.structs.replace(base, readings=tuple(pair))).hours_left for pair in (both, both[::-1])
    )
    assert one == other


@FEW
@given(histories())
def test_the_answer_is_in_order_and_any_cause_is_worse_than_each(history: PumpHistory) -> None:
    answer = forecast(history, horizons=Horizons(next_annual_h=150.0, asked_h=(50.0,)))
    left = answer.hours_left
    assert 0.0 <= left["p025"] <= left["p10"] <= left["p50"] <= left["p90"] <= left["p975"]
    for chance in answer.chances:
        assert chance.any_stop >= max(chance.stop_by_wear, chance.sudden_stop) - 1e-12
        assert chance.any_stop <= chance.stop_by_wear + chance.sudden_stop + 1e-12
    assert answer.look_again_h == history.hours_now + answer.look_again_in_h
    assert any("sudden stop" in line for line in answer.words)
    assert not any("100 %" in line for line in answer.words)


@FEW
@given(st.floats(200.0, 900.0), st.floats(0.1, 0.7))
def test_more_wear_read_never_means_more_hours_left(hours: float, share: float) -> None:
    def left(y: float) -> float:
        reading = WearReading(hours=hours, kind="length", wear_fraction=y, sd=0.05)
        history = PumpHistory(hours_now=hours, conditions=Conditions(duty="suction"), readings=(reading,))
        return forecast(history).hours_left["p50"]

    assert left(share + 0.1) < left(share)


def test_pressure_duty_wears_as_much_faster_as_the_duty_factor_says() -> None:
    """Common practice, no source: twice as fast in pressure duty, so 700 h there equal about 1,400 h in suction."""

    def unit(duty: str) -> float:
        history = PumpHistory(hours_now=100.0, conditions=Conditions(duty=duty))  # type: ignore[arg-type]
        return posterior_of(history)[1].life_unit_h

    assert unit("suction") == pytest.approx(1400.0)
    assert unit("pressure") == pytest.approx(700.0)


def sampled(history: PumpHistory, asked: np.ndarray, draws: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Chance of passing the limit by each asked hour, and its error, by weighted draws; shares no code with the grid.

    One member without hidden change; lengths and looks only. The future is drawn too.
    """
    rng = np.random.default_rng(seed)
    priors = DEFAULT_PRIORS
    median, scatter = priors.median_life.number, 60.0
    life = np.exp(priors.life_log_sd * rng.standard_normal(draws))
    start = priors.new_length_sd.number * rng.standard_normal(draws)
    worn = np.zeros(draws)
    log_weight = np.zeros(draws)
    last = 0.0
    for reading in sorted(history.readings, key=lambda r: r.hours):
        gap = (reading.hours - last) / median
        last = reading.hours
        worn += rng.gamma(scatter * gap, 1.0 / scatter, draws)
        wear = start + worn / life
        if reading.kind == "length":
            z = (wear - reading.wear_fraction) / reading.sd
            slip = priors.reading_slip.number
            likelihood = (1 - slip) * np.exp(-0.5 * z * z) / (reading.sd * np.sqrt(2 * np.pi)) + slip / 2.0
        else:
            blurred = wear + priors.port_sd.number * rng.standard_normal(draws)
            right = (blurred < history.port_wear_fraction) == (reading.kind == "seen")
            misread = priors.port_misread.number
            likelihood = misread / 2 + (1 - misread) * right
        log_weight += np.log(likelihood)
    worn += rng.gamma(scatter * max(history.hours_now - last, 1e-12) / median, 1.0 / scatter, draws)
    alive = start + worn / life < priors.break_point.number * np.exp(
        priors.break_point.spread * rng.standard_normal(draws)
    )
    weight = np.exp(log_weight - log_weight.max()) * alive
    weight /= weight.sum()
    chances, errors = [], []
    before = 0.0
    for hours in asked:
        worn = worn + rng.gamma(scatter * max(hours - before, 1e-12) / median, 1.0 / scatter, draws)
        before = hours
        past = start + worn / life >= 1.0
        chance = float(weight @ past)
        chances.append(chance)
        errors.append(float(np.sqrt(((weight * (past - chance)) ** 2).sum())))
    return np.array(chances), np.array(errors)


def _length(hours: float, share: float) -> WearReading:
    return WearReading(hours=hours, kind="length", wear_fraction=share, sd=0.05)


@pytest.mark.parametrize(
    "readings",
    [
        (),
        (_length(300.0, 0.25),),
        (_length(150.0, 0.1), _length(300.0, 0.3), _length(450.0, 0.38), _length(600.0, 0.55)),
        (WearReading(hours=500.0, kind="seen"),),
        (WearReading(hours=300.0, kind="seen"), _length(450.0, 0.6), WearReading(hours=600.0, kind="not seen")),
    ],
)
def test_the_grid_agrees_with_weighted_draws(readings: tuple[WearReading, ...]) -> None:
    history = PumpHistory(
        hours_now=600.0,
        conditions=Conditions(duty="suction"),
        readings=readings,
        seen_means="good",
        polarity_confirmed_by="test",
        port_wear_fraction=0.8,
    )
    priors = msgspec.structs.replace(DEFAULT_PRIORS, members=(Member(scatter=60.0, run_in=1.0, weight=1.0),))
    hours, chance = limit_chances(history, priors=priors)
    asked = np.array([0.0, 50.0, 150.0, 300.0, 600.0, 1000.0, 1600.0])
    expected, error = sampled(history, asked, 400_000, seed=11)
    ours = np.interp(np.sqrt(asked), np.sqrt(hours), chance)
    # Four standard errors of the draws, and a thousandth for the grid.
    assert np.all(np.abs(ours - expected) < 4.0 * error + 1e-3), (ours, expected, error)


def test_a_finer_grid_gives_the_same_hours() -> None:
    from vanewise.watch.wear_posterior import Resolution

    readings = (_length(150.0, 0.1), _length(300.0, 0.3), _length(450.0, 0.38), _length(600.0, 0.55))
    history = PumpHistory(hours_now=650.0, conditions=Conditions(duty="suction"), readings=readings)
    usual = forecast(history)
    fine = forecast(history, resolution=Resolution(coarse_life=128, coarse_wear=160, life=96, wear=512, tolerance=5))
    for name, hours in usual.hours_left.items():
        assert hours == pytest.approx(fine.hours_left[name], rel=0.005, abs=2.0), name


@pytest.mark.long
@pytest.mark.parametrize("risk", [0.05, 0.10])
def test_following_look_again_keeps_the_risk_that_was_accepted(risk: float) -> None:
    """400 simulated pumps looked at when told: the share that passed its limit unseen, once in its life."""
    from vanewise.watch.simulate import follow_look_again, mixture_truth

    found = follow_look_again(mixture_truth(), 400, seed=8, risk_per_pump_life=risk)
    assert found.passed_unseen < risk + 3.0 * np.sqrt(risk * (1.0 - risk) / 400)
    assert found.life_used > 0.8 and found.looks_per_pump < 8.0


def test_intervals_cover_what_they_say_on_a_small_sample() -> None:
    """90 simulated pumps from the forecast's own mixture: 80 % intervals cover 67 to 93 % (three standard errors).

    The real figures, 4,000 pumps a cell and wrong truths as well, are in benches/wear_calibration.json.
    """
    from vanewise.watch.simulate import coverage, mixture_truth
    from vanewise.watch.wear_posterior import SHARED_RESOLUTION

    found = coverage(mixture_truth(), ("length", "length"), 90, seed=21, resolution=SHARED_RESOLUTION)
    assert 0.80 - 0.13 < found.cover_80 < 0.80 + 0.13
    assert found.cover_95 > 0.87
    assert found.width_80_h < found.width_95_h < 3000.0


@pytest.mark.long
@pytest.mark.parametrize("kinds", [("none",), ("length",), ("length",) * 4, ("look",) * 2])
def test_intervals_cover_what_they_say(kinds: tuple[str, ...]) -> None:
    from vanewise.watch.simulate import coverage, mixture_truth

    found = coverage(mixture_truth(), kinds, 1000, seed=31)
    assert 0.76 < found.cover_80 < 0.84
    assert 0.925 < found.cover_95 < 0.975
