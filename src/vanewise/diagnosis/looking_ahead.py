"""Two checks ahead, what would change the answer, and when to stop asking.

Every candidate is put in one form here: a table of outcome probabilities for each sampled state (a measurement is cut
into five spans). Then the second check can be chosen afresh for each outcome of the first, with what the first opened
already open; and each outcome shows what would lead after it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from vanewise import chances
from vanewise.diagnosis.expected import Candidate, Measurable
from vanewise.diagnosis.likelihood import OUTLIER, Bools
from vanewise.diagnosis.resampling import Sample
from vanewise.network.types import Floats

SPANS: Final = 5
"""Spans a measurement is cut into, at equal shares of what is expected."""
FIRST_STEPS: Final = 6
"""How many of the best single checks are followed by a second (judgement: the rest hardly ever rise)."""
_LEAST_LIKELY: Final = 0.03
"""An outcome rarer than this is not worth a line."""
_LEAST_BITS: Final = 0.05
"""A second check that says less is not counted."""


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
    edges = np.unique(np.round(np.quantile(read, np.arange(1, SPANS) / SPANS), 2))
    below = _normal((edges[None, :] - value[:, None]) / own[:, None])
    padded = np.concatenate([np.zeros((len(value), 1)), below, np.ones((len(value), 1))], axis=1)
    spans = np.diff(padded, axis=1)
    table = (1.0 - OUTLIER) * spans + OUTLIER / spans.shape[1]
    said = "rises " if measurable.rise else ""
    names = [f"{said}below {edges[0]:.1f} {measurable.unit}"]
    names += [f"{said}{a:.1f} to {b:.1f} {measurable.unit}" for a, b in pairwise(edges)]
    names.append(f"{said}above {edges[-1]:.1f} {measurable.unit}")
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


def ahead(sample: Sample, outlooks: Sequence[Outlook], minutes: Minutes, opened: frozenset[str]) -> Mapping[str, Ahead]:
    """For each candidate, the expected information of it and of the best check after it, and the minutes of both."""
    members = membership(sample)
    found: dict[str, Ahead] = {}
    for first in outlooks:
        even = np.full(sample.size, 1.0 / sample.size)
        bits = gain(members, even, first.table)
        open_now = opened | set(first.candidate.check.access)
        cost = minutes(first.candidate, opened)
        then: list[tuple[str, str]] = []
        for place, name in enumerate(first.outcomes):
            weight = first.table[:, place] / sample.size
            chance = float(weight.sum())
            if chance <= 0.0:
                continue
            best, best_bits, best_cost = _second(members, weight, first, outlooks, minutes, open_now)
            bits += chance * best_bits
            cost += chance * best_cost
            if best and chance >= _LEAST_LIKELY:
                then.append((name, best))
        found[first.candidate.id] = Ahead(bits, cost, tuple(then))
    return found


def _second(
    members: Floats,
    weight: Floats,
    first: Outlook,
    outlooks: Sequence[Outlook],
    minutes: Minutes,
    opened: frozenset[str],
) -> tuple[str, float, float]:
    """Id, information and minutes of the best check after an outcome; nothing where none says enough."""
    best = ("", 0.0, 0.0)
    rate = 0.0
    for second in outlooks:
        if second.candidate.id == first.candidate.id:
            continue
        bits = gain(members, weight, second.table)
        cost = minutes(second.candidate, opened)
        if bits >= _LEAST_BITS and bits / cost > rate:
            best, rate = (second.candidate.id, bits, cost), bits / cost
    return best


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
            led = f"{sample.groups[other]} would lead ({chances.about(float(then[other]))})"
            found.append((chance, f"{said} ({chances.about(chance)}): then {led}"))
    found.sort(key=lambda entry: (-entry[0], entry[1]))
    return tuple(text for _, text in found)
