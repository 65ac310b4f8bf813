"""From a person's own words to the words of evidence: suggestions only, the person chooses.

A text is cut into clauses; trade words that mean the same are made one (:data:`SAME`); each clause is then held against
every phrase word by word, with a maintained library for words that are nearly alike. A phrase counts by how much of it
the clause holds, rare words more than common ones. 'Horizon fine' and 'does not lean' are offered as looked for and
absent. It is a match of words, not of meaning, which is one more reason why nothing is taken over unasked. What matches
nothing stays a note, word for word.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable
from functools import lru_cache
from typing import Final, Literal

import msgspec
from rapidfuzz import fuzz

from vanewise.diagnosis.same_words import EMPTY, NOT, SAME, SOUND, SUBJECTS
from vanewise.diagnosis.sayings import SAID
from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS
from vanewise.diagnosis.types import Evidence

__all__ = ["CLOSE", "MOST", "SAID", "Clause", "Suggestion", "clauses", "suggest", "unmatched"]

CLOSE: Final = 66.0
"""Likeness, 0 to 100, from which a word is suggested (judgement, tried on the sentences of the tests)."""
MOST: Final = 4
"""Suggestions for one clause."""
CLEAR: Final = 82.0
"""Likeness, 0 to 100, from which a note is told to be worth entering as a word of evidence (judgement)."""
MOST_NOTES: Final = 4
_ALIKE: Final = 80.0
"""Likeness of two words, 0 to 100, from which they may be one word mistyped or bent."""
_HELD: Final = 0.75
"""Weight of how much of the phrase is held; the rest is how much of the clause the phrase explains (judgement)."""


class Suggestion(msgspec.Struct, frozen=True, kw_only=True):
    """One word of evidence that may be meant. ``likeness`` runs from 0 to 100 and is no probability."""

    id: str
    kind: Literal["symptom", "event"]
    words: str
    likeness: float
    present: bool = True
    """False: looked for, and absent."""


class Clause(msgspec.Struct, frozen=True, kw_only=True):
    """A piece of what was written, and what it may mean; nothing suggested means that it stays a note."""

    text: str
    suggestions: tuple[Suggestion, ...]


_CUT: Final = re.compile(
    r"[;:!?\n]+|,(?!\d)|\.(?!\d)|\band then\b|(?<!up )\band\b(?! o(?:n|ff)\b)|\bbut\b|\bthen\b|\bwhile\b|\byet\b",
    re.IGNORECASE,
)
_WORD: Final = re.compile(r"[a-z][a-z'/-]*|-?\d+(?:\.\d+)?")


def clauses(text: str) -> tuple[str, ...]:
    """The text cut where people take a breath; empty pieces left out. A decimal point is no breath."""
    return tuple(piece.strip() for piece in _CUT.split(text) if len(piece.strip()) > 2)


def _plain(text: str) -> str:
    """Lower case, with what means the same made one word."""
    told = f" {text.lower()} "
    for pattern, one in SAME:
        told = re.sub(rf"(?<![\w/-])(?:{pattern})(?![\w/-])", one, told)
    return told


_LEFT_ALONE: Final = frozenset((*SUBJECTS, *NOT, "fine"))
_LEAST_STEM: Final = 3


def _stem(word: str) -> str:
    """The word without its ending, so that spins, spinning and spun's kin meet; what has a part of its own stays."""
    if word in _LEFT_ALONE:
        return word
    for ending in ("ing", "ed", "es", "s", "e"):
        stem = word.removesuffix(ending)
        if stem != word and len(stem) >= _LEAST_STEM and not (ending == "s" and stem.endswith("s")):
            if stem in _LEFT_ALONE:
                return stem
            doubled = (
                ending in ("ing", "ed") and len(stem) > _LEAST_STEM and stem[-1] == stem[-2] and stem[-1] not in "ls"
            )
            return stem[:-1] if doubled else stem
    return word


def _tokens(text: str) -> tuple[str, ...]:
    """The stems of the words that carry something, each once, numbers left out."""
    found = [_stem(word) for word in _WORD.findall(_plain(text)) if word not in EMPTY and not word[-1].isdigit()]
    return tuple(dict.fromkeys(found))


@lru_cache(maxsize=1)
def _phrases() -> tuple[tuple[tuple[str, ...], str], ...]:
    """Every phrase as its words, and the word of evidence it stands for, in a fixed order."""
    pairs = [(symptom.words, symptom.id) for symptom in SYMPTOMS.values()]
    pairs += [(event.words, event.id) for event in EVENTS.values()]
    pairs += [(phrase, word) for word, said in SAID.items() for phrase in said]
    return tuple((_tokens(phrase), word) for phrase, word in pairs)


@lru_cache(maxsize=1)
def _rarity() -> dict[str, float]:
    """Weight of a word: the fewer phrases hold it, the more it tells."""
    phrases = _phrases()
    counts = Counter(token for tokens, _ in phrases for token in tokens)
    return {token: math.log(1.0 + len(phrases) / count) for token, count in counts.items()}


