"""What sound systems do and people report: said where no fault may be the answer, with what would speak of one after
all.

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
"""Probability of no fault by what was told from which it is said what sound systems do (judgement)."""
_NOISE: Final = (
    "A gyro in good order is heard, as a quiet hum. It is a fault where it grew louder, grinds, or runs down sooner "
    "after shutdown than it used to."
)
_NORMAL: Final[Mapping[str, str]] = MappingProxyType(
    {
        "lamp_flickers_at_idle": (
            "At idle the pump turns too slowly to hold the gauge in its band, and a lamp may flicker. It is a fault "
            "where it did not use to, or where either is still so at run-up speed."
        ),
        "gauge_low_idle": (
            "Was it lower than at the same idle speed, warm, before? An idle set lower reads lower. If it did fall, it "
            "is a fault."
        ),
        "gauge_low_at_altitude": (
            "In thin air every pump moves less, and a gauge may sag with height. Compare with what it showed there "
            "before."
        ),
        "gauge_slow_rise": (
            "After a start the gauge comes up no faster than the engine speed does. It is a fault where it is slow at "
            "run-up speed too."
        ),
        "lamp_slow_to_go_out": (
            "The lamp goes out at a pressure, and so at an engine speed: with an idle set lower it stays on longer. It "
            "is a fault where it goes out at a higher engine speed than before."
        ),
        "ai_precesses_after_turn": (
            "A few degrees after a steep or long turn that go within a minute or so are the way such gyros are made. "
            "It is a fault where it stays, grows, or is there after level flight."
        ),
        "hi_error_after_turns": (
            "In a bank its card reads off by the tilt of its gimbals and comes right as the wings are level. A few "
            "degrees left after several turns are reset by the compass in level, steady flight. It is a fault where it "
            "grows from turn to turn, or drifts as much in level flight."
        ),
        "ai_late_erect_cold": (
            "A cold gyro takes longer to come up. It is a fault where it takes longer than it used to in such cold, or "
            "than its manual says."
        ),
        "ai_slow_erect": (
            "A gyro takes some minutes to come up to speed and erect. It is a fault where it takes longer than it used "
            "to, or than its manual says."
        ),
        "hi_drifts": (
            "Was the earth's turning taken off? It alone takes a heading indicator off by 15 degrees an hour times the "
            "sine of the latitude, where the instrument is not corrected for it, and flight to east or west adds to "
            "that or takes from it. Time it over a quarter of an hour in level flight, and take that off. It is a "
            "fault where more is left than its manual allows."
        ),
        "ai_noise": _NOISE,
        "hi_noise": _NOISE,
        "soot_thin": "A dry pump wears its vanes: a thin film of soot at the outlet is its daily work, a heap is not.",
        "filter_grey": "A filter greys in use. What counts is whether the gauge rises when it is taken out.",
        "oil_on_belly": (
            "On many aircraft the engine's breather leaves a film of oil there. Wipe it off, run on the ground, and "
            "look where it begins: it is a fault where that is the pump's pad or drain."
        ),
    }
)


def said(found: Sequence[Cause], prepared: Prepared) -> list[str]:
    """What of the remarks sound systems do as well, each once; nothing where a fault is plain."""
    if not any(cause.id == NOTHING_WRONG.id and cause.probability >= _WORTH_SAYING for cause in found):
        return []
    named = {item.symptom for group in prepared.remarks for item in group.items if item.present}
    return list(dict.fromkeys(words for symptom, words in _NORMAL.items() if symptom in named))
