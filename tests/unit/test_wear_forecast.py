"""The wear forecast by example: refusals, words, events, own experience."""

from __future__ import annotations

import datetime
from typing import Any

import msgspec
import pytest

from vanewise.errors import InputError
from vanewise.provenance import ASSUMED, Value
from vanewise.watch.types import WearReading
from vanewise.watch.utilisation import dates_of_hours, hours_until, utilisation
from vanewise.watch.wear import (
    SUDDEN_WORDS,
    Horizons,
    forecast,
    wear_fraction,
    with_own_sudden_stops,
)
from vanewise.watch.wear_history import PumpHistory
from vanewise.watch.wear_planning import best_occasion, look_again_words, wear_band
from vanewise.watch.wear_priors import DEFAULT_PRIORS, Member
from vanewise.watch.wear_rates import Conditions, RateEvent, Span

SUCTION = Conditions(duty="suction")


def length(hours: float, share: float, sd: float = 0.05, date: datetime.date | None = None) -> WearReading:
    return WearReading(hours=hours, kind="length", wear_fraction=share, sd=sd, date=date)


def pump(hours: float = 600.0, *readings: WearReading, **more: Any) -> PumpHistory:
    return PumpHistory(hours_now=hours, conditions=more.pop("conditions", SUCTION), readings=readings, **more)


def looked(*kinds: str, **more: Any) -> PumpHistory:
    readings = tuple(WearReading(hours=500.0 + 10 * i, kind=kind) for i, kind in enumerate(kinds))  # type: ignore[arg-type]
    settings = {"seen_means": "good", "polarity_confirmed_by": "A. Person", "port_wear_fraction": 0.8, **more}
    return pump(600.0, *readings, **settings)


def refusal(history: PumpHistory) -> Any:
    with pytest.raises(InputError) as caught:
        forecast(history)
    return caught.value.problems[0]


def test_looks_are_refused_until_a_person_confirmed_what_seen_means() -> None:
    problem = refusal(looked("seen", polarity_confirmed_by=" "))
    assert problem.where == "seen_means"
    assert "not confirmed" in problem.found
    assert refusal(looked("seen", seen_means=None)).where == "seen_means"


def test_looks_are_refused_without_a_port_height() -> None:
    problem = refusal(looked("not seen", port_wear_fraction=None))
    assert problem.where == "port_wear_fraction"
    assert "1.0 where the hole marks the limit" in problem.next_step


