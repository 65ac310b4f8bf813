"""Failure mode: pump inlet filter loaded."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="inlet_filter_loaded",
    name="pump inlet filter loaded",
    meaning="the filter on the pump's inlet is full: the pump works against it and gives less air",
    level="supply weak",
    family="inlet filter",
    places=places.of_kind("inlet filter"),
    rate=rate(4, "judgement of the authors: no weight in the seed table"),
    severity=acts.LOADING,
    effect=acts.loads,
    contexts={"filter_overdue": 2.0, "dusty_fields": 2.0, "inlet_filter_changed": 0.1},
    signs={"crept_over_months": 0.5, "inlet_filter_dirty": 0.85, "pump_hot": 0.30},
    confirms=("inlet_filter_look",),
    refutes=("inlet_filter_look",),
    duties=("pressure",),
)
