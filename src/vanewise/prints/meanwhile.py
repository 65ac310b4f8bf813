"""The page for the meantime, and the report after a loss in flight, as PDF."""

from __future__ import annotations

from typing import Any

import msgspec

from vanewise.prints.press import paper, typeset
from vanewise.work.meanwhile import LossReport, Meanwhile


def meanwhile_pdf(sheet: Meanwhile, *, page: str = "letter") -> bytes:
    """One page: what is lost, what to ask, who decides. Same sheet, same bytes."""
    data: dict[str, Any] = msgspec.to_builtins(sheet)
    return typeset("meanwhile", {**data, "paper": paper(page), "foot": sheet.draft}, sheet.dated)


def loss_report_pdf(report: LossReport, *, page: str = "letter") -> bytes:
    """The draft of a report, with lines for what a person has to add."""
    data: dict[str, Any] = msgspec.to_builtins(report)
    foot = "A draft from what is held. Nothing has been sent. You decide, you sign."
    return typeset("loss_report", {**data, "paper": paper(page), "foot": foot}, report.dated)
