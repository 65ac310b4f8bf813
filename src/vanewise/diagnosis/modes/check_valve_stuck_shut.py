"""Failure mode: check valve does not open."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="check_valve_stuck_shut",
    name="check valve does not open",
    meaning="the flapper of one pump's check valve sticks: that pump gives nothing to the manifold",
    level="supply weak",
    family="check valve",
    places=places.of_kind("check valve"),
    rate=rate(2, "F24; the base weight of 2 is a judgement of the authors"),
    effect=acts.sticks_shut,
    signs={
        "standby_gives_nothing": 0.25,
        "one_source_alone_does_not_hold": 0.6,
        "comes_and_goes": 0.15,
        "gauge_fluctuates": 0.25,
        "pump_hot": 0.25,
    },
    confirms=("stop_each_source",),
    refutes=("stop_each_source",),
)
