"""Every word evidence may use, in one place: symptoms, events, checks with their outcomes."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from typing import Final

from vanewise.diagnosis.checks import ACCESS_MINUTES, CHECKS, CODES, Check
from vanewise.diagnosis.free_words import suggest
from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS, EventWord, Symptom, freshness

_NEAR_ID: Final = 0.75
"""Likeness of spelling, 0 to 1, from which an unknown word is taken for a known one mistyped (judgement)."""


def nearest(word: str, known: Iterable[str]) -> str:
    """What to do about an unknown word: the nearest known ones, or how to keep it as a note."""
    close = difflib.get_close_matches(word, list(known), n=3, cutoff=0.5)
    if close:
        return f"did you mean {' or '.join(close)}? Otherwise write it under notes, where any words are kept"
    return "choose a known word, or write it under notes, where any words are kept"


def meant(word: str, known: Mapping[str, Symptom] | Mapping[str, EventWord]) -> str:
    """What to do about an unknown symptom or event: what its words may mean, told in words, else the nearest ids."""
    said = [one.id for clause in suggest(word.replace("_", " ")) for one in clause.suggestions if one.id in known]
    close = difflib.get_close_matches(word, list(known), n=2, cutoff=_NEAR_ID)
    offered = list(dict.fromkeys((*close, *said)))[:3]
    if not offered:
        return nearest(word, known)
    named = " or ".join(f"{one} ({known[one].words})" for one in offered)
    return f"did you mean {named}? Otherwise write it under notes, where any words are kept"


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
    "meant",
    "nearest",
]
