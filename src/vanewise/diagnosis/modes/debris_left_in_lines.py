"""Failure mode: debris of the former pump left in the lines."""

from __future__ import annotations

from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, Shedding, rate

MODE = FailureMode(
    id="debris_left_in_lines",
    name="debris of the former pump left in the lines",
    meaning=(
        "carbon the former pump left in hose, regulator or manifold: it beds in the regulator seat, scores the new "
        "pump or kills it"
    ),
    level="supply weak",
    family="pump",
    places=places.pump,
    rate=rate(1, "F03; the base weight of 1 is a judgement of the authors"),
    contexts={
        "former_pump_short_life": 3.0,
        "pump_changed": 6.0,
        "no_line_cleaning_recorded": 3.0,
        "lines_cleaned_recorded": 0.15,
    },
    signs={
        "carbon_in_hose": 0.75,
        "grit_in_regulator": 0.45,
        "pump_shaft_locked": 0.15,
        "soot_heavy": 0.35,
        "grey_dust_on_cowl": 0.10,
    },
    confirms=("borescope_lines", "pump_teardown", "records_look"),
    refutes=("borescope_lines", "records_look"),
    sheds=Shedding(debris="carbon chips of the former pump", events=("running", "stop")),
)
