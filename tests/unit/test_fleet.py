"""Wear shared between pumps, by example and against weighted draws."""

from __future__ import annotations

import math

import numpy as np
import pytest

from vanewise.errors import InputError
from vanewise.watch.fleet import LIFE_NODES, Fleet, FleetPump, fit_fleet, life_evidence
from vanewise.watch.simulate import Truth, histories, simulate
from vanewise.watch.types import WearReading
from vanewise.watch.wear import forecast
from vanewise.watch.wear_history import PumpHistory
from vanewise.watch.wear_priors import DEFAULT_PRIORS
from vanewise.watch.wear_rates import Conditions

SUCTION, PRESSURE = Conditions(duty="suction"), Conditions(duty="pressure")


def middle(fleet: Fleet, leave_out: str = "") -> float:
    return math.exp(float(fleet.weights(leave_out).sum(axis=(1, 2)) @ fleet.middle))


def short_lived(count: int, seed: int) -> list[FleetPump]:
    """Simulated pumps whose middle life is 900 h where 1,400 h are assumed, each with two lengths."""
    looks = np.random.default_rng(seed).uniform(150.0, 500.0, (count, 1)) * np.array([[0.5, 1.0]])
    truth = Truth(name="short", median_factor=900.0 / 1400.0)
    pumps = simulate(truth, count, looks, seed)
    found = histories(pumps, ("length", "length"), truth, seed)
    return [FleetPump(f"pump {i}", h) for i, h in enumerate(found)]


@pytest.fixture(scope="module")
def fleet() -> Fleet:
    return fit_fleet(short_lived(14, 3))


def test_a_fleet_moves_the_middle_towards_what_its_pumps_did(fleet: Fleet) -> None:
    assert middle(fit_fleet([])) == pytest.approx(1400.0, rel=0.01)
    assert 750.0 < middle(fleet) < 1200.0


def test_a_new_pump_of_a_known_fleet_has_a_shorter_and_surer_life(fleet: Fleet) -> None:
    new = PumpHistory(hours_now=0.0, conditions=SUCTION)
    alone = forecast(new).hours_left
    shared = forecast(new, life_density=fleet.life_density("suction"), life_note=fleet.note())
    assert shared.hours_left["p50"] < 0.85 * alone["p50"]
    assert shared.assumptions[0] == ("lives of own pumps", "14 pumps", "measured")


def test_a_pump_is_left_out_when_it_is_forecast(fleet: Fleet) -> None:
    assert middle(fleet, "pump 0") != middle(fleet)
    assert fleet.note("pump 0") == "13 other pumps"
    rebuilt = fit_fleet([p for p in short_lived(14, 3) if p.name != "pump 0"])
    assert fleet.weights("pump 0") == pytest.approx(rebuilt.weights(), abs=1e-12)


def test_pumps_in_pressure_duty_teach_the_duty_factor() -> None:
    """700 h to the limit in pressure duty again and again, 1,400 h in suction: the factor is about two."""

    def worn(name: str, hours: float, conditions: Conditions) -> FleetPump:
        reading = WearReading(hours=hours, kind="worn out")
        return FleetPump(
            name, PumpHistory(hours_now=hours + 10, conditions=conditions, readings=(reading,), running=False)
        )

    suction = [worn(f"s{i}", h, SUCTION) for i, h in enumerate((1300.0, 1400.0, 1500.0, 1420.0))]
    usual = fit_fleet([*suction, *(worn(f"p{i}", h, PRESSURE) for i, h in enumerate((650.0, 700.0, 760.0)))])
    slow = fit_fleet([*suction, *(worn(f"p{i}", h, PRESSURE) for i, h in enumerate((1250.0, 1300.0, 1380.0)))])

    def factor(fleet: Fleet) -> float:
        return math.exp(float(fleet.weights().sum(axis=(0, 1)) @ fleet.duty))

    assert factor(usual) == pytest.approx(2.0, rel=0.15)
    assert factor(slow) < 1.6


def test_evidence_of_a_life_agrees_with_draws() -> None:
    """Evidence of two lengths at one life, by drawing wear paths: no grid, no filter."""
    history = PumpHistory(
        hours_now=600.0,
        conditions=SUCTION,
        readings=(
            WearReading(hours=300.0, kind="length", wear_fraction=0.25, sd=0.05),
            WearReading(hours=600.0, kind="length", wear_fraction=0.5, sd=0.05),
        ),
    )
    log_evidence, survival, unit, duty = life_evidence(history, DEFAULT_PRIORS)
    assert survival is None and unit == pytest.approx(1400.0) and duty == 0.0
    rng, draws = np.random.default_rng(1), 200_000
    place = int(np.argmin(np.abs(LIFE_NODES + 0.15)))
    life, total = math.exp(LIFE_NODES[place]), 0.0
    for member in DEFAULT_PRIORS.members:
        own = life * (DEFAULT_PRIORS.changing_life if member.may_change else 1.0)
        change = rng.exponential(1.0, draws) if member.may_change else np.full(draws, np.inf)
        worn, before, weight = np.zeros(draws), 0.0, np.ones(draws)
        start = 0.03 * rng.standard_normal(draws)
        for hours, share in ((300.0, 0.25), (600.0, 0.5)):
            now = hours / 1400.0
            step = now**member.run_in - before**member.run_in + np.clip(now - np.maximum(change, before), 0.0, None)
            worn += rng.gamma(member.scatter * step) / member.scatter
            wear = start + worn / own**member.run_in
            z = (wear - share) / 0.05
            weight *= 0.99 * np.exp(-0.5 * z * z) / (0.05 * math.sqrt(2 * math.pi)) + 0.01 / 2.0
            before = now
        total += member.weight * float(weight.mean())
    assert math.exp(float(log_evidence[place])) == pytest.approx(total, rel=0.03)


def test_late_entry_takes_back_what_survival_alone_would_claim() -> None:
    """Pumps met at 1,000 h and watched to 1,010 h say next to nothing; counted from new they would say a lot."""

    def seen(entry: float | None) -> Fleet:
        history = PumpHistory(hours_now=1010.0, conditions=SUCTION, entry_hours=entry)
        return fit_fleet([FleetPump(f"p{i}", history) for i in range(8)])

    assert middle(seen(1000.0)) == pytest.approx(1400.0, rel=0.02)
    assert middle(seen(None)) > 1450.0


def test_a_name_is_given_once() -> None:
    pump = FleetPump("a", PumpHistory(hours_now=100.0, conditions=SUCTION))
    with pytest.raises(InputError, match="each pump once"):
        fit_fleet([pump, pump])
