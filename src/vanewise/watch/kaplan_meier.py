"""The share of units that lives to each age, without any assumed shape (Kaplan and Meier 1958)."""

from __future__ import annotations

import dataclasses

import numpy as np

from vanewise.errors import InputError, Problem
from vanewise.watch.arrays import Floats
from vanewise.watch.lifetimes import Lifetimes


@dataclasses.dataclass(frozen=True, slots=True)
class SurvivalSteps:
    """At each of ``hours`` (m,) with an end: units at risk just before, ends, share surviving, and its standard error.

    The standard error is Greenwood's.
    """

    hours: Floats
    at_risk: Floats
    ended: Floats
    surviving: Floats
    standard_error: Floats


def kaplan_meier(lives: Lifetimes) -> SurvivalSteps:
    """Survival steps of lives that are exact or still running, with late entry.

    A unit withdrawn at the very age of an end is counted at risk there. Raises :class:`InputError` for ends known only
    to lie between two looks, which need a fitted shape.
    """
    exact = lives.lower == lives.upper
    if np.any(~exact & np.isfinite(lives.upper)):
        raise InputError(
            Problem(
                where="survival steps",
                expected="ends known to the hour, or units still running",
                found="ends known only to lie between two looks",
                next_step="fit a Weibull life instead: it takes such ends",
            )
        )
    hours = np.unique(lives.lower[exact])
    at_risk = np.array([lives.weight[(lives.lower >= t) & (lives.entry < t)].sum() for t in hours])
    ended = np.array([lives.weight[exact & (lives.lower == t)].sum() for t in hours])
    surviving = np.cumprod(1.0 - ended / at_risk)
    with np.errstate(divide="ignore", invalid="ignore"):
        terms = ended / (at_risk * (at_risk - ended))
    greenwood = np.cumsum(np.where(np.isfinite(terms), terms, 0.0))
    return SurvivalSteps(hours, at_risk, ended, surviving, surviving * np.sqrt(greenwood))
