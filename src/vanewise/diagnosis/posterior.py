"""From scored rows to probabilities: prior times mean likelihood, with how well each mean is known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from vanewise.diagnosis.hypotheses import Hypothesis
from vanewise.diagnosis.predictions import Predicted
from vanewise.diagnosis.scoring import GroupKey, Rows, Scorer
from vanewise.network.types import Floats

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
    finite = log_weights[np.isfinite(log_weights)]
    count = len(log_weights)
    if not len(finite):
        return -math.inf, 0.0, math.inf
    top = float(finite.max())
    weights = np.exp(finite - top)
    total, square = float(weights.sum()), float((weights**2).sum())
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
    evidence = np.array([entry[0] for entry in found])
    return Posterior(
        hypotheses=tuple(hypotheses),
        rows=tuple(rows),
        prior=prior,
        log_evidence=evidence,
        effective_rows=np.array([entry[1] for entry in found]),
        log_evidence_se=np.array([entry[2] for entry in found]),
        probability=shares(evidence, prior),
    )


def thinned(rows: Sequence[Rows], most: int) -> tuple[Rows, ...]:
    """Every k-th row of each hypothesis, so that at most ``most`` remain: for questions that need a rough answer only.

    Hypotheses that shared predictions still do.
    """
    fewer: dict[int, Predicted] = {}
    return tuple(_thin(own, max(1, len(own.log_base) // most), fewer) for own in rows)


def _thin(rows: Rows, step: int, fewer: dict[int, Predicted]) -> Rows:
    if step == 1:
        return rows
    own = rows.predicted
    if id(own) not in fewer:
        fewer[id(own)] = Predicted(
            gauges=tuple(values[::step] for values in own.gauges),
            gauge_variance=own.gauge_variance,
            lamp=own.lamp[::step],
            lamp_slope=own.lamp_slope[::step],
            felt={key: values[::step] for key, values in own.felt.items()},
            checks={key: values[::step] for key, values in own.checks.items()},
        )
    predicted = fewer[id(own)]
    parts = {key: values[::step] for key, values in rows.parts.items()}
    return Rows(rows.hypothesis, rows.deviates[::step], rows.quantiles[::step], rows.log_base[::step], predicted, parts)


def evidence_without(scorer: Scorer, rows: Sequence[Rows], sound: Rows | None, key: GroupKey, place: int) -> Floats:
    """Log evidence of every hypothesis with one item left out. Gauges and lamps are scored once for shared rows."""
    found = []
    known: dict[tuple[object, ...], Floats] = {}
    reference = None if sound is None else sound.predicted
    for own in rows:
        mark: tuple[object, ...] = (own.hypothesis,)
        if key[0] in ("gauge", "lamp"):
            mark = (id(own.predicted), *scorer.gauge_kind(own.hypothesis))
        if mark not in known:
            known[mark] = scorer.group_log(key, own.hypothesis, own.quantiles, own.predicted, reference, place)
        found.append(log_mean(own.log_weights(key, known[mark]))[0])
    return np.array(found)


def evidence_without_group(rows: Sequence[Rows], key: GroupKey) -> Floats:
    """Log evidence of every hypothesis with a whole group left out."""
    return np.array([log_mean(own.log_weights(key, np.zeros(len(own.log_base))))[0] for own in rows])


def log10_odds(probability: Floats) -> Floats:
    """Base-10 log odds, held within +-12."""
    p = np.clip(probability, 1e-12, 1.0 - 1e-12)
    return np.asarray(np.log10(p / (1.0 - p)))
