"""Failure mode: pump-side hose collapsed."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="hose_collapsed",
    name="pump-side hose collapsed",
    meaning="the hose at the pump is sucked flat, kinked or closed by its own liner: the pump is loaded, not the gauge",
    level="supply weak",
    family="hose",
    places=places.collapsing_hoses,
    rate=rate(6, "F06"),
    severity=acts.OPEN,
    effect=acts.closes,
    contexts={
        "former_pump_short_life": 3.0,
        "old_hoses": 2.5,
        "hot_cruise_only": 6.0,
        "hot_day": 1.5,
        "hose_changed": 0.3,
    },
    signs={
        "comes_and_goes": 0.25,
        "rubber_slivers": 0.06,
        "worse_when_hot": 0.55,
        "hose_soft": 0.65,
        "hose_kinked": 0.40,
        "pump_hot": 0.50,
        "gauge_fluctuates": 0.20,
    },
    confirms=("hose_squeeze", "borescope_lines"),
    refutes=("hose_squeeze",),
)
