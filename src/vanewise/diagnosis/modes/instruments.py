"""Modes of the air-driven instruments themselves."""

from __future__ import annotations

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis.effects import StateChange, add, scale
from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, Place, Severity, rate
from vanewise.network.types import Floats


def _choked(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    """Half of the lost drive is jet area closed by dirt, which the network feels; the rest is friction."""
    return (scale(place.part, "jet_fraction", 1.0 - 0.5 * severity),)


def _case_leaks(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    return (add(place.part, "case_leak", severity),)


INDICATOR_BEARING = FailureMode(
    id="indicator_bearing",
    name="indicator bearing worn",
    meaning="rotor or gimbal bearings are worn: the instrument is fed but does not hold",
    level="one instrument",
    family="instrument",
    places=places.gyros,
    rate=rate(15, "F22; shared by the instruments fitted"),
    severity=Severity(kind="uniform", low=0.10, high=0.90, unit="fraction", meaning="drive lost to friction"),
    gyro_drag=True,
    contexts={"cold_start": 2.0, "hard_landing": 2.0, "gyro_changed": 0.7},
    signs={
        "ai_noise": 0.45,
        "hi_noise": 0.45,
        "ai_coast_short": 0.60,
        "hi_coast_short": 0.60,
        "ai_jitters": 0.25,
        "ai_late_erect_cold": 0.45,
        "hi_spins": 0.15,
        "ai_tumbles": 0.15,
    },
    confirms=("coast_down_listening", "indicator_bench", "swap_indicator"),
    refutes=("indicator_bench", "swap_indicator"),
)

INDICATOR_CONTAMINATED = FailureMode(
    id="indicator_contaminated",
    name="indicator contaminated",
    meaning="carbon or dust has reached jets, vanes and bearings of the instrument",
    level="one instrument",
    family="instrument",
    places=places.gyros,
    rate=rate(3, "judgement of the authors: seldom without a source"),
    severity=Severity(kind="uniform", low=0.10, high=0.85, unit="fraction", meaning="drive lost"),
    effect=_choked,
    gyro_drag=True,
    contexts={"second_gyro_within_90_days": 8.0, "smoked_in_cabin": 1.5},
    signs={
        "dust_at_instrument_inlet": 0.60,
        "shop_found_dust_in_indicator": 0.85,
        "ai_noise": 0.25,
        "hi_noise": 0.25,
        "ai_coast_short": 0.40,
        "hi_coast_short": 0.40,
        "ai_jitters": 0.25,
        "ai_late_erect_cold": 0.30,
    },
    confirms=("instrument_inlet_look", "indicator_bench"),
    refutes=("instrument_inlet_look", "indicator_bench"),
)

INSTRUMENT_CASE_LEAK = FailureMode(
    id="instrument_case_leak",
    name="instrument case leaks",
    meaning="a cracked back plate, cover or glass ring: good alone, bad when the other instrument is connected",
    level="supply weak",
    family="case leak",
    places=places.gyros,
    rate=rate(4, "F23; shared by the instruments fitted"),
    severity=Severity(
        kind="log-uniform", low=0.8, high=15.0, unit="mm2", meaning="effective area of the hole (ideal nozzle)"
    ),
    effect=_case_leaks,
    contexts={"gyro_changed": 2.0},
    signs={"hiss_heard": 0.15, "dust_at_instrument_inlet": 0.10},
    confirms=("case_suction", "isolate_gyro"),
    refutes=("case_suction",),
)

MODES = (INDICATOR_BEARING, INDICATOR_CONTAMINATED, INSTRUMENT_CASE_LEAK)
