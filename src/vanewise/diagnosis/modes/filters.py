"""Modes of the filters: loaded, or not there."""

from __future__ import annotations

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis.effects import StateChange, scale, switch
from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, Place, Severity, Shedding, rate
from vanewise.network.types import Floats


def _loads(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    return (scale(place.part, "loading", severity),)


def _goes_missing(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    return (switch(place.part, "missing", len(severity)),)


_LOADING = Severity(
    kind="log-uniform", low=2.0, high=60.0, unit="times", meaning="flow resistance against a new element"
)

INTAKE_FILTER_LOADED = FailureMode(
    id="intake_filter_loaded",
    name="intake filter loaded",
    meaning="dust, smoke tar or wet in the filter that cleans cabin air for the gyros",
    level="supply weak",
    family="intake filter",
    places=places.each_of_kind("intake filter"),
    rate=rate(10, "F08"),
    severity=_LOADING,
    effect=_loads,
    contexts={"smoked_in_cabin": 2.0, "intake_filter_changed": 0.1, "rain": 1.5},
    signs={"filter_grey": 0.60, "filter_wet": 0.15},
    confirms=("intake_filter_look", "filter_drop"),
    refutes=("intake_filter_look",),
    duties=("suction",),
)

INLINE_FILTER_LOADED = FailureMode(
    id="inline_filter_loaded",
    name="inline filter loaded",
    meaning="carbon has filled the filter between pump and gyros",
    level="supply weak",
    family="inline filter",
    places=places.of_kind("inline filter"),
    rate=rate(10, "F08 in pressure duty"),
    severity=_LOADING,
    effect=_loads,
    contexts={"inline_filter_changed": 0.1},
    signs={"inline_filter_black": 0.85},
    confirms=("inline_filter_look", "filter_drop"),
    refutes=("inline_filter_look", "filter_drop"),
    sheds=Shedding(debris="carbon past a pinched or burst element", events=("running",)),
    duties=("pressure",),
)

INLET_FILTER_LOADED = FailureMode(
    id="inlet_filter_loaded",
    name="pump inlet filter loaded",
    meaning="the filter on the pump's inlet is full: the pump works against it and gives less air",
    level="supply weak",
    family="inlet filter",
    places=places.of_kind("inlet filter"),
    rate=rate(4, "judgement of the authors: no weight in the seed table"),
    severity=_LOADING,
    effect=_loads,
    contexts={"inlet_filter_changed": 0.1},
    signs={"pump_hot": 0.30},
    confirms=("inlet_filter_look",),
    refutes=("inlet_filter_look",),
    duties=("pressure",),
)

INTAKE_FILTER_MISSING = FailureMode(
    id="intake_filter_missing",
    name="intake filter missing",
    meaning="the element was left off after work: the gyros breathe unfiltered cabin air",
    level="indication",
    family="intake filter",
    places=places.each_of_kind("intake filter"),
    rate=rate(0.5, "F16; the base weight of 0.5 is a judgement of the authors"),
    effect=_goes_missing,
    contexts={"gyro_changed": 2.0, "pump_changed": 3.0, "annual_done": 2.0},
    signs={"filter_missing": 0.95, "dust_at_instrument_inlet": 0.50},
    confirms=("intake_filter_look",),
    refutes=("intake_filter_look",),
    sheds=Shedding(debris="cabin dust", events=("running",)),
    duties=("suction",),
)

MODES = (INTAKE_FILTER_LOADED, INLINE_FILTER_LOADED, INLET_FILTER_LOADED, INTAKE_FILTER_MISSING)
