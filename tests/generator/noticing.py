"""What a person notices and writes down: from the pressures at each instrument, and from the fault itself.

One reporter may be careful, ordinary or careless: it scales what is noticed and what is imagined. A person mentions
what is there more readily than what is not; only a looked-for absence becomes a remark with ``present = false``.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

REPORTERS = ((0.3, 1.25, 0.4), (0.5, 1.0, 1.0), (0.2, 0.6, 2.0))
"""Share of people, how much more readily they notice, how much more they imagine (judgement)."""
IMAGINED: Mapping[str, float] = {
    "ai_leans": 0.03,
    "ai_slow_erect": 0.03,
    "hi_drifts": 0.06,
    "gauge_fluctuates": 0.03,
    "lamp_flickers_at_idle": 0.12,
    "soot_thin": 0.12,
    "oil_at_drain": 0.03,
    "ap_wanders": 0.02,
    "gauge_low_idle": 0.03,
    "hi_error_after_turns": 0.02,
}
"""Remarks made with nothing behind them (judgement)."""


def _weak(drop: float, needs: float, width: float) -> float:
    """Chance that an instrument shows its lack of air."""
    return float(1.0 / (1.0 + np.exp((drop - needs) / width)))


def from_pressures(drops: Mapping[str, Mapping[str, float]], lamp: Mapping[str, float] | None) -> dict[str, float]:
    """Chances by symptom, from the drop [inHg] across each gyro in taxi, run-up and cruise."""
    chances: dict[str, float] = {}
    attitude, heading = drops.get("attitude indicator"), drops.get("heading indicator")
    if attitude:
        chances |= {
            "ai_slow_erect": 0.6 * _weak(attitude["run_up"], 2.8, 0.4),
            "ai_leans": 0.6 * _weak(attitude["cruise"], 3.0, 0.35),
            "ai_precesses_after_turn": 0.35 * _weak(attitude["cruise"], 3.1, 0.35),
            "ai_tumbles": 0.6 * _weak(attitude["cruise"], 1.6, 0.3),
            "ai_pitch_error": 0.15 * _weak(attitude["cruise"], 2.8, 0.35),
            "ap_wanders": 0.3 * _weak(attitude["cruise"], 2.9, 0.3),
            "ap_rolls_off": 0.25 * _weak(attitude["cruise"], 2.4, 0.3),
            "ap_slow_to_level": 0.15 * _weak(attitude["cruise"], 2.9, 0.3),
        }
    if heading:
        chances |= {
            "hi_drifts": 0.6 * _weak(heading["cruise"], 3.0, 0.35),
            "hi_sluggish": 0.4 * _weak(heading["cruise"], 2.9, 0.35),
            "hi_error_after_turns": 0.2 * _weak(heading["cruise"], 2.8, 0.35),
            "hi_spins": 0.4 * _weak(heading["cruise"], 1.4, 0.3),
            "ap_heading_wanders": 0.25 * _weak(heading["cruise"], 2.9, 0.3),
        }
    if lamp is not None:
        chances["lamp_on"] = 0.95 * float(lamp["cruise"] < lamp["trip"])
        late = lamp["trip"] > lamp["fast_taxi"] and lamp["cruise"] > lamp["trip"]
        chances["lamp_slow_to_go_out"] = 0.6 * float(late and lamp["sound_fast_taxi"] > lamp["trip"])
    return chances


def low_at_idle(reads: float, usual: float) -> float:
    """Chance that a person speaks of a gauge that reads ``reads`` at idle where it used to read ``usual`` [inHg]."""
    return 0.35 * _weak(reads - usual, -0.7, 0.2)


ABOUT: Mapping[str, Mapping[str, str]] = {
    "attitude indicator": {
        "@noise": "ai_noise",
        "@coast_short": "ai_coast_short",
        "@slow": "ai_slow_erect",
        "@drifts": "ai_leans",
        "@after_turn": "ai_precesses_after_turn",
        "@unsteady": "ai_jitters",
        "@pitch": "ai_pitch_error",
        "@tumbles": "ai_tumbles",
    },
    "heading indicator": {
        "@noise": "hi_noise",
        "@coast_short": "hi_coast_short",
        "@slow": "hi_sluggish",
        "@drifts": "hi_drifts",
        "@after_turn": "hi_error_after_turns",
        "@unsteady": "hi_sudden_jump",
        "@tumbles": "hi_spins",
    },
}
"""The words for one instrument's own trouble."""


def remarks(
    chances: Mapping[str, float], generator: np.random.Generator, possible: frozenset[str], who: str
) -> list[dict[str, Any]]:
    """Remarks of one person about one flight. ``possible`` holds the symptoms this aircraft can show at all."""
    share = generator.random()
    told = 0
    while share > REPORTERS[told][0] and told < 2:
        share -= REPORTERS[told][0]
        told += 1
    _, eager, fanciful = REPORTERS[told]
    out: list[dict[str, Any]] = []
    for symptom in sorted(possible):
        real = min(chances.get(symptom, 0.0) * eager, 0.97)
        chance = 1.0 - (1.0 - real) * (1.0 - min(IMAGINED.get(symptom, 0.004) * fanciful, 0.5))
        if generator.random() < chance:
            out.append({"symptom": symptom, "who": who, "flight": "last"})
        elif symptom in ("soot_heavy", "oil_at_drain") and generator.random() < 0.1:
            out.append({"symptom": symptom, "present": False, "who": who, "flight": "last"})
    return out
