"""Chances and hours as people read them: words and "1 in N", one figure, never "100 %"."""

from __future__ import annotations

import math


def one_figure(number: float) -> int:
    """``number`` (at least 1) rounded to one significant figure: 317 gives 300, 12.7 gives 10."""
    if number < 1:
        return 1
    unit = 10 ** math.floor(math.log10(number))
    return int(round(number / unit) * unit)


def chance(probability: float) -> str:
    """A probability in words, one figure: ``1 in 300``, ``6 in 10``, ``more than 99 in 100``.

    Raises ValueError outside 0 to 1. A chance is never told as certain in either direction.
    """
    if not 0.0 <= probability <= 1.0:
        raise ValueError(f"a probability lies between 0 and 1, not at {probability}")
    if probability < 1e-6:
        return "less than 1 in 1,000,000"
    if probability > 0.99:
        return "more than 99 in 100"
    if probability > 0.95:
        return "more than 19 in 20"
    if probability > 0.325:
        return f"{round(probability * 10)} in 10"
    return f"1 in {one_figure(1.0 / probability):,}"


def hours(value: float) -> str:
    """Hours as people read them: whole hours, tens above 200 h."""
    step = 10 if value >= 200 else 1
    return f"{int(round(value / step) * step):,} h"


def hours_down(value: float) -> str:
    """Hours that must not be rounded up, because something has to be done by then."""
    return f"{math.floor(value):,} h"
