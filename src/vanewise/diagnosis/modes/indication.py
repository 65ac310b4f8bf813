"""Modes in which the air is right and what is read or flown from it is wrong; and 'none of these'."""

from __future__ import annotations

from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, Severity, rate

GAUGE_IN_ERROR = FailureMode(
    id="gauge_in_error",
    name="gauge in error",
    meaning="the panel gauge or its line reads wrong by an offset, a factor, or sticks",
    level="indication",
    family="gauge",
    places=places.panel_gauge,
    rate=rate(8, "F25"),
    signs={"gauge_frozen": 0.40, "gauges_differ": 0.85, "gauge_off_its_stop": 0.35, "gauge_fluctuates": 0.15},
    confirms=("test_gauge", "engine_off_gauge"),
    refutes=("test_gauge",),
)

LAMP_FALSE = FailureMode(
    id="lamp_false",
    name="low-pressure lamp or its switch in error",
    meaning="the lamp shows low with enough air, or does not show it without",
    level="indication",
    family="lamp",
    places=places.lamp,
    rate=rate(2, "F25 annunciator; the base weight of 2 is a judgement of the authors"),
    signs={"lamp_on": 0.60, "lamp_flickers_at_idle": 0.30, "lamp_slow_to_go_out": 0.40},
    confirms=("lamp_test",),
    refutes=("lamp_test",),
)

AUTOPILOT_ITSELF = FailureMode(
    id="autopilot_itself",
    name="autopilot itself",
    meaning="the autopilot wanders although the indicator it follows is sound and fed",
    level="indication",
    family="autopilot",
    places=places.autopilot,
    rate=rate(4, "judgement of the authors: no weight in the seed table"),
    signs={"ap_wanders": 0.60, "ap_rolls_off": 0.35, "ap_disconnects": 0.50, "ap_slow_to_level": 0.45},
    confirms=("autopilot_test",),
    refutes=("autopilot_test",),
)

NONE_OF_THESE = FailureMode(
    id="none_of_these",
    name="none of these",
    meaning="something this tool does not hold among its failure modes",
    level="unknown",
    family="none",
    places=places.nowhere,
    rate=rate(4, "judgement of the authors: about one report in thirty"),
    severity=Severity(),
)

MODES = (GAUGE_IN_ERROR, LAMP_FALSE, AUTOPILOT_ITSELF)