def suggest(text: str) -> tuple[Clause, ...]:
    """What each clause of ``text`` may mean, best first. Same text, same suggestions."""
    found = []
    subjects: tuple[str, ...] = ()
    named: tuple[str, ...] = ()
    before = ""
    for piece in clauses(text):
        clause = f"{before}{piece}"
        tokens = _tokens(piece)
        own = tuple(token for token in tokens if token in SUBJECTS)
        if tokens and own == tokens:  # 'horizon' of 'horizon and heading fine'
            named, before = (*named, *own), f"{clause}, "
            continue
        tokens = tuple(dict.fromkeys((*named, *tokens)))
        subjects = (*named, *own) or subjects
        about = tuple(dict.fromkeys((*subjects, *tokens)))
        found.append(Clause(text=clause, suggestions=_suggestions(tokens, about)))
        named, before = (), ""
    return (*found, Clause(text=before.rstrip(", "), suggestions=())) if before else tuple(found)


def _suggestions(own: tuple[str, ...], about: tuple[str, ...]) -> tuple[Suggestion, ...]:
    """Suggestions for the words of a clause; ``about`` holds what the clause before was about as well."""
    if not own:
        return ()
    fine = "fine" in own
    negated = bool(NOT & set(own))
    found: dict[tuple[str, bool], float] = {}
    for tokens, word in _phrases():
        if set(tokens) <= set(SUBJECTS) or (fine and "fine" not in tokens) or _of_another(tokens, about):
            continue
        likeness = max(_likeness(own, tokens), _likeness(about, tokens))
        if likeness >= CLOSE:
            key = (word, not (negated and not NOT & set(tokens)))
            found[key] = max(found.get(key, 0.0), likeness)
    order = sorted(found, key=lambda key: (-found[key], key))
    said = tuple(_made(word, found[word, present], present) for word, present in order[:MOST])
    return (*said, *_sound(about))[:MOST] if fine else said


_ANY_GYRO: Final = frozenset({"gyro", "horizon", "heading", "turnneedle"})


def _of_another(phrase: tuple[str, ...], about: tuple[str, ...]) -> bool:
    """True when a phrase is about one thing and the clause about others: a sticky filter is no sticky indicator."""
    of, here = set(phrase) & set(SUBJECTS), set(about) & set(SUBJECTS)
    both_gyros = bool(of & _ANY_GYRO) and bool(here & _ANY_GYRO) and "gyro" in of | here
    return bool(of) and bool(here) and not of & here and not both_gyros


def _sound(about: tuple[str, ...]) -> tuple[Suggestion, ...]:
    words = [word for subject in about for word in SOUND.get(subject, ())]
    return tuple(_made(word, 100.0, present=False) for word in dict.fromkeys(words))


def _likeness(clause: tuple[str, ...], phrase: tuple[str, ...]) -> float:
    """How much of the phrase the clause holds, and how much of the clause that explains, 0 to 100."""
    rarity = _rarity()
    held, whole, used = 0.0, 0.0, 0.0
    for token in phrase:
        weight = rarity[token]
        whole += weight
        best = max(_same(token, word) for word in clause)
        held += weight * best
    for word in clause:
        used += max(_same(token, word) for token in phrase)
    return 100.0 * (_HELD * held / whole + (1.0 - _HELD) * used / len(clause))


@lru_cache(maxsize=65536)
def _same(token: str, word: str) -> float:
    """1 for one word, somewhat less for one mistyped or bent, 0 for another."""
    if token == word:
        return 1.0
    if len(token) < 4 or len(word) < 4 or token in SUBJECTS or word in SUBJECTS:
        return 0.0
    likeness = float(fuzz.ratio(token, word))
    return likeness / 100.0 if likeness >= _ALIKE else 0.0


def _made(word: str, likeness: float, present: bool = True) -> Suggestion:
    told = round(likeness, 1)
    if word in SYMPTOMS:
        return Suggestion(id=word, kind="symptom", words=SYMPTOMS[word].words, likeness=told, present=present)
    return Suggestion(id=word, kind="event", words=EVENTS[word].words, likeness=told)


def unmatched(found: Iterable[Clause]) -> tuple[str, ...]:
    """Clauses that nothing is close to: kept as notes, word for word."""
    return tuple(clause.text for clause in found if not clause.suggestions)


def unweighed(evidence: Evidence) -> tuple[str, ...]:
    """What the free notes of a report seem to say that no remark or event of it says: a note weighs nothing."""
    said = {remark.symptom for remark in evidence.remarks} | {event.kind for event in evidence.events}
    told: dict[str, str] = {}
    for clause in (clause for note in evidence.notes for clause in suggest(note)):
        meant = [one for one in clause.suggestions if one.likeness >= CLEAR and one.id not in told]
        if not meant or said & {one.id for one in clause.suggestions}:
            continue
        best = meant[0]
        absent = "" if best.present else "looked for and absent, "
        told[best.id] = (
            f'the note "{clause.text}" weighs nothing as it stands; if it means {absent}{best.words}, '
            f"enter that ({best.kind} {best.id})"
        )
    return tuple(told.values())[:MOST_NOTES]
