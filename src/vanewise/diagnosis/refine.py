"""Sample again where the evidence points: adaptive importance sampling, rounds pooled by the balance heuristic.

A bank of a thousand rows has only a handful that agree with a sharp sweep. So every hypothesis that matters is drawn
anew in rounds: part of each round stays on the prior, the rest comes from a normal distribution. That is not fitted to
the few rows that agree, which would be noise, but solved for: a local linear regression of the readings on the
unknowns, then the normal posterior of that linear model. All rounds are pooled with the density of their mixture
(balance heuristic, E. Veach and L. Guibas 1995; from memory). Draws are solved at the reported operating points, so
the grid's interpolation has no part in it.

Refinement starts from the bank in canonical order and is a function of the evidence set alone: order of entry cannot
matter. Hypotheses with the same solves are drawn together.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc

from vanewise.diagnosis import nuisance, sampling
from vanewise.diagnosis.answer import contradictions
from vanewise.diagnosis.bank import Bank
from vanewise.diagnosis.effects import combine
from vanewise.diagnosis.evidence import PANEL, Prepared
from vanewise.diagnosis.hypotheses import Hypothesis, pair, prior_weight
from vanewise.diagnosis.likelihood import LAMP_TRIP_SD_INHG, LAMP_WRONG_SD_INHG, SharedError, squared_distance
from vanewise.diagnosis.posterior import (
    ROUGH_BELOW,
    Posterior,
    evidence_without_group,
    log_mean,
    make_posterior,
    shares,
)
from vanewise.diagnosis.predictions import Predicted, solved_exactly
from vanewise.diagnosis.scoring import GroupKey, Rows, Scorer, cover_sd, flow_sd, wide_error
from vanewise.diagnosis.state import State
from vanewise.network.types import Floats
from vanewise.quantities import M3S_PER_CFM, PA_PER_INHG

LEAST_PROBABILITY: Final = 0.005
ROUNDS: Final = 3
MOST_ROUNDS: Final = 6
ENOUGH_ROWS: Final = 40.0
"""Rounds go on to the most while a family's lead has fewer effective rows than this."""
MINOR_SHARE: Final = 0.1
MINOR_ROWS: Final = 20.0
"""A family whose members each stay below this share of the likeliest so far, its error counted, needs no more effective
rows than this, and no third round to have them."""
ROUND_ROWS: Final = {"kernel": 256, "numpy": 64}
COMPONENTS: Final = ((0.25, 0.0), (0.50, 1.2), (0.25, 4.0))
"""Share of each round, and by how much the fitted covariance is widened there; 0 stands for the prior itself."""
_AIM_ROWS: Final = 96.0
"""Effective rows the local regression is tempered to."""
_RIDGE: Final = 1e-3
_FARTHEST: Final = 3.5
"""The fitted mean stays within so many standard deviations of the prior in every direction."""
_DOUBT: Final = 3.0
"""Standard errors of its log evidence by which a roughly counted hypothesis may be more probable than it looks."""
MISFIT_P: Final = 0.02
"""Posterior predictive probability of the best hypothesis under which two faults at once are tried."""
MOST_PAIRS: Final = 12
_PAIR_SINGLES: Final = 12
_NOT_TOLD_APART: Final = 1.0
"""Nats within which places of one mode count as not told apart, so that one stands for all in a pair."""
_WORTH_TWO: Final = math.log(3.0)
"""Nats by which two faults must explain more than the better of them alone; else the second is idle."""


@dataclass(frozen=True, slots=True)
class _Proposal:
    """A normal distribution of the deviates, mixed with a wider one and with the prior."""

    mean: Floats
    factor: Floats
    """Lower Cholesky factor of the fitted covariance."""

    def draw(self, rows: int, seed: int) -> Floats:
        """Deviates (rows, dimensions), each component taking its rows evenly along the lattice."""
        normal = sampling.normals(sampling.uniforms(rows, len(self.mean), seed))
        spread = normal @ self.factor.T
        position = (np.arange(rows) * 0.6180339887498949 + 0.5) % 1.0
        found = np.empty_like(normal)
        start = 0.0
        for share, widen in COMPONENTS:
            here = (position >= start) & (position < start + share)
            found[here] = self.mean + np.sqrt(widen) * spread[here] if widen else normal[here]
            start += share
        return found

    def log_density(self, z: Floats) -> Floats:
        """Log density of the mixture, up to the constant all components have."""
        centred = np.linalg.solve(self.factor, (z - self.mean[None, :]).T)
        distance = (centred**2).sum(axis=0)
        volume = np.log(np.diag(self.factor)).sum()
        dimensions = len(self.mean)
        terms = []
        for share, widen in COMPONENTS:
            if widen:
                log = -0.5 * distance / widen - volume - 0.5 * dimensions * math.log(widen)
            else:
                log = -0.5 * (z**2).sum(axis=1)
            terms.append(math.log(share) + log)
        return np.asarray(np.logaddexp.reduce(np.stack(terms), axis=0))


