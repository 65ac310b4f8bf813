"""Failure mode: vanes worn or scored."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Shedding, rate

MODE = FailureMode(
    id="worn_vanes",
    name="vanes worn or scored",
    meaning="vanes have worn short, or debris has scored rotor and vanes: air slips back inside the pump",
    level="supply weak",
    family="pump",
    places=places.pump,
    rate=rate(10, "F01"),
    severity=acts.SLIP,
    effect=acts.slips,
    signs={
        "one_source_alone_does_not_hold": 0.25,
        "gauge_slow_rise": 0.15,
        "crept_over_months": 0.5,
        "carbon_in_hose": 0.1,
        "pump_shaft_locked": 0.05,
        "soot_heavy": 0.45,
        "soot_thin": 0.35,
        "grey_dust_on_cowl": 0.20,
        "pump_noise": 0.20,
        "gauge_fluctuates": 0.12,
        "inline_filter_black": 0.60,
    },
    contexts={"pump_past_its_hours": 2.5},
    # Vanes wear with hours: a pump just fitted has hardly any, but old carbon scores it all the same (judgement).
    source_contexts={"pump_changed": 0.3},
    confirms=("wear_port", "outlet_look"),
    refutes=("cover_test", "wear_port"),
    sheds=Shedding(debris="carbon dust", events=("running", "stop")),
)
