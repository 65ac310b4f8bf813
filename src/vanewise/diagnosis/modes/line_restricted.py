"""Failure mode: instrument-side line restricted."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Shedding, rate

MODE = FailureMode(
    id="line_restricted",
    name="instrument-side line restricted",
    meaning="a line between regulator and gyros is squeezed, kinked or closed by debris or a liner that has collapsed",
    level="supply weak",
    family="line",
    places=places.restricting_lines,
    rate=rate(3, "F07"),
    severity=acts.OPEN,
    effect=acts.closes,  # It stays as it is: a flap that opens and shuts by itself is a loose liner.
    contexts={"autopilot_work": 1.5, "gyro_changed": 1.5, "panel_work": 2.0},
    signs={
        "gauge_slow_rise": 0.1,
        "rubber_slivers": 0.15,
        "comes_and_goes": 0.2,
        "crept_over_months": 0.15,
        "good_alone_bad_together": 0.15,
        "worse_when_hot": 0.15,
        "hose_liner_loose": 0.45,
        "hose_kinked": 0.35,
        "gauge_fluctuates": 0.35,
    },
    confirms=("borescope_lines", "test_gauge_across_instrument"),
    refutes=("borescope_lines",),
    sheds=Shedding(debris="hose liner slivers", events=("running",)),
)
