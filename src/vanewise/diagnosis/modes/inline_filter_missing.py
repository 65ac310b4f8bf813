"""Failure mode: inline filter missing or burst."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Shedding, rate

MODE = FailureMode(
    id="inline_filter_missing",
    name="inline filter missing or burst",
    meaning="no whole element between pump and gyros: all the carbon the pump sheds goes into the instruments",
    level="indication",
    family="inline filter",
    places=places.of_kind("inline filter"),
    rate=rate(0.5, "F16 in pressure duty; the base weight of 0.5 is a judgement of the authors"),
    effect=acts.goes_missing,
    contexts={"gyro_changed": 2.0, "pump_changed": 3.0, "annual_done": 2.0, "inline_filter_changed": 2.0},
    signs={"filter_missing": 0.6, "dust_at_instrument_inlet": 0.60},
    silent=True,
    confirms=("inline_filter_look", "instrument_inlet_look"),
    refutes=("inline_filter_look",),
    sheds=Shedding(debris="the pump's carbon", events=("running",)),
    duties=("pressure",),
)
