"""What an answer is made from, and what to work out: the types that every step of the diagnosis shares."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from vanewise.diagnosis.bank import Bank
from vanewise.diagnosis.evidence import Prepared
from vanewise.diagnosis.posterior import Posterior
from vanewise.diagnosis.predictions import Predicted
from vanewise.diagnosis.scoring import Scorer


@dataclass(frozen=True, slots=True)
class Options:
    """What to work out besides the probabilities, and how large a bank to use (None: as the engine allows)."""

    weights: bool = True
    next_checks: bool = True
    rows: int | None = None
    pairs: bool = True
    not_possible: tuple[str, ...] = ()
    """Checks that cannot be done here and now, by id."""
    opened: tuple[str, ...] = ()
    """Access that is open already ("cowl off"), so that it is charged to no check."""


EVERYTHING: Final = Options()
FIRST: Final = Options(weights=False, next_checks=False)
"""For a first answer, shown while the refined one is worked out."""


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """Everything an answer is made from, kept for the next-check engine and for plots."""

    bank: Bank
    prepared: Prepared
    scorer: Scorer
    predicted: tuple[Predicted, ...]
    posterior: Posterior
    refined: bool
