"""Cards of looks and tests on one page each, with boxes to tick and lines for the figures."""

from __future__ import annotations

import datetime

from vanewise.prints.press import paper, typeset
from vanewise.watch.customary import SOURCE, Card
from vanewise.wording import sentence


def card_pdf(card: Card, *, aircraft: str, dated: datetime.date, page: str = "a4") -> bytes:
    """One card as a page."""
    data = {
        "paper": paper(page),
        "title": card.title,
        "aircraft": aircraft,
        "cautions": card.cautions,
        "lines": card.lines,
        "source": sentence(SOURCE),
        "foot": f"Printed {dated}. Write the figures into the readings over time.",
    }
    return typeset("card", data, dated)