@pytest.mark.parametrize(
    ("history", "where", "found"),
    [
        (pump(600.0, length(700.0, 0.4)), "readings[0].hours", "backwards"),
        (pump(600.0, length(300.0, -0.2)), "readings[0].wear_fraction", "longer than a new vane"),
        (pump(600.0, length(300.0, 0.2, sd=0.0)), "readings[0].sd", "0.0"),
        (pump(600.0, length(300.0, float("nan"))), "readings[0].wear_fraction", "nan"),
        (pump(600.0, WearReading(hours=300.0, kind="length")), "readings[0].wear_fraction", "nothing"),
        (pump(600.0, WearReading(hours=300.0, kind="worn out")), "readings[0].kind", "worn out"),
        (pump(-1.0), "hours_now", "-1"),
        (pump(100.0, entry_hours=200.0), "entry_hours", "200"),
        (pump(600.0, events=(RateEvent(hours=700.0, kind="other change"),)), "events[0].hours", "700"),
        (pump(600.0, earlier=(Span(until_hours=900.0, conditions=SUCTION),)), "earlier[0].until_hours", "900"),
        (
            pump(
                600.0,
                length(400.0, 0.3, date=datetime.date(2025, 3, 1)),
                length(300.0, 0.2, date=datetime.date(2025, 5, 1)),
            ),
            "reading of 2025-05-01",
            "backwards",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_four_parts(history: PumpHistory, where: str, found: str) -> None:
    problem = refusal(history)
    assert problem.where == where
    assert found in problem.found
    assert problem.expected and problem.next_step


def test_all_problems_are_told_at_once() -> None:
    with pytest.raises(InputError) as caught:
        forecast(pump(600.0, length(700.0, -0.5), WearReading(hours=10.0, kind="seen")))
    assert len(caught.value.problems) >= 4


def test_a_small_negative_wear_is_a_new_vane_and_not_refused() -> None:
    assert forecast(pump(50.0, length(50.0, -0.1))).hours_left["p50"] > 800


def test_a_length_narrows_more_than_a_look() -> None:
    def width(history: PumpHistory) -> float:
        left = forecast(history).hours_left
        return left["p90"] - left["p10"]

    nothing = width(pump(600.0))
    look = width(looked("seen"))
    measured = width(pump(600.0, length(500.0, 0.35)))
    assert measured < 0.8 * nothing
    assert measured < look <= nothing * 1.02


def test_not_seen_where_seen_is_good_costs_hours_and_the_other_way_round() -> None:
    good = forecast(looked("not seen")).hours_left["p50"]
    other = forecast(looked("not seen", seen_means="bad")).hours_left["p50"]
    assert good < 0.6 * other


def test_what_one_more_length_would_buy_is_told() -> None:
    answer = forecast(pump(700.0))
    assert answer.worth is not None
    assert answer.worth.width_after_h < 0.75 * answer.worth.width_now_h
    assert any("length reading now would narrow" in line for line in answer.words)


def test_the_worth_agrees_with_readings_really_taken() -> None:
    """The mean width after a reading, over many readings drawn as they would fall, is what was promised."""
    import numpy as np

    answer = forecast(pump(700.0))
    assert answer.worth is not None
    rng = np.random.default_rng(3)
    shares = 0.5 / np.exp(0.46 * rng.standard_normal(40)) + 0.08 * rng.standard_normal(40)
    widths = []
    for share in np.clip(shares, 0.0, 1.3):
        left = forecast(pump(700.0, length(700.0, float(share)))).hours_left
        widths.append(left["p90"] - left["p10"])
    assert np.mean(widths) == pytest.approx(answer.worth.width_after_h, rel=0.25)


def test_a_surprising_reading_says_what_to_look_for() -> None:
    answer = forecast(pump(640.0, length(300.0, 0.15), length(600.0, 0.30), length(640.0, 0.75)))
    assert answer.surprise is not None and answer.surprise > 0.98
    calm = forecast(pump(640.0, length(300.0, 0.15), length(600.0, 0.30), length(640.0, 0.33)))
    assert calm.surprise is not None and 0.1 < calm.surprise < 0.9
    fewer = forecast(pump(300.0, length(300.0, 0.9)))
    assert any("check the reading, then look for oil or a clogged filter" in line for line in fewer.words)


def test_vanes_do_not_grow() -> None:
    answer = forecast(pump(640.0, length(300.0, 0.5), length(600.0, 0.1)))
    assert any("vanes do not grow" in line for line in answer.remarks)


def test_a_pump_past_its_limit_is_looked_at_now() -> None:
    answer = forecast(pump(800.0, length(780.0, 1.05), length(800.0, 1.1)))
    assert answer.prob_past_now > 0.9
    assert answer.hours_left["p50"] == 0.0
    assert answer.look_again_in_h == 0.0 and answer.look_again_h == 800.0
    assert any("Look at the wear port now" in line for line in answer.words)


def test_the_headline_is_a_stop_from_any_cause_and_sudden_stops_are_named_every_time() -> None:
    answer = forecast(pump(400.0, length(400.0, 0.1)), horizons=Horizons(next_annual_h=195.0))
    assert answer.words[0].startswith("Chance that this pump stops before the next annual")
    assert "any cause" in answer.words[0]
    assert answer.words[1] == SUDDEN_WORDS
    annual = next(chance for chance in answer.chances if chance.name == "before the next annual")
    # Two events in 2,800 h: 1 - (2800 / 2995)**2, worked by hand.
    assert annual.sudden_stop == pytest.approx(1 - (2800 / 2995) ** 2)
    assert annual.stop_by_wear < 0.01 < annual.any_stop


def test_own_sudden_stops_replace_the_starting_rate() -> None:
    own = with_own_sudden_stops(DEFAULT_PRIORS, 1, 12_200.0)
    answer = forecast(pump(400.0), priors=own, horizons=Horizons(next_flight_h=2.0))
    # Gamma posterior: (2 + 1) events in (2,800 + 12,200) h.
    assert answer.chances[0].sudden_stop == pytest.approx(1 - (15_000 / 15_002) ** 3)
    assert own.sudden_events.standing == "measured"
    with pytest.raises(InputError):
        with_own_sudden_stops(DEFAULT_PRIORS, 1, 0.0)


def test_every_prior_is_listed_with_its_standing() -> None:
    answer = forecast(pump(400.0))
    standings = {standing for _, _, standing in answer.assumptions}
    assert {"common practice, no source", "judgement", "assumed"} <= standings
    assert len(answer.assumptions) >= len(DEFAULT_PRIORS.values())
    assert any("1,400 h" in value for _, value, _ in answer.assumptions)


def test_an_edited_prior_is_used_and_a_useless_one_refused() -> None:
    slow = msgspec.structs.replace(
        DEFAULT_PRIORS, median_life=msgspec.structs.replace(DEFAULT_PRIORS.median_life, number=2800.0)
    )
    assert forecast(pump(0.0), priors=slow).hours_left["p50"] == pytest.approx(
        2 * forecast(pump(0.0)).hours_left["p50"], rel=0.01
    )
    unweighted = msgspec.structs.replace(DEFAULT_PRIORS, members=(Member(scatter=60.0, run_in=1.0, weight=0.5),))
    with pytest.raises(InputError, match="sum to 1"):
        forecast(pump(0.0), priors=unweighted)


def factor(number: float, spread: float) -> Value:
    return Value(number=number, dimension="ratio", spread=spread, standing="assumed", source=ASSUMED)


def test_an_event_without_effect_changes_nothing() -> None:
    readings = (length(300.0, 0.2), length(600.0, 0.4))
    still = RateEvent(hours=300.0, kind="other change", factor=factor(1.0, 0.0))
    plain = forecast(pump(600.0, *readings)).hours_left
    with_event = forecast(pump(600.0, *readings, events=(still,))).hours_left
    assert with_event["p50"] == pytest.approx(plain["p50"], rel=0.01)


def test_an_event_that_doubles_the_rate_halves_what_is_left() -> None:
    readings = (length(300.0, 0.2), length(600.0, 0.4))
    doubled = RateEvent(hours=600.0, kind="debris through the pump", factor=factor(2.0, 0.0))
    plain = forecast(pump(600.0, *readings)).hours_left
    after = forecast(pump(600.0, *readings, events=(doubled,))).hours_left
    assert after["p50"] == pytest.approx(plain["p50"] / 2, rel=0.05)


def test_readings_teach_how_much_an_event_did() -> None:
    """The same two lengths before; after oil came in, one pump wore on as before and the other three times as fast."""
    before = (length(200.0, 0.15), length(400.0, 0.30))
    oil = RateEvent(hours=400.0, kind="oil in the pump")
    calm = forecast(pump(500.0, *before, length(500.0, 0.37), events=(oil,))).hours_left["p50"]
    fast = forecast(pump(500.0, *before, length(500.0, 0.55), events=(oil,))).hours_left["p50"]
    assert fast < 0.5 * calm


def test_a_change_of_duty_counts_each_hour_at_its_own_rate() -> None:
    pressure = Conditions(duty="pressure")
    was = pump(600.0, conditions=SUCTION, earlier=(Span(until_hours=500.0, conditions=pressure),))
    always = pump(600.0)
    assert forecast(was).prob_past_now > 3 * forecast(always).prob_past_now


def test_a_faster_pump_and_thin_dry_air_wear_sooner() -> None:
    plain = forecast(pump(0.0)).hours_left["p50"]
    fast = forecast(pump(0.0, conditions=Conditions(duty="suction", speed_ratio=1.5))).hours_left["p50"]
    high = forecast(pump(0.0, conditions=Conditions(duty="suction", altitude_m=4000.0))).hours_left["p50"]
    assert fast == pytest.approx(plain * (1.3 / 1.5) ** 2, rel=0.06)
    assert high < plain


def test_lengths_become_shares_of_the_allowance() -> None:
    assert wear_fraction(16.0, 14.0, 15.5) == pytest.approx(0.25)
    with pytest.raises(InputError):
        wear_fraction(14.0, 16.0, 15.0)


def test_the_next_look_goes_with_planned_work_before_it() -> None:
    answer = forecast(pump(400.0, length(400.0, 0.2)))
    planned = [("oil change", 40.0), ("annual", answer.look_again_in_h - 1.0), ("next annual", 900.0)]
    assert best_occasion(answer, planned) == planned[1]
    assert best_occasion(answer, [("next annual", 5000.0)]) is None


def test_a_smaller_accepted_risk_means_an_earlier_look() -> None:
    careful = forecast(pump(400.0, length(400.0, 0.2)), horizons=Horizons(risk_per_pump_life=0.02))
    usual = forecast(pump(400.0, length(400.0, 0.2)))
    assert careful.look_again_in_h < usual.look_again_in_h
    with pytest.raises(InputError, match="risk per pump life"):
        forecast(pump(400.0), horizons=Horizons(risk_per_pump_life=0.9))


def test_a_brand_new_pump_and_a_very_old_one_have_an_answer() -> None:
    assert forecast(pump(0.0)).prob_past_now == 0.0
    old = forecast(pump(6000.0))
    assert 0.0 < old.prob_past_now <= 1.0


def test_the_same_history_gives_the_same_bytes() -> None:
    history = pump(600.0, length(300.0, 0.2))
    assert msgspec.json.encode(forecast(history)) == msgspec.json.encode(forecast(history))


def test_the_next_look_is_told_with_its_months() -> None:
    answer = forecast(pump(400.0, length(400.0, 0.2)))
    today = datetime.date(2026, 1, 10)
    use = utilisation([], hours_a_year=195.0)
    line = look_again_words(answer, dates_of_hours(use, today))
    assert line.startswith(f"Look again by {int(answer.look_again_h):,} h of pump time, about ")
    assert line.endswith(("2026.", "2027.", "2028."))
    assert look_again_words(forecast(pump(800.0, length(800.0, 1.1))), dates_of_hours(use, today)).endswith("now.")
    # 195 h a year from 10 January to the end of June: 21 of 31 days and five months.
    assert hours_until(use, today, datetime.date(2026, 6, 30)) == pytest.approx(16.25 * (21 / 31 + 5))
    assert hours_until(use, today, today) == 0.0


def test_the_band_of_wear_widens_ahead_and_starts_at_what_was_read() -> None:
    band = wear_band(pump(400.0, length(200.0, 0.1), length(400.0, 0.2)), ahead=(0.0, 300.0, 900.0))
    middles = [point.p50 for point in band]
    assert middles[0] == pytest.approx(0.2, abs=0.05)
    assert middles == sorted(middles)
    spreads = [point.p90 - point.p10 for point in band]
    assert spreads == sorted(spreads)
    assert all(point.p025 <= point.p10 <= point.p50 <= point.p90 <= point.p975 for point in band)


def test_the_band_agrees_with_the_hours_left() -> None:
    """Where the middle of hours left lies, half of the band lies above the limit."""
    history = pump(400.0, length(200.0, 0.1), length(400.0, 0.2))
    left = forecast(history).hours_left["p50"]
    (point,) = wear_band(history, ahead=(left,))
    assert point.p50 == pytest.approx(1.0, abs=0.02)
