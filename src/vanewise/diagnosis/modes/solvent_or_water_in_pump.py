"""Failure mode: wash fluid or water in the pump."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Severity, Shedding, rate

MODE = FailureMode(
    id="solvent_or_water_in_pump",
    name="wash fluid or water in the pump",
    meaning="an engine wash without covering outlet and drain, or rain, wets vanes and rotor",
    level="supply weak",
    family="pump",
    places=places.pump,
    rate=rate(1, "F05; the base weight of 1 is a judgement of the authors"),
    severity=Severity(kind="log-uniform", low=1.15, high=4.0, unit="times", meaning="internal leakage"),
    effect=acts.slips,
    contexts={"washed": 8.0, "rain": 8.0},
    signs={
        "oily_paste_in_pump": 0.45,
        "water_in_line": 0.25,
        "pump_shaft_locked": 0.3,
        "pump_noise": 0.25,
        "oil_at_drain": 0.05,
    },
    confirms=("pump_teardown", "records_look"),
    sheds=Shedding(debris="carbon paste", events=("stop",)),
)
