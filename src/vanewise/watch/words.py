"""Hours as people read them."""

from __future__ import annotations

import math


def hours(value: float) -> str:
    """Hours as people read them: whole hours, tens above 200 h."""
    step = 10 if value >= 200 else 1
    return f"{int(round(value / step) * step):,} h"


def hours_down(value: float) -> str:
    """Hours that must not be rounded up, because something has to be done by then."""
    return f"{math.floor(value):,} h"
