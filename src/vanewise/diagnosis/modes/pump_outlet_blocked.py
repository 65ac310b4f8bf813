"""Failure mode: pump outlet blocked."""

from __future__ import annotations

from vanewise.diagnosis.modes import acts, places
from vanewise.diagnosis.modes.base import FailureMode, Severity, rate
from vanewise.provenance import COMMON_PRACTICE

MODE = FailureMode(
    id="pump_outlet_blocked",
    name="pump outlet blocked",
    meaning="a nest, a kinked outlet hose or a stuck valve beyond the pump: the gauge hardly moves, the pump runs hot",
    level="supply weak",
    family="outlet",
    places=places.pump,
    rate=rate(2, "F26"),
    severity=Severity(kind="uniform", low=0.70, high=0.98, unit="fraction", meaning="passage blocked"),
    effect=acts.outlet_closes,
    contexts={"former_pump_short_life": 4.0, "long_parking": 6.0},
    signs={"boots_do_not_fill": 0.05, "outlet_hose_kinked": 0.25, "nest_in_outlet": 0.75, "pump_hot": 0.65},
    confirms=("outlet_look",),
    refutes=("outlet_look",),
    duties=("suction",),
    source=COMMON_PRACTICE,
)
