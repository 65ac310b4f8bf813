"""From a person's own words to the words of evidence: suggestions only, the person chooses.

A text is cut into clauses; each is held against the symptoms, the events and the ways people say them, with a
maintained library for fuzzy matching. What matches nothing stays a note, word for word. A match is by likeness of
words, not of meaning: "does not lean" is close to "leans", which is one more reason why nothing is taken over unasked.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Final, Literal

import msgspec
from rapidfuzz import fuzz, process, utils

from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS

CLOSE: Final = 72.0
"""Likeness, 0 to 100, from which a word is suggested (judgement, tried on the sentences of the tests)."""
MOST: Final = 4
"""Suggestions for one clause."""

SAID: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "ai_tumbles": ("horizon tumbled", "horizon fell over", "attitude gyro toppled", "artificial horizon toppled"),
        "ai_leans": ("horizon leans", "horizon shows a bank in level flight", "attitude gyro a few degrees off"),
        "ai_pitch_error": ("horizon shows nose up in level flight", "horizon shows nose down in level flight"),
        "ai_slow_erect": ("horizon slow to come up", "horizon takes minutes to erect", "attitude gyro slow to level"),
        "ai_late_erect_cold": ("horizon slow on cold mornings",),
        "ai_precesses_after_turn": ("horizon wrong after turns", "horizon slow to recover after a turn"),
        "ai_jitters": ("horizon shakes", "horizon vibrates"),
        "ai_flag": ("off flag on the horizon", "red flag on the attitude gyro"),
        "ai_noise": ("horizon grinds", "horizon whines", "attitude gyro loud"),
        "ai_coast_short": ("horizon runs down quickly", "attitude gyro stops at once after shutdown"),
        "hi_drifts": ("directional gyro drifts", "compass gyro precesses", "heading off by ten degrees", "DG drifts"),
        "hi_sudden_jump": ("directional gyro jumps", "heading jumps"),
        "hi_spins": ("directional gyro spins", "heading card goes round"),
        "hi_sluggish": ("directional gyro sticky", "heading card sticks"),
        "hi_not_settable": ("directional gyro cannot be set", "heading knob does nothing"),
        "hi_error_after_turns": ("directional gyro wrong after turns",),
        "hi_noise": ("directional gyro noisy", "directional gyro grinds"),
        "hi_coast_short": ("directional gyro runs down quickly",),
        "turn_needle_sluggish": ("turn indicator slow", "turn needle lazy"),
        "gauge_low_idle": ("suction low at idle", "vacuum low at idle", "pressure low at idle", "low at taxi"),
        "gauge_low_run_up": ("suction low at run-up", "vacuum low at run-up", "below the band on the run-up"),
        "gauge_low_cruise": ("suction low in cruise", "vacuum low in flight", "gyro pressure low"),
        "gauge_low_at_altitude": ("suction drops as we climb", "vacuum low up high", "sags at altitude"),
        "gauge_high": ("suction high", "vacuum too high", "above the band"),
        "gauge_high_run_up": ("suction high at run-up",),
        "gauge_zero": ("no suction", "no vacuum", "suction zero", "vacuum gauge at zero", "no pressure"),
        "gauge_below_zero": ("needle below zero", "reads backwards"),
        "gauge_fluctuates": ("needle wanders", "suction needle bounces", "vacuum fluctuates", "reading not steady"),
        "gauge_slow_rise": ("suction comes up slowly", "slow to build after start"),
        "gauge_frozen": ("needle stuck", "suction gauge does not move"),
        "gauge_climbs_with_rpm": ("suction rises with power", "vacuum goes up with rpm"),
        "gauge_stays_up_at_shutdown": ("needle stays up after shutdown",),
        "gauge_off_its_stop": ("needle not on zero with the engine off",),
        "gyros_strong_with_gauge_low": ("gyros work although the gauge is low", "instruments fine but gauge at zero"),
        "good_alone_bad_together": ("each gyro fine by itself", "fine with the other one capped"),
        "fault_went_with_instrument": ("swapped it and the fault moved with it",),
        "worse_when_hot": ("only when hot", "fine on the ground bad in hot cruise"),
        "right_again_once_warm": ("only on cold start", "fine once warm"),
        "lamp_on": ("low vacuum light on", "low suction lamp on", "vacuum warning light in flight", "vac light"),
        "lamp_slow_to_go_out": ("vacuum light goes out late", "low suction light stays on at taxi"),
        "lamp_flickers_at_idle": ("vacuum light flickers at idle",),
        "lamp_dark_on_test": ("light does not come on when pressed",),
        "stopped_suddenly": ("vacuum pump failed", "lost vacuum suddenly", "suction quit", "pump quit in flight"),
        "hiss_heard": ("hissing behind the panel", "air leak heard"),
        "oil_at_drain": ("oil under the pump", "oil dripping from the pump drain"),
        "oil_on_belly": ("oil on the belly", "oil streak under the cowl"),
        "soot_heavy": ("black dust from the pump", "carbon at the outlet", "black powder in the elbow"),
        "soot_thin": ("a little black dust at the outlet",),
        "pump_hot": ("pump blue from heat", "pump too hot to touch"),
        "pump_noise": ("pump rattles", "pump howls"),
        "hose_soft": ("spongy hose", "hose gone soft"),
        "hose_cracked": ("hard and cracked hose", "perished hose"),
        "hose_kinked": ("kinked hose", "flattened hose"),
        "hose_found_off": ("hose had come off", "loose hose found disconnected"),
        "nest_in_outlet": ("mud in the outlet", "insect nest in the outlet"),
        "filter_grey": ("dirty filter", "grey filter"),
        "filter_wet": ("wet filter", "water in the filter"),
        "filter_tarred": ("filter full of cigarette tar",),
        "filter_missing": ("no filter fitted", "filter left out"),
        "inline_filter_black": ("in-line filter black", "filter full of carbon"),
        "foam_crumbs": ("regulator foam crumbling", "garter filter falling apart"),
        "ap_wanders": ("autopilot hunts", "autopilot wanders", "autopilot will not track"),
        "ap_rolls_off": ("autopilot rolled into a bank", "autopilot turns by itself"),
        "ap_heading_wanders": ("autopilot does not hold heading",),
        "ap_disconnects": ("autopilot drops out", "autopilot kicks off"),
        "ap_slow_to_level": ("autopilot slow to level the wings",),
        "pump_changed": ("new vacuum pump", "pump replaced"),
        "gyro_changed": ("horizon overhauled", "directional gyro overhauled", "gyro came back from overhaul"),
        "regulator_adjusted": ("regulator turned up", "suction was adjusted"),
        "intake_filter_changed": ("new central filter",),
        "hose_changed": ("new hoses",),
        "washed": ("engine wash", "degreased the engine"),
        "long_parking": ("sat for months", "not flown for a long time"),
        "rain": ("flew in rain", "parked in heavy rain"),
        "smoked_in_cabin": ("people smoke in it",),
        "propeller_turned_backwards": ("prop pulled backwards", "engine kicked back"),
    }
)
"""Ways people say it. Trade words and plain ones; nobody's product."""


