"""Failure mode: intake filter wet or tarred."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Severity, Shedding, rate

MODE = FailureMode(
    id="intake_filter_wet_or_tarred",
    name="intake filter wet or tarred",
    meaning=(
        "water from a leaking windscreen or smoke tar in the element, which lets far less air through than dust alone"
    ),
    level="supply weak",
    family="intake filter",
    places=places.of_kind("intake filter"),
    rate=rate(1.0, "F08, water or smoke; the base weight is a judgement of the authors"),
    # Water can shut an element: a report of rain tells of no air at all. Dust and tar leave more open.
    severity=Severity(
        kind="log-uniform", low=2.0, high=1000.0, unit="times", meaning="flow resistance against a new element"
    ),
    effect=acts.loads,
    contexts={"rain": 6.0, "smoked_in_cabin": 6.0, "intake_filter_changed": 0.3},
    signs={
        # Tar comes over months; water from one flight to the next, and it dries again.
        "crept_over_months": 0.4,
        "suddenly_worse": 0.3,
        "comes_and_goes": 0.3,
        "water_in_line": 0.1,
        "filter_wet": 0.6,
        "filter_grey": 0.45,
        "filter_tarred": 0.5,
    },
    confirms=("intake_filter_look", "filter_drop"),
    refutes=("intake_filter_look",),
    sheds=Shedding(debris="water or tar", events=("running",)),
    duties=("suction",),
)
