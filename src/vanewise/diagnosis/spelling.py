"""Words mistyped, read as the nearest word that is known here; a maintained library measures how near."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable
from typing import Final

from rapidfuzz import process
from rapidfuzz.distance import OSA

__all__ = ["Speller", "without_ending"]

_WORD: Final = re.compile(r"[a-z]{5,}")
_DOUBLED: Final = re.compile(r"(.)\1")
LONG: Final = 8
"""Letters from which two slips are forgiven, below it one (judgement)."""
LEFT_ALONE: Final = frozenset(
    re.findall(
        r"\S+",
        "heating house houses horse horses filler planes plane wheel weather winder bolts posts could would "
        "should might their these where which while about other every never under after again since until "
        "right night sight tight later water first trips price place placed cause noted shape three those "
        "think thing things wing wings trims radio radios seats coffee fuel engine engines liner liners boost "
        "starter battery steep picked whenever mountain mountains forth",
    )
)
"""Ordinary words that stand next to a word of the trade and are none."""


LEAST_STEM: Final = 3


def without_ending(word: str, alone: Collection[str] = ()) -> str:
    """The word without its ending, so that spins, spinning and spun's kin meet; words of ``alone`` keep theirs."""
    if word in alone:
        return word
    for ending in ("ing", "ed", "es", "s", "e"):
        cut = word.removesuffix(ending)
        if cut != word and len(cut) >= LEAST_STEM and not (ending == "s" and cut.endswith("s")):
            if cut in alone:
                return cut
            doubled = ending in ("ing", "ed") and len(cut) > LEAST_STEM and cut[-1] == cut[-2] and cut[-1] not in "ls"
            return cut[:-1] if doubled else cut
    return word


class Speller:
    """Knows some words, and reads others as the nearest of them: same first letter, one slip, two in long words.

    A slip is a letter too many, too few, wrong, or changed over with its neighbour. Of words equally near, the one that
    differs only by a doubled letter. ``stem`` takes a word's ending off: a known word with another ending is known.
    """

    def __init__(self, known: Iterable[str], stem: Callable[[str], str]) -> None:
        self._known = frozenset(known)
        self._stem = stem
        self._stems = frozenset(map(stem, self._known))
        self._by_letter: dict[str, list[str]] = {}
        for word in sorted(self._known):
            if _WORD.fullmatch(word):
                self._by_letter.setdefault(word[0], []).append(word)

    def mended(self, text: str) -> str:
        """``text`` (lower case) with every word that is not known and near one that is, read as that one."""
        return _WORD.sub(lambda found: self._nearest(found.group()), text)

    def _nearest(self, word: str) -> str:
        if word in self._known or word in LEFT_ALONE or self._stem(word) in self._stems:
            return word
        most = 2 if len(word) >= LONG else 1
        near = process.extract(
            word, self._by_letter.get(word[0], []), scorer=OSA.distance, score_cutoff=most, limit=None
        )
        if not near:
            return word
        single = _DOUBLED.sub(r"\1", word)
        return min((away, _DOUBLED.sub(r"\1", str(known)) != single, str(known)) for known, away, _ in near)[2]
