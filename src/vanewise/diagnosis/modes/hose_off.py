"""Failure mode: hose off."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="hose_off",
    name="hose off",
    meaning="a hose between pump and gyros has come off its nipple: next to nothing reaches them",
    level="supply dead",
    family="leak",
    places=places.hoses_that_come_off,
    rate=rate(2, "judgement of the authors; shared by its places"),
    effect=acts.comes_off,
    contexts={
        "boots_worked_on": 1.5,
        "engine_work": 2.0,
        "pump_changed": 2.0,
        "gyro_changed": 3.0,
        "panel_work": 3.0,
        "hose_changed": 2.0,
        "annual_done": 1.5,
    },
    signs={
        "one_source_alone_does_not_hold": 0.4,
        "both_sources_lost": 0.05,
        "standby_gives_nothing": 0.5,
        "hose_found_off": 0.9,
        "suddenly_worse": 0.6,
        "gauge_zero": 0.80,
        "clamp_loose": 0.60,
        "hiss_heard": 0.50,
        "stopped_suddenly": 0.80,
    },
    confirms=(
        "open_ports_look",
        "hose_squeeze",
    ),
    refutes=("hose_squeeze",),
    stays=True,
)
