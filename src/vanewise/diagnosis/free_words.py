"""From a person's own words to the words of evidence: suggestions only, the person chooses.

A text is cut into clauses; words mistyped are read as the nearest known one, and words that mean the same, of the
trade and of every day, are made one; each clause is then held against every phrase word by word, with a maintained
library for words that are nearly alike. A phrase counts by how much of it the clause holds, rare words more than common
ones. 'Horizon fine' and 'does not lean' are offered as looked for and absent. A clause that names a part is always
offered what is nearest of that part: an offer too many costs a look, one too few costs the remark. It is a match of
words, not of meaning, which is one more reason why nothing is taken over unasked. What matches nothing stays a note,
word for word. Checks that are told of are offered beside it, with what they showed
(:mod:`vanewise.diagnosis.told_checks`).

A negating word denies a phrase where the word after it belongs to that phrase: 'does not lean' denies leaning, 'cannot
feel the shaft turn' denies no turning. 'No' and 'without' reach over words that belong to no phrase. An event denied is
not offered.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable
from functools import lru_cache
from typing import Final, Literal, NamedTuple

import msgspec
from rapidfuzz import fuzz

from vanewise.diagnosis.same_words import ALIKE, EMPTY, KIN, NOT, PARTS, SAME, SOUND, SUBJECTS
from vanewise.diagnosis.sayings import SAID, SAID_ABSENT
from vanewise.diagnosis.spelling import Speller, without_ending
from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS
from vanewise.diagnosis.told_checks import ToldCheck, told_checks
from vanewise.diagnosis.types import Evidence

__all__ = ["CLOSE", "MOST", "SAID", "Clause", "Suggestion", "clauses", "suggest", "unmatched"]

CLOSE: Final = 66.0
"""Likeness, 0 to 100, from which a word is suggested (judgement, tried on the sentences of the tests)."""
MOST: Final = 4
"""Suggestions for one clause."""
CLEAR: Final = 82.0
"""Likeness, 0 to 100, from which a note is told to be worth entering as a word of evidence (judgement)."""
MOST_NOTES: Final = 4
_COMMON: Final = 45.0
"""Likeness at which what is commonly said of a part stands among what comes nearest (judgement)."""
_LEAST: Final = 40.0
_MOST_PARTS: Final = 2
_NAMES_NONE: Final = 15.0
"""By how much a phrase that names no part of the clause stands behind those that do (judgement)."""
_ALIKE: Final = 80.0
"""Likeness of two words, 0 to 100, from which they may be one word mistyped or bent."""
_KIN_SHARE: Final = 0.7
"""What a word counts where one near it is written (judgement)."""
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
    checks: tuple[ToldCheck, ...] = ()
    """Checks that it seems to tell of."""
    shows: tuple[str, ...] = ()
    """Checks that an earlier clause tells of and whose outcome is told here."""


_CUT: Final = re.compile(
    r"[;:!?\n]+|,(?!\d)|(?<!\b[a-z]\.[a-z])\.(?!\d|(?<=\b[a-z]\.)[a-z]\b)|"
    r"\band then\b|\band\b|\bbut\b|\bthen\b|\bwhile\b|\byet\b|\beven tho(?:ugh)?\b",
    re.IGNORECASE,
)
_ONE_THING: Final = re.compile(
    r"\b(?:up and (?:down|running)|(?:on|back) and (?:off|on|forth)|off and on|now and (?:then|again)|"
    r"straight and level|removed and (?:reinstalled|refitted|put back)|"
    r"a (?:(?:good|great|little|long|short) )?while|(\w+) and \1)\b|\band o(?:n|ff)\b",
    re.IGNORECASE,
)
"""What holds a cutting word and is one thing said all the same, like 'round and round'."""
_WORD: Final = re.compile(r"[a-z][a-z'/-]*|-?\d+(?:\.\d+)?")


def clauses(text: str) -> tuple[str, ...]:
    """The text cut where people take a breath; empty pieces left out. A decimal point is no breath."""
    masked = _ONE_THING.sub(lambda found: "_" * len(found.group()), text)
    cuts = [found.span() for found in _CUT.finditer(masked)]
    starts, ends = [0, *(end for _, end in cuts)], [*(start for start, _ in cuts), len(text)]
    pieces = (text[start:end].strip() for start, end in zip(starts, ends, strict=True))
    return tuple(piece for piece in pieces if len(piece) > _LEAST_PIECE)


_LEAST_PIECE: Final = 2
_INITIALS: Final = re.compile(r"\b([a-z])\.([a-z])\b\.?")


def _plain(text: str) -> str:
    """Lower case, its words as they are known here, with what means the same made one word."""
    told = _speller().mended(_INITIALS.sub(r"\1\2", f" {text.lower()} "))
    for pattern, one in SAME:
        told = re.sub(rf"(?<![\w/-])(?:{pattern})(?![\w/-])", one, told)
    return told


_LEFT_ALONE: Final = frozenset((*SUBJECTS, *NOT, "fine"))


def _stem(word: str) -> str:
    """The word without its ending; what has a part of its own stays."""
    return without_ending(word, _LEFT_ALONE)


@lru_cache(maxsize=1)
def _alike() -> dict[str, str]:
    """Stem of an everyday word -> stem of the word it is taken for."""
    return {_stem(word): _stem(one) for one, words in ALIKE.items() for word in words.split()}


@lru_cache(maxsize=1)
def _speller() -> Speller:
    """Every word of the phrases, of the lists and of what means the same."""
    texts = [*_said(), *ALIKE, *ALIKE.values(), *SUBJECTS, *EMPTY, *NOT, *(pattern for pattern, _ in SAME)]
    return Speller((word for text in texts for word in re.findall(r"[a-z]+", text.lower())), _stem)


def _said() -> list[str]:
    own = [symptom.words for symptom in SYMPTOMS.values()] + [event.words for event in EVENTS.values()]
    return own + [phrase for said in (*SAID.values(), *SAID_ABSENT.values()) for phrase in said]


def _in_order(text: str) -> tuple[str, ...]:
    """The stems of the words that carry something, as they stand, numbers left out."""
    alike = _alike()
    words = [word for word in _WORD.findall(_plain(text)) if word not in EMPTY and not word[-1].isdigit()]
    return tuple(alike.get(stem, stem) for stem in map(_stem, words))


def _tokens(text: str) -> tuple[str, ...]:
    """The stems of the words that carry something, each once."""
    return tuple(dict.fromkeys(_in_order(text)))


def _denied(stems: tuple[str, ...]) -> frozenset[str]:
    """The stems that stand after a negating word: directly, or with words of no phrase between after 'no'."""
    found = set()
    for place, stem in enumerate(stems):
        if stem in NOT:
            reached = [one for one in stems[place + 1 :] if stem not in _REACH_OVER or one in _rarity()]
            found.update(reached[:1])
    return frozenset(found)


_REACH_OVER: Final = frozenset({"no", "without"})


class _Phrase(NamedTuple):
    """A phrase as its words, and the word of evidence it stands for, or says was looked for and absent."""

    tokens: tuple[str, ...]
    word: str
    present: bool


@lru_cache(maxsize=1)
def _phrases() -> tuple[_Phrase, ...]:
    """Every phrase, in a fixed order."""
    found = [_Phrase(_tokens(symptom.words), symptom.id, True) for symptom in SYMPTOMS.values()]
    found += [_Phrase(_tokens(event.words), event.id, True) for event in EVENTS.values()]
    found += [_Phrase(_tokens(phrase), word, True) for word, said in SAID.items() for phrase in said]
    found += [_Phrase(_tokens(phrase), word, False) for word, said in SAID_ABSENT.items() for phrase in said]
    return tuple(found)


@lru_cache(maxsize=1)
def _rarity() -> dict[str, float]:
    """Weight of a word: the fewer phrases hold it, the more it tells."""
    phrases = _phrases()
    counts = Counter(token for phrase in phrases for token in phrase.tokens)
    return {token: math.log(1.0 + len(phrases) / count) for token, count in counts.items()}


def suggest(text: str) -> tuple[Clause, ...]:
    """What each clause of ``text`` may mean, best first. Same text, same suggestions."""
    found: list[Clause] = []
    place: list[int] = []  # of each piece: the clause it stands in
    subjects: tuple[str, ...] = ()
    named: tuple[str, ...] = ()
    swapped: frozenset[str] = frozenset()
    before = ""
    pieces = clauses(text)
    for piece in pieces:
        place.append(len(found))
        clause = f"{before}{piece}"
        stems = _in_order(piece)
        tokens = tuple(dict.fromkeys(stems))
        own = tuple(token for token in tokens if token in SUBJECTS)
        if tokens and own == tokens:  # 'horizon' of 'horizon and heading fine'
            named, before = (*named, *own), f"{clause}, "
            continue
        tokens = tuple(dict.fromkeys((*named, *tokens)))
        subjects = (*named, *own) or subjects
        about = tuple(dict.fromkeys((*subjects, *tokens)))
        denied = _denied(stems)
        said = (*_after_swap(tokens, swapped), *_suggestions(tokens, about, denied))
        found.append(Clause(text=clause, suggestions=_each_once(said)))
        swapped = _swapped(tokens, denied) if tokens else swapped
        named, before = (), ""
    found += [Clause(text=before.rstrip(", "), suggestions=())] if before else []
    return _with_checks(found, place, told_checks(text, pieces))


def _with_checks(found: list[Clause], place: list[int], told: Iterable[ToldCheck]) -> tuple[Clause, ...]:
    """The clauses with the checks told of in them; ``place`` says of each piece in which clause it stands."""
    for one in told:
        first, last = place[one.first], place[one.last]
        found[first] = msgspec.structs.replace(found[first], checks=(*found[first].checks, one))
        for later in range(first + 1, last + 1):
            found[later] = msgspec.structs.replace(found[later], shows=(*found[later].shows, one.id))
    return tuple(found)


def _each_once(said: Iterable[Suggestion]) -> tuple[Suggestion, ...]:
    """The first suggestions, none of them twice."""
    once: dict[tuple[str, bool], Suggestion] = {}
    for one in said:
        once.setdefault((one.id, one.present), one)
    return tuple(once.values())[:MOST]


_WENT_WITH: Final = "fault_went_with_instrument"
_SAYS_LITTLE: Final = frozenset(("one", "other", "another", "new", "everyth", "work", "run", "fault", "fly", "thing"))
"""Stems that may stand beside 'fine' or 'the same' where a clause says nothing else."""


def _swapped(tokens: tuple[str, ...], denied: frozenset[str]) -> frozenset[str]:
    """The instruments that a clause says were swapped for others."""
    changed = _stem("changed")
    return _ANY_GYRO & set(tokens) if changed in tokens and changed not in denied else frozenset()


def _after_swap(tokens: tuple[str, ...], swapped: frozenset[str]) -> list[Suggestion]:
    """What 'fine' or 'the same' says right after a swap: the fault went with the instrument, or did not."""
    verdict = set(tokens) - swapped - _SAYS_LITTLE
    same = set(_tokens("same"))
    if not swapped or verdict not in ({"fine"}, {"normal-again"}, same):
        return []
    return [_made(_WENT_WITH, 100.0, present=verdict != same)]


def _turned(phrase: tuple[str, ...], denied: frozenset[str]) -> bool:
    """True when a word of the phrase, or one near it, is denied, and the phrase itself denies nothing."""
    return not NOT & set(phrase) and any(_same(token, word) for token in phrase for word in denied)


def _suggestions(own: tuple[str, ...], about: tuple[str, ...], denied: frozenset[str]) -> list[Suggestion]:
    """Suggestions for the words of a clause; ``about`` holds what the clause before was about as well.

    ``denied`` holds the words that a negating word stands before.
    """
    if not own:
        return []
    fine = "fine" in own
    negated = bool(NOT & set(own))
    found: dict[str, tuple[float, bool]] = {}
    covered: set[str] = set()
    of_the_part: set[str] = set()
    for tokens, word, present in _phrases():
        if set(tokens) <= set(SUBJECTS) or (fine and "fine" not in tokens) or _of_another(tokens, about):
            continue
        if not negated and NOT & set(tokens):  # 'lines were not flushed' is not what 'flushed the lines' says
            continue
        likeness = max(_likeness(own, tokens), _likeness(about, tokens))
        turned = _turned(tokens, denied)
        if likeness >= CLOSE and not (turned and word in EVENTS):
            found[word] = max(found.get(word, (0.0, True)), (likeness, present is not turned))
            covered.update(tokens)
            of_the_part |= {word} if set(_parts()) & set(own) & set(tokens) else set()
    order = sorted(found, key=lambda word: (-found[word][0] + (0.0 if word in of_the_part else _NAMES_NONE), word))
    said = [_made(word, *found[word]) for word in order[:MOST]]
    if fine:
        said += _sound(about)
    if not said or (not fine and not covered & set(own) & set(_parts())):
        said += _nearest(own, about, fine, denied)
    return said


@lru_cache(maxsize=1)
def _parts() -> dict[str, tuple[str, ...]]:
    return {_stem(part): words for part, words in PARTS.items()}


def _nearest(own: tuple[str, ...], about: tuple[str, ...], fine: bool, denied: frozenset[str]) -> list[Suggestion]:
    """What comes nearest of the parts that a clause names, and what is commonly said of them; else nothing.

    No event where the clause says fine or bad, or denies anything.
    """
    without_events = fine or "bad" in own or bool(NOT & set(own))
    parts = [part for part in _parts() if part in own]
    if len(parts) > 1 and "gyro" in parts:
        parts.remove("gyro")
    near: dict[str, tuple[float, bool]] = {}
    for tokens, word, present in _phrases():
        if present and set(parts) & set(tokens) and not set(tokens) <= set(SUBJECTS) and not _of_another(tokens, about):
            near[word] = max(near.get(word, (0.0, True)), (_likeness(own, tokens), not _turned(tokens, denied)))
    for part in parts[:_MOST_PARTS]:
        for place, word in enumerate(_parts()[part]):
            there = part not in denied or part in SUBJECTS  # 'no oil' denies the oil, 'no pump' not its fault
            near[word] = max(near.get(word, (0.0, True)), (_COMMON - place, there))
    order = sorted(
        (word for word in near if near[word][0] >= _LEAST and not (without_events and word in EVENTS)),
        key=lambda word: (-near[word][0], word),
    )
    return [_made(word, min(near[word][0], CLOSE), near[word][1] and not fine) for word in order[:MOST]]


_ANY_GYRO: Final = frozenset({"gyro", "horizon", "heading", "turnneedle"})


def _of_another(phrase: tuple[str, ...], about: tuple[str, ...]) -> bool:
    """True when a phrase is about one thing and the clause about others: a sticky filter is no sticky indicator."""
    of, here = set(phrase) & set(SUBJECTS), set(about) & set(SUBJECTS)
    both_gyros = bool(of & _ANY_GYRO) and bool(here & _ANY_GYRO) and "gyro" in of | here
    return bool(of) and bool(here) and not of & here and not both_gyros


def _sound(about: tuple[str, ...]) -> list[Suggestion]:
    words = [word for subject in about for word in SOUND.get(subject, ())]
    return [_made(word, 100.0, present=False) for word in dict.fromkeys(words)]


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


@lru_cache(maxsize=1)
def _kin() -> frozenset[frozenset[str]]:
    return frozenset(frozenset(map(_stem, pair)) for pair in KIN)


@lru_cache(maxsize=65536)
def _same(token: str, word: str) -> float:
    """1 for one word, less for one mistyped or bent, 0 for another; two known words are no slip of each other."""
    if token == word:
        return 1.0
    if frozenset((token, word)) in _kin():
        return _KIN_SHARE
    if token in _rarity() and word in _rarity():
        return 0.0
    if len(token) < 4 or len(word) < 4 or token[0] != word[0] or token in SUBJECTS or word in SUBJECTS:
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
    return tuple(clause.text for clause in found if not (clause.suggestions or clause.checks or clause.shows))


def unweighed(evidence: Evidence) -> tuple[str, ...]:
    """What the free notes of a report seem to say that nothing entered says: a note weighs nothing.

    One line for one clause, also where it may mean a word of evidence or a check: a thing seen is entered once.
    """
    said = {remark.symptom for remark in evidence.remarks} | {event.kind for event in evidence.events}
    said |= {result.check for result in evidence.checks}
    told: dict[str, str] = {}
    for clause in (clause for note in evidence.notes for clause in suggest(note)):
        near = {one.id for one in clause.suggestions} | {one.id for one in clause.checks}
        meant = [one for one in clause.suggestions if one.likeness >= CLEAR and one.id not in told]
        ways = [_to_enter(one) for one in meant[:1]]
        ways += [_check_to_enter(one) for one in clause.checks[:1] if one.id not in told]
        if ways and not said & near:
            name = meant[0].id if meant else clause.checks[0].id
            told[name] = f'the note "{clause.text}" weighs nothing as it stands; {", or ".join(ways)}'
    return tuple(told.values())[:MOST_NOTES]


def _to_enter(meant: Suggestion) -> str:
    absent = "" if meant.present else "looked for and absent, "
    return f"if it means {absent}{meant.words}, enter that ({meant.kind} {meant.id})"


def _check_to_enter(meant: ToldCheck) -> str:
    if meant.numbers:
        return f"if it tells of a check, {meant.words}: enter {meant.numbers} (check {meant.id})"
    showed = f" showed {meant.outcome_words}" if meant.outcome else ""
    outcome = f", outcome {meant.outcome}" if meant.outcome else ""
    return f"if it tells that a check{showed}, {meant.words}: enter that (check {meant.id}{outcome})"
