"""Failure mode: pump run too hot."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Shedding, rate

MODE = FailureMode(
    id="pump_overheated",
    name="pump run too hot",
    meaning="high load or no cooling air has distressed carbon, adhesive or seals",
    level="supply weak",
    family="pump",
    places=places.pump,
    rate=rate(1, "F13; the base weight of 1 is a judgement of the authors"),
    severity=acts.SLIP,
    effect=acts.slips,
    contexts={"former_pump_short_life": 4.0, "hot_cruise_only": 3.0, "deice_used": 2.0},
    signs={"carbon_in_hose": 0.15, "pump_hot": 0.75, "soot_heavy": 0.30},
    confirms=("pump_teardown", "drain_look"),
    sheds=Shedding(debris="carbon dust", events=("running", "stop")),
)
