"""Failure mode: inlet and outlet hose of one instrument exchanged."""

from __future__ import annotations

from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, Severity, rate

MODE = FailureMode(
    id="instrument_lines_exchanged",
    name="inlet and outlet hose of one instrument exchanged",
    meaning="after work the air goes through it backwards: about as much as ever, but past the rotor",
    level="one instrument",
    family="misrouting",
    places=places.gyros,
    rate=rate(0.3, "judgement of the authors: no weight in the seed table"),
    severity=Severity(
        kind="uniform",
        low=0.60,
        high=0.98,
        unit="fraction",
        meaning="drive lost because the jets blow the wrong way",
    ),
    gyro_drag=True,
    contexts={"gyro_changed": 8.0, "panel_work": 4.0},
    signs={"suddenly_worse": 0.20, "ai_coast_short": 0.40, "hi_coast_short": 0.40},
    confirms=("ports_look", "hose_map_trace"),
    refutes=("ports_look", "hose_map_trace"),
)
