"""Failure mode: regulator foam missing."""

from __future__ import annotations

from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, Shedding, rate

MODE = FailureMode(
    id="regulator_filter_missing",
    name="regulator foam missing",
    meaning="the foam was left off after work: the pump and the seat get unfiltered air",
    level="indication",
    family="regulator filter",
    places=places.of_kind("regulator"),
    rate=rate(0.3, "F16; the base weight is a judgement of the authors"),
    contexts={"regulator_changed": 3.0, "annual_done": 2.0, "panel_work": 1.5},
    signs={"regulator_foam_missing": 0.9},
    silent=True,
    confirms=("regulator_foam_look",),
    refutes=("regulator_foam_look",),
    sheds=Shedding(debris="cabin or engine bay dust", events=("running",)),
)
