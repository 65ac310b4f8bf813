"""What sound systems do and people report: said where 'nothing wrong' may be the answer, with what would speak of a
fault after all.

Common practice, no source, but for the earth's turning, which is geometry: 15 degrees an hour times the sine of the
latitude.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from vanewise.diagnosis.evidence import Prepared
from vanewise.diagnosis.modes import NOTHING_WRONG
from vanewise.diagnosis.types import Cause

_WORTH_SAYING: Final = 0.10
"""Probability of 'nothing wrong' from which it is said what sound systems do (judgement)."""
_AT_IDLE: Final = (
    "At idle the pump turns too slowly to hold the gauge in its band, and a lamp may flicker. It is a fault where it "
    "did not use to be so, or where either is still so at run-up speed."
)
_TURN: Final = (
    "A few degrees after a steep or long turn that go within a minute or so are the way such gyros are made. It is "
    "a fault where it stays, grows, or is there after level flight."
)
_NORMAL: Final[Mapping[str, str]] = MappingProxyType(
    {
        "lamp_flickers_at_idle": _AT_IDLE,
        "gauge_low_idle": _AT_IDLE,
        "gauge_low_at_altitude": (
            "In thin air every pump moves less, and a gauge may sag with height. Compare with what it showed there "
            "before."
        ),
        "ai_precesses_after_turn": _TURN,
        "hi_error_after_turns": _TURN,
        "ai_late_erect_cold": (
            "A cold gyro takes longer to come up. It is a fault where it takes longer than it used to in such cold, or "
            "than its manual says."
        ),
        "hi_drifts": (
            "The earth's turning alone takes a heading indicator off by 15 degrees an hour times the sine of the "
            "latitude, where the instrument is not corrected for it, and flight to east or west adds to that. Time it "
            "over a quarter of an hour in level flight, and take that off."
        ),
        "soot_thin": "A dry pump wears its vanes: a thin film of soot at the outlet is its daily work, a heap is not.",
        "filter_grey": "A filter greys in use. What counts is whether the gauge rises when it is taken out.",
    }
)


def said(found: Sequence[Cause], prepared: Prepared) -> list[str]:
    """What of the remarks sound systems do as well, each once; nothing where 'nothing wrong' is out of the question."""
    if not any(cause.id == NOTHING_WRONG.id and cause.probability >= _WORTH_SAYING for cause in found):
        return []
    named = {item.symptom for group in prepared.remarks for item in group.items if item.present}
    return list(dict.fromkeys(words for symptom, words in _NORMAL.items() if symptom in named))
