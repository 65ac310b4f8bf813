"""Failure mode: intake filter missing."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Shedding, rate

MODE = FailureMode(
    id="intake_filter_missing",
    name="intake filter missing",
    meaning="the element was left off after work: the gyros breathe unfiltered cabin air",
    level="indication",
    family="intake filter",
    places=places.of_kind("intake filter"),
    rate=rate(0.5, "F16; the base weight of 0.5 is a judgement of the authors"),
    effect=acts.goes_missing,
    contexts={"gyro_changed": 2.0, "pump_changed": 3.0, "annual_done": 2.0},
    signs={"filter_missing": 0.95, "dust_at_instrument_inlet": 0.50},
    silent=True,
    confirms=("intake_filter_look",),
    refutes=("intake_filter_look",),
    sheds=Shedding(debris="cabin dust", events=("running",)),
    duties=("suction",),
)
