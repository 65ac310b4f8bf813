"""Failure mode: regulator stuck open."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="regulator_stuck_open",
    name="regulator stuck open",
    meaning="it does not shut: its whole passage stays open, and next to nothing is left for the gyros at any speed",
    level="supply dead",
    family="regulator",
    places=places.of_kind("regulator"),
    rate=rate(0.5, "judgement of the authors: as seldom as stuck shut"),
    effect=acts.sticks_open,
    contexts={"long_parking": 2.0, "regulator_changed": 2.0, "regulator_adjusted": 1.5},
    signs={
        "standby_gives_nothing": 0.6,
        "suddenly_worse": 0.5,
        "stopped_suddenly": 0.4,
        "hiss_heard": 0.3,
        "comes_and_goes": 0.15,
    },
    confirms=("regulator_seat_look", "cover_test"),
    refutes=("cover_test", "regulator_seat_look"),
)
