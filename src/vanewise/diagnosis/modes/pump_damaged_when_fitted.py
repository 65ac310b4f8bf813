"""Failure mode: pump damaged when fitted."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Shedding, rate

MODE = FailureMode(
    id="pump_damaged_when_fitted",
    name="pump damaged when fitted",
    meaning="body squeezed in a vise or dropped: the bore is no longer round",
    level="supply weak",
    family="pump",
    places=places.pump,
    rate=rate(0.5, "F18; the base weight of 0.5 is a judgement of the authors"),
    severity=acts.SLIP,
    effect=acts.slips,
    contexts={"pump_changed": 3.0},
    signs={"pump_shaft_locked": 0.4, "vise_marks_on_pump": 0.60, "pump_noise": 0.20},
    confirms=("pump_teardown",),
    sheds=Shedding(debris="carbon", events=("running", "stop")),
)
