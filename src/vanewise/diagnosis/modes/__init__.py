"""Every failure mode, by id, one file each. The order here is the order of every sum: same evidence, same answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

import msgspec

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis.modes import (
    accessory_leak,
    autopilot_itself,
    boots_or_seal_fault,
    cap_left_off,
    check_valve_leaks,
    check_valve_stuck_shut,
    coupling_sheared,
    debris_left_in_lines,
    gauge_in_error,
    hidden_tube_cracked,
    hose_collapsed,
    hose_liner_loose,
    hose_off,
    indicator_bearing,
    indicator_contaminated,
    inlet_filter_loaded,
    inlet_filter_missing,
    inline_filter_loaded,
    inline_filter_missing,
    instrument_case_leak,
    instrument_lines_exchanged,
    instrument_mounting,
    intake_filter_loaded,
    intake_filter_missing,
    intake_filter_wet_or_tarred,
    lamp_false,
    leak,
    line_restricted,
    lines_misrouted,
    moisture_or_ice,
    none_of_these,
    nothing_wrong,
    oil_in_pump,
    pad_gasket_wrong,
    pad_seal_leak,
    port_plugged,
    pump_damaged_when_fitted,
    pump_outlet_blocked,
    pump_overheated,
    pump_port_cracked,
    pump_rotation_wrong,
    pump_turns_wrong_way,
    regulator_filter_clogged,
    regulator_filter_missing,
    regulator_high,
    regulator_low,
    regulator_seat_dirty,
    regulator_stuck_open,
    regulator_stuck_shut,
    sealant_drawn_in,
    shared_line_lost,
    solvent_or_water_in_pump,
    standby_inoperative,
    worn_vanes,
)
from vanewise.diagnosis.modes.base import FailureMode, Place, Severity, Shedding
from vanewise.diagnosis.modes.places import gyros, line_sides, pump

NONE_OF_THESE: Final = none_of_these.MODE
NOTHING_WRONG: Final = nothing_wrong.MODE
INDICATOR_WORN: Final = indicator_bearing.MODE.id
NO_THING: Final = frozenset({NONE_OF_THESE.id, NOTHING_WRONG.id})
"""Modes that are no thing in the aircraft: of them it is not said how likely they are there at all."""

MODES: Final[Mapping[str, FailureMode]] = MappingProxyType(
    {
        module.MODE.id: module.MODE
        for module in (
            # The pump, its drive and what is thrown into it.
            worn_vanes,
            coupling_sheared,
            debris_left_in_lines,
            oil_in_pump,
            solvent_or_water_in_pump,
            pump_outlet_blocked,
            pad_seal_leak,
            pad_gasket_wrong,
            pump_overheated,
            pump_damaged_when_fitted,
            pump_rotation_wrong,
            pump_turns_wrong_way,
            sealant_drawn_in,
            # Filters.
            intake_filter_loaded,
            intake_filter_wet_or_tarred,
            inline_filter_loaded,
            inline_filter_missing,
            inlet_filter_loaded,
            inlet_filter_missing,
            intake_filter_missing,
            # Lines, joints and valves.
            leak,
            pump_port_cracked,
            cap_left_off,
            hidden_tube_cracked,
            hose_off,
            shared_line_lost,
            hose_collapsed,
            hose_liner_loose,
            line_restricted,
            moisture_or_ice,
            lines_misrouted,
            check_valve_stuck_shut,
            check_valve_leaks,
            boots_or_seal_fault,
            accessory_leak,
            standby_inoperative,
            # The regulator.
            regulator_low,
            regulator_high,
            regulator_filter_clogged,
            regulator_filter_missing,
            regulator_seat_dirty,
            regulator_stuck_shut,
            regulator_stuck_open,
            # Instruments and indication.
            indicator_bearing,
            indicator_contaminated,
            instrument_case_leak,
            instrument_mounting,
            port_plugged,
            instrument_lines_exchanged,
            gauge_in_error,
            lamp_false,
            autopilot_itself,
            nothing_wrong,
            none_of_these,
        )
    }
)


def applicable(description: AircraftDescription) -> tuple[tuple[FailureMode, tuple[Place, ...]], ...]:
    """The modes this aircraft can have, each with the places it can sit in, in the order of :data:`MODES`."""
    alike = [tuple(place.part for place in own(description)) for own in (gyros, pump)]
    sides = line_sides(description)
    found: list[tuple[FailureMode, tuple[Place, ...]]] = []
    for mode in MODES.values():
        places = mode.places(description) if description.duty in mode.duties else ()
        if places:
            at = tuple(place.part for place in places)
            found.append((mode, tuple(_apart(_among(place, alike), at, sides) for place in places)))
    return tuple(found)


def _among(place: Place, alike: Sequence[tuple[str, ...]]) -> Place:
    group = next((parts for parts in alike if place.part in parts), ())
    return msgspec.structs.replace(place, among=group) if group else place


def _apart(place: Place, at: Sequence[str], sides: Mapping[str, int]) -> Place:
    if place.part not in sides:
        return place
    own = sides[place.part]
    others = (line for line, side in sides.items() if line != place.part and (side != own or line in at))
    return msgspec.structs.replace(place, other_lines=tuple(others))


__all__ = [
    "INDICATOR_WORN",
    "MODES",
    "NONE_OF_THESE",
    "NOTHING_WRONG",
    "NO_THING",
    "FailureMode",
    "Place",
    "Severity",
    "Shedding",
    "applicable",
]
