"""The whole bank scored against the evidence: a scorer made for it, and the rows of every hypothesis."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from vanewise.diagnosis import likelihood
from vanewise.diagnosis.bank import SOUND_BLOCK, Bank
from vanewise.diagnosis.evidence import Prepared
from vanewise.diagnosis.noticing import Noticing, Shared
from vanewise.diagnosis.predictions import Predicted
from vanewise.diagnosis.scoring import GaugeKind, GroupKey, Rows, Scorer
from vanewise.diagnosis.set_by_gauge import TiedInBank
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
    tied = None if tie is None else TiedInBank(offsets, tie.errors(offsets))
    description, hypotheses, quantiles = bank.packed.description, bank.hypotheses, bank.quantiles
    said = Noticing(description, prepared.remarks, quantiles)
    modes = [number for number, subject in enumerate(bank.hypotheses) if subject.kind != "none"]
    share = weights[modes] / weights[modes].sum()
    averages: dict[str, float] = {}
    noticed: dict[tuple[int, int], Floats] = {}
    shared: list[Shared] = [{} for _ in predicted]
    for number, group in enumerate(prepared.remarks):
        for mode in modes:
            block, subject = bank.block_of[mode], bank.hypotheses[mode]
            own = said.all_noticed(group.items, subject, bank.quantiles, predicted[block], shared[block])
            noticed[number, mode] = own
        means = np.array([noticed[number, mode].sum(axis=0) / len(noticed[number, mode]) for mode in modes])
        for at in np.flatnonzero(np.isnan(means).any(axis=1)).tolist():  # rows without a proven solution do not count
            means[at] = np.nanmean(noticed[number, modes[at]], axis=0)
        for place, item in enumerate(group.items):
            averages[item.id] = float(share @ means[:, place])
    said.none_remarks, said.noticed_in_bank = averages, noticed
    return Scorer(description, prepared, hypotheses, reference, said, set(), kin, tie, tied)


def score_bank(bank: Bank, scorer: Scorer, predicted: Sequence[Predicted]) -> tuple[Rows, ...]:
    """Rows of every hypothesis of the bank. Hypotheses that share solves and errors share their gauge scores."""
    shown = [key for key in scorer.group_keys() if key[0] in ("gauge", "lamp")]
    gauges = _gauge_scores(bank, scorer, predicted, shown)
    far = [key for key in shown if _fits_badly(scorer, key, gauges[key])]
    scorer.deep.update(number for _, number in far)
    gauges |= _gauge_scores(bank, scorer, predicted, far)
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


Mark = tuple[int, GaugeKind]
"""A block and a way of scoring a gauge or the lamp."""


def _gauge_scores(
    bank: Bank, scorer: Scorer, predicted: Sequence[Predicted], keys: Sequence[GroupKey]
) -> dict[GroupKey, dict[Mark, Floats]]:
    """Scores of gauges and the lamp for each block and way of scoring it."""
    kinds = [scorer.gauge_kind(number) for number in range(len(bank.block_of))]
    pieces: list[tuple[GroupKey, list[tuple[Mark, int]]]] = []
    for key in keys:
        by_kind: dict[GaugeKind, dict[Mark, int]] = {}
        for number, (block, kind) in enumerate(zip(bank.block_of, kinds, strict=True)):
            mark = block, _alike(key, kind)
            by_kind.setdefault(mark[1], {}).setdefault(mark, number)
        for own in map(list, map(dict.items, by_kind.values())):
            pieces += [(key, own[at : at + _AT_ONCE]) for at in range(0, len(own), _AT_ONCE)]

    def score(piece: tuple[GroupKey, list[tuple[Mark, int]]]) -> list[Floats]:
        key, numbered = piece
        blocks = _side_by_side([predicted[block] for (block, _), _ in numbered], key, scorer.tied_in_bank)
        logs = scorer.shown_logs(key, numbered[0][1], blocks, predicted[SOUND_BLOCK], (None,))[0]
        return np.split(logs, len(numbered))

    found: dict[GroupKey, dict[Mark, Floats]] = {key: {} for key in keys}
    for (key, numbered), scores in zip(pieces, each(score, pieces), strict=True):
        found[key].update(zip([mark for mark, _ in numbered], scores, strict=True))
    return found


def _side_by_side(blocks: Sequence[Predicted], key: GroupKey, tied: TiedInBank | None) -> Predicted:
    """What one gauge or the lamp is scored by, of several blocks one after the other; the rest as of the first."""
    first = blocks[0]
    if len(blocks) == 1:
        return first
    own_offsets = tied is not None and all(own.set_off is tied.offsets for own in blocks)
    without = [own.without for own in blocks if own.without is not None]
    joined = _side_by_side(without, key, tied) if len(without) == len(blocks) else None
    if key[0] == "lamp":
        lamp, slope = (np.concatenate([getattr(own, name) for own in blocks]) for name in ("lamp", "lamp_slope"))
        return replace(first, lamp=lamp, lamp_slope=slope, without=joined)
    read = np.concatenate([own.gauges[key[1]].T for own in blocks], axis=1).T
    return replace(
        first,
        gauges=tuple(read if number == key[1] else values for number, values in enumerate(first.gauges)),
        set_off=tied.repeated(len(blocks))
        if tied is not None and own_offsets
        else np.concatenate([own.set_off for own in blocks]),
        turned=np.concatenate([own.turned for own in blocks]),
        without=joined,
    )


def _fits_badly(scorer: Scorer, key: GroupKey, scores: Mapping[Mark, Floats]) -> bool:
    if key[0] != "gauge" or scorer.prepared.gauges[key[1]].sister:
        return False
    group = scorer.prepared.gauges[key[1]]
    best = max(float(values[np.isfinite(values)].max(initial=-np.inf)) for values in scores.values())
    return likelihood.needs_depth(best, np.array([item.read_sd for item in group.items]))