def _tempered(log_weights: Floats, aim: float) -> Floats:
    """Weights raised to the highest power that leaves ``aim`` effective rows (all of it when there are enough)."""
    finite = np.isfinite(log_weights)
    log = np.where(finite, log_weights, -np.inf)
    log = log - log[finite].max()

    def weights(power: float) -> Floats:
        found = np.where(finite, np.exp(power * np.where(finite, log, 0.0)), 0.0)
        return np.asarray(found / found.sum())

    low, high = 0.0, 1.0
    if 1.0 / float((weights(1.0) ** 2).sum()) >= aim:
        return weights(1.0)
    for _ in range(24):
        middle = 0.5 * (low + high)
        enough = 1.0 / float((weights(middle) ** 2).sum()) >= aim
        low, high = (middle, high) if enough else (low, middle)
    return weights(low)


@dataclass(frozen=True, slots=True)
class _Measured:
    """Everything measured, as numbers: predictions (rows, n), observations (n,), covariance (n, n)."""

    predicted: Floats
    observed: Floats
    covariance: Floats


def _measured(scorer: Scorer, subject: Hypothesis, predicted: Predicted, at: int) -> _Measured:
    """Readings, lamp and solver checks stacked, with their errors as they stand near row ``at``."""
    values: list[Floats] = []
    observed: list[Floats] = []
    blocks: list[Floats] = []
    for number, group in enumerate(scorer.prepared.gauges):
        value, seen, variance = scorer.gauge_terms(number, subject, predicted)
        wrong = subject.has("gauge_in_error") and group.instrument == PANEL
        now = np.array([0.0 if item.point.before else 1.0 for item in group.items])
        ones, g = np.ones(len(seen)), value[at]
        block = np.diag(variance[at]) + group.bias_sd**2 * np.outer(ones, ones) + group.scale_sd**2 * np.outer(g, g)
        if wrong:
            wide = wide_error()
            block += wide.bias_sd**2 * np.outer(now, now) + wide.scale_sd**2 * np.outer(now * g, now * g)
        values.append(value)
        observed.append(seen)
        blocks.append(block)
    lamp = scorer.description.lamp
    if lamp is not None and scorer.prepared.lamps:
        count = len(scorer.prepared.lamps)
        sd_rpm = np.array([item.sd_rpm for item in scorer.prepared.lamps])
        own = np.maximum((predicted.lamp_slope[at] * sd_rpm) ** 2, 1e-4) + 0.05**2
        shared = LAMP_WRONG_SD_INHG if subject.has("lamp_false") else LAMP_TRIP_SD_INHG
        values.append(predicted.lamp)
        observed.append(np.full(count, lamp.trip.number / PA_PER_INHG))
        blocks.append(np.diag(own) + shared**2)
    for item in scorer.prepared.checks:
        if item.id in predicted.checks and item.value is not None:
            value = predicted.checks[item.id][:, None]
            flow = item.suction is not None
            sd = flow_sd(value[at], None) if flow else cover_sd(value[at], subject, None)
            values.append(value)
            observed.append(np.array([item.value / (M3S_PER_CFM if flow else PA_PER_INHG)]))
            blocks.append(np.diag(sd**2))
    if not values:
        return _Measured(np.zeros((len(predicted.lamp), 0)), np.zeros(0), np.zeros((0, 0)))
    return _Measured(np.concatenate(values, axis=1), np.concatenate(observed), _diagonal(blocks))


def _diagonal(blocks: Sequence[Floats]) -> Floats:
    size = sum(len(block) for block in blocks)
    found = np.zeros((size, size))
    start = 0
    for block in blocks:
        found[start : start + len(block), start : start + len(block)] = block
        start += len(block)
    return found


