"""What a failure mode does to the air network: changes of part states, shared by every mode.

A mode never touches the solver. It names states of the table in :mod:`vanewise.aircraft.kinds` and says whether it
multiplies the state (a worn pump slips so many times more), adds to it (a leak opens beside what leaks already) or
sets it (a stopped pump). Changes of several modes combine in the order given, which is the causal order.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from vanewise.network.types import Floats

Operation = Literal["scale", "add", "set"]


@dataclass(frozen=True, slots=True)
class StateChange:
    """One state of one part, changed by ``values`` (one per row, in the unit of the state table)."""

    key: str
    """``part.state``."""
    operation: Operation
    values: Floats


def scale(part: str, state: str, factor: Floats) -> StateChange:
    """Multiply a state whose neutral value is 1: a resistance, a slip, an open fraction."""
    return StateChange(f"{part}.{state}", "scale", factor)


def add(part: str, state: str, amount: Floats) -> StateChange:
    """Add to a state whose neutral value is 0: a leak [mm2], a shift of the setting [inHg]."""
    return StateChange(f"{part}.{state}", "add", amount)


def switch(part: str, state: str, rows: int) -> StateChange:
    """Set a 0 or 1 state to 1 in every row."""
    return StateChange(f"{part}.{state}", "set", np.ones(rows))


def combine(base: Mapping[str, Floats], changes: Iterable[StateChange], rows: int) -> dict[str, Floats]:
    """State columns after ``changes`` on top of ``base`` (columns drawn as nuisances, such as a pump's own slip).

    A state that is not in ``base`` starts at its neutral value, which the operation implies: 1 to be scaled, 0 to be
    added to.
    """
    columns = dict(base)
    for change in changes:
        if change.operation == "set":
            columns[change.key] = change.values
        elif change.operation == "scale":
            columns[change.key] = columns.get(change.key, np.ones(rows)) * change.values
        else:
            columns[change.key] = columns.get(change.key, np.zeros(rows)) + change.values
    return columns
