"""What the leading causes do not explain, and remarks that were held to their cap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from vanewise.diagnosis.evidence import PANEL
from vanewise.diagnosis.likelihood import SharedError, outlier_weights
from vanewise.diagnosis.predictions import picked
from vanewise.diagnosis.scoring import Terms
from vanewise.diagnosis.state import State
from vanewise.network.types import Floats

_CONTRADICTS: Final = 0.5

_ASKED: Final = 0.99
"""Share of a cause's weight whose rows, the heaviest, are asked about contradictions: the rest moves no half."""


def contradictions(state: State) -> tuple[str, ...]:
    """Readings that none of the leading causes explains: posterior outlier weight above one half."""
    posterior, scorer = state.posterior, state.scorer
    leading = [index for index in np.argsort(-posterior.probability)[:4] if posterior.probability[index] > 0.02]
    total = float(posterior.probability[leading].sum())
    found = []
    for number, group in enumerate(scorer.prepared.gauges):
        if group.sister:
            continue
        weight = np.zeros(len(group.items))
        alike: dict[tuple[float, float, float], list[tuple[Terms, SharedError, Floats]]] = {}
        for index in leading:
            own, subject = posterior.rows[index], posterior.hypotheses[index]
            if subject.kind == "none" or (subject.has("gauge_in_error") and group.instrument == PANEL):
                continue  # these explain any reading
            row_weight = _normalised(own.log_weights())
            heaviest = np.argsort(-row_weight, kind="stable")
            solved = np.sort(heaviest[: np.searchsorted(np.cumsum(row_weight[heaviest]), _ASKED) + 1])
            asked = row_weight[solved] / row_weight[solved].sum()
            some = picked(own.predicted, solved)
            terms = scorer.likely_terms(number, subject, some)
            for share, error in scorer.kinds(number, subject, some):
                counts = posterior.probability[index] / total * asked * share
                alike.setdefault((error.bias_sd, error.scale_sd, error.tilt), []).append((terms, error, counts))
        for parts in alike.values():
            weight += _slips_of(parts)
        found += [item.id for item, value in zip(group.items, weight, strict=True) if value > _CONTRADICTS]
    return tuple(found)


def _slips_of(parts: Sequence[tuple[Terms, SharedError, Floats]]) -> Floats:
    """Chance that each reading is a slip, (readings,), summed over rows by what they count for; all rows in one go.

    ``parts`` are terms, error and what each row counts for; the errors differ in what is expected of each row alone.
    """
    (_, observed, _), first, _ = parts[0]
    value = np.concatenate([terms[0] for terms, _, _ in parts])
    variance = np.concatenate([terms[2] for terms, _, _ in parts])
    means = [
        np.zeros((len(counts), 2)) if error.mean is None else np.broadcast_to(error.mean, (len(counts), 2))
        for _, error, counts in parts
    ]
    error = replace(first, mean=np.concatenate(means))
    return np.asarray(
        np.concatenate([counts for _, _, counts in parts]) @ outlier_weights(value, observed, variance, error)
    )


def _normalised(log_weights: Floats) -> Floats:
    finite = np.isfinite(log_weights)
    if not finite.any():
        return np.zeros(len(log_weights))
    weight = np.where(finite, np.exp(log_weights - log_weights[finite].max()), 0.0)
    return np.asarray(weight / weight.sum())


def capped_groups(state: State) -> tuple[str, ...]:
    """Groups of soft remarks that would say more than the cap allows, among causes that matter."""
    found = []
    scorer, posterior = state.scorer, state.posterior
    matter = [own for own, p in zip(posterior.rows, posterior.probability, strict=True) if p > 1e-6]
    for number, group in enumerate(scorer.prepared.remarks):
        if group.soft:
            floor = scorer.remarks.cap_floor(number)
            if any(float(np.nanmin(own.parts["remarks", number])) <= floor + 1e-12 for own in matter):
                found.append(group.name)
    return tuple(found)
