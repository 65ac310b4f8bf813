"""Failure mode: port or fitting at the pump cracked."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="pump_port_cracked",
    name="port or fitting at the pump cracked",
    meaning=("a fitting turned too far in chase of its angle has cracked the port: a leak at the pump, loose later"),
    level="supply weak",
    family="leak",
    places=places.hoses_at_pumps,
    rate=rate(0.7, "F19; the base weight is a judgement of the authors"),
    severity=acts.HOLE,
    effect=acts.leaks,
    contexts={"engine_work": 2.0, "pump_changed": 4.0},
    signs={"fitting_overturned": 0.55, "fitting_cracked": 0.5, "hiss_heard": 0.1},
    confirms=("pump_port_look", "shop_air"),
    refutes=("pump_port_look", "section_suction"),
)
