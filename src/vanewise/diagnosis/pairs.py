"""Two faults at once, tried where nothing single explains all the evidence."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from scipy.special import chdtrc

from vanewise.diagnosis.bank import Bank
from vanewise.diagnosis.contradicting import contradictions
from vanewise.diagnosis.evidence import PANEL
from vanewise.diagnosis.hypotheses import Hypothesis, pair, prior_weight, prior_weights
from vanewise.diagnosis.likelihood import squared_distance
from vanewise.diagnosis.modes import NOTHING_WRONG
from vanewise.diagnosis.posterior import Posterior, evidence_without_group, make_posterior, shares
from vanewise.diagnosis.predictions import picked
from vanewise.diagnosis.proposals import fit, told_by
from vanewise.diagnosis.rounds import NO_AIMS, FamilyStart, refine_family, solve_deviates
from vanewise.diagnosis.scoring import GroupKey, Rows, Scorer
from vanewise.diagnosis.state import State
from vanewise.diagnosis.symptoms import SYMPTOMS
from vanewise.diagnosis.threads import each, solver_threads
from vanewise.network.types import Floats

MISFIT_P: Final = 0.02
"""Posterior predictive probability of the best hypothesis under which two faults at once are tried."""
MOST_PAIRS: Final = 12
_PAIR_SINGLES: Final = 12
_BEHIND_THE_GAUGE: Final = 3
_NOT_TOLD_APART: Final = 1.0
"""Nats within which places of one mode count as not told apart, so that one stands for all in a pair."""
_WORTH_TWO: Final = math.log(3.0)
"""Nats by which two faults must explain more than the better of them alone; else the second is idle."""


def predictive_p(scorer: Scorer, rows: Rows, subject: Hypothesis) -> float:
    """Posterior predictive probability of readings as far off as these, under the shared errors; 1 without readings."""
    smallest = 1.0
    weight = np.exp(rows.log_weights() - np.max(rows.log_weights()))
    weight = weight / weight.sum()
    for number, group in enumerate(scorer.prepared.gauges):
        if group.sister or subject.kind == "none" or subject.has("gauge_in_error"):
            continue
        counting = np.flatnonzero(weight > 0.0)
        some = picked(rows.predicted, counting)
        value, observed, variance = scorer.likely_terms(number, subject, some)
        found = np.zeros(len(counting))
        for share, error in scorer.kinds(number, subject, some):
            found += share * chdtrc(len(observed), squared_distance(value, observed, variance, error))
        smallest = min(smallest, float(weight[counting] @ found))
    return smallest


def needs_pairs(state: State) -> bool:
    posterior = state.posterior
    best = int(np.argmax(posterior.probability))
    subject = posterior.hypotheses[best]
    if subject.kind == "none":
        return True
    if subject.has("gauge_in_error") and _not_the_gauge_alone(state):
        return True
    if predictive_p(state.scorer, posterior.rows[best], subject) < MISFIT_P:
        return True
    return bool(contradictions(state))


def _not_the_gauge_alone(state: State) -> bool:
    """Whether something else than the panel gauge speaks of the air: a gauge in error explains any reading it showed,
    so that nothing it shows can call for a second fault."""
    prepared = state.prepared
    said = any(
        item.present
        and (
            symptom.drive is not None
            or symptom.over is not None
            or (symptom.gauge is not None and symptom.gauge.of_lamp)
        )
        for group in prepared.remarks
        for item in group.items
        for symptom in (SYMPTOMS[item.symptom],)
    )
    other = any(group.instrument != PANEL and not group.sister for group in prepared.gauges)
    return said or other or bool(prepared.lamps) or bool(prepared.checks)


def _candidates(state: State) -> list[Hypothesis]:
    """Pairs of singles that explain well what remains when one group of evidence is left out.

    With a gauge that reads wrong stand the likeliest faults of what remains without that gauge: what it shows
    otherwise hides them, and the trade looks at the gauge first.
    """
    posterior = state.posterior
    best = np.array(posterior.probability)
    for key in state.scorer.group_keys():
        left = shares(evidence_without_group(posterior.rows, key), posterior.prior)
        best = np.maximum(best, left)
    standing = _standing_for_all(posterior, best)
    singles = sorted(standing, key=lambda entry: (-best[entry[0]], entry[0]))
    leading = _each_repair_first(_one_of_each_effect(state, singles))[:_PAIR_SINGLES]
    events, said, of_one = state.prepared.events, state.prepared.said(), state.prepared.of_one()
    found = []
    for place, (first, one) in enumerate(leading):
        for second, other in leading[place + 1 :]:
            both = pair(one, other)
            if both is not None:
                found.append((prior_weight(both, events, said, of_one) * max(best[first], best[second]), both))
    found.sort(key=lambda entry: (-entry[0], entry[1].id))
    behind = _behind_the_gauge(state)
    ranked = [both for _, both in found if set(both.mode_ids) not in [set(own.mode_ids) for own in behind]]
    return [*ranked[: MOST_PAIRS - len(behind)], *behind]


def _behind_the_gauge(state: State) -> list[Hypothesis]:
    """A wrong panel gauge with each of the likeliest faults of what remains without its readings."""
    posterior = state.posterior
    wrong = next((own for own in posterior.hypotheses if own.kind == "single" and own.has("gauge_in_error")), None)
    panel: list[GroupKey] = [("gauge", n) for n, group in enumerate(state.prepared.gauges) if group.instrument == PANEL]
    if wrong is None or not panel:
        return []
    left = shares(np.min([evidence_without_group(posterior.rows, key) for key in panel], axis=0), posterior.prior)
    standing = _standing_for_all(posterior, left)
    singles = [entry for entry in standing if not entry[1].network_free()]
    singles.sort(key=lambda entry: (-left[entry[0]], entry[0]))
    leading = _each_repair_first(_one_of_each_effect(state, singles))[:_BEHIND_THE_GAUGE]
    return [both for _, one in leading if (both := pair(one, wrong)) is not None]


def _one_of_each_effect(state: State, singles: Sequence[tuple[int, Hypothesis]]) -> list[tuple[int, Hypothesis]]:
    """The first of those that do the same to the air and call for the same repair: alike ones crowd out no other."""
    seen: set[tuple[int, str]] = set()
    found: list[tuple[int, Hypothesis]] = []
    for number, hypothesis in singles:
        mark = (state.bank.block_of[number], hypothesis.source.family)
        if mark not in seen or hypothesis.network_free():
            seen.add(mark)
            found.append((number, hypothesis))
    return found


def _each_repair_first(singles: Sequence[tuple[int, Hypothesis]]) -> list[tuple[int, Hypothesis]]:
    """The best of each repair before the second of any: a repair split over many places is not crowded out by them."""
    count: dict[str, int] = {}
    turn = []
    for entry in singles:
        family = entry[1].source.family
        count[family] = count.get(family, 0) + 1
        turn.append(count[family])
    return [entry for _, entry in sorted(zip(turn, singles, strict=True), key=lambda pair: pair[0])]


def _standing_for_all(posterior: Posterior, best: Floats) -> list[tuple[int, Hypothesis]]:
    """Single faults; the likeliest place of a mode stands, with their share, for those not told apart from it.

    ``best``, the probability of each, is made that of all of them for the one that stands for them.
    """
    by_mode: dict[str, list[int]] = {}
    for number, hypothesis in enumerate(posterior.hypotheses):
        if hypothesis.kind == "single" and hypothesis.source is not NOTHING_WRONG:
            by_mode.setdefault(hypothesis.source.id, []).append(number)
    found: list[tuple[int, Hypothesis]] = []
    for numbers in by_mode.values():
        first = numbers[int(np.argmax(posterior.log_evidence[numbers]))]
        least = posterior.log_evidence[first] - _NOT_TOLD_APART
        alike = [number for number in numbers if posterior.log_evidence[number] > least or number == first]
        share = sum(posterior.hypotheses[number].share for number in alike)
        best[first] = best[alike].sum()
        found.append((first, replace(posterior.hypotheses[first], share=share)))
        found.extend((number, posterior.hypotheses[number]) for number in numbers if number not in alike)
    return found


def with_pairs(state: State) -> State:
    """The state with the likeliest pairs of faults among its hypotheses."""
    bank, prepared, posterior = state.bank, state.prepared, state.posterior
    added = _candidates(state)
    if not added:
        return state
    hypotheses = (*posterior.hypotheses, *added)
    scorer = replace(state.scorer, hypotheses=hypotheses)
    new = range(len(posterior.hypotheses), len(hypotheses))
    threads = solver_threads(len(new))
    prior = prior_weights(hypotheses, prepared.events, prepared.said(), prepared.of_one())

    def drawn(number: int) -> Rows:
        subject = hypotheses[number]
        some = bank.drawn.deviates[:: _pair_step(bank)]
        base = solve_deviates(bank, prepared, subject, some, threads=threads)
        scored = scorer.score(number, base.z, base.quantiles, np.zeros(len(base.z)), base.predicted)
        start, _ = fit(scorer, subject, scored, told_by(bank, subject))
        family = FamilyStart(number, (number,), start)
        return refine_family(bank, prepared, scorer, family, NO_AIMS, {number: scored}, threads=threads).rows[number]

    rows = [*posterior.rows, *each(drawn, new)]
    tried = make_posterior(hypotheses, rows, prior)
    kept = [number for number in range(len(hypotheses)) if _explains_more(tried, number)]
    return replace(
        state,
        scorer=replace(scorer, hypotheses=tuple(hypotheses[number] for number in kept)),
        posterior=make_posterior(
            [hypotheses[number] for number in kept],
            [replace(rows[number], hypothesis=place) for place, number in enumerate(kept)],
            prior[kept],
        ),
    )


def _explains_more(posterior: Posterior, number: int) -> bool:
    """False for a pair whose second fault explains nothing that one of them alone does not."""
    subject = posterior.hypotheses[number]
    if subject.kind != "pair":
        return True
    alone = [
        float(posterior.log_evidence[place])
        for place, other in enumerate(posterior.hypotheses)
        if other.kind == "single" and other.source.id in subject.mode_ids
    ]
    return float(posterior.log_evidence[number]) > max(alone, default=-math.inf) + _WORTH_TWO


def _pair_step(bank: Bank) -> int:
    return max(1, bank.rows // 256)
