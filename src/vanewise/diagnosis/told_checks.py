"""Checks that a person's own words tell of, with what they showed: offers only, the person chooses.

A check is offered where words say that it was done, with the outcome told beside it or in the pieces right after it, or
where words tell of check and outcome in one (*coupling sheared*). What was not done, is planned, asked or only supposed
is not offered. Of several outcomes told, the gravest. The instrument is named where exactly one is. A check that is
answered by numbers is offered with the numbers it needs, and never with a result.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Final, NamedTuple

import msgspec

from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.same_words import ALIKE
from vanewise.diagnosis.sayings import SAID
from vanewise.diagnosis.sayings_of_checks import GROUPS, NUMBERS, TOLD_CHECKS
from vanewise.diagnosis.spelling import Speller, without_ending

__all__ = ["GRADE_TOLD", "MOST_CHECKS", "ToldCheck", "told_checks"]

GRADE_TOLD: Final = 0
"""Grade of evidence a told result is offered with: a thing told is not a thing measured. Who did it may raise it."""
MOST_CHECKS: Final = 2
"""Checks offered for one piece of what was said."""
_GAP: Final = 3
"""Most words between two words of a phrase (judgement)."""
_REACH: Final = 3
"""Pieces after the one that tells what was done, in which its outcome is looked for (judgement)."""


class ToldCheck(msgspec.Struct, frozen=True, kw_only=True):
    """A check that words seem to tell of, and what it showed."""

    id: str
    words: str
    outcome: str = ""
    """Outcome that was told; empty where none was, and for a check that is answered by numbers."""
    outcome_words: str = ""
    about: str = ""
    """Kind of the one instrument that was named, for a check at one instrument."""
    numbers: str = ""
    """What must be entered before the check says anything; empty for a check that is answered in words."""
    first: int = 0
    """Place of the piece that tells of it among the pieces of the text."""
    last: int = 0
    """Place of the piece that tells what it showed."""


_FIXED: Final[tuple[tuple[str, str], ...]] = (
    (r"(won|can|doesn|don|didn|isn|wasn|aren|couldn|wouldn|hasn|haven|hadn|weren|shouldn)['\u2019]?t\b", "not"),
    (r"cannot|can not", "not"),
    (r"\w+'ll\b", "will"),
    (r"gonna|wanna", "will"),
    (r"\b(artificial horizon|attitude (indicator|gyro)|gyro horizon|horizon gyro|attitude|a/?i)s?\b", "horizon"),
    (
        r"\b(direction(al)? (gyro|indicator)|heading (indicator|gyro)|compass (gyro|card)|gyro compass)s?\b",
        "heading",
    ),
    (r"\b(d/?g|d/?i|hsi)s?\b", "heading"),
    (r"\bhorizons\b", "horizon"),
    (r"\bturn (and bank|co-?ordinator|indicator|needle|instrument)\b", "turnneedle"),
    (r"\b(auto ?-?pilot|a/p)\b", "autopilot"),
    (r"\b(stand|back)[ -]?(by|up)( (vacuum|vac|pump|source|system))?\b(?! to)", "standby"),
    (r"\bstby\b", "standby"),
    (r"\bin[ -]line\b", "inline"),
    (r"\brun[ -]?up\b", "runup"),
    (r"\bran (it |the engine |her |him )?up\b", "ran engine through"),
    (r"\bvacuum pump|vac pump|air pump|dry pump|suction pump\b", "pump"),
    (r"\b(relief|suction|vacuum|vac) (valve|regulator)\b", "regulator"),
    (r"\b(firewall|cross) shut", "shut"),
    (r"\bwent over\b", "went-over"),
    (r"\bknown[- ](good|to be good)\b", "known"),
    (r"-(?!over)", " "),
)
"""What is made one word before phrases are looked for."""


def _set(words: str) -> frozenset[str]:
    return frozenset(re.findall(r"\S+", words))


_LEFT_OUT: Final = _set("a an the is are was were be been it's its our my your their his her this that we i")
_NOT: Final = _set("not no never without nobody none neither nor haven hasn")
_PLANNED: Final = _set(
    "going will plan planning planned intend intending want wants wanted should shall must could need needs next "
    "tomorrow ordered if unless please advised suggest suggested recommend recommended recommends propose consider "
    "considering thinking tempted let hope hoping might ought later would yet advises"
)
_SUPPOSED: Final = _set(
    "if think thinks maybe perhaps probably suspect suspected suspects guess might could may possibly wonder whether "
    "unless fear afraid expect should would thought"
)
_TO_DO: Final = re.compile(r"\b(?:have|has|had|still|about|meaning|meant|able|due|mean|time|how|remains|left) to\b")
_BREAKS: Final = _set("so because since until therefore hence after as although though")
"""Words after which a denial or plan said before no longer counts."""
_GYROS: Final = {
    "horizon": "attitude indicator",
    "heading": "heading indicator",
    "turnneedle": "turn indicator",
}
_WORD: Final = re.compile(r"went-over|[a-z]+|\d+(?:\.\d+)?")


class _Phrase(NamedTuple):
    words: tuple[frozenset[str], ...]
    must_show: bool
    runs_on: bool

    def possible(self, forms: frozenset[str]) -> bool:
        """False where a word of it is nowhere among ``forms``."""
        return not any(alternatives.isdisjoint(forms) for alternatives in self.words)


class _Word(NamedTuple):
    """One word of the text: its stem, as written, and its place in the pieces."""

    stem: str
    raw: str
    piece: int

    def among(self, alternatives: frozenset[str]) -> bool:
        return self.stem in alternatives or f"={self.raw}" in alternatives


class _Found(NamedTuple):
    check: str
    at: tuple[int, ...]
    """Places of the words that matched."""
    must_show: bool = False
    outcome: str = ""


def _alternatives(word: str) -> frozenset[str]:
    found: set[str] = set()
    for one in word.split("/"):
        found |= (
            _alternatives(GROUPS[one[1:]])
            if one.startswith("@")
            else {one if one.startswith("=") else without_ending(one)}
        )
    return frozenset(found)


def _phrase(text: str) -> _Phrase:
    words = tuple(_alternatives(word) for word in text.lstrip("~+").split())
    return _Phrase(words, text.startswith("~"), text.startswith("+"))


_LOOKED: Final = _alternatives("@look/@feel/searched/hunted/listened/sprayed/soaped")


class _Ways(NamedTuple):
    done: tuple[_Phrase, ...]
    says: tuple[tuple[str, tuple[_Phrase, ...]], ...]
    tells: tuple[tuple[str, tuple[_Phrase, ...]], ...]


@lru_cache(maxsize=1)
def _ways() -> dict[str, _Ways]:
    """Check -> its phrases; outcomes from mild to grave."""
    found = {}
    for check, told in TOLD_CHECKS.items():
        order = [outcome.id for outcome in CHECKS[check].outcomes]
        found[check] = _Ways(
            tuple(map(_phrase, told.done)),
            tuple((one, tuple(map(_phrase, told.says[one]))) for one in order if one in told.says),
            tuple((one, tuple(map(_phrase, told.tells[one]))) for one in order if one in told.tells),
        )
    return found


@lru_cache(maxsize=1)
def _speller() -> Speller:
    phrases = [phrase for told in TOLD_CHECKS.values() for phrase in told.done]
    for told in TOLD_CHECKS.values():
        phrases += [phrase for ways in (*told.says.values(), *told.tells.values()) for phrase in ways]
    others = [phrase for said in SAID.values() for phrase in said]
    known = [*phrases, *GROUPS.values(), *others, *ALIKE, *ALIKE.values(), *_PLANNED, *_SUPPOSED, *_NOT, *_BREAKS]
    return Speller((word for text in known for word in re.findall(r"[a-z]+", text.lower())), without_ending)


def _plain(piece: str) -> str:
    told = _speller().mended(re.sub(r"\b([a-z])\.([a-z])\b\.?", r"\1\2", f" {piece.lower()} "))
    for pattern, one in _FIXED:
        told = re.sub(pattern, one, told)
    return told


def _words(pieces: Sequence[str]) -> list[_Word]:
    return [
        _Word(without_ending(raw), raw, number)
        for number, piece in enumerate(pieces)
        for raw in _WORD.findall(_plain(piece))
        if raw not in _LEFT_OUT
    ]


def _matches(phrase: _Phrase, text: _Text, within: range) -> Iterable[tuple[int, ...]]:
    """Where the phrase stands in order among the words of ``text``, gaps allowed, no denial skipped."""
    if not phrase.possible(text.forms):
        return
    words = text.words
    for start in within:
        if not words[start].among(phrase.words[0]):
            continue
        at = [start]
        for alternatives in phrase.words[1:]:
            after = at[-1] + 1
            here = next(
                (n for n in range(after, min(after + _GAP + 1, within.stop)) if words[n].among(alternatives)), None
            )
            if here is None or any(words[n].stem in _NOT for n in range(after, here)):
                break
            at.append(here)
        else:
            yield tuple(at)


def _denied_before(words: Sequence[_Word], at: tuple[int, ...]) -> bool:
    """True when a denying word stands one or two words before, in the same piece."""
    start = at[0]
    return any(words[n].stem in _NOT for n in range(max(0, start - 2), start) if words[n].piece == words[start].piece)


def _looked_for(words: Sequence[_Word], at: tuple[int, ...]) -> bool:
    """True for what is said to have been looked for: 'looked over the hoses for cracks' has found none yet."""
    before = [words[n] for n in _before(words, at[0])]
    return bool(before) and any(word.raw == "for" for word in before[-3:]) and any(w.among(_LOOKED) for w in before)


def _before(words: Sequence[_Word], start: int) -> range:
    """The words of the piece before ``start``, back to one that breaks the sense."""
    first = start
    while first > 0 and words[first - 1].piece == words[start].piece and words[first - 1].stem not in _BREAKS:
        first -= 1
    return range(first, start)


def _piece_range(words: Sequence[_Word], piece: int) -> range:
    places = [n for n, word in enumerate(words) if word.piece == piece]
    return range(places[0], places[-1] + 1) if places else range(0)


class _Text:
    """The words of a text, with what is planned, asked and denied in it."""

    def __init__(self, text: str, pieces: Sequence[str]) -> None:
        self.pieces = pieces
        self.words = _words(pieces)
        self.forms = frozenset(form for word in self.words for form in (word.stem, f"={word.raw}"))
        self.sentence, self.asked = self._ends(text)
        self.ranges = [_piece_range(self.words, number) for number in range(len(pieces))]

    def _ends(self, text: str) -> tuple[list[int], set[int]]:
        """Number of the sentence of each piece, and the pieces that ask."""
        place, sentence = 0, 0
        sentences: list[int] = []
        asked: set[int] = set()
        for number, piece in enumerate(self.pieces):
            start = text.find(piece, place)
            between = text[place:start]
            sentence += number > 0 and bool(re.search(r"[.;!?\n]", between))
            sentences.append(sentence)
            place = start + len(piece)
            if text[place : place + 3].lstrip().startswith("?"):
                asked.add(number)
        return sentences, asked

    def sentence_range(self, piece: int) -> range:
        same = [r for n, r in enumerate(self.ranges) if self.sentence[n] == self.sentence[piece] and len(r)]
        return range(min(r.start for r in same), max(r.stop for r in same)) if same else range(0)

    def only_gyros(self, piece: int) -> bool:
        """True when a piece names instruments and says nothing else."""
        return bool(self.ranges[piece]) and all(self.words[n].raw in _GYROS for n in self.ranges[piece])

    def planned(self, at: tuple[int, ...], used: frozenset[int]) -> bool:
        """True when what is said at these places was denied, is planned or asked."""
        piece = self.words[at[0]].piece
        if piece in self.asked:
            return True
        before = _before(self.words, at[0])
        inside = [n for n in range(at[0], at[-1]) if n not in at]
        if any(self.words[n].raw in _NOT and n not in used for n in (*before, *inside)):
            return True
        if any(self.words[n].raw in _PLANNED for n in before):
            return True
        text = " ".join(self.words[n].raw for n in (*before, at[0]))
        if _TO_DO.search(text) or (piece and text.startswith("to ")):  # 'have yet to look' is cut at 'yet'
            return True
        ends = range(at[-1] + 1, self.ranges[self.words[at[-1]].piece].stop)
        if any(self.words[n].raw in ("tomorrow", "next", "yet") for n in ends):
            return True
        return self._goes_on(piece, at[0])

    def _goes_on(self, piece: int, start: int) -> bool:
        """True when the piece begins with the very thing and goes on with a plan or denial of the piece before."""
        if piece == 0 or self.sentence[piece - 1] != self.sentence[piece] or start != self.ranges[piece].start:
            return False
        raw = self.words[start].raw
        if raw.endswith(("ed", "ing")) or raw not in _BARE:
            return False
        return any(self.words[n].raw in _PLANNED | _NOT for n in self.ranges[piece - 1])

    def supposed(self, at: tuple[int, ...]) -> bool:
        piece = self.words[at[0]].piece
        before = _before(self.words, at[0])
        return piece in self.asked or any(self.words[n].raw in _SUPPOSED | _NOT for n in before)


_BARE: Final = _set(
    "look check inspect examine squeeze bend twist flex pinch feel swap exchange replace change substitute borrow try "
    "turn spin rotate pull take remove open strip hook hang tee compare cover block cap plug blank measure count trace "
    "follow run test press push soap spray clean wipe put cut read note write shut"
)
"""Verbs as a plan goes on with them: 'going to swap the gauge and squeeze the hoses'."""


def _outcome(text: _Text, ways: _Ways, pieces: Iterable[int], skip: frozenset[int]) -> tuple[str, int, frozenset[int]]:
    """Gravest outcome said in the first of these pieces that says any, that piece, and the words used.

    A phrase that lies within a longer one says nothing: 'thin soot' is no 'soot'.
    """
    for piece in pieces:
        said = [
            (outcome, frozenset(at))
            for outcome, phrases in (*ways.says, *ways.tells)
            for phrase in phrases
            for at in _matches(phrase, text, text.ranges[piece])
            if not set(at) <= skip and not _denied_before(text.words, at) and not _looked_for(text.words, at)
        ]
        whole = [(outcome, at) for outcome, at in said if not any(at < other for _, other in said)]
        if whole:
            order = [outcome for outcome, _ in ways.says]
            best = max((outcome for outcome, _ in whole), key=order.index)
            return best, piece, frozenset().union(*(at for _, at in whole))
    return "", -1, frozenset()


def _done(text: _Text) -> list[_Found]:
    """Where words say that a check was done, the longest ways of saying it."""
    found: list[_Found] = []
    for check, ways in _ways().items():
        best: dict[int, _Found] = {}
        for piece in range(len(text.pieces)):
            whole = text.sentence_range(piece)
            own = text.ranges[piece]
            for phrase in ways.done:
                for at in _matches(phrase, text, range(own.start, (whole if phrase.runs_on else own).stop)):
                    if at[0] >= own.stop:
                        break
                    kept = best.get(piece)
                    if kept is None or (len(at), not phrase.must_show) > (len(kept.at), not kept.must_show):
                        best[piece] = _Found(check, at, phrase.must_show)
        found += best.values()
    return found


def told_checks(text: str, pieces: Sequence[str]) -> tuple[ToldCheck, ...]:
    """The checks that ``text``, cut into ``pieces``, tells of, in the order told. Same text, same offers."""
    whole = _Text(text, pieces)
    acts = _done(whole)
    offers: list[tuple[tuple[int, ...], ToldCheck, float]] = []
    starts = {piece: [act for act in acts if whole.words[act.at[0]].piece == piece] for piece in range(len(pieces))}
    for act in acts:
        ways = _ways()[act.check]
        first, end = whole.words[act.at[0]].piece, whole.words[act.at[-1]].piece
        after = _pieces_after(whole, act, first, end, starts)
        outcome, last, used = _outcome(whole, ways, after, frozenset(act.at))
        if whole.planned(act.at, used) or (act.must_show and not outcome):
            continue
        offers.append(
            (act.at, _made(whole, act.check, outcome, first, max(end, last)), len(act.at) + (1.5 if outcome else 0))
        )
    offers += _telling(whole)
    return _chosen(whole, offers)


def _pieces_after(text: _Text, act: _Found, first: int, end: int, starts: dict[int, list[_Found]]) -> list[int]:
    """The pieces in which the outcome of what was done may be told: its own, and those after, up to another check."""
    found = list(range(first, end + 1))
    for piece in range(end + 1, min(end + 1 + _REACH, len(text.pieces))):
        others = [one for one in starts[piece] if one.check != act.check and not one.must_show]
        if text.sentence[piece] > text.sentence[end] + 1 or others:
            break
        found.append(piece)
    return found


def _telling(text: _Text) -> list[tuple[tuple[int, ...], ToldCheck, float]]:
    found = []
    for check, ways in _ways().items():
        for piece in range(len(text.pieces)):
            best: tuple[tuple[int, ...], str] | None = None
            for outcome, phrases in ways.tells:
                for phrase in phrases:
                    for at in _matches(phrase, text, text.ranges[piece]):
                        if not text.supposed(at):
                            best = (at, outcome)
            if best is not None:
                found.append((best[0], _made(text, check, best[1], piece, piece), len(best[0]) + 1.0))
    return found


def _made(text: _Text, check: str, outcome: str, first: int, last: int) -> ToldCheck:
    known = CHECKS[check]
    numbers = NUMBERS.get(known.kind, "")
    outcome = "" if numbers else outcome
    words = {one.id: one.words for one in known.outcomes}
    return ToldCheck(
        id=check,
        words=known.name,
        outcome=outcome,
        outcome_words=words.get(outcome, ""),
        about=_about(text, first, last) if known.at_instrument else "",
        numbers=numbers,
        first=first,
        last=last,
    )


def _about(text: _Text, first: int, last: int) -> str:
    """Kind of the one instrument named where it is told, else in the piece before; nothing where two are."""
    while last + 1 < len(text.pieces) and text.only_gyros(last + 1):  # 'capped the horizon and the heading indicator'
        last += 1
    for pieces in (range(first, last + 1), range(max(0, first - 1), first)):
        named = {word.raw for word in text.words if word.piece in pieces} & set(_GYROS)
        if named:
            return _GYROS[named.pop()] if len(named) == 1 else ""
    return ""


def _chosen(text: _Text, offers: Iterable[tuple[tuple[int, ...], ToldCheck, float]]) -> tuple[ToldCheck, ...]:
    """Of offers that rest on the same words the best one; each check once at each instrument."""
    kept: list[tuple[tuple[int, ...], ToldCheck, float]] = []
    for at, offer, weight in sorted(offers, key=lambda one: (-one[2], one[0], one[1].id)):
        clash = any(set(at) & set(other) and weight < best for other, _, best in kept)
        again = any(
            offer.id == one.id and offer.about == one.about and abs(offer.first - one.last) <= 1 for _, one, _ in kept
        )
        crowded = sum(offer.first == one.first for _, one, _ in kept) >= MOST_CHECKS
        if not (clash or again or crowded):
            kept.append((at, offer, weight))
    return tuple(sorted((offer for _, offer, _ in kept), key=lambda one: (one.first, one.last)))
