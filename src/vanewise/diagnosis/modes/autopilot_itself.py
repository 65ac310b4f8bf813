"""Failure mode: autopilot itself."""

from __future__ import annotations

from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="autopilot_itself",
    name="autopilot itself",
    meaning="the autopilot wanders although the indicator it follows is sound and fed",
    level="indication",
    family="autopilot",
    places=places.autopilot,
    rate=rate(4, "judgement of the authors: no weight in the seed table"),
    signs={
        "comes_and_goes": 0.2,
        "ap_wanders": 0.60,
        "ap_rolls_off": 0.35,
        "ap_disconnects": 0.50,
        "ap_slow_to_level": 0.45,
    },
    contexts={"autopilot_work": 3.0},
    silent=True,
    confirms=("autopilot_test",),
    refutes=("autopilot_test",),
)
