"""The answer in names and words: causes by source, evidence for and against, what stays open."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from vanewise.diagnosis import confirming, gauge_first, safety, words
from vanewise.diagnosis.against_readings import beside_readings
from vanewise.diagnosis.contradicting import capped_groups, contradictions
from vanewise.diagnosis.likelihood import MISJUDGED
from vanewise.diagnosis.modes import MODES, NONE_OF_THESE, NOTHING_WRONG
from vanewise.diagnosis.posterior import ROUGH_BELOW, Posterior, shares
from vanewise.diagnosis.said_besides import said_besides, sources_of
from vanewise.diagnosis.state import State
from vanewise.diagnosis.stopping import no_fault_left, not_yet, stop_words
from vanewise.diagnosis.summing_up import group_of, levels, presence, repairs, source_matrix
from vanewise.diagnosis.types import BeforeAnother, Cause, Causes, HypothesisShare, NextCheck
from vanewise.diagnosis.weighing import item_words, weights_of
from vanewise.network.types import Floats

DECIDED_AT: Final = 0.80
"""A cause this probable is decided. Two causes that explain all alike and are within 3 in prior odds share at most
3 to 1, so neither can be."""

_LEVEL_SEEN: Final = 0.5
"""How sure a level has to be when its first cause was seen directly."""

_MOST_CHANGES: Final = 4

_LEAST_SHARE: Final = 0.001


def causes(state: State, weights: Mapping[str, Mapping[str, float]]) -> tuple[Cause, ...]:
    """One cause per source mode, most probable first."""
    posterior = state.posterior
    modes, matrix = source_matrix(posterior.hypotheses)
    named = item_words(state.prepared, state.bank.packed.description.labels())
    there = presence(posterior)
    confirmed = confirming.confirmed(state.prepared, there)
    found = [
        _cause(mode, matrix[number], there[mode], posterior, weights, named, confirmed)
        for number, mode in enumerate(modes)
    ]
    return tuple(sorted(found, key=lambda cause: (-cause.probability, modes.index(cause.id))))


def _cause(
    mode: str,
    share_of: Floats,
    present: float,
    posterior: Posterior,
    weights: Mapping[str, Mapping[str, float]],
    named: Mapping[str, str],
    confirmed: Mapping[str, str],
) -> Cause:
    own = share_of * posterior.probability
    probability = float(own.sum())
    members = np.flatnonzero(share_of > 0.0)
    order = sorted(members.tolist(), key=lambda index: (-own[index], index))
    best = order[0]
    part = next(
        (m.places[0].part for m in posterior.hypotheses[best].members if m.mode.id == mode),
        posterior.hypotheses[best].part,
    )
    total = own[members].sum()
    mix = own[members] / total if total > 0 else np.full(len(members), 1.0 / len(members))
    effective = float(1.0 / np.sum(mix**2 / np.maximum(posterior.effective_rows[members], 1e-9)))
    error = float(np.sqrt(np.sum((mix * np.minimum(posterior.log_evidence_se[members], 1e6)) ** 2)))
    return Cause(
        id=mode,
        name=MODES[mode].name,
        part=part,
        probability=probability,
        present=max(present, 1.0 - MISJUDGED[2]) if mode in confirmed else present,
        hypotheses=_shares_of(order, own, posterior),
        evidence=weights_of(mode, weights, named),
        effective_rows=effective,
        log_evidence_se=error,
        count_is_rough=effective < ROUGH_BELOW,
        confirmed=mode in confirmed,
        confirmed_by=confirmed.get(mode, ""),
    )


def _shares_of(order: Sequence[int], own: Floats, posterior: Posterior) -> tuple[HypothesisShare, ...]:
    return tuple(
        HypothesisShare(
            id=posterior.hypotheses[index].id,
            share=float(own[index]),
            modes=posterior.hypotheses[index].mode_ids,
            effective_rows=float(posterior.effective_rows[index]),
            log_evidence_se=float(min(posterior.log_evidence_se[index], 1e6)),
            words=posterior.hypotheses[index].words,
        )
        for number, index in enumerate(order)
        if number == 0 or own[index] >= _LEAST_SHARE
    )


def assemble(
    state: State,
    found: tuple[Cause, ...],
    checks: tuple[NextCheck, ...],
    seed: int,
    *,
    asked: bool = True,
    questions: tuple[BeforeAnother, ...] = (),
) -> Causes:
    """The answer with its doubt. ``asked`` is False when no next check was looked for; ``questions`` are what is to be
    found out before another part of the same kind is fitted."""
    found = beside_readings(state, found)
    posterior = state.posterior
    modes, matrix = source_matrix(posterior.hypotheses)
    flattened = matrix @ shares(posterior.log_evidence, posterior.prior, power=0.5)
    first = found[0]
    rests = modes[int(np.argmax(flattened))] != first.id
    description = state.bank.packed.description
    by_level = levels(posterior, len(description.parts_of("pump")))
    by_repair = repairs(posterior)
    top_level = max(by_level, key=lambda name: by_level[name])
    sure = _LEVEL_SEEN if first.confirmed else DECIDED_AT
    before = matrix @ (posterior.prior / posterior.prior.sum())
    order = sorted(range(len(modes)), key=lambda index: (-before[index], index))
    decided = first.probability >= DECIDED_AT and not first.count_is_rough and first.id != NONE_OF_THESE.id
    capped, contradictory = capped_groups(state), contradictions(state)
    level = top_level if by_level[top_level] >= sure and top_level != "unknown" else ""
    cautions = tuple(safety.cautions(found, by_level, description, state.prepared))
    gauge_proved = gauge_first.proved(description, state.prepared)
    unproved = (words.GAUGE_UNPROVED,) if no_fault_left(by_repair, first) and not gauge_proved else ()
    victim = level == "one instrument" and any(question.id == "instrument" for question in questions)
    return Causes(
        causes=found,
        undecided=not decided,
        group=group_of(found),
        next_checks=checks,
        remarks=(*cautions, *unproved, *said_besides(state, found, decided, rests, capped, contradictory)),
        refined=state.refined,
        engine=state.bank.engine,
        rows_per_hypothesis=state.bank.rows,
        rests_on_priors=rests,
        sources=sources_of(state, found),
        description_digest=state.bank.description_digest,
        seed=seed,
        level=level,
        level_note=words.VICTIM if victim else words.NO_FINDING if level == NOTHING_WRONG.level else "",
        levels=by_level,
        prior_order=tuple(modes[index] for index in order[:3]),
        capped=capped,
        repairs=by_repair,
        stop=""
        if confirming.in_doubt(state.prepared, first.id)
        else not_yet(
            stop_words(by_repair, first, checks, asked, found, cautioned=bool(cautions), gauge_proved=gauge_proved),
            questions,
        ),
        changes_mind=tuple(f"{check.title}: {text}" for check in checks for text in check.would_change[:1])[
            :_MOST_CHANGES
        ],
        left_out=state.prepared.former.left_out,
        contradictory=(*contradictory, *confirming.contradicting(state.prepared)),
        before_another=questions,
        cautions=cautions,
    )