def _fit(scorer: Scorer, subject: Hypothesis, z: Floats, rows: Rows) -> _Proposal:
    """Normal posterior of a local linear model of the readings: regression on tempered rows, then conditioning."""
    log_weights = rows.log_weights()
    dimensions = z.shape[1]
    if not np.isfinite(log_weights).any():
        return _Proposal(np.zeros(dimensions), np.eye(dimensions))
    weight = _tempered(log_weights, min(_AIM_ROWS, 0.5 * len(z)))
    measured = _measured(scorer, subject, rows.predicted, int(np.argmax(log_weights)))
    used = weight > 0
    weight, z, predicted = weight[used], z[used], measured.predicted[used]
    middle, level = weight @ z, weight @ predicted
    centred, moved = z - middle, predicted - level
    normal = (centred * weight[:, None]).T @ centred + _RIDGE * np.eye(dimensions)
    slope = np.linalg.solve(normal, (centred * weight[:, None]).T @ moved)
    effective = 1.0 / float((weight**2).sum())
    spare = max(0.2, 1.0 - dimensions / effective)
    curved = (weight @ (moved - centred @ slope) ** 2) / spare
    error = measured.covariance + np.diag(curved)
    gain = np.linalg.solve(error, slope.T).T if slope.size else np.zeros((dimensions, 0))
    precision = np.eye(dimensions) + gain @ slope.T
    target = gain @ (measured.observed - level + slope.T @ middle)
    covariance = np.linalg.inv(precision)
    mean = np.clip(covariance @ target, -_FARTHEST, _FARTHEST)
    factor = np.linalg.cholesky(0.5 * (covariance + covariance.T))
    return _Proposal(np.asarray(mean), np.asarray(factor, dtype=np.float64))


@dataclass(frozen=True, slots=True)
class _Drawn:
    """Rows drawn for hypotheses with the same solves."""

    z: Floats
    quantiles: Floats
    predicted: Predicted


def _solve(bank: Bank, prepared: Prepared, subject: Hypothesis, z: Floats) -> _Drawn:
    drawn = nuisance.draw(bank.packed, z, bank.changed, bank.engine, bank.drawn.springs)
    quantiles = sampling.quantiles(z[:, : nuisance.SEVERITIES])
    columns = combine(drawn.now, subject.changes(bank.packed.description, quantiles), len(z))
    predicted = solved_exactly(bank.packed, drawn.before, columns, prepared, bank.engine)
    return _Drawn(z, quantiles, predicted)


def _joined(parts: Sequence[_Drawn]) -> _Drawn:
    first = parts[0].predicted
    predicted = Predicted(
        gauges=tuple(np.concatenate([part.predicted.gauges[n] for part in parts]) for n in range(len(first.gauges))),
        gauge_variance=first.gauge_variance,
        lamp=np.concatenate([part.predicted.lamp for part in parts]),
        lamp_slope=np.concatenate([part.predicted.lamp_slope for part in parts]),
        felt={key: np.concatenate([part.predicted.felt[key] for part in parts]) for key in first.felt},
        checks={key: np.concatenate([part.predicted.checks[key] for part in parts]) for key in first.checks},
    )
    return _Drawn(
        np.concatenate([part.z for part in parts]), np.concatenate([part.quantiles for part in parts]), predicted
    )


def _family(bank: Bank, number: int, hypotheses: Sequence[Hypothesis]) -> tuple[int, bool, tuple[str, ...]]:
    """Hypotheses of one family share solves and have much the same posterior of the unknowns."""
    subject = hypotheses[number]
    dragged = tuple(place.part for member in subject.members if member.mode.gyro_drag for place in member.places)
    return bank.block_of[number], subject.has("gauge_in_error"), dragged


