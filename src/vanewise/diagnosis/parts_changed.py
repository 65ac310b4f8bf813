"""Which results belong to a part that was changed, and after which work a check may rightly show something else."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from vanewise.diagnosis.parts_named import OF_EVENT
from vanewise.diagnosis.symptoms import SYMPTOMS
from vanewise.diagnosis.types import Event

_PUMP: Final = (
    "wear_port",
    "coupling_look",
    "coupling_turn",
    "pump_off_look",
    "pump_teardown",
    "pump_marking_look",
    "pump_port_look",
    "outlet_look",
)
_INSTRUMENT: Final = (
    "coast_down_listening",
    "indicator_bench",
    "case_suction",
    "instrument_inlet_look",
    "swap_indicator",
)

CHECKS_OF: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "pump_changed": _PUMP,
        "regulator_changed": ("regulator_seat_look", "regulator_filter_off", "regulator_foam_look", "cover_test"),
        "regulator_filter_changed": ("regulator_filter_off", "regulator_foam_look"),
        "gauge_changed": ("test_gauge", "engine_off_gauge"),
        "intake_filter_changed": ("intake_filter_look",),
        "inline_filter_changed": ("inline_filter_look",),
        "inlet_filter_changed": ("inlet_filter_look",),
        "gyro_changed": ("coast_down_listening", "indicator_bench", "case_suction", "swap_indicator"),
        "hose_changed": ("hose_squeeze",),
    }
)
"""Event -> checks whose result says something of the part that came off, and nothing of the one fitted. Not looks for
dirt in a line or at an instrument's inlet: it came through what is still there."""

ONLY_NAMED: Final = frozenset({"gyro_changed", "hose_changed"})
"""Events after which nothing is set aside unless they say which part it was: which hose or which instrument was
changed, the word does not say."""

_ALSO: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "pump_changed": ("drain_look", "pad_joint_look", "section_suction", "shop_air", "stop_each_source"),
        "regulator_changed": ("regulator_adjustment_check", "section_suction", "shop_air", "workshop_suction"),
        "regulator_adjusted": ("regulator_adjustment_check", "regulator_seat_look"),
        "gyro_changed": (
            *_INSTRUMENT,
            "section_suction",
            "shop_air",
            "workshop_suction",
            "open_ports_look",
            "ports_look",
            "mount_look",
            "hose_map_trace",
        ),
        "hose_changed": (
            "hose_squeeze",
            "borescope_lines",
            "section_suction",
            "shop_air",
            "workshop_suction",
            "hose_map_trace",
            "open_ports_look",
        ),
        "lines_cleaned_recorded": ("borescope_lines", "instrument_inlet_look"),
        "panel_work": (
            "section_suction",
            "shop_air",
            "workshop_suction",
            "hose_map_trace",
            "open_ports_look",
            "ports_look",
            "mount_look",
        ),
        "intake_filter_changed": ("workshop_suction",),
        "inline_filter_changed": ("workshop_suction",),
        "inlet_filter_changed": ("workshop_suction",),
    }
)

MAY_DIFFER_AFTER: Final[Mapping[str, frozenset[str]]] = MappingProxyType(
    {
        event: frozenset((*CHECKS_OF.get(event, ()), *_ALSO.get(event, ())))
        for event in dict.fromkeys((*CHECKS_OF, *_ALSO))
    }
)
"""Event -> checks that may show another thing after it, so that a repeat contradicts nothing."""

_OF_MORE: Final = frozenset({"section_suction", "shop_air", "workshop_suction", "hose_map_trace", "open_ports_look"})
"""Checks of more than the part they are done at."""


def may_differ_after(event: Event, check: str, place: str) -> bool:
    """Whether a check at a place may show another thing after an event. What was done to one part changes nothing at
    another of its kind; where either does not say which part, it may."""
    if check not in MAY_DIFFER_AFTER.get(event.kind, frozenset()):
        return False
    named = event.about and place and event.kind in OF_EVENT and check not in _OF_MORE
    return not named or event.about == place.partition(".")[0]


SYMPTOMS_OF: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "pump_changed": (
            "gauge_low_idle",
            "gauge_low_run_up",
            "gauge_low_cruise",
            "gauge_low_at_altitude",
            "gauge_zero",
            "lamp_on",
            "lamp_slow_to_go_out",
            "lamp_flickers_at_idle",
            "stopped_suddenly",
            "suddenly_worse",
            "oil_on_coupling",
            "soot_thin",
            "soot_heavy",
            "pump_hot",
            "pump_noise",
            "vise_marks_on_pump",
            "coupling_parted",
            "pump_shaft_locked",
            "oily_paste_in_pump",
        ),
        "regulator_changed": (
            "grit_in_regulator",
            "foam_crumbs",
            "regulator_foam_missing",
            "gauge_high",
            "gauge_high_run_up",
            "gauge_high_at_altitude",
        ),
        "regulator_filter_changed": ("foam_crumbs", "regulator_foam_missing"),
        "gauge_changed": (
            "gauge_frozen",
            "gauge_off_its_stop",
            "gauge_below_zero",
            "gauge_stays_up_at_shutdown",
            "gauges_differ",
        ),
        "intake_filter_changed": (
            "filter_grey",
            "filter_black",
            "filter_wet",
            "filter_tarred",
            "filter_missing",
            "dust_at_filter_face",
        ),
        "inline_filter_changed": ("inline_filter_black", "filter_missing"),
        "inlet_filter_changed": ("inlet_filter_dirty",),
        "gyro_changed": tuple(
            symptom.id for symptom in SYMPTOMS.values() if symptom.instrument and symptom.group != "autopilot"
        ),
        "hose_changed": (
            "hose_soft",
            "hose_cracked",
            "hose_kinked",
            "hose_liner_loose",
            "hose_found_off",
            "outlet_hose_kinked",
        ),
    }
)
"""Event -> what was noticed of the part that came off, or of the air it gave."""

PART_OF: Final[Mapping[str, tuple[str, str]]] = MappingProxyType(
    {
        "pump_changed": ("pump", "the pump"),
        "regulator_changed": ("regulator", "the regulator"),
        "regulator_filter_changed": ("regulator", "the regulator's foam"),
        "gauge_changed": ("", "the gauge"),
        "intake_filter_changed": ("intake filter", "the intake filter"),
        "inline_filter_changed": ("inline filter", "the inline filter"),
        "inlet_filter_changed": ("inlet filter", "the pump's inlet filter"),
        "gyro_changed": ("", "the instrument"),
        "hose_changed": ("", "the hose"),
    }
)
"""Event -> kind of the part, and its words. Where an aircraft has several of a kind, only an event that names its part
says which."""
