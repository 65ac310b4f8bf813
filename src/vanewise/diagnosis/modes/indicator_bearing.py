"""Failure mode: indicator bearing worn."""

from __future__ import annotations

from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, Severity, rate

MODE = FailureMode(
    id="indicator_bearing",
    name="indicator bearing worn",
    meaning="rotor or gimbal bearings are worn: the instrument is fed but does not hold",
    level="one instrument",
    family="instrument",
    places=places.gyros,
    rate=rate(15, "F22; shared by the instruments fitted"),
    severity=Severity(kind="uniform", low=0.10, high=0.90, unit="fraction", meaning="drive lost to friction"),
    gyro_drag=True,
    contexts={
        "cold_start": 2.0,
        "hard_landing": 2.0,
        "gyro_changed": 0.7,
        "long_parking": 1.5,
        "gyro_past_its_hours": 2.0,
    },
    signs={
        "hi_not_settable": 0.1,
        "crept_over_months": 0.35,
        "suddenly_worse": 0.15,
        "comes_and_goes": 0.20,
        "fault_went_with_instrument": 0.6,
        "ai_noise": 0.45,
        "hi_noise": 0.45,
        "ai_coast_short": 0.60,
        "hi_coast_short": 0.60,
        "ai_jitters": 0.25,
        "ai_off_alike": 0.03,
        "ai_late_erect_cold": 0.45,
        "hi_spins": 0.15,
        "ai_tumbles": 0.15,
        # Gimbal bearings and erection: they bind and let go with the rotor at full speed, so no drive is lost for it.
        "ai_leans": 0.30,
        "ai_pitch_error": 0.25,
        "ai_precesses_after_turn": 0.25,
        "hi_drifts": 0.40,
        "hi_error_after_turns": 0.30,
        "hi_sudden_jump": 0.15,
        "ap_wanders": 0.15,
        "ap_rolls_off": 0.15,
        "ap_heading_wanders": 0.25,
    },
    confirms=("coast_down_listening", "indicator_bench", "swap_indicator"),
    refutes=("indicator_bench", "swap_indicator"),
)
