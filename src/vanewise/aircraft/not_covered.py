"""What this tool does not model, said politely and by name, so that nobody takes an answer that is not one."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from vanewise.errors import Problem

#: What people may have or call it -> what is missing, and what they can still do.
NOT_COVERED: Final[Mapping[str, tuple[str, str]]] = MappingProxyType(
    {
        "wet pump": (
            "an oil-lubricated (wet) pump: it wears, leaks and sheds in other ways than a dry one",
            "use the aircraft's own manual; come back if a dry pump is fitted",
        ),
        "venturi": (
            "gyros driven by a venturi tube: there is no pump, and suction follows airspeed",
            "use the aircraft's own manual; come back if an engine-driven dry pump is fitted",
        ),
        "all electric": (
            "a panel without air-driven gyros: there is no air system to compute",
            "nothing is needed from this tool unless an air-driven instrument or autopilot stays on board",
        ),
        "pneumatic autopilot": (
            "an autopilot that itself runs on the gyro air: its valves and servos use more air than both gyros",
            "no curve of this system would be right without it; use the aircraft's own manual",
        ),
        "standby source": (
            "a standby source (electric pump, engine intake, second source by hand)",
            "describe the engine-driven system alone; add the standby to the remarks of the record",
        ),
        "de-ice boots": ("de-ice boots on the same air", "describe the system with boots off, and say so in the notes"),
        "door seal": (
            "a door seal on the same air",
            "describe the system with the seal released, and say so in the notes",
        ),
        "twin pumps in pressure duty": (
            "twin pumps in pressure duty",
            "use the aircraft's own manual; one pump in pressure duty can be described",
        ),
    }
)

#: Other words for the same.
_ALSO: Final[Mapping[str, str]] = MappingProxyType(
    {
        "oil pump": "wet pump",
        "wet vacuum pump": "wet pump",
        "venturi tube": "venturi",
        "venturi tubes": "venturi",
        "none": "all electric",
        "electric": "all electric",
        "standby pump": "standby source",
        "electric pump": "standby source",
        "standby": "standby source",
        "boots": "de-ice boots",
        "air-driven autopilot": "pneumatic autopilot",
    }
)


def not_covered(word: str, where: str) -> Problem | None:
    """The polite refusal of something not modelled, or None when ``word`` is not one of these."""
    plain = word.strip().lower().replace("_", " ")
    plain = _ALSO.get(plain, plain)
    if plain not in NOT_COVERED:
        return None
    what, next_step = NOT_COVERED[plain]
    return Problem(
        where=where,
        expected="air-driven gyros on one engine-driven dry pump, or two in suction duty",
        found=f"{what}. This is outside what is modelled here",
        next_step=next_step,
    )
