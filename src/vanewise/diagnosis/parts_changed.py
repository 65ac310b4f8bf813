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
        "gyro_changed": (*_INSTRUMENT, "section_suction", "shop_air", "workshop_suction", "open_ports_look"),
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
        "panel_work": ("section_suction", "shop_air", "workshop_suction", "hose_map_trace", "open_ports_look"),
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
