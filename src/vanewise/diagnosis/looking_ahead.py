"""Two checks ahead, what would change the answer, and when to stop asking.

Every candidate is put in one form here: a table of outcome probabilities for each sampled state (a measurement is cut
into five spans). Then the second check can be chosen afresh for each outcome of the first, with what the first opened
already open; and each outcome shows what would lead after it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from vanewise import chances
from vanewise.diagnosis.expected import Candidate, Measurable
from vanewise.diagnosis.likelihood import OUTLIER, Bools
from vanewise.diagnosis.resampling import Sample
from vanewise.diagnosis.words import REPAIRS
from vanewise.network.types import Floats

SPANS: Final = 5
"""Spans a measurement is cut into, at equal shares of what is expected."""
FIRST_STEPS: Final = 6
"""How many of the best single checks are followed by a second (judgement: the rest hardly ever rise)."""
_LEAST_LIKELY: Final = 0.03
"""An outcome rarer than this is not worth a line."""
_LEAST_BITS: Final = 0.05
"""A second check that says less is not counted."""
_RATE_STEPS: Final = 6


@dataclass(frozen=True, slots=True)
class Outlook:
    """A candidate as a table: probability of each outcome in each sampled row, (rows, outcomes), and their words."""

    candidate: Candidate
    table: Floats
    outcomes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Ahead:
    """What doing this check and then the best next one is expected to say [bit] and to take [min]."""

    bits: float
    minutes: float
    then: tuple[tuple[str, str], ...]
    """(outcome in words, id of the check to do after it), for outcomes worth a line."""

    @property
    def rate(self) -> float:
        return self.bits / self.minutes if self.minutes > 0.0 else 0.0


def from_table(candidate: Candidate, table: Floats) -> Outlook:
    return Outlook(candidate, table, tuple(outcome.words for outcome in candidate.check.outcomes))


def from_measurable(candidate: Candidate, measurable: Measurable) -> Outlook:
    """Spans of the quantity that differs most between rows against its own spread."""
    mean, covariance = measurable.mean, measurable.covariance
    solved: Bools = np.asarray(np.isfinite(mean).all(axis=1))
    mean = np.where(solved[:, None], mean, 0.0)
    sd = np.sqrt(np.maximum(np.diagonal(covariance, axis1=1, axis2=2), 1e-12))
    telling = int(np.argmax(mean[solved].std(axis=0) / np.median(sd[solved], axis=0))) if solved.any() else 0
    value, own = mean[:, telling], sd[:, telling]
    # Quantiles of what would be read, not of what is there: so that no edge cuts through one tight group.
    read = np.concatenate([value - 1.5 * own, value, value + 1.5 * own])
    # In tenths, as a person reads and writes it: a narrower span could not be told from its neighbour.
    edges = np.unique(np.round(np.quantile(read, np.arange(1, SPANS) / SPANS), 1)) + 0.0
    if measurable.rise:
        edges = edges[edges > 0.05] if (edges > 0.05).any() else np.array([0.1])
    below = _normal((edges[None, :] - value[:, None]) / own[:, None])
    padded = np.concatenate([np.zeros((len(value), 1)), below, np.ones((len(value), 1))], axis=1)
    spans = np.diff(padded, axis=1)
    table = (1.0 - OUTLIER) * spans + OUTLIER / spans.shape[1]
    said = "rises " if measurable.rise else ""
    names = [f"{said}less than {edges[0]:.1f} {measurable.unit}"]
    names += [f"{said}{a:.1f} to {b:.1f} {measurable.unit}" for a, b in pairwise(edges)]
    names.append(f"{said}more than {edges[-1]:.1f} {measurable.unit}")
    return Outlook(candidate, table, tuple(names))


def _normal(x: Floats) -> Floats:
    """Standard normal distribution function, by the logistic that is within 0.01 of it."""
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(1.702 * x, -60.0, 60.0))))


def membership(sample: Sample) -> Floats:
    """(groups, rows): 1 where a row belongs to a repair group."""
    return np.asarray(sample.group[None, :] == np.arange(len(sample.groups))[:, None], dtype=np.float64)


def gain(members: Floats, weight: Floats, table: Floats) -> float:
    """Information [bit] of an outcome table about the group, over rows of ``weight``."""
    joint = members @ (weight[:, None] * table)
    total = joint.sum()
    if total <= 0.0:
        return 0.0
    joint = joint / total
    apart = joint.sum(axis=1, keepdims=True) * joint.sum(axis=0, keepdims=True)
    with np.errstate(divide="ignore", invalid="ignore"):
        found = np.where(joint > 0.0, joint * np.log2(joint / apart), 0.0)
    return max(0.0, float(found.sum()))


Minutes = Callable[[Candidate, frozenset[str]], float]
"""Minutes of a candidate with some access open already."""


@dataclass(frozen=True, slots=True)
class After:
    """One outcome of the first check: its words and chance, and each second check's information and minutes."""

    outcome: str
    chance: float
    seconds: tuple[tuple[str, float, float], ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """A check as the first of two: what it says [bit] and takes [min] by itself, and what may follow each outcome."""

    bits: float
    minutes: float
    after: tuple[After, ...]
    then: tuple[tuple[str, str], ...] = ()
    """As of :class:`Ahead`: it does not hang on the place in the list."""

    def ahead(self, above: Collection[str] = ()) -> Ahead:
        """What the check and the best one after it say and take, where going on pays.

        ``above`` are checks that stand before this one in the list. Whoever comes to this one has done them or cannot
        do them; in neither case do they follow it, so it gets no credit for what they say.

        After an outcome the second check counts only where it raises the information per minute of the whole; else the
        person stops there and chooses afresh. So a quick telling check is never marked down for what may follow it.
        """
        said, taken = _worth_going_on(self.bits, self.minutes, self.after, frozenset(above))
        return Ahead(said, taken, self.then)


def plans(sample: Sample, outlooks: Sequence[Outlook], minutes: Minutes, opened: frozenset[str]) -> Mapping[str, Plan]:
    """Each candidate as the first of two checks, any of the others being the second."""
    members = membership(sample)
    even = np.full(sample.size, 1.0 / sample.size)
    found: dict[str, Plan] = {}
    for first in outlooks:
        after = _after_each(members, first, outlooks, minutes, opened | set(first.candidate.check.access))
        bits, cost = gain(members, even, first.table), minutes(first.candidate, opened)
        found[first.candidate.id] = Plan(bits, cost, after, _then(after))
    return found


def _after_each(
    members: Floats, first: Outlook, outlooks: Sequence[Outlook], minutes: Minutes, opened: frozenset[str]
) -> tuple[After, ...]:
    found = []
    for place, name in enumerate(first.outcomes):
        weight = first.table[:, place] / members.shape[1]
        chance = float(weight.sum())
        seconds = tuple(
            (second.candidate.id, gain(members, weight, second.table), minutes(second.candidate, opened))
            for second in outlooks
            if second.candidate.id != first.candidate.id and chance > 0.0
        )
        found.append(After(name, chance, tuple(entry for entry in seconds if entry[1] >= _LEAST_BITS)))
    return tuple(found)


def _worth_going_on(bits: float, cost: float, after: Sequence[After], above: Collection[str]) -> tuple[float, float]:
    """Information and minutes of the plan with the highest rate: a ratio, so the rate is raised in steps."""
    said, taken = bits, cost
    for _ in range(_RATE_STEPS):
        rate = said / taken
        more, longer = bits, cost
        for outcome in after:
            gains = [
                (gained - rate * time, gained, time) for name, gained, time in outcome.seconds if name not in above
            ]
            best = max(gains, default=(0.0, 0.0, 0.0))
            if best[0] > 0.0:
                more += outcome.chance * best[1]
                longer += outcome.chance * best[2]
        if more / longer <= rate + 1e-12:
            break
        said, taken = more, longer
    return said, taken


def _then(after: Sequence[After]) -> tuple[tuple[str, str], ...]:
    """What to do after each outcome worth a line: the second check that says most for its minutes."""
    found = []
    for outcome in after:
        if outcome.seconds and outcome.chance >= _LEAST_LIKELY:
            best = max(outcome.seconds, key=lambda entry: (entry[1] / entry[2], entry[0]))
            found.append((outcome.outcome, best[0]))
    return tuple(found)


def after_outcome(sample: Sample, outlook: Outlook, place: int) -> Floats:
    """Probability of each repair group after an outcome, (groups,)."""
    share = membership(sample) @ outlook.table[:, place]
    return np.asarray(share / share.sum()) if share.sum() > 0.0 else share


def would_change(sample: Sample, outlook: Outlook) -> tuple[str, ...]:
    """Outcomes of a check after which another repair would lead, in words, the likeliest first."""
    members = membership(sample)
    leading = int(np.argmax(members.mean(axis=1)))
    found: list[tuple[float, str]] = []
    for place, said in enumerate(outlook.outcomes):
        chance = float(outlook.table[:, place].mean())
        then = after_outcome(sample, outlook, place)
        other = int(np.argmax(then))
        if other != leading and chance >= _LEAST_LIKELY:
            first = f"the likeliest repair is {REPAIRS[sample.groups[other]]} ({chances.about(float(then[other]))})"
            found.append((chance, f"{said} ({chances.about(chance)}): then {first}"))
    found.sort(key=lambda entry: (-entry[0], entry[1]))
    return tuple(text for _, text in found)
