"""Failure mode: shared line off or open: every source lost."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="shared_line_lost",
    name="shared line off or open: every source lost",
    meaning=("the line that all sources and instruments share is off or open; both pumps turn and no gyro gets air"),
    level="supply dead",
    family="leak",
    places=places.shared_line,
    rate=rate(0.3, "the base weight is a judgement of the authors"),
    effect=acts.comes_off,
    contexts={"panel_work": 3.0, "gyro_changed": 2.0, "hose_changed": 2.0},
    signs={
        "both_sources_lost": 0.85,
        "standby_gives_nothing": 0.85,
        "hose_found_off": 0.7,
        "gauge_zero": 0.8,
        "hiss_heard": 0.6,
        "stopped_suddenly": 0.7,
        "clamp_loose": 0.5,
    },
    confirms=("hose_squeeze", "section_suction"),
    refutes=("section_suction",),
)
