"""Which number moves a reading most: the slope of a reading by any number of the network, at its solution.

One back-substitution with the transposed Jacobian (the adjoint) serves every number at once: how much the reading
moves per flow put into each junction. A number acts through the few branches of its part, whose flow is differenced
at fixed pressures.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from vanewise.aircraft.kinds import KINDS
from vanewise.errors import wrong
from vanewise.network import oracle, sensed
from vanewise.network.packed import PackedNetwork, split_key
from vanewise.network.problem import Problem, prepare_batch
from vanewise.network.types import BatchCases, BatchSolution, Floats

_STEP = 1e-5
"""Of a number's own size, or of its least meaningful size where it is zero."""


def smooth_keys(packed: PackedNetwork) -> tuple[str, ...]:
    """The keys a reading has a slope by: all numbers and states but those that are either 0 or 1."""
    flags = {
        f"{owner}.{state.name}"
        for owner, entry in packed.owners.items()
        for state in KINDS[entry.kind].states
        if state.unit == "0 or 1"
    }
    return tuple(key for key in packed.override_keys if key not in flags)


def sensitivities(
    packed: PackedNetwork, batch: BatchCases, solution: BatchSolution, high: str, low: str, keys: Sequence[str]
) -> Floats:
    """Slope of the difference p(high) - p(low) [Pa] by each key's own unit, shape (n, len(keys)).

    The pump's delivery temperature is held: what its change would add is a thousandth. ``solution`` is that of
    ``batch``; NaN where a scenario is not solved. At a corner (a leak of no size, a valve about
    to open) it is the slope towards larger values. Raises InputError for a key that is either 0 or 1, or unknown.
    """
    allowed = smooth_keys(packed)
    for key in keys:
        split_key(packed, key)
        if key not in allowed:
            raise wrong(
                f'"{key}"', "a number or a state of any size", "one that is either 0 or 1", "compare two solves"
            )
    if packed.sensing is None:
        out = _at_given_lift(packed, batch, solution, packed.junction(high), packed.junction(low), keys)
    else:
        out = _with_the_lift(packed, batch, solution, packed.junction(high), packed.junction(low), keys)
    out[solution.status == 3] = np.nan
    return out


def _with_the_lift(
    packed: PackedNetwork, batch: BatchCases, solution: BatchSolution, high: int, low: int, keys: Sequence[str]
) -> Floats:
    """The slopes where a regulator senses elsewhere: its lift moves too, so that spring and pressure still agree.

    A regulator that stays shut or fully open keeps its lift.
    """
    sensing = packed.sensing
    assert sensing is not None and solution.lift is not None
    full = sensed.with_lift(packed, batch, solution.lift)
    lift = f"{sensing.owner}.lift"
    asked = [*keys, lift]
    reading = _at_given_lift(packed, full, solution, high, low, asked)
    pull = _at_given_lift(packed, full, solution, sensing.high, sensing.low, asked)
    start, band = sensed.spring(packed, batch)
    spring = np.empty((batch.count, len(keys)))
    whole = _with_columns(packed, batch, keys)
    for i, key in enumerate(keys):
        moved, step = _stepped(packed, whole, key)
        new_start, new_band = sensed.spring(packed, moved)
        spring[:, i] = (new_start - start + (new_band - band) * solution.lift) / step
    follows = (solution.lift > 0.0) & (solution.lift < 1.0)
    opens = np.where(follows[:, None], (pull[:, :-1] - spring) / (band - pull[:, -1])[:, None], 0.0)
    return np.asarray(reading[:, :-1] + reading[:, -1:] * opens)


def _at_given_lift(
    packed: PackedNetwork, batch: BatchCases, solution: BatchSolution, high: int, low: int, keys: Sequence[str]
) -> Floats:
    """Slope of the difference between two junctions by each key, every opening following its own law or held."""
    full = _with_columns(packed, batch, keys)
    problem = prepare_batch(packed, full, solution.delivery_k)
    rows = np.arange(problem.count)
    p = solution.pressure_pa
    weight = _adjoint(problem, p, high, low)
    pa, pb = p[:, problem.branch_a], p[:, problem.branch_b]
    across = weight[:, problem.branch_a] - weight[:, problem.branch_b]
    at_value = oracle.flows(problem, pa, pb, rows)[0]
    out = np.empty((problem.count, len(keys)))
    for i, key in enumerate(keys):
        trial, step = _stepped(packed, full, key)
        moved = prepare_batch(packed, trial, solution.delivery_k)
        change = (oracle.flows(moved, pa, pb, rows)[0] - at_value) / step[:, None]
        out[:, i] = -(across * change).sum(axis=1)
    return out


def _stepped(packed: PackedNetwork, full: BatchCases, key: str) -> tuple[BatchCases, Floats]:
    """The batch with one of its columns a little larger, and by how much, (n,)."""
    column = full.columns.index(key)
    step = _STEP * np.maximum(np.abs(full.values[:, column]), _least(packed, key))
    values = full.values.copy()
    values[:, column] += step
    return replace(full, values=values), step


def _with_columns(packed: PackedNetwork, batch: BatchCases, keys: Sequence[str]) -> BatchCases:
    """The batch with a column for every key, at the value it has anyway."""
    missing = [key for key in dict.fromkeys(keys) if key not in batch.columns]
    built = np.tile([packed.neutral(key) for key in missing], (batch.count, 1))
    return replace(
        batch,
        columns=(*batch.columns, *missing),
        values=np.concatenate([batch.values, built.reshape(batch.count, -1)], axis=1),
    )


def _least(packed: PackedNetwork, key: str) -> float:
    """The size below which a number of zero is differenced: a thousandth of its believed range."""
    owner, name = split_key(packed, key)
    kind = KINDS[packed.owners[owner].kind]
    bounds = {spec.name: (spec.low, spec.high) for spec in kind.fields}
    bounds |= {spec.name: (spec.low, spec.high) for spec in kind.states}
    low, high = bounds.get(name, (0.0, 1e3))
    return 1e-3 * max(abs(low), abs(high))


def _adjoint(problem: Problem, p: Floats, high: int, low: int) -> Floats:
    """By how much the reading falls for each unit of flow that leaves a junction, (n, junctions); 0 at fixed ones."""
    shape = problem.elimination
    turned = replace(shape, at_ab=shape.at_ba, at_ba=shape.at_ab)
    flipped = replace(problem, elimination=turned)
    entries = oracle.jacobian(flipped, p, np.arange(problem.count))
    right = np.zeros((problem.count, shape.count))
    for junction, sign in ((high, 1.0), (low, -1.0)):
        if junction < shape.count:
            right[:, junction] += sign
    weight = np.zeros_like(p)
    weight[:, : shape.count] = oracle.eliminate(shape, entries, right)
    return weight
