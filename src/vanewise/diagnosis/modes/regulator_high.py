"""Failure mode: regulator set too high."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Severity, rate

MODE = FailureMode(
    id="regulator_high",
    name="regulator set too high",
    meaning="somebody turned it up to cure a low reading, or set it by a gauge that reads low",
    level="supply high",
    family="regulator setting",
    places=places.of_kind("regulator"),
    rate=rate(1, "F11; the base weight of 1 is a judgement of the authors"),
    severity=Severity(kind="uniform", low=0.2, high=2.0, unit="inHg", meaning="setting above what it was"),
    effect=acts.set_high,
    # Turned up over a weak pump, it is too high with the next one.
    contexts={"regulator_changed": 3.0, "gyro_changed": 4.0, "regulator_adjusted": 4.0, "pump_changed": 3.0},
    confirms=("regulator_adjustment_check", "test_gauge"),
    refutes=("sweep",),
)
