"""Modes of the pump, its drive and what is thrown into it."""

from __future__ import annotations

import numpy as np

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis.effects import StateChange, add, scale, switch
from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, Place, Severity, Shedding, rate
from vanewise.network.types import Floats
from vanewise.provenance import COMMON_PRACTICE


def _slips(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    return (scale(place.part, "slip", severity),)


def _stops(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    return (switch(place.part, "stopped", len(severity)),)


def _outlet_closes(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    return (add(place.part, "outlet_blocked", np.minimum(severity, 0.995)),)


_SLIP = Severity(
    kind="log-uniform", low=1.3, high=8.0, unit="times", meaning="internal leakage against this pump when sound"
)

WORN_VANES = FailureMode(
    id="worn_vanes",
    name="vanes worn or scored",
    meaning="vanes have worn short, or debris has scored rotor and vanes: air slips back inside the pump",
    level="supply weak",
    family="pump",
    places=places.pump,
    rate=rate(10, "F01"),
    severity=_SLIP,
    effect=_slips,
    signs={
        "soot_heavy": 0.45,
        "soot_thin": 0.35,
        "grey_dust_on_cowl": 0.20,
        "pump_noise": 0.20,
        "gauge_fluctuates": 0.12,
        "inline_filter_black": 0.60,
    },
    confirms=("wear_port", "outlet_look"),
    refutes=("cover_test", "wear_port"),
    sheds=Shedding(debris="carbon dust", events=("running", "stop")),
)

COUPLING_SHEARED = FailureMode(
    id="coupling_sheared",
    name="drive coupling sheared or rotor jammed",
    meaning="the pump does not turn: its drive coupling has parted, by age or because the rotor locked",
    level="supply dead",
    family="pump",
    places=places.pump,
    rate=rate(4, "F02"),
    effect=_stops,
    contexts={"cold_start": 2.0, "long_parking": 2.0},
    signs={"gauge_zero": 0.97, "lamp_on": 0.95, "stopped_suddenly": 0.95, "pump_noise": 0.10},
    confirms=("coupling_turn",),
    refutes=("engine_off_gauge", "coupling_turn"),
    sheds=Shedding(debris="carbon chips and dust", events=("stop",)),
)

DEBRIS_LEFT_IN_LINES = FailureMode(
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
    contexts={"pump_changed": 6.0, "no_line_cleaning_recorded": 3.0, "lines_cleaned_recorded": 0.15},
    signs={"soot_heavy": 0.35, "grey_dust_on_cowl": 0.10},
    confirms=("borescope_lines", "pump_teardown", "records_look"),
    refutes=("borescope_lines", "records_look"),
    sheds=Shedding(debris="carbon chips of the former pump", events=("running", "stop")),
)

OIL_IN_PUMP = FailureMode(
    id="oil_in_pump",
    name="oil in the pump",
    meaning="oil past the pad seal or from an overfilled coupling space turns carbon to paste: drag, heat, low output",
    level="supply weak",
    family="pump",
    places=places.pump,
    rate=rate(5, "F04"),
    severity=Severity(
        kind="log-uniform", low=1.15, high=4.0, unit="times", meaning="internal leakage against this pump when sound"
    ),
    effect=_slips,
    signs={"oil_at_drain": 0.65, "oil_on_coupling": 0.60, "pump_hot": 0.30, "pump_noise": 0.15},
    confirms=("drain_look", "pump_teardown"),
    refutes=("drain_look",),
    sheds=Shedding(debris="carbon and oil paste", events=("stop",)),
)

WASHED_PUMP = FailureMode(
    id="solvent_or_water_in_pump",
    name="wash fluid or water in the pump",
    meaning="an engine wash without covering outlet and drain, or rain, wets vanes and rotor",
    level="supply weak",
    family="pump",
    places=places.pump,
    rate=rate(1, "F05; the base weight of 1 is a judgement of the authors"),
    severity=Severity(kind="log-uniform", low=1.15, high=4.0, unit="times", meaning="internal leakage"),
    effect=_slips,
    contexts={"washed": 8.0, "rain": 8.0},
    signs={"pump_noise": 0.25, "oil_at_drain": 0.05},
    confirms=("pump_teardown", "records_look"),
    sheds=Shedding(debris="carbon paste", events=("stop",)),
)

OUTLET_BLOCKED = FailureMode(
    id="pump_outlet_blocked",
    name="pump outlet blocked",
    meaning="a nest, a kinked outlet hose or a stuck valve beyond the pump: the gauge hardly moves, the pump runs hot",
    level="supply weak",
    family="outlet",
    places=places.pump,
    rate=rate(2, "F26"),
    severity=Severity(kind="uniform", low=0.70, high=0.98, unit="fraction", meaning="passage blocked"),
    effect=_outlet_closes,
    contexts={"long_parking": 6.0},
    signs={"nest_in_outlet": 0.75, "pump_hot": 0.65},
    confirms=("outlet_look",),
    refutes=("outlet_look",),
    duties=("suction",),
    source=COMMON_PRACTICE,
)

PAD_SEAL_LEAK = FailureMode(
    id="pad_seal_leak",
    name="oil seal of the drive pad leaks",
    meaning="engine oil comes to the drain below the pump; the air system still works",
    level="indication",
    family="pad seal",
    places=places.pump,
    rate=rate(4, "F20"),
    contexts={"pump_changed": 1.5, "wrong_gasket": 4.0},
    signs={"oil_at_drain": 0.90, "oil_on_coupling": 0.35},
    confirms=("drain_look",),
    refutes=("drain_look",),
)

OVERHEATED_PUMP = FailureMode(
    id="pump_overheated",
    name="pump run too hot",
    meaning="high load or no cooling air has distressed carbon, adhesive or seals",
    level="supply weak",
    family="pump",
    places=places.pump,
    rate=rate(1, "F13; the base weight of 1 is a judgement of the authors"),
    severity=_SLIP,
    effect=_slips,
    contexts={"hot_cruise_only": 3.0, "deice_used": 2.0},
    signs={"pump_hot": 0.75, "soot_heavy": 0.30},
    confirms=("pump_teardown", "drain_look"),
    sheds=Shedding(debris="carbon dust", events=("running", "stop")),
)

FITTED_WRONG = FailureMode(
    id="pump_damaged_when_fitted",
    name="pump damaged when fitted",
    meaning="body squeezed in a vise, port cracked by an over-turned fitting, or sealant drawn in",
    level="supply weak",
    family="pump",
    places=places.pump,
    rate=rate(1, "F17 to F19; the base weight of 1 is a judgement of the authors"),
    severity=_SLIP,
    effect=_slips,
    contexts={"pump_changed": 3.0},
    signs={"fitting_cracked": 0.30, "pump_noise": 0.20},
    confirms=("pump_teardown",),
    sheds=Shedding(debris="carbon and sealant", events=("running", "stop")),
)

MODES = (
    WORN_VANES,
    COUPLING_SHEARED,
    DEBRIS_LEFT_IN_LINES,
    OIL_IN_PUMP,
    WASHED_PUMP,
    OUTLET_BLOCKED,
    PAD_SEAL_LEAK,
    OVERHEATED_PUMP,
    FITTED_WRONG,
)
