"""Failure mode: intake filter loaded."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="intake_filter_loaded",
    name="intake filter loaded",
    meaning="dust, smoke tar or wet in the filter that cleans cabin air for the gyros",
    level="supply weak",
    family="intake filter",
    places=places.of_kind("intake filter"),
    rate=rate(10, "F08"),
    severity=acts.LOADING,
    effect=acts.loads,
    contexts={
        "filter_overdue": 2.0,
        "dusty_fields": 1.3,
        "smoked_in_cabin": 2.0,
        "intake_filter_changed": 0.1,
        "rain": 1.5,
    },
    signs={"crept_over_months": 0.6, "dust_at_filter_face": 0.5, "filter_grey": 0.60, "filter_wet": 0.15},
    confirms=("intake_filter_look", "filter_drop"),
    refutes=("intake_filter_look",),
    duties=("suction",),
)
