"""Which results belong to a part that was changed, and after which work a check may rightly show something else."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

_PUMP: Final = (
    "wear_port",
    "coupling_look",
    "coupling_turn",
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
    }
)
"""Event -> checks whose result says something of the part that came off, and nothing of the one fitted. Only parts of
which there is one kind of thing to look at: which hose or which instrument was changed, an event does not say."""

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
    }
)
"""Event -> kind of the part, and its words. Where an aircraft has several of a kind, the event does not say which."""
