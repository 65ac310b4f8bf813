"""What a measured result of a check is off by."""

from __future__ import annotations

import math
from typing import Final

COVER_SD_INHG: Final = 0.085
"""Two readings of one needle minutes apart, offset cancelled: 0.06 inHg times root two (judgement)."""
COVER_RELATIVE_SD: Final = 0.05
FLOW_SD_CFM: Final = 0.10
FLOW_RELATIVE_SD: Final = 0.05
"""A workshop flow meter (judgement)."""
BEYOND_ERRORS: Final = 3.0
"""Standard deviations of their difference from which two results of one measurement disagree (judgement)."""


def disagree(one: float, other: float, sd: float, relative: float) -> bool:
    """Whether two results of one measurement lie beyond their errors. All in one unit, ``relative`` a share of each."""
    error = math.hypot(math.hypot(sd, relative * one), math.hypot(sd, relative * other))
    return abs(one - other) > BEYOND_ERRORS * error
