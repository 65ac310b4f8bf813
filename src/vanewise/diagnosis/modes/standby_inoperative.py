"""Failure mode: standby source seized or inoperative."""

from __future__ import annotations

from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="standby_inoperative",
    name="standby source seized or inoperative",
    meaning=(
        "the standby's pump does not turn, or its valve or cable does not bring it in: nothing is lost until it "
        "is needed"
    ),
    level="indication",
    family="standby",
    places=places.standby,
    rate=rate(1.0, "F30; the base weight is a judgement of the authors"),
    contexts={"standby_never_tested": 3.0, "long_parking": 1.5},
    signs={"standby_gives_nothing": 0.9},
    silent=True,
    confirms=("standby_test",),
    refutes=("standby_test",),
)
