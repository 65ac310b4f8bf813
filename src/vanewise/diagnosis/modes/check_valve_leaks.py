"""Failure mode: check valve does not close."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="check_valve_leaks",
    name="check valve does not close",
    meaning="a flapper that lets air back through a stopped source: the live pump pulls on the dead one",
    level="indication",
    family="check valve",
    places=places.of_kind("check valve"),
    rate=rate(2.0, "F24; the base weight is a judgement of the authors"),
    effect=acts.sticks_open,
    signs={"one_source_alone_does_not_hold": 0.7},
    silent=True,
    confirms=("stop_each_source",),
    refutes=("stop_each_source",),
)
