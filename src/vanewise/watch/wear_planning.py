"""From a wear forecast to a plan and a picture: when to look, with its months, and the band of wear ahead."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence

import msgspec
import numpy as np

from vanewise.watch import words
from vanewise.watch.types import WearForecast
from vanewise.watch.utilisation import span_words
from vanewise.watch.wear import posterior_of
from vanewise.watch.wear_checks import check_history
from vanewise.watch.wear_history import PumpHistory
from vanewise.watch.wear_posterior import LifeDensity
from vanewise.watch.wear_priors import DEFAULT_PRIORS, WearPriors, check_priors

LEVELS = np.concatenate([np.linspace(0.0, 1.2, 31), np.linspace(1.3, 2.5, 9)])
"""Wear levels at which the chance of staying below is asked."""


class WearBandPoint(msgspec.Struct, frozen=True, kw_only=True):
    """Wear as a share of the allowance at ``hours`` from now."""

    hours: float
    p025: float
    p10: float
    p50: float
    p90: float
    p975: float


def best_occasion(answer: WearForecast, planned: Sequence[tuple[str, float]]) -> tuple[str, float] | None:
    """The last of the ``planned`` occasions (name, hours from now) at or before the look that is due, if any is."""
    in_time = [occasion for occasion in planned if 0.0 <= occasion[1] <= answer.look_again_in_h]
    return max(in_time, key=lambda occasion: occasion[1], default=None)


def look_again_words(
    answer: WearForecast, dates: Callable[[int], tuple[datetime.date, datetime.date, datetime.date]]
) -> str:
    """The next look in one sentence with the months it falls in (``dates``: hours left to dates, from utilisation)."""
    if answer.look_again_in_h <= 0.0:
        return "Look at the wear port now."
    early, _, late = dates(round(answer.look_again_in_h * 100))
    return f"Look again by {words.hours_down(answer.look_again_h)} of pump time, {span_words(early, late)}."


def wear_band(
    history: PumpHistory,
    ahead: Sequence[float],
    *,
    priors: WearPriors = DEFAULT_PRIORS,
    life_density: LifeDensity | None = None,
) -> tuple[WearBandPoint, ...]:
    """Wear at hours ``ahead`` from now (0 first, rising), for the wear strip. Raises as a forecast does.

    P(wear below a level at t) is the chance that the resource up to that level lasts t hours; the points of the band
    are read off over the levels. Beyond 2.5 allowances the band is cut.
    """
    check_priors(priors)
    check_history(history, priors)
    posterior, _ = posterior_of(history, priors=priors, life_density=life_density)
    hours = np.asarray(ahead, dtype=float)
    below = np.array([posterior.survival(hours, float(level)) for level in LEVELS])
    below[:, hours <= 0.0] = np.array([[posterior.weight[posterior.wear < level].sum()] for level in LEVELS])
    below = np.maximum.accumulate(below, axis=0)
    out = []
    for column, at in enumerate(hours):
        found = np.interp([0.025, 0.1, 0.5, 0.9, 0.975], below[:, column], LEVELS)
        p025, p10, p50, p90, p975 = (float(level) for level in found)
        out.append(WearBandPoint(hours=float(at), p025=p025, p10=p10, p50=p50, p90=p90, p975=p975))
    return tuple(out)
