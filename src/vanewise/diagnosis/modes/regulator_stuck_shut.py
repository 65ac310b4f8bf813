"""Failure mode: regulator stuck shut."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Severity, rate

MODE = FailureMode(
    id="regulator_stuck_shut",
    name="regulator stuck shut",
    meaning="it does not open, or hardly: the reading climbs with engine speed far above the band",
    level="supply high",
    family="regulator",
    places=places.of_kind("regulator"),
    rate=rate(0.5, "judgement of the authors"),
    severity=Severity(
        kind="log-uniform",
        low=150.0,
        high=1e5,
        unit="times",
        meaning="flow resistance of what opens against a free valve",
    ),
    effect=acts.filter_clogs,
    contexts={"long_parking": 2.0},
    signs={
        "suddenly_worse": 0.5,
        "gauge_climbs_with_rpm": 0.8,
        "pump_hot": 0.30,
    },
    confirms=("regulator_filter_off", "regulator_seat_look"),
    refutes=("sweep", "regulator_filter_off"),
)
