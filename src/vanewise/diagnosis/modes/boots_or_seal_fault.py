"""Failure mode: boots or door seal fault."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="boots_or_seal_fault",
    name="boots or door seal fault",
    meaning=("a valve that stays open or a leak in boots or seal takes the gyros' air: a dip that stays after a cycle"),
    level="supply weak",
    family="boots or seal",
    places=places.boots_or_seal,
    rate=rate(1.5, "F27; the base weight is a judgement of the authors"),
    severity=acts.OPEN_PORT,
    effect=acts.user_takes_air,
    contexts={"boots_worked_on": 4.0, "deice_used": 8.0},
    signs={
        "boots_do_not_fill": 0.4,
        "hiss_at_seal": 0.4,
        "dip_after_boots_stays": 0.7,
        "pump_hot": 0.25,
        "hiss_heard": 0.15,
    },
    confirms=("boots_isolate",),
    refutes=("boots_isolate",),
)
