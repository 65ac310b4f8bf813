"""Failure mode: cap or plug left off."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="cap_left_off",
    name="cap or plug left off",
    meaning=(
        "an open port after work: a spare tee, a wear-port plug, an instrument's capped port. Air enters or "
        "leaves there, unfiltered"
    ),
    level="supply weak",
    family="leak",
    places=places.open_port,
    rate=rate(0.8, "F28; the base weight is a judgement of the authors"),
    severity=acts.OPEN_PORT,
    effect=acts.leaks,
    contexts={
        "boots_worked_on": 2.0,
        "accessory_removed": 8.0,
        "engine_work": 1.5,
        "autopilot_work": 2.0,
        "gyro_changed": 4.0,
        "panel_work": 4.0,
        "pump_changed": 1.5,
        "annual_done": 3.0,
    },
    signs={"hiss_heard": 0.5, "cap_missing": 0.6},
    confirms=("open_ports_look", "section_suction"),
    refutes=("open_ports_look", "section_suction"),
)
