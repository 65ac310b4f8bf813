"""Failure mode: pad gasket wrong, torn or missing."""

from __future__ import annotations

from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="pad_gasket_wrong",
    name="pad gasket wrong, torn or missing",
    meaning="the joint between pump and engine pad loses oil below the pump: the air system still works",
    level="indication",
    family="pad seal",
    places=places.pump,
    rate=rate(0.6, "the base weight is a judgement of the authors"),
    contexts={"engine_work": 3.0, "pump_changed": 4.0, "wrong_gasket": 8.0},
    signs={"oil_at_drain": 0.55, "oil_on_belly": 0.6, "oil_at_pad_joint": 0.8},
    silent=True,
    confirms=("pad_joint_look",),
    refutes=("pad_joint_look",),
)
