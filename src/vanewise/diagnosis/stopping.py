"""When to stop asking, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from vanewise import chances
from vanewise.diagnosis import confirming, safety, words
from vanewise.diagnosis.modes import NOTHING_WRONG
from vanewise.diagnosis.types import BeforeAnother, Cause, NextCheck
from vanewise.wording import listed

STOP_AT: Final = 0.95
"""A repair this probable is enough to act on (judgement)."""


def stop_words(
    by_repair: Mapping[str, float],
    first: Cause,
    checks: Sequence[NextCheck],
    asked: bool,
    found: Sequence[Cause] = (),
    *,
    cautioned: bool = False,
    gauge_proved: bool = False,
) -> str:
    """Why to stop asking, or nothing. ``asked`` tells whether checks were looked for at all, ``found`` are all causes.

    A dead pump is no end of the question: what killed it kills the next one. Nor is it one that no fault was told of,
    while something must not wait (``cautioned``) or the panel gauge may read right over weak air (no ``gauge_proved``).
    """
    family, probability = next(iter(by_repair.items()))
    dead = safety.dead_pump_words(found)
    if dead:
        return dead
    if first.confirmed:
        known = f"{first.name} was {confirming.how(first.confirmed_by)}"
        return f"{known}: repair it, prove it, and watch whether anything is left."
    if no_fault_left(by_repair, first) and gauge_proved and not cautioned:
        told = f"nothing to repair by what was told, {chances.about(probability)}"
        return f"{told}: {words.NO_FINDING}. {words.NOTHING_LEFT}"
    if probability >= STOP_AT and family not in ("none", NOTHING_WRONG.family) and not first.count_is_rough:
        return (
            f"enough to act on: {words.REPAIRS[family]}, {chances.about(probability)}. Look at the part itself before "
            f"it is replaced.{safety.killer_unseen(found)}"
        )
    if asked and not checks:
        apart = "no check known here tells the rest apart"
        if first.id != NOTHING_WRONG.id:
            return f"{apart}: act on the harmless and cheap repair first, then read again."
        return f"{apart}: see to what must not wait." if cautioned else f"{apart}. {words.NOTHING_LEFT}"
    return ""


def no_fault_left(by_repair: Mapping[str, float], first: Cause) -> bool:
    """True when hardly anything but no fault is left by what was told."""
    return by_repair.get(NOTHING_WRONG.family, 0.0) >= STOP_AT and not first.count_is_rough


def not_yet(stop: str, questions: Sequence[BeforeAnother]) -> str:
    """Enough to act on is not enough to fit another: said where both stand."""
    if not stop or not questions:
        return stop
    told = listed([f"another {question.id}" for question in questions], "or")
    return f"{stop} What to look at before {told} is fitted stands below."
