"""Failure mode: water or ice in a line."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="moisture_or_ice",
    name="water or ice in the system",
    meaning=(
        "condensate in a low loop, or ice in a line, between the vanes and their slots or under the regulator's seat: "
        "little or nothing on a cold start, right again once warm"
    ),
    level="supply weak",
    family="moisture",
    places=places.where_water_stands,
    rate=rate(0.8, "F21; the base weight is a judgement of the authors"),
    severity=acts.OPEN,
    effect=acts.freezes,
    wander=0.3,
    goes=0.7,
    contexts={"rain": 4.0, "washed": 2.0, "cold_start": 5.0, "long_parking": 2.0},
    signs={
        "gauge_slow_rise": 0.3,
        "comes_and_goes": 0.35,
        "suddenly_worse": 0.35,
        "water_in_line": 0.5,
        "filter_wet": 0.3,
        "right_again_once_warm": 0.7,
        "gauge_fluctuates": 0.15,
    },
    confirms=("warm_hangar_repeat", "borescope_lines"),
    refutes=("warm_hangar_repeat",),
)
