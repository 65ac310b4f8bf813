"""Symptoms of attitude and heading indicator, turn needle and autopilot (groups A, B and F of the trade)."""

from __future__ import annotations

from typing import Final

from vanewise.diagnosis.symptom_kinds import Condition, Drive, Symptom

_AI, _HI = "attitude indicator", "heading indicator"
_CRUISE: Final[tuple[Condition, ...]] = ("cruise",)
_WEAK = Drive(threshold_inhg=3.2, width_inhg=0.35, at=_CRUISE)
_ERECT = Drive(threshold_inhg=2.7, width_inhg=0.35, at=("taxi", "run-up"), top=0.9)
_VERY_WEAK = Drive(threshold_inhg=2.0, width_inhg=0.35, at=_CRUISE)
_TOO_FAST, _SHAKES, _WANDERS = (
    Drive(threshold_inhg=6.2, width_inhg=0.3, at=_CRUISE, top=top) for top in (0.3, 0.2, 0.15)
)
_FOLLOWS = Drive(threshold_inhg=3.0, width_inhg=0.4, at=_CRUISE, top=0.7)

FELT: Final[tuple[Symptom, ...]] = (
    Symptom(
        id="ai_tumbles",
        group="attitude",
        words="attitude indicator tumbles",
        base=0.01,
        instrument=_AI,
        drive=_VERY_WEAK,
        after_stop=0.3,
    ),
    Symptom(
        id="ai_leans",
        group="attitude",
        manners=("to the left", "to the right"),
        words="attitude indicator leans",
        base=0.02,
        instrument=_AI,
        drive=_WEAK,
        after_stop=0.6,
    ),
    Symptom(
        id="ai_pitch_error",
        group="attitude",
        words="attitude indicator shows pitch in level flight",
        base=0.02,
        instrument=_AI,
        drive=_WEAK,
        after_stop=0.4,
    ),
    Symptom(
        id="ai_off_alike",
        group="attitude",
        words="attitude indicator off by the same from start to shutdown",
        base=0.01,
        instrument=_AI,
    ),
    Symptom(
        id="ai_slow_erect",
        group="attitude",
        words="attitude indicator slow to erect after start",
        base=0.025,
        instrument=_AI,
        drive=_ERECT,
    ),
    Symptom(
        id="ai_late_erect_cold",
        group="attitude",
        words="attitude indicator erects late when cold",
        base=0.04,
        instrument=_AI,
        drive=_ERECT,
    ),
    Symptom(
        id="ai_precesses_after_turn",
        group="attitude",
        manners=("after a left turn", "after a right turn"),
        words="attitude indicator off after a turn",
        base=0.03,
        instrument=_AI,
        drive=_WEAK,
        after_stop=0.5,
    ),
    Symptom(
        id="ai_jitters", group="attitude", words="attitude indicator jitters", base=0.015, instrument=_AI, over=_SHAKES
    ),
    Symptom(
        id="ai_flag",
        group="attitude",
        words="flag of the attitude indicator shows",
        base=0.01,
        direct=True,
        instrument=_AI,
        drive=_WEAK,
        after_stop=0.8,
    ),
    Symptom(
        id="ai_noise", group="attitude", words="attitude indicator noisy", base=0.02, instrument=_AI, over=_TOO_FAST
    ),
    Symptom(
        id="ai_coast_short",
        group="attitude",
        words="attitude indicator stops soon after shutdown",
        base=0.03,
        direct=True,
        instrument=_AI,
    ),
    Symptom(
        id="hi_drifts",
        group="heading",
        manners=("to the left", "to the right"),
        words="heading indicator drifts more than the earth's turning explains",
        base=0.04,
        instrument=_HI,
        drive=_WEAK,
        over=_WANDERS,
        after_stop=0.5,
    ),
    Symptom(
        id="hi_sudden_jump",
        group="heading",
        words="heading indicator jumps",
        base=0.015,
        instrument=_HI,
        drive=_VERY_WEAK,
        after_stop=0.2,
    ),
    Symptom(
        id="hi_spins",
        group="heading",
        words="heading indicator spins",
        base=0.01,
        instrument=_HI,
        drive=_VERY_WEAK,
        after_stop=0.2,
    ),
    Symptom(
        id="hi_sluggish",
        group="heading",
        words="heading indicator sluggish or sticky",
        base=0.02,
        instrument=_HI,
        drive=_WEAK,
        after_stop=0.4,
    ),
    Symptom(
        id="hi_not_settable",
        group="heading",
        words="heading indicator cannot be set",
        base=0.01,
        direct=True,
        instrument=_HI,
    ),
    Symptom(
        id="hi_error_after_turns",
        group="heading",
        words="heading indicator off after turns",
        base=0.03,
        instrument=_HI,
        drive=_WEAK,
        after_stop=0.5,
    ),
    Symptom(id="hi_noise", group="heading", words="heading indicator noisy", base=0.02, instrument=_HI, over=_TOO_FAST),
    Symptom(
        id="hi_coast_short",
        group="heading",
        words="heading indicator stops soon after shutdown",
        base=0.03,
        direct=True,
        instrument=_HI,
    ),
    Symptom(
        id="turn_needle_sluggish",
        group="heading",
        words="turn needle sluggish",
        base=0.015,
        instrument="turn indicator",
        drive=Drive(threshold_inhg=1.2, width_inhg=0.25, at=_CRUISE),
        after_stop=0.4,
    ),
    Symptom(
        id="ap_wanders",
        group="autopilot",
        words="autopilot wanders",
        base=0.025,
        instrument=_AI,
        drive=_FOLLOWS,
        after_stop=0.5,
    ),
    Symptom(
        id="ap_rolls_off",
        group="autopilot",
        manners=("to the left", "to the right"),
        words="autopilot rolls off",
        base=0.01,
        instrument=_AI,
        drive=_FOLLOWS,
        after_stop=0.6,
    ),
    Symptom(
        id="ap_heading_wanders",
        group="autopilot",
        words="autopilot wanders in heading mode",
        base=0.025,
        instrument=_HI,
        drive=_FOLLOWS,
        after_stop=0.5,
    ),
    Symptom(
        id="ap_disconnects", group="autopilot", words="autopilot disconnects by itself", base=0.015, instrument=_AI
    ),
    Symptom(
        id="ap_slow_to_level",
        group="autopilot",
        words="autopilot slow to level",
        base=0.025,
        instrument=_AI,
        drive=_FOLLOWS,
        after_stop=0.4,
    ),
)
