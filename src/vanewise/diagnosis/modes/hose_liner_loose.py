"""Failure mode: hose liner loose."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Shedding, rate

MODE = FailureMode(
    id="hose_liner_loose",
    name="hose liner loose",
    meaning=(
        "the inner wall of the pump-side hose has come away: a flap that opens and shuts by itself, and slivers "
        "that lock the rotor"
    ),
    level="supply weak",
    family="hose",
    places=places.collapsing_hoses,
    rate=rate(1.5, "F07, its pump-side half; the base weight is a judgement of the authors"),
    severity=acts.OPEN,
    effect=acts.closes,
    wander=0.35,
    contexts={"former_pump_short_life": 2.0, "old_hoses": 2.0, "hot_day": 1.5, "hose_changed": 0.3},
    signs={
        "comes_and_goes": 0.35,
        "rubber_slivers": 0.45,
        "worse_when_hot": 0.3,
        "hose_liner_loose": 0.6,
        "gauge_fluctuates": 0.55,
        "readings_differ_up_and_down": 0.4,
        "pump_hot": 0.3,
    },
    confirms=("borescope_lines", "hose_squeeze"),
    refutes=("borescope_lines",),
    sheds=Shedding(debris="hose liner slivers", events=("running",)),
)
