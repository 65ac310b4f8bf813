"""Failure mode: inline filter loaded."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Shedding, rate

MODE = FailureMode(
    id="inline_filter_loaded",
    name="inline filter loaded",
    meaning="carbon has filled the filter between pump and gyros",
    level="supply weak",
    family="inline filter",
    places=places.of_kind("inline filter"),
    rate=rate(10, "F08 in pressure duty"),
    severity=acts.LOADING,
    effect=acts.loads,
    contexts={"filter_overdue": 2.0, "inline_filter_changed": 0.1},
    signs={"crept_over_months": 0.55, "inline_filter_black": 0.85},
    confirms=("inline_filter_look", "filter_drop"),
    refutes=("inline_filter_look", "filter_drop"),
    sheds=Shedding(debris="carbon past a pinched or burst element", events=("running",)),
    duties=("pressure",),
)
