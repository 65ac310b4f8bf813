"""Fittings that keep their orientation: clock angles, and the turn from hand-tight to where the elbow must point.

Angles are in degrees on a clock face, 12 o'clock 0, clockwise positive, looking at the port; a fitting tightens
clockwise as seen so. Every record states its zero and viewpoint.
"""

from __future__ import annotations

import re
from typing import Final

import msgspec

from vanewise.errors import Problem, wrong
from vanewise.provenance import COMMON_PRACTICE, Source, Value
from vanewise.work.types import FittingRecord

LIMIT_TURNS: Final = Value(
    number=1.0,
    dimension="ratio",
    standing="common practice, no source",
    source=COMMON_PRACTICE,
    note="turns past hand-tight, usually less is needed; the manual's own figure overrides it",
)
NEVER_BEYOND_TURNS: Final = 2.0
"""Common practice, no source: some makers allow more than one turn, two are never passed."""
_CLOCK: Final = re.compile(r"^\s*(\d{1,2})(?::(\d{2}))?\s*(?:o'?clock)?\s*$")


def clock_deg(text: str) -> float:
    """Degrees of a clock position such as ``4 o'clock`` or ``7:30``. Raises :class:`InputError`."""
    match = _CLOCK.match(text.lower())
    hour, minute = (int(match[1]), int(match[2] or 0)) if match else (0, 0)
    if match is None or not 1 <= hour <= 12 or minute > 59:
        raise wrong("clock position", 'an hour from 1 to 12, like "4 o\'clock" or "7:30"', f'"{text}"', "read it again")
    return (hour % 12) * 30.0 + minute * 0.5


def clock_words(degrees: float) -> str:
    """The clock position of an angle, to the nearest quarter of an hour."""
    quarters = round((degrees % 360.0) / 7.5) % 48
    hour, part = divmod(quarters, 4)
    return f"{hour or 12} o'clock" if part == 0 else f"{hour or 12}:{part * 15:02d} o'clock"


class Turn(msgspec.Struct, frozen=True, kw_only=True):
    """From hand-tight to the recorded orientation: how far, whether that is allowed, and what to do."""

    turns: float
    allowed: bool
    words: str


def turn_needed(hand_tight_deg: float, target_deg: float, limit: Value = LIMIT_TURNS) -> Turn:
    """The clockwise turn that brings a hand-tight fitting to its orientation, never backwards.

    Between 0 (excluded: a fitting left hand-tight is not tight) and 1 turn. Raises :class:`InputError` for a limit
    beyond two turns.
    """
    _check_limit(limit)
    turns = ((target_deg - hand_tight_deg) % 360.0) / 360.0
    turns = 1.0 if turns < 1e-9 or turns > 1.0 - 1e-9 else turns
    allowed = turns <= limit.number + 1e-9
    words = f"{_eighths(turns)} turn past hand-tight, to {clock_words(target_deg)}"
    if not allowed:
        words += (
            f": more than the limit of {limit.number:g} ({limit.source}). Take it out, clean it, and use another elbow "
            "or adapter; never back off to reach an angle"
        )
    return Turn(turns=turns, allowed=allowed, words=words)


def _eighths(turns: float) -> str:
    """Turns to the nearest eighth, as people say it."""
    eighths = max(1, round(turns * 8))
    whole, rest = divmod(eighths, 8)
    names = {0: "", 1: "1/8", 2: "1/4", 3: "3/8", 4: "1/2", 5: "5/8", 6: "3/4", 7: "7/8"}
    return " ".join(filter(None, (str(whole) if whole else "", names[rest])))


def _check_limit(limit: Value) -> None:
    if not 0.0 < limit.number <= NEVER_BEYOND_TURNS:
        raise wrong(
            "limit of turns past hand-tight",
            f"above 0 and at most {NEVER_BEYOND_TURNS:g} turns",
            f"{limit.number:g}",
            "read the manual's figure again",
        )


def own_limit(turns: float, manual: str) -> Value:
    """The manual's own limit of turns past hand-tight. Raises :class:`InputError` beyond two, or without a source."""
    if not manual.strip():
        raise wrong("limit of turns", "the manual and page it stands in", "no source", "write where it was read")
    limit = Value(number=turns, dimension="ratio", standing="own manual", source=Source(manual.strip()))
    _check_limit(limit)
    return limit


def turn_problem(record: FittingRecord, turns: float) -> Problem | None:
    """Why a fitting as turned cannot stay: over the limit, backed off, or never tightened."""
    limit = record.limit_turns or LIMIT_TURNS
    if turns <= 0.0:
        return Problem(
            where=f"fitting {record.id}",
            expected="a turn past hand-tight, clockwise",
            found=f"{turns:g} turns",
            next_step="a fitting backed off or left hand-tight leaks: take it out, clean it and start again",
        )
    if turns > limit.number + 1e-9:
        return Problem(
            where=f"fitting {record.id}",
            expected=f"at most {limit.number:g} turn past hand-tight ({limit.source})",
            found=f"{turns:g} turns",
            next_step="stop and do not back off; look for a crack at the port, use another elbow or adapter",
        )
    return None


_REJECTED: Final = {
    "rounded flats": "replace the fitting: a wrench will not hold it again",
    "cracked": "replace the fitting, and look at its port with a lamp",
    "port cracked": "reject the body it sits in",
}


def condition_problem(record: FittingRecord) -> Problem | None:
    """Why a fitting as seen cannot stay: rounded flats, or a crack in it or in its port."""
    if record.condition not in _REJECTED:
        return None
    return Problem(
        where=f"fitting {record.id}",
        expected="whole flats, no crack in it or in its port",
        found=record.condition,
        next_step=_REJECTED[record.condition],
    )


def records(ports: tuple[tuple[str, str], ...], limit: Value | None = None) -> tuple[FittingRecord, ...]:
    """Blank records for the fittings at ``ports``, each (id, ``part.port``)."""
    return tuple(FittingRecord(id=fitting, port=port, limit_turns=limit or LIMIT_TURNS) for fitting, port in ports)
