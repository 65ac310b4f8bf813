"""Failure mode: lines misrouted."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Shedding, rate

MODE = FailureMode(
    id="lines_misrouted",
    name="lines misrouted",
    meaning=("after panel or pump work two hoses are swapped: the pump pushes where it should pull, or the other way"),
    level="supply dead",
    family="misrouting",
    places=places.pump,
    rate=rate(0.15, "F15; the base weight is a judgement of the authors"),
    effect=acts.stops,
    contexts={
        "boots_worked_on": 2.0,
        "engine_work": 4.0,
        "autopilot_work": 2.0,
        "pump_changed": 8.0,
        "gyro_changed": 6.0,
        "panel_work": 5.0,
    },
    signs={"filter_black": 0.2, "gauge_zero": 0.5, "gauge_below_zero": 0.4, "lamp_on": 0.9},
    confirms=("hose_map_trace",),
    refutes=("hose_map_trace",),
    sheds=Shedding(debris="carbon straight into the instruments", events=("running",)),
    stays=True,
)
