"""Failure mode: drive coupling sheared or rotor jammed."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Shedding, rate

MODE = FailureMode(
    id="coupling_sheared",
    name="drive coupling sheared or rotor jammed",
    meaning="the pump does not turn: its drive coupling has parted, by age or because the rotor locked",
    level="supply dead",
    family="pump",
    places=places.pump,
    rate=rate(4, "F02"),
    effect=acts.stops,
    contexts={"pump_past_its_hours": 2.0, "cold_start": 2.0, "long_parking": 2.0, "propeller_turned_backwards": 1.5},
    signs={
        "one_source_alone_does_not_hold": 0.7,
        "coupling_parted": 0.93,
        "pump_shaft_locked": 0.45,
        "carbon_in_hose": 0.3,
        "comes_and_goes": 0.03,
        "gauge_zero": 0.97,
        "lamp_on": 0.95,
        "stopped_suddenly": 0.95,
        "suddenly_worse": 0.6,
        "pump_noise": 0.10,
    },
    confirms=(
        "coupling_look",
        "coupling_turn",
    ),
    refutes=("engine_off_gauge", "coupling_turn"),
    sheds=Shedding(debris="carbon chips and dust", events=("stop",)),
    stays=True,
)
