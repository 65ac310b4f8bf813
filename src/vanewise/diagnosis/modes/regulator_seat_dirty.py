"""Failure mode: dirt on the regulator seat."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Severity, rate

MODE = FailureMode(
    id="regulator_seat_dirty",
    name="dirt on the regulator seat",
    meaning="grit or carbon holds it open: a leak that wanders, worst below the knee, and shuts when covered",
    level="supply weak",
    family="regulator seat",
    places=places.of_kind("regulator"),
    rate=rate(8, "F10"),
    severity=Severity(
        kind="log-uniform", low=0.8, high=12.0, unit="mm2", meaning="effective area held open (ideal nozzle)"
    ),
    effect=acts.held_open,
    wander=0.20,
    shut_at_times=0.10,  # grit moves: a day without a rise does not clear the seat for good (judgement)
    contexts={"foam_crumbled": 2.0},
    signs={
        "grit_in_regulator": 0.6,
        "comes_and_goes": 0.15,
        "crept_over_months": 0.15,
        "gauge_climbs_with_rpm": 0.1,
        "gauge_fluctuates": 0.55,
        "foam_crumbs": 0.30,
        "readings_differ_up_and_down": 0.50,
    },
    confirms=("regulator_seat_look", "cover_test"),
    refutes=("cover_test", "regulator_seat_look"),
)
