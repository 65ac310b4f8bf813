"""Failure mode: regulator stuck shut."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="regulator_stuck_shut",
    name="regulator stuck shut",
    meaning="it does not open: the reading climbs with engine speed far above the band",
    level="supply high",
    family="regulator",
    places=places.of_kind("regulator"),
    rate=rate(0.5, "judgement of the authors"),
    effect=acts.sticks_shut,
    contexts={"long_parking": 2.0},
    signs={"gauge_climbs_with_rpm": 0.8, "pump_hot": 0.30},
    confirms=("regulator_seat_look", "sweep"),
    refutes=("sweep",),
)
