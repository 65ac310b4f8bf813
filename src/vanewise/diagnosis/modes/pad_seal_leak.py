"""Failure mode: oil seal of the drive pad leaks."""

from __future__ import annotations

from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="pad_seal_leak",
    name="oil seal of the drive pad leaks",
    meaning="engine oil comes to the drain below the pump; the air system still works",
    level="indication",
    family="pad seal",
    places=places.pump,
    rate=rate(4, "F20"),
    contexts={"engine_work": 1.5, "pump_changed": 3.0, "wrong_gasket": 4.0},
    signs={"oil_on_belly": 0.35, "oil_at_drain": 0.90, "oil_at_pad_joint": 0.4, "oil_on_coupling": 0.35},
    silent=True,
    confirms=("drain_look",),
    refutes=("drain_look",),
)
