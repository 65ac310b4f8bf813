"""Which looks and remarks say that dirt was seen, and of what: said once, for causes, cautions and the trace."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

import msgspec


class Sight(msgspec.Struct, frozen=True, kw_only=True):
    """What one outcome or symptom says was seen."""

    what: str
    kinds: tuple[str, ...] = ()
    """Kinds of part it is about, where no place is named; empty where the place has to be asked for."""
    about_gyro: bool = False
    sheds_on: bool = True
    """False for a filter that was black on its dirty side: it has caught it, and nothing says that it lets it go."""
    pieces: bool = False
    """True for chips, which a pump lets go when it breaks; dust it sheds all the time."""
    from_pump: bool = True
    """False for what a hose or somebody's work left: it did not come out of a pump."""


_GYRO: Final = Sight(what="dust", about_gyro=True)
_SEAT: Final = Sight(what="grit", kinds=("regulator",))
PUMP: Final = ("pump",)
DIRTY_OUTCOMES: Final[Mapping[tuple[str, str], Sight]] = MappingProxyType(
    {
        ("indicator_bench", "dirty"): _GYRO,
        ("instrument_inlet_look", "black"): _GYRO,
        ("borescope_lines", "grey_film"): Sight(what="carbon"),
        ("borescope_lines", "chips"): Sight(what="carbon", pieces=True),
        ("regulator_seat_look", "grit_bedded"): _SEAT,
        ("regulator_seat_look", "sooty"): Sight(what="soot", kinds=("regulator",)),
        ("inline_filter_look", "loaded"): Sight(what="carbon", kinds=("inline filter",), sheds_on=False),
        ("inline_filter_look", "past_seal"): Sight(what="carbon on the clean side", kinds=("inline filter",)),
        ("inline_filter_look", "missing"): Sight(what="a missing or burst element", kinds=("inline filter",)),
        ("outlet_look", "chips"): Sight(what="chips at the outlet", kinds=PUMP, pieces=True),
        ("pump_off_look", "carbon"): Sight(what="loose carbon at its ports", kinds=PUMP, pieces=True),
        ("pump_teardown", "broken"): Sight(what="a broken rotor", kinds=PUMP, pieces=True),
        ("pump_teardown", "vanes_short"): Sight(what="vanes worn short", kinds=PUMP, pieces=True),
        ("pump_teardown", "foreign_carbon"): Sight(what="pieces that belong to no vane of it", kinds=PUMP, pieces=True),
    }
)
"""Outcomes of checks that say debris was seen. What is ordinary (thin soot, a light filter) is not among them."""
DIRTY_SYMPTOMS: Final[Mapping[str, Sight]] = MappingProxyType(
    {
        "shop_found_dust_in_indicator": _GYRO,
        "dust_at_instrument_inlet": _GYRO,
        "carbon_in_hose": Sight(what="carbon", pieces=True),
        "grit_in_regulator": _SEAT,
        "inline_filter_black": Sight(what="carbon", kinds=("inline filter",), sheds_on=False),
        "rubber_slivers": Sight(what="slivers of rubber", from_pump=False),
        "tape_or_sealant_found": Sight(what="tape or sealant", from_pump=False),
    }
)

CARBON_REMARKS: Final = frozenset(symptom for symptom, sight in DIRTY_SYMPTOMS.items() if sight.from_pump)
"""Remarks of carbon where the air of the instruments passes."""
CARBON_LOOKS: Final = frozenset(
    result for result, sight in DIRTY_OUTCOMES.items() if sight.sheds_on and sight.kinds != PUMP
)
"""(check, outcome) after which the lines may shed: carbon seen outside the pump that lets it go again."""
