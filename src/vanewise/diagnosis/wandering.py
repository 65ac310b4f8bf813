"""Faults whose effect may change while it is read: grit that shifts, a liner that flaps, ice that goes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from vanewise.diagnosis.hypotheses import Hypothesis
from vanewise.diagnosis.likelihood import log_added
from vanewise.diagnosis.predictions import EARLIER, Predicted
from vanewise.diagnosis.symptoms import Condition
from vanewise.network.types import Floats

STEADY: Final = 0.5
"""Share of faults that can wander which stand still while they are read (judgement; in keeping with the modes' own
signs, by which a gauge fluctuates in about half of them)."""

GONE_AT: Final = (0.4, 1.0, 2.5)
"""When an effect that goes has gone, in lengths of the run it is read in: the middles of three equally likely parts of
a quarter to four lengths, log-uniform (judgement: some minutes of running melt thin ice, and a cold soak outlasts a
run). What is noticed once in a run is taken at the middle one."""
UNEVEN: Final = 0.2
"""Standard deviation of an effect that goes about a steady decline, as a share of the whole of it (judgement)."""

LAMP_LATE: Final = 0.3
"""Where in the run a lamp goes out or comes on: taxying fast, on the way to the run-up."""
_FELT_LATE: Final[dict[Condition, float]] = {
    "idle": 0.0,
    "taxi": 0.2,
    "fast taxi": LAMP_LATE,
    "run-up": 0.5,
    "cruise": 1.0,
}
"""Where in the run each condition is met."""


@dataclass(frozen=True, slots=True)
class Manner:
    """One way in which the effect of a fault may have stood while it was read."""

    chance: float
    moves: bool = False
    """It went about by the mode's own share (:attr:`vanewise.diagnosis.modes.base.FailureMode.wander`)."""
    gone_at: float | None = None
    """It declined from the start of the run, and was gone after so many lengths of it; None where it did not."""

    def left(self, late: Floats | float) -> Floats:
        """Share of the effect that is left so late in the run (0 at its start, 1 at its end)."""
        gone = 0.0 if self.gone_at is None else np.asarray(late) / self.gone_at
        return np.asarray(np.maximum(1.0 - gone, 0.0))


STANDS: Final = Manner(1.0)


def wander_of(subject: Hypothesis) -> float:
    """Share of its effect that moves where a fault does; nothing for one that cannot."""
    return max(member.mode.wander for member in subject.members)


def manners_of(subject: Hypothesis) -> tuple[Manner, ...]:
    """The ways in which the effect of a hypothesis may have stood; their chances add up to one."""
    if not wander_of(subject):
        return (STANDS,)
    goes = subject.goes
    if goes:
        return (Manner(1.0 - goes), *(Manner(goes / len(GONE_AT), gone_at=at) for at in GONE_AT))
    return Manner(STEADY), Manner(1.0 - STEADY, moves=True)


def courses_of(subject: Hypothesis) -> tuple[Manner, ...]:
    """:func:`manners_of` for what is noticed once in a run: whether the effect went."""
    goes = subject.goes
    return (Manner(1.0 - goes), Manner(goes, gone_at=GONE_AT[1])) if goes else (STANDS,)


def either(manners: Sequence[Manner], logs: Sequence[Floats]) -> Floats:
    """Log density of what was read, from what it is for each of the ways the effect may have stood."""
    if len(manners) == 1:
        return logs[0]
    return log_added([math.log(manner.chance) + log for manner, log in zip(manners, logs, strict=True)])


def felt_in(predicted: Predicted, manner: Manner) -> Predicted:
    """What is felt where the effect went in the course of the run: some of it is left in each condition."""
    sound = predicted.without
    if manner.gone_at is None or sound is None:
        return predicted
    felt = dict(predicted.felt)
    for (name, condition), values in predicted.felt.items():
        if not name.endswith(EARLIER):
            gone = sound.felt[name, condition]
            felt[name, condition] = gone + manner.left(_FELT_LATE[condition]) * (values - gone)
    return replace(predicted, felt=felt)
