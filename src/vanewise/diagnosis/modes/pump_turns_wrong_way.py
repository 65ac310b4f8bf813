"""Failure mode: pump of the wrong hand gives nothing."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Shedding, rate

MODE = FailureMode(
    id="pump_turns_wrong_way",
    name="pump of the wrong hand gives nothing from the first start",
    meaning=(
        "a pump fitted for the other rotation: its vanes do not slide out, or it blows where it should pull; drive and "
        "coupling are whole"
    ),
    level="supply dead",
    family="pump",
    places=places.pump,
    rate=rate(0.2, "judgement of the authors: no weight in the seed table"),
    effect=acts.stops,
    contexts={"pump_changed": 12.0},
    signs={
        "one_source_alone_does_not_hold": 0.7,
        "gauge_below_zero": 0.15,  # where it blows
        "lamp_on": 0.9,
        "pump_noise": 0.20,
    },
    confirms=("pump_marking_look",),
    refutes=("pump_marking_look",),
    sheds=Shedding(debris="its carbon, towards the instruments where it blows", events=("running",)),
    stays=True,
)