class Suggestion(msgspec.Struct, frozen=True, kw_only=True):
    """One word of evidence that may be meant. ``likeness`` runs from 0 to 100 and is no probability."""

    id: str
    kind: Literal["symptom", "event"]
    words: str
    likeness: float


class Clause(msgspec.Struct, frozen=True, kw_only=True):
    """A piece of what was written, and what it may mean; nothing suggested means that it stays a note."""

    text: str
    suggestions: tuple[Suggestion, ...]


@lru_cache(maxsize=1)
def _phrases() -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Every phrase and the word it stands for, in a fixed order."""
    pairs = [(symptom.words, symptom.id) for symptom in SYMPTOMS.values()]
    pairs += [(event.words, event.id) for event in EVENTS.values()]
    pairs += [(phrase, word) for word, said in SAID.items() for phrase in said]
    return tuple(utils.default_process(phrase) for phrase, _ in pairs), tuple(word for _, word in pairs)


_CUT: Final = re.compile(r"[.;,:!?\n]+|\band then\b|\band\b|\bbut\b|\bthen\b|\bwhile\b", re.IGNORECASE)


def clauses(text: str) -> tuple[str, ...]:
    """The text cut where people take a breath; empty pieces left out."""
    return tuple(piece.strip() for piece in _CUT.split(text) if len(piece.strip()) > 2)


def suggest(text: str) -> tuple[Clause, ...]:
    """What each clause of ``text`` may mean, best first. Same text, same suggestions."""
    return tuple(Clause(text=clause, suggestions=_suggestions(clause)) for clause in clauses(text))


def _suggestions(clause: str) -> tuple[Suggestion, ...]:
    phrases, words = _phrases()
    found: dict[str, float] = {}
    for _, likeness, place in process.extract(
        clause, phrases, scorer=_likeness, processor=utils.default_process, score_cutoff=CLOSE, limit=None
    ):
        word = words[place]
        found[word] = max(found.get(word, 0.0), float(likeness))
    order = sorted(found, key=lambda word: (-found[word], word))
    return tuple(_made(word, found[word]) for word in order[:MOST])


def _likeness(left: str, right: str, *, score_cutoff: float | None = None, **_: object) -> float:
    """Word order aside, and how much of the phrase is there: a clause may say more than the phrase does."""
    whole = fuzz.token_sort_ratio(left, right)
    held = fuzz.token_set_ratio(left, right)
    score = 0.5 * (whole + held)
    return score if score >= (score_cutoff or 0.0) else 0.0


def _made(word: str, likeness: float) -> Suggestion:
    if word in SYMPTOMS:
        return Suggestion(id=word, kind="symptom", words=SYMPTOMS[word].words, likeness=round(likeness, 1))
    return Suggestion(id=word, kind="event", words=EVENTS[word].words, likeness=round(likeness, 1))


def unmatched(found: Iterable[Clause]) -> tuple[str, ...]:
    """Clauses that nothing is close to: kept as notes, word for word."""
    return tuple(clause.text for clause in found if not clause.suggestions)
