"""Watch: what is wearing, how long parts last, what is due, and whether anything has changed.

The names below are the public ones; each is loaded when it is first asked for, so that importing this package costs
nothing.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from vanewise.watch.calendar_events import due_events
    from vanewise.watch.csv_import import read_table
    from vanewise.watch.customary import CARDS, customary_limits
    from vanewise.watch.due import due_items
    from vanewise.watch.fleet import fit_fleet
    from vanewise.watch.kaplan_meier import kaplan_meier
    from vanewise.watch.life import competing, life_model
    from vanewise.watch.replacement import replace_by_age, replace_this_one
    from vanewise.watch.sharing import share
    from vanewise.watch.simulate import coverage
    from vanewise.watch.straight_line import life_through_origin
    from vanewise.watch.trend import follow, run_rule
    from vanewise.watch.trend_signals import sweep_figures
    from vanewise.watch.utilisation import utilisation
    from vanewise.watch.wear import forecast
    from vanewise.watch.wear_planning import look_again_words, wear_band

_HOMES: Final = {
    "CARDS": "customary",
    "competing": "life",
    "coverage": "simulate",
    "customary_limits": "customary",
    "due_events": "calendar_events",
    "due_items": "due",
    "fit_fleet": "fleet",
    "follow": "trend",
    "forecast": "wear",
    "kaplan_meier": "kaplan_meier",
    "life_model": "life",
    "life_through_origin": "straight_line",
    "look_again_words": "wear_planning",
    "read_table": "csv_import",
    "replace_by_age": "replacement",
    "replace_this_one": "replacement",
    "run_rule": "trend",
    "share": "sharing",
    "sweep_figures": "trend_signals",
    "utilisation": "utilisation",
    "wear_band": "wear_planning",
}

__all__ = [
    "CARDS",
    "competing",
    "coverage",
    "customary_limits",
    "due_events",
    "due_items",
    "fit_fleet",
    "follow",
    "forecast",
    "kaplan_meier",
    "life_model",
    "life_through_origin",
    "look_again_words",
    "read_table",
    "replace_by_age",
    "replace_this_one",
    "run_rule",
    "share",
    "sweep_figures",
    "utilisation",
    "wear_band",
]


def __getattr__(name: str) -> Any:
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f"{__name__}.{home}"), name)
