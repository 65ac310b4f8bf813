"""Failure mode: thread sealant or tape drawn in."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Shedding, rate

MODE = FailureMode(
    id="sealant_drawn_in",
    name="thread sealant or tape drawn in",
    meaning="dope or tape from a port's threads in pump or regulator: strings in the seat, short pump life",
    level="supply weak",
    family="pump",
    places=places.pump,
    rate=rate(0.5, "F17; the base weight is a judgement of the authors"),
    severity=acts.SLIP,
    effect=acts.slips,
    contexts={"former_pump_short_life": 2.0, "engine_work": 1.5, "pump_changed": 3.0, "hose_changed": 1.5},
    signs={"tape_or_sealant_found": 0.75, "pump_shaft_locked": 0.15, "pump_noise": 0.2, "gauge_fluctuates": 0.15},
    confirms=("pump_teardown", "borescope_lines"),
    refutes=("pump_teardown",),
    sheds=Shedding(debris="sealant and tape", events=("running", "stop")),
)
