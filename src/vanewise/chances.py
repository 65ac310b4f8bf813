"""Chances as people say them: words and '1 in N', one figure, never certain. The one place that says a chance."""

from __future__ import annotations

import math

RAREST = 1e-6
"""Below this a chance is only told as rarer."""


def one_figure(number: float) -> int:
    """``number`` (at least 1) rounded to one significant figure: 317 gives 300, 12.7 gives 10."""
    if number < 1:
        return 1
    unit = 10 ** math.floor(math.log10(number))
    return int(round(number / unit) * unit)


def chance(probability: float, rarest: float = RAREST) -> str:
    """A probability in words, one figure: ``1 in 300``, ``6 in 10``, ``more than 99 in 100``.

    ``rarest``: below it the chance is told as less than that. Raises ValueError outside 0 to 1. A chance is never told
    as certain in either direction.
    """
    if not 0.0 <= probability <= 1.0:
        raise ValueError(f"a probability lies between 0 and 1, not at {probability}")
    if probability < rarest:
        return f"less than 1 in {one_figure(1.0 / rarest):,}"
    if probability > 0.99:
        return "more than 99 in 100"
    if probability > 0.95:
        return "more than 19 in 20"
    if probability > 0.325:
        return f"{round(probability * 10)} in 10"
    return f"1 in {one_figure(1.0 / probability):,}"


def about(probability: float, rarest: float = 0.01) -> str:
    """A chance that is only roughly known: ``about 7 in 10``; ``less than 1 in 100`` and ``more than`` stay bare."""
    # Sums of many weights may stand a hair outside.
    words = chance(min(1.0, max(0.0, probability)), rarest)
    return words if words.startswith(("less", "more")) else f"about {words}"
