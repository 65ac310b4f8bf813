"""What in the evidence says that dirt reached an instrument, or that instruments go one after another."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.evidence import Prepared
from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS

__all__ = ["told_of_dirt"]

_EVENT: Final = "second_gyro_within_90_days"
_SYMPTOMS: Final = ("shop_found_dust_in_indicator", "dust_at_instrument_inlet")
_OUTCOMES: Final[Mapping[str, str]] = MappingProxyType({"indicator_bench": "dirty", "instrument_inlet_look": "black"})
"""Check -> outcome that shows it."""


def told_of_dirt(prepared: Prepared) -> tuple[str, ...]:
    """Each such piece of evidence in words, in a fixed order; nothing said, nothing."""
    noticed = {item.symptom for group in prepared.remarks for item in group.items if item.present}
    shown = {(item.check, item.outcome) for item in prepared.checks}
    said = [EVENTS[_EVENT].words] if _EVENT in prepared.events else []
    said += [SYMPTOMS[symptom].words for symptom in _SYMPTOMS if symptom in noticed]
    for check, outcome in _OUTCOMES.items():
        if (check, outcome) in shown:
            word = next(entry.words for entry in CHECKS[check].outcomes if entry.id == outcome)
            said.append(f"{CHECKS[check].name}: {word}")
    return tuple(said)
