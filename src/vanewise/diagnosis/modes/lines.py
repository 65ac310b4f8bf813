"""Modes of hoses, tubes, joints and valves between them."""

from __future__ import annotations

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis.effects import StateChange, add, scale, switch
from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, Place, Severity, Shedding, rate
from vanewise.network.types import Floats


def _leaks(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    return (add(place.part, "leak", severity),)


def _closes(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    return (scale(place.part, "open_fraction", severity),)


def _comes_off(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    return (switch(place.part, "off", len(severity)),)


def _sticks_shut(description: AircraftDescription, place: Place, severity: Floats) -> tuple[StateChange, ...]:
    return (switch(place.part, "stuck_shut", len(severity)),)


_OPEN = Severity(kind="log-uniform", low=0.04, high=0.5, unit="fraction", meaning="bore area left open")

LEAK = FailureMode(
    id="leak",
    name="leak in a line or joint",
    meaning="air enters (suction) or leaves (pressure) between pump and gyros: hose, joint, tube or fitting",
    level="supply weak",
    family="leak",
    places=places.leak_places,
    rate=rate(12, "leak; shared by its three places"),
    severity=Severity(
        kind="log-uniform", low=0.8, high=12.0, unit="mm2", meaning="effective area of the hole (ideal nozzle)"
    ),
    effect=_leaks,
    contexts={"gyro_changed": 5.0, "hose_changed": 1.5, "panel_work": 3.0},
    signs={
        "hose_cracked": 0.35,
        "clamp_loose": 0.25,
        "fitting_cracked": 0.15,
        "hiss_heard": 0.30,
        "gauge_fluctuates": 0.12,
    },
    confirms=("section_suction", "shop_air"),
    refutes=("section_suction", "workshop_suction", "cover_test"),
)

HOSE_OFF = FailureMode(
    id="hose_off",
    name="hose off",
    meaning="a pump-side hose has come off its nipple: next to nothing reaches the gyros",
    level="supply dead",
    family="leak",
    places=places.collapsing_hose,
    rate=rate(1, "judgement of the authors"),
    effect=_comes_off,
    contexts={"pump_changed": 2.0, "hose_changed": 2.0, "annual_done": 1.5},
    signs={"gauge_zero": 0.80, "clamp_loose": 0.60, "hiss_heard": 0.50, "stopped_suddenly": 0.80},
    confirms=("hose_squeeze",),
    refutes=("hose_squeeze",),
)

HOSE_COLLAPSED = FailureMode(
    id="hose_collapsed",
    name="pump-side hose collapsed",
    meaning="the hose at the pump is sucked flat, kinked or closed by its own liner: the pump is loaded, not the gauge",
    level="supply weak",
    family="hose",
    places=places.collapsing_hose,
    rate=rate(6, "F06"),
    severity=_OPEN,
    effect=_closes,
    contexts={"hot_cruise_only": 6.0, "hot_day": 1.5, "hose_changed": 0.3},
    signs={"hose_soft": 0.65, "hose_kinked": 0.40, "pump_hot": 0.50, "gauge_fluctuates": 0.20},
    confirms=("hose_squeeze", "borescope_lines"),
    refutes=("hose_squeeze",),
)

LINE_RESTRICTED = FailureMode(
    id="line_restricted",
    name="instrument-side line restricted",
    meaning="a line between regulator and gyros is squeezed, kinked or closed by a liner flap or debris",
    level="supply weak",
    family="line",
    places=places.restricting_lines,
    rate=rate(3, "F07"),
    severity=_OPEN,
    effect=_closes,
    wander=0.15,
    contexts={"gyro_changed": 1.5, "panel_work": 2.0},
    signs={"hose_liner_loose": 0.45, "hose_kinked": 0.35, "gauge_fluctuates": 0.35},
    confirms=("borescope_lines", "test_gauge_across_instrument"),
    refutes=("borescope_lines",),
    sheds=Shedding(debris="hose liner slivers", events=("running",)),
)

CHECK_VALVE_STUCK_SHUT = FailureMode(
    id="check_valve_stuck_shut",
    name="check valve does not open",
    meaning="the flapper of one pump's check valve sticks: that pump gives nothing to the manifold",
    level="supply weak",
    family="check valve",
    places=places.of_kind("check valve"),
    rate=rate(2, "F24; the base weight of 2 is a judgement of the authors"),
    effect=_sticks_shut,
    signs={"gauge_fluctuates": 0.25, "pump_hot": 0.25},
    confirms=("stop_each_source",),
    refutes=("stop_each_source",),
)

MODES = (LEAK, HOSE_OFF, HOSE_COLLAPSED, LINE_RESTRICTED, CHECK_VALVE_STUCK_SHUT)
