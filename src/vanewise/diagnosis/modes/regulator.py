"""Modes of the regulator (suction relief valve or pressure relief)."""

from __future__ import annotations

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis.effects import StateChange, add, scale, switch
from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, Place, Severity, Shedding, rate
from vanewise.network.types import Floats


def _set_low(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    return (add(place.part, "set_shift_inhg", -severity),)


def _set_high(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    return (add(place.part, "set_shift_inhg", severity),)


def _filter_clogs(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    return (scale(place.part, "filter_loading", severity),)


def _held_open(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    return (add(place.part, "held_open", severity),)


def _stuck_shut(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    return (switch(place.part, "stuck_shut", len(severity)),)


_regulator = places.of_kind("regulator")

REGULATOR_LOW = FailureMode(
    id="regulator_low",
    name="regulator set low or its spring tired",
    meaning="the plateau is low and flat; low engine speeds read as ever",
    level="supply weak",
    family="regulator setting",
    places=_regulator,
    rate=rate(3, "F12"),
    severity=Severity(kind="uniform", low=0.3, high=2.0, unit="inHg", meaning="setting below what it was"),
    effect=_set_low,
    contexts={"regulator_adjusted": 2.0},
    confirms=("regulator_adjustment_check",),
    refutes=("sweep",),
)

REGULATOR_HIGH = FailureMode(
    id="regulator_high",
    name="regulator set too high",
    meaning="somebody turned it up to cure a low reading, or set it by a gauge that reads low",
    level="supply high",
    family="regulator setting",
    places=_regulator,
    rate=rate(1, "F11; the base weight of 1 is a judgement of the authors"),
    severity=Severity(kind="uniform", low=0.2, high=2.0, unit="inHg", meaning="setting above what it was"),
    effect=_set_high,
    contexts={"gyro_changed": 4.0, "regulator_adjusted": 4.0},
    confirms=("regulator_adjustment_check", "test_gauge"),
    refutes=("sweep",),
)

REGULATOR_FILTER_CLOGGED = FailureMode(
    id="regulator_filter_clogged",
    name="regulator filter clogged",
    meaning="its foam is clogged: the reading climbs with engine speed and falls when the foam is slid off",
    level="supply high",
    family="regulator filter",
    places=_regulator,
    rate=rate(5, "F09"),
    severity=Severity(kind="log-uniform", low=3.0, high=300.0, unit="times", meaning="flow resistance against new"),
    effect=_filter_clogs,
    contexts={"smoked_in_cabin": 1.5, "regulator_filter_changed": 0.1},
    signs={"foam_crumbs": 0.50},
    confirms=("regulator_filter_off",),
    refutes=("regulator_filter_off",),
    sheds=Shedding(debris="foam crumbs", events=("running",)),
)

REGULATOR_SEAT_DIRTY = FailureMode(
    id="regulator_seat_dirty",
    name="dirt on the regulator seat",
    meaning="grit or carbon holds it open: a leak that wanders, worst below the knee, and shuts when covered",
    level="supply weak",
    family="regulator seat",
    places=_regulator,
    rate=rate(8, "F10"),
    severity=Severity(
        kind="log-uniform", low=0.8, high=12.0, unit="mm2", meaning="effective area held open (ideal nozzle)"
    ),
    effect=_held_open,
    wander=0.20,
    contexts={"foam_crumbled": 2.0},
    signs={"gauge_fluctuates": 0.55, "foam_crumbs": 0.30, "readings_differ_up_and_down": 0.50},
    confirms=("regulator_seat_look", "cover_test"),
    refutes=("cover_test", "regulator_seat_look"),
)

REGULATOR_STUCK_SHUT = FailureMode(
    id="regulator_stuck_shut",
    name="regulator stuck shut",
    meaning="it does not open: the reading climbs with engine speed far above the band",
    level="supply high",
    family="regulator",
    places=_regulator,
    rate=rate(0.5, "judgement of the authors"),
    effect=_stuck_shut,
    contexts={"long_parking": 2.0},
    signs={"pump_hot": 0.30},
    confirms=("regulator_seat_look", "sweep"),
    refutes=("sweep",),
)

MODES = (REGULATOR_LOW, REGULATOR_HIGH, REGULATOR_FILTER_CLOGGED, REGULATOR_SEAT_DIRTY, REGULATOR_STUCK_SHUT)
