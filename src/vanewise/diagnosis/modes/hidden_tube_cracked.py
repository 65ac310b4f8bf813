"""Failure mode: hidden tube cracked or thin."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="hidden_tube_cracked",
    name="hidden tube cracked or thin",
    meaning=(
        "an aluminium tube behind the panel has corroded thin or cracked where it was disturbed: suddenly worse, "
        "out of sight"
    ),
    level="supply weak",
    family="leak",
    places=places.hidden_tubes,
    rate=rate(1.5, "F29; the base weight is a judgement of the authors"),
    severity=acts.HOLE,
    effect=acts.leaks,
    contexts={"gyro_changed": 3.0, "panel_work": 3.0},
    signs={"suddenly_worse": 0.5, "dust_track_at_joint": 0.05, "hiss_heard": 0.3},
    confirms=("section_suction", "borescope_lines"),
    refutes=("section_suction",),
)
