"""How people tell of a check they did and of what it showed: phrases for the checks and their outcomes.

Common talk of hangars, nobody's list. A phrase is words that stand in this order, a few others between; ``a/b`` is one
word or the other, whatever its ending; ``=clean`` is that very form; ``@look`` is any word of :data:`GROUPS`. What was
``done`` is offered with the outcome that is told beside it or right after, or without one; behind ``~`` only with one;
behind ``+`` the phrase may run on into the next pieces of its sentence. What ``says`` an outcome counts only after what
was done; what ``tells`` one needs nothing before it. Outcomes stand as in the check.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from vanewise.diagnosis.sayings_of_checks.base import GROUPS, Told
from vanewise.diagnosis.sayings_of_checks.engine_bay import ENGINE_BAY
from vanewise.diagnosis.sayings_of_checks.further import FURTHER
from vanewise.diagnosis.sayings_of_checks.panel import PANEL

__all__ = ["GROUPS", "NUMBERS", "TOLD_CHECKS", "Told"]

TOLD_CHECKS: Final[Mapping[str, Told]] = MappingProxyType({**PANEL, **ENGINE_BAY, **FURTHER})
"""Check -> how people tell of it."""

NUMBERS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "run-up": "one reading of the gauge with its engine speed",
        "sweep": "the gauge at each engine speed that was held",
        "cover test": "the gauge before and while covered, and the engine speed",
        "suction flow": "flow, suction of the source and the port it was at",
        "gauge across instrument": "the test gauge's reading, the engine speed and which instrument",
        "filter drop": "the drop in inHg, the engine speed and which filter",
        "capped sweep": "the gauge with the instrument capped, the engine speed and which instrument",
    }
)
"""Kind of a measuring check -> the numbers without which it says nothing."""
