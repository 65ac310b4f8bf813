"""Failure mode: leak in a line or joint."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="leak",
    name="leak in a line or joint",
    meaning="air enters (suction) or leaves (pressure) between pump and gyros: hose, joint, tube or fitting",
    level="supply weak",
    family="leak",
    places=places.leak_places,
    rate=rate(12, "leak; shared by its places"),
    severity=acts.HOLE,
    effect=acts.leaks,
    contexts={
        "boots_worked_on": 1.5,
        "old_hoses": 1.5,
        "engine_work": 2.0,
        "autopilot_work": 1.5,
        "accessory_removed": 4.0,
        "gyro_changed": 5.0,
        "hose_changed": 1.5,
        "panel_work": 3.0,
    },
    signs={
        "fitting_overturned": 0.06,
        "comes_and_goes": 0.05,
        "dust_track_at_joint": 0.3,
        "hose_cracked": 0.35,
        "clamp_loose": 0.25,
        "fitting_cracked": 0.15,
        "hiss_heard": 0.30,
        "gauge_fluctuates": 0.12,
    },
    confirms=("section_suction", "shop_air"),
    refutes=("section_suction", "workshop_suction", "cover_test"),
)
