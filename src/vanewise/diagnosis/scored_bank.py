"""The whole bank scored against the evidence: a scorer made for it, and the rows of every hypothesis."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from vanewise.diagnosis import likelihood
from vanewise.diagnosis.bank import SOUND_BLOCK, Bank
from vanewise.diagnosis.evidence import GaugeGroup, Prepared
from vanewise.diagnosis.noticing import Noticing
from vanewise.diagnosis.predictions import Predicted
from vanewise.diagnosis.scoring import GaugeKind, GroupKey, Rows, Scorer
from vanewise.diagnosis.sister import kin_of
from vanewise.diagnosis.threads import each
from vanewise.network.types import Floats


def median_row(predicted: Predicted) -> Predicted:
    """One row of medians, for references."""

    def middle(values: Floats) -> Floats:
        if not values.size:
            return values[:1]
        median = np.median if np.isfinite(values).all() else np.nanmedian  # the latter takes far longer
        return np.asarray(median(values, axis=0, keepdims=True))

    return Predicted(
        gauges=tuple(middle(values) for values in predicted.gauges),
        gauge_variance=predicted.gauge_variance,
        lamp=middle(predicted.lamp),
        lamp_slope=middle(predicted.lamp_slope),
        felt={key: middle(values) for key, values in predicted.felt.items()},
        checks={key: middle(values) for key, values in predicted.checks.items()},
        set_off=middle(predicted.set_off),
        turned=middle(predicted.turned),
    )


def make_scorer(bank: Bank, prepared: Prepared, predicted: Sequence[Predicted], weights: Floats) -> Scorer:
    """A scorer for a bank. ``weights`` are the prior weights of its hypotheses, for the averages of 'none of these'."""
    reference = median_row(predicted[SOUND_BLOCK])
    kin = {n: kin_of(predicted[SOUND_BLOCK].gauges[n]) for n, group in enumerate(prepared.gauges) if group.sister}
    tie, offsets = bank.tie, bank.drawn.set_off
    tied = None if tie is None else (offsets, tie.errors(offsets))
    description, hypotheses, quantiles = bank.packed.description, bank.hypotheses, bank.quantiles
    said = Noticing(description, prepared.remarks, quantiles)
    modes = [number for number, subject in enumerate(bank.hypotheses) if subject.kind != "none"]
    share = weights[modes] / weights[modes].sum()
    averages: dict[str, float] = {}
    noticed: dict[tuple[int, int], Floats] = {}
    for number, group in enumerate(prepared.remarks):
        for mode in modes:
            own, subject = predicted[bank.block_of[mode]], bank.hypotheses[mode]
            noticed[number, mode] = said.all_noticed(group.items, subject, bank.quantiles, own)
        means = np.array([noticed[number, mode].mean(axis=0) for mode in modes])
        for at in np.flatnonzero(np.isnan(means).any(axis=1)).tolist():  # rows without a proven solution do not count
            means[at] = np.nanmean(noticed[number, modes[at]], axis=0)
        for place, item in enumerate(group.items):
            averages[item.id] = float(share @ means[:, place])
    said.none_remarks, said.noticed_in_bank = averages, noticed
    return Scorer(description, prepared, hypotheses, reference, said, set(), kin, tie, tied)


def score_bank(bank: Bank, scorer: Scorer, predicted: Sequence[Predicted]) -> tuple[Rows, ...]:
    """Rows of every hypothesis of the bank. Hypotheses that share solves and errors share their gauge scores."""
    shown = [key for key in scorer.group_keys() if key[0] in ("gauge", "lamp")]
    gauges = {key: _gauge_scores(bank, scorer, predicted, key) for key in shown}
    for key, scores in gauges.items():
        if key[0] == "gauge" and _fits_badly(scorer.prepared.gauges[key[1]], scores.values()):
            scorer.deep.add(key[1])
            gauges[key] = _gauge_scores(bank, scorer, predicted, key)
    nothing = np.zeros(bank.rows)
    found = []
    for number, block in enumerate(bank.block_of):
        own = predicted[block]
        parts: dict[GroupKey, Floats] = {}
        for key in scorer.group_keys():
            if key[0] in ("gauge", "lamp"):
                parts[key] = gauges[key][block, _alike(key, scorer.gauge_kind(number))]
            else:
                parts[key] = scorer.group_log(key, number, bank.quantiles, own, predicted[SOUND_BLOCK])
        found.append(Rows(number, bank.drawn.deviates, bank.quantiles, nothing, own, parts))
    return tuple(found)


_AT_ONCE: Final = 8
"""Blocks that are scored at once: enough that the work on them is more than the calls for it."""


def _alike(key: GroupKey, kind: GaugeKind) -> GaugeKind:
    """What of a kind counts for one group: not the lamp for a gauge, nor a gauge and its wandering for the lamp."""
    none, gauge_wrong, lamp_wrong, wander, goes = kind
    return (none, gauge_wrong, False, wander, goes) if key[0] == "gauge" else (none, False, lamp_wrong, 0.0, goes)


def _gauge_scores(
    bank: Bank, scorer: Scorer, predicted: Sequence[Predicted], key: GroupKey
) -> dict[tuple[int, GaugeKind], Floats]:
    """Scores of one gauge (or the lamp) for each block and way of scoring it."""
    marks = [(block, _alike(key, scorer.gauge_kind(number))) for number, block in enumerate(bank.block_of)]
    first = {mark: number for number, mark in reversed(list(enumerate(marks)))}
    by_kind: dict[GaugeKind, list[int]] = {}
    for number in sorted(first.values()):
        by_kind.setdefault(marks[number][1], []).append(number)
    some = [own[at : at + _AT_ONCE] for own in by_kind.values() for at in range(0, len(own), _AT_ONCE)]

    def score(numbers: Sequence[int]) -> list[Floats]:
        blocks = [predicted[bank.block_of[number]] for number in numbers]
        return np.split(
            scorer.shown_logs(key, numbers[0], _side_by_side(blocks), predicted[SOUND_BLOCK], (None,))[0], len(blocks)
        )

    scores = [own for found in each(score, some) for own in found]
    numbers = [number for own in some for number in own]
    return {marks[number]: own for number, own in zip(numbers, scores, strict=True)}


def _side_by_side(blocks: Sequence[Predicted]) -> Predicted:
    """What gauges and lamp are scored by, of several blocks one after the other."""
    first = blocks[0]
    if len(blocks) == 1:
        return first
    without = [own.without for own in blocks if own.without is not None]
    return replace(
        first,
        gauges=tuple(np.concatenate([own.gauges[n].T for own in blocks], axis=1).T for n in range(len(first.gauges))),
        lamp=np.concatenate([own.lamp for own in blocks]),
        lamp_slope=np.concatenate([own.lamp_slope for own in blocks]),
        felt={},
        checks={},
        set_off=np.concatenate([own.set_off for own in blocks]),
        turned=np.concatenate([own.turned for own in blocks]),
        without=_side_by_side(without) if len(without) == len(blocks) else None,
    )


def _fits_badly(group: GaugeGroup, scores: Iterable[Floats]) -> bool:
    if group.sister:
        return False
    best = max(float(values[np.isfinite(values)].max(initial=-np.inf)) for values in scores)
    return likelihood.needs_depth(best, np.array([item.read_sd for item in group.items]))
