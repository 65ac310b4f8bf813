"""What each piece of evidence says for and against each cause."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from types import MappingProxyType
from typing import Final, Literal

import numpy as np

from vanewise.diagnosis import words
from vanewise.diagnosis.confirming import check_words
from vanewise.diagnosis.evidence import Prepared
from vanewise.diagnosis.hypotheses import prior_weights
from vanewise.diagnosis.posterior import evidence_without, log10_odds, log_mean, shares, thinned
from vanewise.diagnosis.scoring import GroupKey
from vanewise.diagnosis.state import State
from vanewise.diagnosis.summing_up import source_matrix
from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS, word_and_part
from vanewise.diagnosis.types import EvidenceWeight
from vanewise.network.types import Floats

_WEIGHT_ROWS: Final = 192
"""Rows of each hypothesis that evidence is weighed by: good to 0.05 in log10 odds, the worst to 0.3."""

NO_LABELS: Final[Mapping[str, str]] = MappingProxyType({})


def evidence_weights(state: State) -> Mapping[str, Mapping[str, float]]:
    """Evidence id -> cause id -> change of log10 odds that the item makes, against leaving it out."""
    posterior = state.posterior
    modes, matrix = source_matrix(posterior.hypotheses)
    scorer = state.scorer
    rows = thinned(scorer, posterior.rows, _WEIGHT_ROWS)
    sound = next(own.predicted for own in rows if scorer.hypotheses[own.hypothesis].kind == "none")
    whole = np.array([log_mean(own.log_weights())[0] for own in rows])
    all_in = log10_odds(matrix @ shares(whole, posterior.prior))
    events, said, of_one = state.prepared.events, state.prepared.said(), state.prepared.of_one()
    found: dict[str, Mapping[str, float]] = {}

    def weigh(name: str, evidence: Floats, without: Collection[str] = (), others: Mapping[str, float] = events) -> None:
        """What ``name`` does to the odds: rates are rates of reports, so a remark left out moves them as well."""
        left, alone = state.prepared.said(without), state.prepared.of_one(without)
        same = left == said and alone == of_one and others is events
        prior = posterior.prior if same else prior_weights(posterior.hypotheses, others, left, alone)
        found[name] = dict(zip(modes, (all_in - log10_odds(matrix @ shares(evidence, prior))).tolist(), strict=True))

    for key in scorer.group_keys():
        items = scorer.items_of(key)
        for item_id, evidence in zip(items, evidence_without(scorer, rows, sound, key, range(len(items))), strict=True):
            weigh(item_id, evidence, (item_id,))
        if len(items) > 1:
            bare = np.array([log_mean(own.log_weights(key, np.zeros_like(own.log_base)))[0] for own in rows])
            weigh(together(state.prepared, key), bare, items)
    for event in events:
        weigh(event, whole, others={kind: weight for kind, weight in events.items() if kind != event})
    return found


def together(prepared: Prepared, key: GroupKey) -> str:
    """A name for all items of a group: of a sweep, or of one person's remarks, each alone may say next to nothing."""
    kind, number = key
    if kind == "gauge":
        group = prepared.gauges[number]
        return f"{group.instrument}, {_all(len(group.items))} readings together"
    if kind == "lamp":
        return f"lamp, {_all(len(prepared.lamps))} changes together"
    remarks = prepared.remarks[number]
    return f"{remarks.name}, {_all(len(remarks.items))} remarks together"


def _all(count: int) -> str:
    return "both" if count == 2 else f"all {count}"


def item_words(prepared: Prepared, labels: Mapping[str, str] = NO_LABELS) -> Mapping[str, str]:
    """What each piece of evidence was, in words. ``labels`` are the names of the parts by id."""
    found: dict[str, str] = {}
    for group in prepared.gauges:
        for item in group.items:
            when = ", while sound" if item.point.before else ""
            under = f", {', '.join(key for key, _ in item.point.under)}" if item.point.under else ""
            found[item.id] = f"{group.instrument} {item.value:.1f} inHg at {item.point.rpm:.0f} rpm{under}{when}"
    for lamp in prepared.lamps:
        when = ", while sound" if lamp.point.before else ""
        found[lamp.id] = f"lamp changed at {lamp.point.rpm:.0f} rpm{when}"
    for remarks in prepared.remarks:
        for remark in remarks.items:
            said = " ".join((SYMPTOMS[remark.symptom].words, remark.manner)).strip()
            found[remark.id] = said if remark.present else f"looked, and absent: {said}"
    for check in prepared.checks:
        found[check.id] = check_words(check)
    for event in prepared.events:
        kind, about = word_and_part(event)
        found[event] = EVENTS[kind].words + (f" ({labels.get(about, about)})" if about else "")
    return found


def weights_of(
    cause: str, weights: Mapping[str, Mapping[str, float]], named: Mapping[str, str]
) -> tuple[EvidenceWeight, ...]:
    found = []
    for item_id, per_cause in weights.items():
        value = per_cause.get(cause, 0.0)
        speaks: Literal["for", "against", "neither"] = (
            "neither" if abs(value) < 0.1 else "for" if value > 0 else "against"
        )
        found.append(
            EvidenceWeight(
                id=item_id,
                log10_odds=value,
                words=f"{named.get(item_id, item_id)}: {words.weight(value)}",
                speaks=speaks,
            )
        )
    return tuple(sorted(found, key=lambda entry: (-abs(entry.log10_odds), entry.id)))
