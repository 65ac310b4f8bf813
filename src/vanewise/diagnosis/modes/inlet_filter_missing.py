"""Failure mode: pump inlet filter missing."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="inlet_filter_missing",
    name="pump inlet filter missing",
    meaning="the element was left off after work: the pump draws unfiltered air, and its vanes wear sooner",
    level="indication",
    family="inlet filter",
    places=places.of_kind("inlet filter"),
    rate=rate(0.5, "F16 in pressure duty; the base weight of 0.5 is a judgement of the authors"),
    effect=acts.goes_missing,
    contexts={"pump_changed": 3.0, "annual_done": 2.0, "inlet_filter_changed": 2.0},
    signs={"filter_missing": 0.95, "soot_heavy": 0.1},
    silent=True,
    confirms=("inlet_filter_look",),
    refutes=("inlet_filter_look",),
    duties=("pressure",),
)
