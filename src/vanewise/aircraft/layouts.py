"""Ready-made air systems to start from. A person changes what differs; every number is an example with its source."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

import msgspec

from vanewise.aircraft.compose import Choices, compose, default_values, section_defaults
from vanewise.aircraft.description import AircraftDescription, Duty
from vanewise.aircraft.names import nearest
from vanewise.errors import wrong

__all__ = ["LayoutInfo", "default_values", "layouts", "make", "section_defaults"]


class LayoutInfo(msgspec.Struct, frozen=True, kw_only=True):
    """A ready-made layout as offered to a person."""

    name: str
    title: str
    meaning: str
    duty: Duty


_LAYOUTS: Final[Mapping[str, tuple[LayoutInfo, Choices, str]]] = MappingProxyType(
    {
        "suction-one-pump": (
            LayoutInfo(
                name="suction-one-pump",
                title="One pump, suction duty, central filter",
                meaning="cabin air through one filter and the gyros, past the regulator, out through the pump",
                duty="suction",
            ),
            Choices(duty="suction"),
            "Suction, one pump",
        ),
        "pressure-one-pump": (
            LayoutInfo(
                name="pressure-one-pump",
                title="One pump, pressure duty, inlet and inline filters",
                meaning="engine bay air into the pump, past the relief valve, through the inline filter to the gyros",
                duty="pressure",
            ),
            Choices(duty="pressure"),
            "Pressure, one pump",
        ),
        "suction-twin-pumps": (
            LayoutInfo(
                name="suction-twin-pumps",
                title="Twin pumps, suction duty, check valves",
                meaning="as one pump in suction duty, with two pumps behind check valves on one manifold",
                duty="suction",
            ),
            Choices(duty="suction", pumps=2),
            "Suction, twin pumps",
        ),
        "suction-own-filters": (
            LayoutInfo(
                name="suction-own-filters",
                title="One pump, suction duty, a filter at each instrument, turn indicator on air",
                meaning="an older panel: each instrument breathes through its own filter, a restrictor leaves the turn "
                "indicator about 2 inHg",
                duty="suction",
            ),
            Choices(duty="suction", gyros=("attitude", "heading", "turn"), filters="each"),
            "Suction, own filters",
        ),
        "suction-standby-pump": (
            LayoutInfo(
                name="suction-standby-pump",
                title="One pump, suction duty, electric standby pump",
                meaning="as one pump in suction duty, with a dry pump on a motor behind a check valve of its own",
                duty="suction",
            ),
            Choices(duty="suction", standby="standby pump"),
            "Suction, electric standby",
        ),
        "suction-standby-intake": (
            LayoutInfo(
                name="suction-standby-intake",
                title="One pump, suction duty, standby from the engine's intake",
                meaning="as one pump in suction duty; the standby pulls no more than ambient is above the intake",
                duty="suction",
            ),
            Choices(duty="suction", standby="intake source"),
            "Suction, intake standby",
        ),
        "suction-outlet-boots": (
            LayoutInfo(
                name="suction-outlet-boots",
                title="One pump, suction duty, its outlet feeds boots",
                meaning="gyros on the pump's inlet, de-ice boots on its outlet behind a boots valve and a relief valve",
                duty="suction",
            ),
            Choices(duty="suction", boots=True),
            "Suction, boots on the outlet",
        ),
        "pressure-twin-pumps": (
            LayoutInfo(
                name="pressure-twin-pumps",
                title="Twin pumps, pressure duty, a relief valve each",
                meaning="two pumps, each with its own regulator and check valve, on one manifold before the filter",
                duty="pressure",
            ),
            Choices(duty="pressure", pumps=2),
            "Pressure, twin pumps",
        ),
        "pressure-boots": (
            LayoutInfo(
                name="pressure-boots",
                title="One pump, pressure duty, with boots and a door seal",
                meaning="as one pump in pressure duty; de-ice boots and a door seal take their air before the filter",
                duty="pressure",
            ),
            Choices(duty="pressure", boots=True, door_seal=True),
            "Pressure, boots and seal",
        ),
    }
)


def layouts() -> dict[str, LayoutInfo]:
    """The ready-made layouts by name."""
    return {name: info for name, (info, _, _) in _LAYOUTS.items()}


def make(name: str) -> AircraftDescription:
    """The ready-made layout of that name. Raises :class:`InputError` naming the known ones."""
    if name not in _LAYOUTS:
        raise wrong("layout", f"one of {', '.join(_LAYOUTS)}", f'"{name}"', nearest(name, _LAYOUTS))
    _, choices, title = _LAYOUTS[name]
    return compose(choices, title, name)
