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
            "a standby source that is named but not described",
            "start from the layout suction-standby-pump or suction-standby-intake, or add it to the record's remarks",
        ),
        "de-ice boots": (
            "de-ice boots that are named but not described",
            "start from the layout pressure-boots or suction-outlet-boots, or say in the notes that the boots are off",
        ),
        "door seal": (
            "a door seal that is named but not described",
            "start from the layout pressure-boots, or say in the notes that the seal is released",
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
        expected="air-driven gyros on one or two engine-driven dry pumps",
        found=f"{what}. This is outside what is modelled here",
        next_step=next_step,
    )
