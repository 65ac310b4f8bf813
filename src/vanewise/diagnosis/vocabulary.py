"""Every word evidence may use, in one place: symptoms, events, checks with their outcomes."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from vanewise.diagnosis.checks import ACCESS_MINUTES, CHECKS, CODES, Check
from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS, EventWord, Symptom, freshness


def nearest(word: str, known: Iterable[str]) -> str:
    """What to do about an unknown word: the nearest known ones, or how to keep it as a note."""
    close = difflib.get_close_matches(word, list(known), n=3, cutoff=0.5)
    if close:
        return f"did you mean {' or '.join(close)}? Otherwise write it under notes, where any words are kept"
    return "choose a known word, or write it under notes, where any words are kept"


def check_named(word: str) -> Check | None:
    """The check of that id or code of the trade (``cover_test``, ``C23``)."""
    return CHECKS.get(CODES.get(word, word))


__all__ = [
    "ACCESS_MINUTES",
    "CHECKS",
    "EVENTS",
    "SYMPTOMS",
    "Check",
    "EventWord",
    "Symptom",
    "check_named",
    "freshness",
    "nearest",
]
