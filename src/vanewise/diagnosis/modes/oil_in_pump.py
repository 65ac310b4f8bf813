"""Failure mode: oil in the pump."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Severity, Shedding, rate

MODE = FailureMode(
    id="oil_in_pump",
    name="oil in the pump",
    meaning="oil past the pad seal or from an overfilled coupling space turns carbon to paste: drag, heat, low output",
    level="supply weak",
    family="pump",
    places=places.pump,
    rate=rate(5, "F04"),
    severity=Severity(
        kind="log-uniform", low=1.15, high=4.0, unit="times", meaning="internal leakage against this pump when sound"
    ),
    effect=acts.slips,
    signs={
        "gauge_slow_rise": 0.15,
        "oily_paste_in_pump": 0.6,
        "oil_in_line": 0.2,
        "pump_shaft_locked": 0.25,
        "crept_over_months": 0.2,
        "oil_on_belly": 0.2,
        "oil_at_drain": 0.65,
        "oil_on_coupling": 0.60,
        "pump_hot": 0.30,
        "pump_noise": 0.15,
    },
    contexts={"former_pump_short_life": 3.0, "engine_work": 1.5},
    confirms=("drain_look", "pump_teardown"),
    refutes=("drain_look",),
    sheds=Shedding(debris="carbon and oil paste", events=("stop",)),
)