def _refine_family(
    bank: Bank,
    prepared: Prepared,
    scorer: Scorer,
    members: Sequence[int],
    lead: int,
    start: _Proposal,
    major: float = -math.inf,
) -> dict[int, Rows]:
    """Rows of each member from rounds that follow the lead, a major family from the log evidence ``major`` up."""
    subject = scorer.hypotheses[lead]
    proposals = [start]
    pooled = _round(bank, prepared, subject, start, 0)
    parts = _parts(scorer, lead, pooled)
    for number in range(1, MOST_ROUNDS):
        scored = _rows(lead, pooled, _balance(pooled.z, proposals), parts)
        log, effective, error = log_mean(scored.log_weights())
        if number >= ROUNDS and effective >= ENOUGH_ROWS:
            break
        if number >= 2 and effective >= MINOR_ROWS and log + _DOUBT * error < major:
            break
        proposals.append(_fit(scorer, subject, pooled.z, scored))
        drawn = _round(bank, prepared, subject, proposals[-1], number)
        pooled = _joined([pooled, drawn])
        new = _parts(scorer, lead, drawn)
        parts = {key: np.concatenate([known, new[key]]) for key, known in parts.items()}
    log_base = _balance(pooled.z, proposals)
    return {
        member: _rows(member, pooled, log_base, parts if member == lead else _parts(scorer, member, pooled))
        for member in members
    }


def _parts(scorer: Scorer, member: int, drawn: _Drawn) -> dict[GroupKey, Floats]:
    """What each group of evidence says of rows: it does not depend on how the rows were proposed."""
    return {key: scorer.group_log(key, member, drawn.quantiles, drawn.predicted) for key in scorer.group_keys()}


def _rows(member: int, drawn: _Drawn, log_base: Floats, parts: Mapping[GroupKey, Floats]) -> Rows:
    return Rows(member, drawn.z, drawn.quantiles, log_base, drawn.predicted, parts)


def _round(bank: Bank, prepared: Prepared, subject: Hypothesis, proposal: _Proposal, number: int) -> _Drawn:
    seed = sampling.seed_of(bank.seed, "refine", subject.id, number)
    return _solve(bank, prepared, subject, proposal.draw(ROUND_ROWS[bank.engine], seed))


def _balance(z: Floats, proposals: Sequence[_Proposal]) -> Floats:
    """Log of prior over the mixture of all rounds' proposals, per row."""
    prior = -0.5 * (z**2).sum(axis=1)
    mixture = np.logaddexp.reduce(np.stack([proposal.log_density(z) for proposal in proposals]), axis=0)
    return np.asarray(prior - (mixture - math.log(len(proposals))))


def refined(state: State, *, pairs: bool = True) -> State:
    """The state with every hypothesis above 0.5 % drawn again, and pairs added where nothing single explains it all."""
    bank, prepared, scorer = state.bank, state.prepared, state.scorer
    rows = list(state.posterior.rows)
    families: dict[tuple[int, bool, tuple[str, ...]], list[int]] = {}
    for number in np.flatnonzero(_could_matter(state.posterior)).tolist():
        if bank.hypotheses[number].kind != "none":
            families.setdefault(_family(bank, number, bank.hypotheses), []).append(number)
    probability, log_prior = state.posterior.probability, np.log(state.posterior.prior)
    leads = [max(members, key=lambda number: (probability[number], -number)) for members in families.values()]
    # The likeliest first, so that the others are measured against them.
    order = sorted(zip(leads, families.values(), strict=True), key=lambda one: -probability[one[0]])
    best = -math.inf

    def refine(family: tuple[int, list[int]]) -> dict[int, Rows]:
        lead, members = family
        start = _fit(scorer, bank.hypotheses[lead], bank.drawn.deviates, state.posterior.rows[lead])
        major = best + math.log(MINOR_SHARE) - float(log_prior[members].max())
        return _refine_family(bank, prepared, scorer, members, lead, start, major)

    for family in order:
        for number, own in refine(family).items():
            rows[number] = own
            best = max(best, log_mean(own.log_weights())[0] + float(log_prior[number]))
    posterior = make_posterior(bank.hypotheses, rows, state.posterior.prior)
    improved = replace(state, posterior=posterior, refined=True)
    return with_pairs(improved) if pairs and _needs_pairs(improved) else improved


def _could_matter(posterior: Posterior) -> NDArray[np.bool_]:
    """Hypotheses above 0.5 %, or that may be for all the bank can say: one or two of its rows are no measure."""
    error = np.where(np.isfinite(posterior.log_evidence_se), posterior.log_evidence_se, 0.0)
    doubt = np.where(posterior.effective_rows < ROUGH_BELOW, np.exp(_DOUBT * error), 1.0)
    return np.asarray(posterior.probability * doubt >= LEAST_PROBABILITY)


