"""Failure mode: indicator contaminated."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Severity, rate

MODE = FailureMode(
    id="indicator_contaminated",
    name="indicator contaminated",
    meaning="carbon or dust has reached jets, vanes and bearings of the instrument",
    level="one instrument",
    family="instrument",
    places=places.gyros,
    rate=rate(3, "judgement of the authors: seldom without a source"),
    severity=Severity(kind="uniform", low=0.10, high=0.85, unit="fraction", meaning="drive lost"),
    effect=acts.chokes,
    gyro_drag=True,
    contexts={"second_gyro_within_90_days": 8.0, "smoked_in_cabin": 1.5},
    signs={
        "hi_not_settable": 0.05,
        "crept_over_months": 0.25,
        "comes_and_goes": 0.12,
        "fault_went_with_instrument": 0.6,
        "dust_at_instrument_inlet": 0.60,
        "shop_found_dust_in_indicator": 0.85,
        "ai_noise": 0.25,
        "hi_noise": 0.25,
        "ai_coast_short": 0.40,
        "hi_coast_short": 0.40,
        "ai_jitters": 0.25,
        "ai_late_erect_cold": 0.30,
        # Dust and tar on gimbals and erection ports: they stick with the rotor at full speed.
        "ai_leans": 0.25,
        "ai_pitch_error": 0.20,
        "hi_drifts": 0.25,
    },
    confirms=("instrument_inlet_look", "indicator_bench"),
    refutes=("instrument_inlet_look", "indicator_bench"),
)
