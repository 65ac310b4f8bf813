"""Failure mode: regulator filter clogged."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Severity, Shedding, rate

MODE = FailureMode(
    id="regulator_filter_clogged",
    name="regulator filter clogged",
    meaning="its foam is clogged: the reading climbs with engine speed and falls when the foam is slid off",
    level="supply high",
    family="regulator filter",
    places=places.of_kind("regulator"),
    rate=rate(5, "F09"),
    severity=Severity(kind="log-uniform", low=3.0, high=300.0, unit="times", meaning="flow resistance against new"),
    effect=acts.filter_clogs,
    contexts={"filter_overdue": 1.5, "smoked_in_cabin": 1.5, "regulator_filter_changed": 0.1},
    signs={
        "crept_over_months": 0.45,
        "gauge_climbs_with_rpm": 0.6,
        "foam_crumbs": 0.50,
    },
    confirms=("regulator_filter_off",),
    refutes=("regulator_filter_off",),
    sheds=Shedding(debris="foam crumbs", events=("running",)),
)
