"""Failure mode: accessory on the gyro air leaks."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="accessory_leak",
    name="accessory on the gyro air leaks",
    meaning=(
        "an autopilot's air servo or valve, a step servo or another user takes more than its share, or its "
        "removed port leaks"
    ),
    level="supply weak",
    family="accessory",
    places=places.accessory,
    rate=rate(1.0, "F28; the base weight is a judgement of the authors"),
    severity=acts.HOLE,
    effect=acts.leaks,
    contexts={"accessory_removed": 3.0, "autopilot_work": 3.0, "panel_work": 2.0},
    signs={"hiss_at_seal": 0.03, "hiss_heard": 0.2, "ap_wanders": 0.3},
    confirms=("accessory_isolate", "section_suction"),
    refutes=("accessory_isolate", "section_suction"),
)
