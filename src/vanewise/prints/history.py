"""The whole history of an aircraft on paper: every entry as it stands, its corrections, and the head of its chain."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from typing import Any

from vanewise.prints.press import paper, typeset
from vanewise.prints.record import grouped


def history_pdf(
    told: Sequence[Mapping[str, Any]], *, aircraft: str, head: str, dated: datetime.date, page: str = "a4"
) -> bytes:
    """Every entry in order. ``told`` holds number, at, author, kind, says, and what it was corrected to."""
    data = {
        "paper": paper(page),
        "aircraft": aircraft,
        "rows": [dict(row) for row in told],
        "head": grouped(head) or "none yet",
        "foot": f"Printed {dated}. Copies of what was written; none of it is a signature.",
    }
    return typeset("history", data, dated)
