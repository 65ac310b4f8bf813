"""Failure mode: pump of the wrong hand, or turned backwards."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Shedding, rate

MODE = FailureMode(
    id="pump_rotation_wrong",
    name="pump of the wrong hand, or turned backwards",
    meaning=(
        "a pump whose marking does not match the pad, or worn vanes chipped by a propeller pulled backwards; "
        "designs differ, so the pump's own manual says what turning back does"
    ),
    level="supply weak",
    family="pump",
    places=places.pump,
    rate=rate(0.3, "F14; the base weight is a judgement of the authors"),
    severity=acts.SLIP,
    effect=acts.slips,
    contexts={"former_pump_short_life": 3.0, "pump_changed": 5.0, "propeller_turned_backwards": 4.0},
    signs={"pump_noise": 0.35, "soot_heavy": 0.3, "gauge_fluctuates": 0.1},
    confirms=("pump_marking_look", "pump_teardown"),
    refutes=("pump_marking_look",),
    sheds=Shedding(debris="vane chips", events=("running", "stop")),
)
