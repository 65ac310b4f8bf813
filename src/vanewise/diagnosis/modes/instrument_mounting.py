"""Failure mode: instrument not level or loose in its panel."""

from __future__ import annotations

from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, rate

MODE = FailureMode(
    id="instrument_mounting",
    name="instrument not level or loose in its panel",
    meaning=(
        "the attitude indicator is fed and turns, but it or its panel stands askew, or its screws are loose: the same "
        "lean or pitch from start to shutdown, or it jitters; its panel's shock mounts may be worn, and it shakes at "
        "some engine speeds"
    ),
    level="one instrument",
    family="mounting",
    places=places.attitude_indicators,
    rate=rate(2, "judgement of the authors: no weight in the seed table"),
    contexts={"gyro_changed": 6.0, "panel_work": 5.0, "hard_landing": 2.0},
    signs={
        "ai_leans": 0.45,
        "ai_pitch_error": 0.35,
        "ai_off_alike": 0.50,
        "ai_jitters": 0.40,
        "comes_and_goes": 0.10,
        "ap_rolls_off": 0.30,
        "ap_wanders": 0.10,
    },
    confirms=("mount_look",),
    refutes=("mount_look",),
)
