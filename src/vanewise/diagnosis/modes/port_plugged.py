"""Failure mode: plug or cap left in a port in use."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Severity, rate

MODE = FailureMode(
    id="port_plugged",
    name="plug or cap left in a port in use",
    meaning=(
        "a shipping plug or cap was left in as an instrument was fitted, in a port that its hose belongs on: next to "
        "no air goes through it from the first start; a spare port is rightly plugged"
    ),
    level="one instrument",
    family="line",
    places=places.gyros,
    rate=rate(0.5, "judgement of the authors: no weight in the seed table"),
    # The drop at its hoses is whole, so what the rotor lacks is not seen there: lost as the air is.
    severity=Severity(kind="uniform", low=0.85, high=0.98, unit="fraction", meaning="jet area, and drive, lost"),
    effect=acts.plugs,
    gyro_drag=True,
    contexts={"gyro_changed": 8.0, "panel_work": 4.0},
    signs={"suddenly_worse": 0.20, "ai_coast_short": 0.50, "hi_coast_short": 0.50},
    confirms=("ports_look", "isolate_gyro"),
    refutes=("ports_look",),
)
