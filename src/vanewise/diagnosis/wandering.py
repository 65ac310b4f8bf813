"""Faults whose effect may change while it is read: grit that shifts, a liner that flaps, ice that comes and goes."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from vanewise.diagnosis.hypotheses import Hypothesis
from vanewise.network.types import Floats

STEADY: Final = 0.5
"""Share of faults that can wander which stand still while they are read (judgement; in keeping with the modes' own
signs, by which a gauge fluctuates in about half of them)."""


def wander_of(subject: Hypothesis) -> float:
    """Share of its effect that moves where a fault does; nothing for one that cannot."""
    return max(member.mode.wander for member in subject.members)


def steady_or_not(steady: Floats, moving: Floats) -> Floats:
    """Log density of readings of a fault that can wander, from what they say if it stood still and if it did not."""
    return np.asarray(np.logaddexp(math.log(STEADY) + steady, math.log1p(-STEADY) + moving))
