"""Failure mode: none of these."""

from __future__ import annotations

from vanewise.diagnosis.modes import places
from vanewise.diagnosis.modes.base import FailureMode, Severity, rate

MODE = FailureMode(
    id="none_of_these",
    name="none of these",
    meaning="something this tool does not hold among its failure modes",
    level="unknown",
    family="none",
    places=places.nowhere,
    rate=rate(4, "judgement of the authors: about one report in thirty"),
    severity=Severity(),
)
