"""Failure mode that is none: no fault by what was told, which is what sound systems do."""

from __future__ import annotations

from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="nothing_wrong",
    name="no fault by what was told",
    meaning="what was told is what a sound system does now and then, or an impression that does not come back",
    level="no fault told of",
    family="nothing",
    places=places.nowhere,
    rate=rate(8, "judgement of the authors: about one report in fifteen"),
    # How often each is what such a report is about. The rest comes as often as anybody says it of a sound aircraft.
    signs={
        "lamp_flickers_at_idle": 0.40,
        "gauge_low_idle": 0.06,  # "lower than it used to be"
        "gauge_low_at_altitude": 0.06,
        "gauge_fluctuates": 0.08,
        "gauge_slow_rise": 0.06,
        "lamp_slow_to_go_out": 0.06,
        "ai_late_erect_cold": 0.15,
        "ai_slow_erect": 0.06,
        "ai_precesses_after_turn": 0.25,
        "ai_noise": 0.05,
        "hi_drifts": 0.15,
        "hi_error_after_turns": 0.20,
        "hi_noise": 0.05,
        "soot_thin": 0.30,
        "filter_grey": 0.30,
        "oil_on_belly": 0.15,
        "comes_and_goes": 0.08,
        "right_again_once_warm": 0.05,
    },
)
