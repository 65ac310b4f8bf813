"""Weights of evidence, lists and pressures in words."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from types import MappingProxyType
from typing import Final

from vanewise.quantities import PA_PER_INHG


def weight(log10_odds: float) -> str:
    """What a change of log10 odds amounts to, in words."""
    size = abs(log10_odds)
    side = "for it" if log10_odds > 0 else "against it"
    if size < 0.1:
        return "says next to nothing about it"
    factor = 10.0**size
    times = f"{factor:.1f}" if factor < 3 else f"{factor:.0f}" if factor < 100 else "more than 100"
    strength = "a little" if size < 0.3 else "clearly" if size < 1.0 else "strongly"
    return (
        f"speaks {strength} {side} (odds times {times})"
        if log10_odds > 0
        else (f"speaks {strength} {side} (odds divided by {times})")
    )


def inhg(pressure_pa: float) -> str:
    return f"{pressure_pa / PA_PER_INHG:.1f} inHg"


REPAIRS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "pump": "the pump",
        "outlet": "freeing the pump's outlet",
        "pad seal": "the pad seal and gasket",
        "intake filter": "the intake filter",
        "inline filter": "the inline filter",
        "inlet filter": "the pump's inlet filter",
        "leak": "finding and closing a leak",
        "hose": "the hose at the pump",
        "line": "freeing a line or a port",
        "moisture": "drying the lines",
        "misrouting": "putting the hoses where they belong",
        "check valve": "a check valve",
        "boots or seal": "the boots or the door seal",
        "accessory": "the other user of the air",
        "standby": "the standby source",
        "regulator setting": "setting the regulator",
        "regulator filter": "the regulator's foam",
        "regulator seat": "cleaning the regulator's seat",
        "regulator": "the regulator",
        "instrument": "the instrument, at its shop",
        "case leak": "the instrument's case, at its shop",
        "mounting": "levelling and tightening the instrument in its panel",
        "gauge": "the gauge or its line",
        "lamp": "the lamp or its switch",
        "autopilot": "the autopilot",
        "nothing": "nothing, by what was told",
        "none": "something that is not on the list",
    }
)
"""Families of causes as what would be put right."""


VICTIM: Final = "a victim until the source of what reached it is found"
"""What is said beside the level 'one instrument' where dirt reached one, or two died in a short time."""
NO_FINDING: Final = "what was told also comes from a sound aircraft; that is no finding that it is fit to fly"
"""What is said wherever no fault by what was told is named."""
NO_FAULT_NAMED: Final = f"No fault by what was told: {NO_FINDING}."
"""The same as a sentence of its own."""
NOTHING_LEFT: Final = (
    "Keep reading the gauge at the same engine speeds, keep what is in doubt out of cloud, and ask again if it comes "
    "back."
)
"""What to do where no fault is told of. No leave to fly."""
GAUGE_UNPROVED: Final = (
    "First prove the panel gauge against a test gauge: one that reads right over weak air looks the same as no fault."
)
"""What is said in place of a reason to stop, while nothing beside the panel gauge says what the air is."""
BLOWN: Final = (
    "A pump of the wrong hand, or with its hoses swapped, may have moved the air the wrong way. The trace goes by the "
    "usual way: what it does not list is then not cleared. Look into every hose and every instrument's ports."
)
"""What is said of a trace where the air may have gone backwards."""
OLD_LINES: Final = (
    "A pump was fitted and no cleaning of the lines is recorded: a new pump on old lines takes in what the old one "
    "left. Look into hoses, regulator and fittings before it runs on, and before another goes on; hoses are replaced, "
    "not cleaned."
)
OLD_HOSES: Final = (
    "A new pump on old hoses: what they hold, and slivers of their liner, go into it. Replace them with the pump."
)


def new_pump(events: Collection[str]) -> tuple[str, ...]:
    """The warning about a new pump on lines that held an old one's carbon; nothing where they were cleaned."""
    if "pump_changed" not in events:
        return ()
    said = () if "lines_cleaned_recorded" in events else (OLD_LINES,)
    return (*said, OLD_HOSES) if "old_hoses" in events and "hose_changed" not in events else said
