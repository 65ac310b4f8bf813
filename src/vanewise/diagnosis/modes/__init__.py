"""Every failure mode, by id. The order here is the order of every sum: same evidence, same answer."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis.modes import filters, indication, instruments, lines, pump, regulator
from vanewise.diagnosis.modes.base import FailureMode, Place, Severity, Shedding

NONE_OF_THESE: Final = indication.NONE_OF_THESE

MODES: Final[Mapping[str, FailureMode]] = MappingProxyType(
    {
        mode.id: mode
        for mode in (
            *pump.MODES,
            *filters.MODES,
            *lines.MODES,
            *regulator.MODES,
            *instruments.MODES,
            *indication.MODES,
            NONE_OF_THESE,
        )
    }
)


def applicable(description: AircraftDescription) -> tuple[tuple[FailureMode, tuple[Place, ...]], ...]:
    """The modes this aircraft can have, each with the places it can sit in, in the order of :data:`MODES`."""
    found: list[tuple[FailureMode, tuple[Place, ...]]] = []
    for mode in MODES.values():
        places = mode.places(description) if description.duty in mode.duties else ()
        if places:
            found.append((mode, places))
    return tuple(found)


__all__ = ["MODES", "NONE_OF_THESE", "FailureMode", "Place", "Severity", "Shedding", "applicable"]
