"""Failure mode: hose off."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="hose_off",
    name="hose off",
    meaning="a pump-side hose has come off its nipple: next to nothing reaches the gyros",
    level="supply dead",
    family="leak",
    places=places.collapsing_hose,
    rate=rate(1, "judgement of the authors"),
    effect=acts.comes_off,
    contexts={"pump_changed": 2.0, "hose_changed": 2.0, "annual_done": 1.5},
    signs={
        "hose_found_off": 0.9,
        "suddenly_worse": 0.6,
        "gauge_zero": 0.80,
        "clamp_loose": 0.60,
        "hiss_heard": 0.50,
        "stopped_suddenly": 0.80,
    },
    confirms=("hose_squeeze",),
    refutes=("hose_squeeze",),
)
