"""Failure mode: gauge in error."""

from __future__ import annotations

from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="gauge_in_error",
    name="gauge in error",
    meaning="the panel gauge or its line reads wrong by an offset, a factor, or sticks",
    level="indication",
    family="gauge",
    places=places.panel_gauge,
    rate=rate(8, "F25"),
    signs={
        "gauge_slow_rise": 0.2,
        "gauge_line_kinked": 0.2,
        "comes_and_goes": 0.15,
        "gauge_stays_up_at_shutdown": 0.2,
        "gyros_strong_with_gauge_low": 0.35,
        "gauge_frozen": 0.40,
        "gauges_differ": 0.85,
        "gauge_off_its_stop": 0.35,
        "gauge_fluctuates": 0.15,
    },
    contexts={"panel_work": 2.0, "gauge_changed": 1.5, "gyro_changed": 1.3},
    confirms=("test_gauge", "engine_off_gauge"),
    refutes=("test_gauge",),
)
