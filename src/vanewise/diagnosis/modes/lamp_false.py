"""Failure mode: low-pressure lamp or its switch in error."""

from __future__ import annotations

from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="lamp_false",
    name="low-pressure lamp or its switch in error",
    meaning="the lamp shows low with enough air, or does not show it without",
    level="indication",
    family="lamp",
    places=places.lamp,
    rate=rate(2, "F25 annunciator; the base weight of 2 is a judgement of the authors"),
    signs={
        "comes_and_goes": 0.3,
        "lamp_dark_on_test": 0.45,
        "lamp_on": 0.60,
        "lamp_flickers_at_idle": 0.30,
        "lamp_slow_to_go_out": 0.40,
    },
    silent=True,
    confirms=("lamp_test",),
    refutes=("lamp_test",),
)
