"""Failure mode: instrument case leaks."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Severity, rate

MODE = FailureMode(
    id="instrument_case_leak",
    name="instrument case leaks",
    meaning="a cracked back plate, cover or glass ring: good alone, bad when the other instrument is connected",
    level="supply weak",
    family="case leak",
    places=places.gyros,
    rate=rate(4, "F23; shared by the instruments fitted"),
    severity=Severity(
        kind="log-uniform", low=0.8, high=15.0, unit="mm2", meaning="effective area of the hole (ideal nozzle)"
    ),
    effect=acts.case_leaks,
    contexts={"gyro_changed": 2.0},
    signs={
        "good_alone_bad_together": 0.6,
        "fault_went_with_instrument": 0.4,
        "dust_track_at_joint": 0.15,
        "hiss_heard": 0.25,
        "dust_at_instrument_inlet": 0.10,
    },
    confirms=("case_suction", "isolate_gyro"),
    refutes=("case_suction",),
)
