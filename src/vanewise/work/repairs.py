"""What each failure mode calls for: the blocks of tasks its plan is made of, as one table."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from vanewise.work import air_tasks as air
from vanewise.work import closing, opening
from vanewise.work import instrument_tasks as instruments
from vanewise.work import pump_tasks as pump
from vanewise.work.job import Block

_PROVE: Final[tuple[Block, ...]] = (
    closing.reconnect,
    air.filters_before_setting,
    air.leak_proof,
    air.gauge_compare,
    closing.ground_run,
    closing.set_regulator,
    closing.close_up,
    closing.paperwork,
)
"""Everything put together and proved; the screw stays locked behind filter, leaks and gauge."""

_TIGHT_AGAIN: Final[tuple[Block, ...]] = (
    closing.reconnect,
    air.leak_proof,
    closing.ground_run,
    closing.close_up,
    closing.paperwork,
)

_RUN_ONLY: Final[tuple[Block, ...]] = (closing.reconnect, closing.ground_run, closing.close_up, closing.paperwork)

_LIST: Final[tuple[Block, ...]] = (
    air.trace_look,
    air.hoses,
    air.hoses_looked_through,
    air.tubes,
    air.manifolds,
    air.regulator_on_list,
    air.filters,
    pump.inlet_look,
    instruments.gyros_to_shop,
)
"""What closes a list of suspects, kind by kind; each block is empty when nothing of its kind is on it."""

_PUMP: Final[tuple[Block, ...]] = (opening.opening, pump.replace_pump, *_LIST, air.regulator_clean, *_PROVE)
_LINE: Final[tuple[Block, ...]] = (opening.opening, *_LIST, *_PROVE, closing.hot_repeat)
_REGULATOR: Final[tuple[Block, ...]] = (opening.opening, *_LIST, air.regulator_clean, *_PROVE)
_NO_LINES: Final[tuple[Block, ...]] = (
    opening.as_needed,
    *_LIST,
    closing.reconnect_as_needed,
    closing.ground_run,
    closing.close_up,
    closing.paperwork,
)

REPAIRS: Final[Mapping[str, tuple[Block, ...]]] = MappingProxyType(
    {
        "worn_vanes": _PUMP,
        "coupling_sheared": _PUMP,
        "debris_left_in_lines": _PUMP,
        "oil_in_pump": (*_PUMP, pump.find_oil_source),
        "solvent_or_water_in_pump": _PUMP,
        "pump_overheated": (*_PUMP, pump.clear_outlet),
        "pump_damaged_when_fitted": _PUMP,
        "pump_rotation_wrong": _PUMP,
        "pump_turns_wrong_way": _PUMP,
        "sealant_drawn_in": _PUMP,
        "pump_port_cracked": (opening.opening, pump.replace_pump, *_LIST, *_PROVE),
        "pad_gasket_wrong": (opening.opening, pump.pad_seal, *_RUN_ONLY),
        "pad_seal_leak": (opening.opening, pump.pad_seal, *_RUN_ONLY),
        "pump_outlet_blocked": (*_NO_LINES, pump.clear_outlet),
        "intake_filter_loaded": _NO_LINES,
        "intake_filter_wet_or_tarred": _NO_LINES,
        "intake_filter_missing": (*_NO_LINES, instruments.refit_filter_and_look),
        "inlet_filter_loaded": _NO_LINES,
        "inlet_filter_missing": _NO_LINES,
        "inline_filter_missing": (
            opening.opening,
            *_LIST,
            air.regulator_clean,
            instruments.refit_filter_and_look,
            *_PROVE,
        ),
        "inline_filter_loaded": (opening.opening, *_LIST, air.regulator_clean, *_PROVE),
        "leak": (opening.opening, air.find_leak, *_LIST, *_PROVE),
        "cap_left_off": (opening.opening, air.find_leak, *_LIST, *_PROVE),
        "hidden_tube_cracked": (opening.opening, air.find_leak, *_LIST, *_PROVE),
        "shared_line_lost": (opening.opening, air.find_leak, *_LIST, *_PROVE),
        "boots_or_seal_fault": (opening.opening, air.find_leak, *_LIST, *_PROVE),
        "accessory_leak": (opening.opening, air.find_leak, *_LIST, *_PROVE),
        "lines_misrouted": _PUMP,
        "moisture_or_ice": _LINE,
        "hose_liner_loose": _LINE,
        "check_valve_leaks": _LINE,
        "standby_inoperative": (opening.light_opening, instruments.further_checks, closing.close_up),
        "hose_off": (opening.opening, air.find_leak, *_LIST, *_PROVE),
        "hose_collapsed": _LINE,
        "line_restricted": _LINE,
        "check_valve_stuck_shut": _LINE,
        "regulator_low": (opening.opening, air.filters_all, *_PROVE),
        "regulator_high": (opening.opening, air.filters_all, *_PROVE),
        "regulator_filter_missing": (*_NO_LINES, air.regulator_filter),
        "regulator_filter_clogged": (*_NO_LINES, air.regulator_filter),
        "regulator_seat_dirty": _REGULATOR,
        "regulator_stuck_shut": (opening.opening, air.regulator_exchange, air.filters_all, *_PROVE),
        "regulator_stuck_open": (opening.opening, air.regulator_exchange, air.filters_all, *_PROVE),
        "indicator_bearing": (
            opening.opening,
            instruments.prove_air_first,
            instruments.gyros_to_shop,
            *_RUN_ONLY,
        ),
        "indicator_contaminated": (
            opening.opening,
            instruments.prove_air_first,
            instruments.look_for_dirt_source,
            *_LIST,
            *_RUN_ONLY,
        ),
        "instrument_case_leak": (
            opening.opening,
            instruments.prove_air_first,
            instruments.gyros_to_shop,
            *_TIGHT_AGAIN,
        ),
        "instrument_mounting": (*_NO_LINES, instruments.mount),
        "port_plugged": (opening.opening, instruments.ports, *_TIGHT_AGAIN),
        "instrument_lines_exchanged": (opening.opening, instruments.ports, *_TIGHT_AGAIN),
        "gauge_in_error": (*_NO_LINES, instruments.gauge),
        "lamp_false": (*_NO_LINES, instruments.lamp),
        "autopilot_itself": (opening.light_opening, instruments.autopilot, closing.close_up, closing.paperwork),
        "nothing_wrong": (
            opening.light_opening,
            instruments.further_checks,
            closing.close_up,
            closing.paperwork,
        ),
        "none_of_these": (opening.light_opening, instruments.further_checks, closing.close_up),
    }
)
"""Failure mode -> blocks. A contract test holds it against the list of modes."""

ORDER: Final = (
    "safe",
    "open-up",
    "photographs",
    "tags",
    "fitting-angles",
    "regulator-mark",
    "widen",
    "air-first",
    "outlet",
    "pump-off",
    "pump-look",
    "oil-source",
    "dirt-source",
    "inlet-look",
    "trace-look",
    "leak",
    "hoses",
    "hose-look",
    "tubes",
    "tap-lines",
    "manifolds",
    "check-valves",
    "regulator-clean",
    "regulator-exchange",
    "regulator-filter",
    "filters",
    "pump-inlet-look",
    "ports",
    "mount",
    "gauge",
    "lamp",
    "autopilot-shop",
    "*-out",
    "pump-documents",
    "*-documents",
    "pad",
    "elbows",
    "pump-on",
    "*-on",
    "reconnect",
    "count-in",
    "leak-proof",
    "gauge-compare",
    "ground-run",
    "regulator-set",
    "oil-look",
    "after-run",
    "hot-repeat",
    "standby-test",
    "cycle-test",
    "autopilot-test",
    "close-up",
    "record",
)
"""The order on paper. Precedence between tasks is their ``after``; this only settles what is free."""


def rank(task_id: str) -> tuple[int, str]:
    """Where a task stands on paper."""
    if task_id in ORDER:
        return ORDER.index(task_id), task_id
    for index, pattern in enumerate(ORDER):
        if pattern.startswith("*") and task_id.endswith(pattern[1:]):
            return index, task_id
    raise KeyError(task_id)
