"""What shares the gyro air besides the gyros: said to be fitted, or drawn as parts. One answer for both."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from vanewise.aircraft.description import AircraftDescription, AlsoFitted

_DRAWN: Final[Mapping[AlsoFitted, tuple[str, ...]]] = MappingProxyType(
    {
        "standby source": ("standby pump", "intake source"),
        "de-ice boots": ("de-ice boots", "boots valve"),
        "door seal": ("door seal",),
    }
)


def fitted_besides(description: AircraftDescription) -> tuple[AlsoFitted, ...]:
    """Standby source, de-ice boots and door seal of this aircraft, whether named only or drawn with their own parts."""
    return tuple(
        what
        for what, kinds in _DRAWN.items()
        if what in description.also_fitted or any(description.parts_of(kind) for kind in kinds)
    )
