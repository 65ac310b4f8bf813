"""Rows drawn from the posterior, on which a check is tried before anybody does it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from vanewise.diagnosis import nuisance
from vanewise.diagnosis.effects import combine
from vanewise.diagnosis.evidence import PANEL
from vanewise.diagnosis.hypotheses import Hypothesis
from vanewise.diagnosis.likelihood import Bools, SharedError
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.predictions import Predicted, picked
from vanewise.diagnosis.scoring import wide_error
from vanewise.diagnosis.state import State
from vanewise.network.types import Floats
from vanewise.provenance import Value

Ints = NDArray[np.int64]

SAMPLE: Final = 800
"""With half as many a sweep, whose outcomes are spread over three readings, came to half of what it tells or less: each
row is judged by those of the other half near it."""


@dataclass(frozen=True, slots=True, eq=False)
class Sample:
    """Rows resampled from the posterior, with what would be repaired in each."""

    subjects: tuple[Hypothesis, ...]
    """Hypothesis of each row."""
    quantiles: Floats
    columns: Mapping[str, Floats]
    causes: tuple[str, ...]
    """Source mode of each row."""
    groups: tuple[str, ...]
    """Families of modes that call for the same repair, in order."""
    group: Ints
    """Number of each row's repair group."""
    gauge_error: tuple[Floats, Floats]
    """Mean (rows, 2) and covariance (rows, 2, 2) of the panel gauge's offset [inHg] and scale, readings included."""

    by_subject: tuple[tuple[Hypothesis, Bools], ...]
    """Each hypothesis with its rows."""

    @property
    def size(self) -> int:
        return len(self.subjects)


def resample(state: State) -> Sample:
    """Systematic resampling over hypotheses and rows: even numbers are one half, odd numbers the other."""
    posterior = state.posterior
    rows_of, row_of, weight = [], [], []
    for number, own in enumerate(posterior.rows):
        log = own.log_weights()
        if posterior.probability[number] <= 0.0 or not np.isfinite(log).any():
            continue
        share = np.where(np.isfinite(log), np.exp(log - log[np.isfinite(log)].max()), 0.0)
        rows_of.append(np.full(len(log), number))
        row_of.append(np.arange(len(log)))
        weight.append(posterior.probability[number] * share / share.sum())
    cumulative = np.cumsum(np.concatenate(weight))
    at = (np.arange(SAMPLE) + 0.5) / SAMPLE * cumulative[-1]
    chosen = np.searchsorted(cumulative, at)
    hypothesis, row = np.concatenate(rows_of)[chosen], np.concatenate(row_of)[chosen]
    subjects = tuple(posterior.hypotheses[number] for number in hypothesis.tolist())
    deviates = np.stack([posterior.rows[h].deviates[r] for h, r in zip(hypothesis, row, strict=True)])
    quantiles = np.stack([posterior.rows[h].quantiles[r] for h, r in zip(hypothesis, row, strict=True)])
    by_subject = tuple((posterior.hypotheses[h], hypothesis == h) for h in dict.fromkeys(hypothesis.tolist()))
    causes = tuple(subject.source.id for subject in subjects)
    repairs = tuple(MODES[cause].family for cause in causes)
    groups = tuple(dict.fromkeys(MODES[cause].family for cause in sorted(causes, key=list(MODES).index)))
    return Sample(
        subjects=subjects,
        quantiles=quantiles,
        columns=_columns(state, by_subject, deviates, quantiles),
        causes=causes,
        groups=groups,
        group=np.array([groups.index(repair) for repair in repairs], dtype=np.int64),
        gauge_error=_gauge_error(state, hypothesis, row),
        by_subject=by_subject,
    )


def _columns(
    state: State, by_subject: Sequence[tuple[Hypothesis, Bools]], deviates: Floats, quantiles: Floats
) -> Mapping[str, Floats]:
    """State columns of every sampled row, all hypotheses side by side."""
    bank = state.bank
    drawn = nuisance.draw(bank.packed, deviates, bank.changed, bank.engine, bank.drawn.springs, bank.tie)
    merged = {key: values.copy() for key, values in drawn.now.items()}
    for subject, here in by_subject:
        base = {key: values[here] for key, values in drawn.now.items()}
        own = combine(base, subject.changes(bank.packed.description, quantiles[here]), int(here.sum()))
        for key, values in own.items():
            if key not in merged:
                merged[key] = np.full(len(deviates), bank.packed.neutral(key))
            merged[key][here] = values
    return merged


def number_of(value: Value | None, default: Value) -> float:
    return (default if value is None else value).number


def _gauge_error(state: State, hypothesis: Ints, row: Ints) -> tuple[Floats, Floats]:
    """What the readings so far say of the panel gauge's offset and scale in each sampled row."""
    mean, covariance = np.zeros((len(row), 2)), np.zeros((len(row), 2, 2))
    number = next((n for n, group in enumerate(state.prepared.gauges) if group.instrument == PANEL), None)
    for h in np.unique(hypothesis).tolist():
        here = np.flatnonzero(hypothesis == h)
        subject = state.posterior.hypotheses[h]
        some = picked(state.posterior.rows[h].predicted, row[here])
        kinds = _unread(state, subject, some) if number is None else _read(state, subject, some, number)
        middle = sum(share[:, None] * own for share, own, _ in kinds)
        spread = sum(
            share[:, None, None] * (left + np.einsum("ri,rj->rij", own - middle, own - middle))
            for share, own, left in kinds
        )
        mean[here], covariance[here] = middle, spread
    return mean, covariance


_Kind = tuple[Floats, Floats, Floats]
"""Probability (rows,), mean (rows, 2) and covariance (rows, 2, 2) of the error, for one kind of gauge."""


def _unread(state: State, subject: Hypothesis, some: Predicted) -> list[_Kind]:
    """Without any reading: what is known of the gauge that the regulator was set by."""
    if subject.has("gauge_in_error") and not subject.set_by_wrong_gauge:
        return [(np.ones(len(some.set_off)), *_prior(wide_error(), len(some.set_off)))]
    return [
        (np.exp(chance) * np.ones(len(some.set_off)), *_prior(error, len(some.set_off)))
        for chance, error in state.scorer.panel_errors(some.set_again() if subject.set_by_wrong_gauge else some)
    ]


def _prior(error: SharedError, rows: int) -> tuple[Floats, Floats]:
    mean = np.zeros((rows, 2)) if error.mean is None else error.mean
    return mean, np.broadcast_to(error.covariance(), (rows, 2, 2))


def _read(state: State, subject: Hypothesis, some: Predicted, number: int) -> list[_Kind]:
    """After the readings, each kind of gauge with what they leave of its error."""
    group = state.prepared.gauges[number]
    wrong = subject.has("gauge_in_error")
    value, observed, variance = state.scorer.likely_terms(number, subject, some)
    wide = wrong and not subject.set_by_wrong_gauge
    kinds = ((np.ones(len(value)), wide_error()),) if wide else state.scorer.kinds(number, subject, some)
    kept = np.array([not (wrong and item.point.before) for item in group.items], dtype=bool)
    design = np.stack([np.ones_like(value[:, kept]), value[:, kept]], axis=2)
    weighted = design / variance[:, kept, None]
    told = np.einsum("rni,rnj->rij", weighted, design)
    found = []
    for share, error in kinds:
        mean, prior = _prior(error, len(value))
        left = np.linalg.inv(np.linalg.inv(prior) + told)
        off = (observed - error.shown(value))[:, kept]
        found.append((share, mean + np.einsum("rij,rj->ri", left, np.einsum("rni,rn->ri", weighted, off)), left))
    return found
