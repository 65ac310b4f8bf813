"""Failure mode: regulator set low or its spring tired."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Severity, rate

MODE = FailureMode(
    id="regulator_low",
    name="regulator set low or its spring tired",
    meaning="the plateau is low and flat; low engine speeds read as ever",
    level="supply weak",
    family="regulator setting",
    places=places.of_kind("regulator"),
    rate=rate(3, "F12"),
    # A screw that backs off an unlocked valve goes on: two inches were reported.
    severity=Severity(kind="uniform", low=0.3, high=3.0, unit="inHg", meaning="setting below what it was"),
    effect=acts.set_low,
    contexts={"regulator_changed": 3.0, "regulator_adjusted": 2.0},
    signs={"crept_over_months": 0.25},
    confirms=("regulator_adjustment_check",),
    refutes=("sweep",),
)
