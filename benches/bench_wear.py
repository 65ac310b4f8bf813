"""What a person waits for on the wear page: one forecast from four lengths, and from a mix of readings and an event."""

from __future__ import annotations

from benches.harness import Comparison, bench
from vanewise.watch.types import WearReading
from vanewise.watch.wear import Horizons, forecast
from vanewise.watch.wear_history import PumpHistory
from vanewise.watch.wear_rates import Conditions, RateEvent

HORIZONS = Horizons(next_annual_h=120.0)


def _length(hours: float, share: float) -> WearReading:
    return WearReading(hours=hours, kind="length", wear_fraction=share, sd=0.05)


LENGTHS = (_length(150.0, 0.10), _length(300.0, 0.24), _length(450.0, 0.36), _length(600.0, 0.47))


@bench("wear forecast, four lengths", unit="ms per forecast")
def four_lengths() -> Comparison:
    history = PumpHistory(hours_now=620.0, conditions=Conditions(duty="suction"), readings=LENGTHS)
    forecast(history, horizons=HORIZONS)
    return Comparison(ours=lambda: forecast(history, horizons=HORIZONS), at_most=100.0)


@bench("wear forecast, two lengths, two looks and a dated event", unit="ms per forecast")
def mixed_readings() -> Comparison:
    looks = (WearReading(hours=350.0, kind="seen"), WearReading(hours=560.0, kind="seen"))
    history = PumpHistory(
        hours_now=620.0,
        conditions=Conditions(duty="pressure"),
        readings=(LENGTHS[0], LENGTHS[2], *looks),
        events=(RateEvent(hours=400.0, kind="oil in the pump"),),
        seen_means="good",
        polarity_confirmed_by="bench",
        port_wear_fraction=0.8,
    )
    forecast(history, horizons=HORIZONS)
    return Comparison(ours=lambda: forecast(history, horizons=HORIZONS), at_most=100.0)
