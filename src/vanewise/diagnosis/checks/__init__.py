"""Checks C01 to C24 of the trade, and a few more, as data: minutes, access, outcomes, and what each mode would show.

Outcomes stand from mild to grave. The outcome of several modes at once is the gravest any of them would give (their
cumulative probabilities multiply); a check marked ``by_source`` shows the source's own trace instead. Probabilities
and minutes are judgement of the authors; a row of two tuples goes from mild to grave with the mode's severity. Checks
of the kinds other than ``table`` are answered by the solver, not by a table.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from vanewise.diagnosis.checks.base import ACCESS_MINUTES, Check, Outcome
from vanewise.diagnosis.checks.engine_bay import ENGINE_BAY
from vanewise.diagnosis.checks.further import FURTHER
from vanewise.diagnosis.checks.panel import PANEL

CHECKS: Final[Mapping[str, Check]] = MappingProxyType({check.id: check for check in (*PANEL, *ENGINE_BAY, *FURTHER)})

CODES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "C23": "cover_test",
        "C24": "workshop_suction",
        "C16": "workshop_suction",
        "C11": "wear_port",
        "C06": "sweep",
        "C25": "gauge_at_run_up",
        "C26": "pump_off_look",
    }
)
"""Codes that name one check by themselves: of the trade notes, and C25 and C26, which follow theirs."""

__all__ = ["ACCESS_MINUTES", "CHECKS", "CODES", "Check", "Outcome"]