# ---- two faults at once -------------------------------------------------------------------------------------


def predictive_p(scorer: Scorer, rows: Rows, subject: Hypothesis) -> float:
    """Posterior predictive probability of readings as far off as these, under the shared errors; 1 without readings."""
    smallest = 1.0
    weight = np.exp(rows.log_weights() - np.max(rows.log_weights()))
    weight = weight / weight.sum()
    for number, group in enumerate(scorer.prepared.gauges):
        if subject.kind == "none" or subject.has("gauge_in_error"):
            continue
        value, observed, variance = scorer.gauge_terms(number, subject, rows.predicted)
        ok = weight > 0
        distance = squared_distance(value[ok], observed, variance[ok], SharedError(group.bias_sd, group.scale_sd))
        smallest = min(smallest, float(weight[ok] @ chdtrc(len(observed), distance)))
    return smallest


def _needs_pairs(state: State) -> bool:
    posterior = state.posterior
    best = int(np.argmax(posterior.probability))
    subject = posterior.hypotheses[best]
    if subject.kind == "none":
        return True
    if predictive_p(state.scorer, posterior.rows[best], subject) < MISFIT_P:
        return True
    return bool(contradictions(state))


def _candidates(state: State) -> list[Hypothesis]:
    """Pairs of singles that explain well what remains when one group of evidence is left out."""
    posterior = state.posterior
    best = np.array(posterior.probability)
    for key in state.scorer.group_keys():
        left = shares(evidence_without_group(posterior.rows, key), posterior.prior)
        best = np.maximum(best, left)
    singles = sorted(_standing_for_all(posterior), key=lambda entry: (-best[entry[0]], entry[0]))
    leading = _one_of_each_effect(state, singles)[:_PAIR_SINGLES]
    found = []
    for place, (first, one) in enumerate(leading):
        for second, other in leading[place + 1 :]:
            both = pair(one, other)
            if both is not None:
                found.append((prior_weight(both, state.prepared.events) * max(best[first], best[second]), both))
    found.sort(key=lambda entry: (-entry[0], entry[1].id))
    return [both for _, both in found[:MOST_PAIRS]]


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


def _standing_for_all(posterior: Posterior) -> list[tuple[int, Hypothesis]]:
    """Single hypotheses; where places of a mode are not told apart, the likeliest stands for them with their share."""
    by_mode: dict[str, list[int]] = {}
    for number, hypothesis in enumerate(posterior.hypotheses):
        if hypothesis.kind == "single":
            by_mode.setdefault(hypothesis.source.id, []).append(number)
    found: list[tuple[int, Hypothesis]] = []
    for numbers in by_mode.values():
        evidence = posterior.log_evidence[numbers]
        if len(numbers) > 1 and float(evidence.max() - evidence.min()) < _NOT_TOLD_APART:
            first = numbers[int(np.argmax(evidence))]
            share = sum(posterior.hypotheses[number].share for number in numbers)
            found.append((first, replace(posterior.hypotheses[first], share=share)))
        else:
            found.extend((number, posterior.hypotheses[number]) for number in numbers)
    return found


def with_pairs(state: State) -> State:
    """The state with the likeliest pairs of faults among its hypotheses."""
    bank, prepared, posterior = state.bank, state.prepared, state.posterior
    added = _candidates(state)
    if not added:
        return state
    hypotheses = (*posterior.hypotheses, *added)
    scorer = replace(state.scorer, hypotheses=hypotheses)
    rows = list(posterior.rows)
    for number in range(len(posterior.hypotheses), len(hypotheses)):
        subject = hypotheses[number]
        base = _solve(bank, prepared, subject, bank.drawn.deviates[:: _pair_step(bank)])
        scored = scorer.score(number, base.z, base.quantiles, np.zeros(len(base.z)), base.predicted)
        start = _fit(scorer, subject, base.z, scored)
        rows.append(_refine_family(bank, prepared, scorer, [number], number, start)[number])
    prior = np.array([prior_weight(hypothesis, prepared.events) for hypothesis in hypotheses])
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


def summary(posterior: Posterior) -> Mapping[str, float]:
    """Hypothesis id -> probability, for tests and benches."""
    return {h.id: float(p) for h, p in zip(posterior.hypotheses, posterior.probability, strict=True)}


__all__ = ["predictive_p", "refined", "summary", "with_pairs"]
