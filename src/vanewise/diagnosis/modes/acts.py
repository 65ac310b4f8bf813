"""What modes do to the network and how bad they get, shared between them.

Modes that act alike share their solves in the bank, so a severity is written once here.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis.effects import StateChange, add, scale, switch
from vanewise.diagnosis.modes.base import Place, Severity
from vanewise.network.types import Floats

Changes = tuple[StateChange, ...]

SLIP: Final = Severity(
    kind="log-uniform", low=1.3, high=16.0, unit="times", meaning="internal leakage against this pump when sound"
)
LOADING: Final = Severity(
    kind="log-uniform", low=2.0, high=60.0, unit="times", meaning="flow resistance against a new element"
)
HOLE: Final = Severity(
    kind="log-uniform", low=0.8, high=12.0, unit="mm2", meaning="effective area of the hole (ideal nozzle)"
)
OPEN_PORT: Final = Severity(
    kind="log-uniform", low=6.0, high=90.0, unit="mm2", meaning="effective area of the open port (ideal nozzle)"
)
"""From a gauge's port half covered to an open half-inch port: 127 mm2, of which some seven tenths count (judgement)."""
OPEN: Final = Severity(kind="log-uniform", low=0.04, high=0.5, unit="fraction", meaning="bore area left open")


def _kind(description: AircraftDescription, place: Place) -> str:
    """Kind of the part at a place; nothing for a line."""
    return next((part.kind for part in description.parts if part.id == place.part), "")


def slips(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    return (scale(place.part, "slip", severity),)


def stops(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    return (switch(place.part, "stopped", len(severity)),)


def outlet_closes(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    return (add(place.part, "outlet_blocked", np.minimum(severity, 0.995)),)


def loads(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    return (scale(place.part, "loading", severity),)


def goes_missing(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    return (switch(place.part, "missing", len(severity)),)


def leaks(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    return (add(place.part, "leak", severity),)


def closes(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    return (scale(place.part, "open_fraction", severity),)


def freezes(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    """Water or ice closes a line. A pump whose vanes it holds slips, and a regulator under whose seat it lies stays
    open, the more the worse (judgement: up to a pump of which no vane slides, and the largest hole of a leak)."""
    kind = _kind(description, place)
    if kind == "pump":
        return slips(description, place, SLIP.high * OPEN.low / severity)
    if kind == "regulator":
        return held_open(description, place, HOLE.high * OPEN.low / severity)
    return closes(description, place, severity)


def comes_off(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    return (switch(place.part, "off", len(severity)),)


def sticks_shut(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    return (switch(place.part, "stuck_shut", len(severity)),)


def sticks_open(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    return (switch(place.part, "stuck_open", len(severity)),)


def set_low(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    return (add(place.part, "set_shift_inhg", -severity),)


def set_high(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    return (add(place.part, "set_shift_inhg", severity),)


def filter_clogs(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    return (scale(place.part, "filter_loading", severity),)


def held_open(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    return (add(place.part, "held_open", severity),)


def chokes(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    """Half of the lost drive is jet area closed by dirt, which the network feels; the rest is friction."""
    return (scale(place.part, "jet_fraction", 1.0 - 0.5 * severity),)


def plugs(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    """A port of an instrument closed by what was left in it: what goes through is what the jets lack."""
    return (scale(place.part, "jet_fraction", 1.0 - severity),)


def case_leaks(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    return (add(place.part, "case_leak", severity),)


def user_takes_air(description: AircraftDescription, place: Place, severity: Floats) -> Changes:
    """Boots or a seal leak; a boots valve that stays shut overboard holds the pump's outlet at the boots."""
    if _kind(description, place) == "boots valve":
        return (switch(place.part, "shut", len(severity)),)
    return leaks(description, place, severity)
