"""From scored rows to probabilities: prior times mean likelihood, with how well each mean is known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from vanewise.diagnosis.hypotheses import Hypothesis
from vanewise.diagnosis.predictions import Predicted, joined, picked
from vanewise.diagnosis.scoring import GroupKey, Rows, Scorer
from vanewise.diagnosis.threads import each
from vanewise.network.types import Floats

Numbers = NDArray[np.int64]

ROUGH_BELOW: Final = 30.0
"""Effective rows under which a count is called rough and decides nothing."""


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """Probabilities of the hypotheses, in their order."""

    hypotheses: tuple[Hypothesis, ...]
    rows: tuple[Rows, ...]
    prior: Floats
    log_evidence: Floats
    effective_rows: Floats
    log_evidence_se: Floats
    probability: Floats


def log_mean(log_weights: Floats) -> tuple[float, float, float]:
    """Logarithm of the mean weight, effective rows, and the standard error of that logarithm."""
    finite = log_weights if np.isfinite(log_weights).all() else log_weights[np.isfinite(log_weights)]
    count = len(log_weights)
    if not len(finite):
        return -math.inf, 0.0, math.inf
    top = float(finite.max())
    weights = np.exp(finite - top)
    total, square = float(weights.sum()), float((weights * weights).sum())
    effective = total * total / square
    error = math.sqrt(max(0.0, 1.0 / effective - 1.0 / count))
    return top + math.log(total / count), effective, error


def shares(log_evidence: Floats, prior: Floats, power: float = 1.0) -> Floats:
    """Probabilities from log evidences and prior weights; ``power`` flattens the priors (0.5) or drops them (0)."""
    with np.errstate(divide="ignore"):
        log = log_evidence + power * np.log(prior)
    weight = np.exp(log - log.max())
    return np.asarray(weight / weight.sum())


def make_posterior(hypotheses: Sequence[Hypothesis], rows: Sequence[Rows], prior: Floats) -> Posterior:
    """The posterior of scored rows, summed in the order of the hypotheses."""
    found = [log_mean(own.log_weights()) for own in rows]
    evidence, effective, error = np.array(found).T
    return Posterior(
        hypotheses=tuple(hypotheses),
        rows=tuple(rows),
        prior=prior,
        log_evidence=evidence,
        effective_rows=effective,
        log_evidence_se=error,
        probability=shares(evidence, prior),
    )


NEGLIGIBLE: Final = 20.0
"""Nats below its best row from which a row is left out of rough answers: no one item is worth more than nine, which is
a slip of the pen where all fits well."""


def thinned(scorer: Scorer, rows: Sequence[Rows], most: int) -> tuple[Rows, ...]:
    """At most ``most`` rows of each hypothesis, less those of no weight: for questions that need a rough answer only.

    Drawn by the root of their weight, and weighted for it: those that carry the answer are all there, and of those that
    would carry it without some piece of evidence enough.

    Hypotheses that shared predictions and are scored alike share what remains: a row counts by what it says for
    whichever of them it says most for.
    """
    marks = [(id(own.predicted), *scorer.gauge_kind(own.hypothesis)) for own in rows]
    most_said: dict[tuple[object, ...], Floats] = {}
    for mark, own in zip(marks, rows, strict=True):
        log = own.log_weights()
        top = float(log.max(initial=-math.inf))
        log = log - top if math.isfinite(top) else log
        most_said[mark] = np.maximum(most_said[mark], log) if mark in most_said else log
    kept = {mark: _drawn_by_weight(log, most) for mark, log in most_said.items()}
    fewer = {mark: picked(own.predicted, kept[mark][0]) for mark, own in zip(marks, rows, strict=True)}
    return tuple(_thin(own, *kept[mark], fewer[mark]) for mark, own in zip(marks, rows, strict=True))


def _thin(rows: Rows, kept: Numbers, share: Floats, predicted: Predicted) -> Rows:
    return Rows(
        hypothesis=rows.hypothesis,
        deviates=rows.deviates[kept],
        quantiles=rows.quantiles[kept],
        log_base=rows.log_base[kept] + share,
        predicted=predicted,
        parts={key: values[kept] for key, values in rows.parts.items()},
    )


def _drawn_by_weight(log_weights: Floats, most: int) -> tuple[Numbers, Floats]:
    """Which rows are kept, at most ``most``, and the logarithm of what to weight each by so that means stay the same.

    Each has a chance by the root of its weight, so that what the kept ones count for differs less than weights do:
    those whose chance comes to one are all kept, and the rest drawn in equal steps.
    """
    rows = len(log_weights)
    top = float(log_weights.max(initial=-math.inf))
    if not math.isfinite(top):
        evenly = np.linspace(0, rows - 1, min(most, rows)).astype(np.int64)
        return evenly, np.zeros(len(evenly))
    near = np.flatnonzero(log_weights >= top - NEGLIGIBLE)
    root = np.exp(0.5 * (log_weights[near] - top))
    certain = np.full(len(near), len(near) <= most)
    chance = np.ones(len(near))
    while not certain.all():
        chance[~certain] = (most - certain.sum()) * root[~certain] / root[~certain].sum()
        found = certain | (chance >= 1.0)
        if (found == certain).all():
            break
        chance[found], certain = 1.0, found
    # From one half: the same rows for the same weights, whoever asks.
    drawn = np.diff(np.floor(np.cumsum(np.where(certain, 0.0, chance)) + 0.5), prepend=0.0) >= 1.0
    kept = np.flatnonzero(certain | drawn)
    return near[kept], math.log(len(kept) / rows) - np.log(chance[kept])


def evidence_without(
    scorer: Scorer, rows: Sequence[Rows], sound: Predicted, key: GroupKey, places: Sequence[int]
) -> Floats:
    """Log evidence of every hypothesis with one item of a group left out, shape (places, hypotheses).

    ``sound`` are the predictions of today's sound system, by which 'none of these' is scored.
    """
    if key[0] in ("gauge", "lamp"):
        scores = _without_readings(scorer, rows, sound, key, places)
    else:
        each = [
            [scorer.group_log(key, own.hypothesis, own.quantiles, own.predicted, sound, place) for own in rows]
            for place in places
        ]
        scores = np.array([np.concatenate(per_row) for per_row in each])
    counts = np.array([len(own.log_base) for own in rows])
    rest = np.concatenate([own.log_weights(key, np.zeros(len(own.log_base))) for own in rows])
    return _log_means(scores + rest, counts)


def _log_means(log_weights: Floats, counts: Numbers) -> Floats:
    """Logarithm of the mean weight of each run of columns, ``counts`` long: (places, rows) -> (places, runs)."""
    log_weights = np.where(np.isfinite(log_weights), log_weights, -np.inf)
    starts = np.cumsum(counts) - counts
    top = np.maximum.reduceat(log_weights, starts, axis=1)
    held = np.where(np.isfinite(top), top, 0.0)
    total = np.add.reduceat(np.exp(log_weights - np.repeat(held, counts, axis=1)), starts, axis=1)
    with np.errstate(divide="ignore"):
        return np.asarray(held + np.log(total / counts))


def _without_readings(
    scorer: Scorer, rows: Sequence[Rows], sound: Predicted, key: GroupKey, places: Sequence[int]
) -> Floats:
    """Scores of a gauge or lamp without each of its readings, (places, all rows).

    All rows that are scored alike are scored at once.
    """
    alike: dict[tuple[object, ...], dict[int, Rows]] = {}
    for own in rows:
        variances = tuple(tuple(variance.tolist()) for variance in own.predicted.gauge_variance)
        mark = (scorer.gauge_kind(own.hypothesis), variances)
        alike.setdefault(mark, {}).setdefault(id(own.predicted), own)
    members = list(alike.values())
    together = [joined([own.predicted for own in some.values()]) for some in members]

    def score(at: int) -> Floats:
        hypothesis = next(iter(members[at].values())).hypothesis
        return scorer.shown_logs(key, hypothesis, together[at], sound, places)

    scores: dict[tuple[object, ...], Floats] = {}
    for (kind, _), some, found in zip(alike, members, each(score, range(len(members))), strict=True):
        ends = np.cumsum([len(own.log_base) for own in some.values()])[:-1]
        for same, part in zip(some, np.split(found, ends, axis=1), strict=True):
            scores[same, kind] = part
    return np.concatenate([scores[id(own.predicted), scorer.gauge_kind(own.hypothesis)] for own in rows], axis=1)


def evidence_without_group(rows: Sequence[Rows], key: GroupKey) -> Floats:
    """Log evidence of every hypothesis with a whole group left out."""
    return np.array([log_mean(own.log_weights(key, np.zeros(len(own.log_base))))[0] for own in rows])


def log10_odds(probability: Floats) -> Floats:
    """Base-10 log odds, held within +-12."""
    p = np.clip(probability, 1e-12, 1.0 - 1e-12)
    return np.asarray(np.log10(p / (1.0 - p)))
