"""Sample again where the evidence points: adaptive importance sampling of every hypothesis that could matter.

A bank of a thousand rows has only a handful that agree with a sharp sweep. So every hypothesis that matters is drawn
anew in rounds (:mod:`.rounds`), each from where a local linear model of the readings puts the posterior
(:mod:`.proposals`); a place that ends far short of the same fault elsewhere is drawn from where that one ended too; and
two faults at once are tried where nothing single explains it all (:mod:`.pairs`).

Refinement starts from the bank in canonical order and is a function of the evidence set alone: order of entry cannot
matter. Hypotheses with the same solves are drawn together.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

import numpy as np

from vanewise.diagnosis.hypotheses import Hypothesis
from vanewise.diagnosis.pairs import needs_pairs, with_pairs
from vanewise.diagnosis.posterior import ROUGH_BELOW, Posterior, log_mean, make_posterior
from vanewise.diagnosis.proposals import Proposal, fit, told_by
from vanewise.diagnosis.rounds import (
    DOUBT,
    SHORT,
    Aims,
    Family,
    FamilyStart,
    Refined,
    aims_beside,
    family_of,
    refine_family,
    second_chance,
)
from vanewise.diagnosis.scoring import Rows
from vanewise.diagnosis.state import State
from vanewise.diagnosis.threads import each, solver_threads
from vanewise.network.turns import taken
from vanewise.network.types import Floats

LEAST_PROBABILITY: Final = 0.005
LEAST_PROMISED: Final = 3e-7
"""Share of a roughly counted hypothesis by the local linear model that is looked into. Near the bank's rows that model
is good to a nat or two; where the evidence lies beyond them all it was up to thirteen nats short."""
_LEAST_APART: Final = 3.0
"""Nats by which a member is taken to fall short of its family's lead at most, while the bank counts roughly."""
AT_ONCE: Final = 8
"""Families drawn at once, each on a thread of its own where there are as many cores; their aims are the same. A number
of its own and not that of the cores, on which no answer may depend."""
_MISSED: Final = 20.0
"""Nats by which the one or two rows of the bank that come near sharp evidence may fall short of a hypothesis' best."""


def refined(state: State, *, pairs: bool = True) -> State:
    """The state with every hypothesis that could matter drawn again, and pairs where nothing single explains it all.

    Where nothing single does, those are drawn again too that could matter for all the few rows near them can say.
    """
    likely, doubtful = _families(state)
    improved = _drawn_again(state, likely)
    if not (pairs and needs_pairs(improved)):
        return improved
    improved = _drawn_again(improved, doubtful)
    return with_pairs(improved) if needs_pairs(improved) else improved


def _drawn_again(state: State, families: Sequence[FamilyStart]) -> State:
    posterior = state.posterior
    rows, log_prior = list(posterior.rows), np.log(posterior.prior)
    # The bank's own figures are no measure for the first pass; those of a first pass are for a second.
    counted = posterior.effective_rows >= (ROUGH_BELOW if state.refined else math.inf)
    best = float((posterior.log_evidence + log_prior)[counted].max(initial=-math.inf))
    drawn: list[Refined] = []
    for wave in _waves(families):
        rows_of = partial(taken, partial(_rows_of, state, best, threads=solver_threads(len(wave))))
        found = each(rows_of, wave)
        for number, own in ((number, own) for refined in found for number, own in refined.rows.items()):
            rows[number] = own
            best = max(best, log_mean(own.log_weights())[0] + float(log_prior[number]))
        drawn += found
    chances = chances_of(posterior.hypotheses, log_prior, best, families, drawn)
    given = partial(taken, partial(_given, state, best, threads=solver_threads(len(chances))))
    for refined_again in each(given, chances):
        for number, own in refined_again.rows.items():
            rows[number] = own
    return replace(state, posterior=make_posterior(posterior.hypotheses, rows, posterior.prior), refined=True)


def _rows_of(state: State, best: float, family: FamilyStart, *, threads: int | None) -> Refined:
    """Rows of a family from rounds as many as it is worth beside the likeliest so far, of log probability ``best``."""
    posterior = state.posterior
    aims = _aims(np.log(posterior.prior), best, family)
    base = {number: posterior.rows[number] for number in family.members}
    return refine_family(state.bank, state.prepared, state.scorer, family, aims, base, threads=threads)


def _aims(log_prior: Floats, best: float, family: FamilyStart) -> Aims:
    return aims_beside(best, float(log_prior[list(family.members)].max()))


@dataclass(frozen=True, slots=True)
class Chance:
    """A family as its rounds left it, and the rows of the lead of an alike one that is worth far more."""

    family: FamilyStart
    left: Refined
    alike: Rows


def chances_of(
    hypotheses: Sequence[Hypothesis],
    log_prior: Floats,
    best: float,
    families: Sequence[FamilyStart],
    drawn: Sequence[Refined],
) -> list[Chance]:
    """Families worth far less than the same faults at another place, and major were they worth as much.

    A family is left where its rows agree at little evidence; but a dozen may agree in the wrong one of two regions, and
    of two alike pumps one was left so while the other climbed thirteen nats on. Families are alike whose members are
    the same modes and whose readings tell of the same unknowns. Where the places are no mirror images one is honestly
    worth less, and a round from the other's place shows it. Only families of one pass are compared.
    """
    alike: dict[tuple[frozenset[tuple[str, ...]], tuple[int, ...]], list[tuple[float, FamilyStart, Refined]]] = {}
    for family, found in zip(families, drawn, strict=True):
        modes = frozenset(hypotheses[number].mode_ids for number in family.members)
        log, *_ = log_mean(found.rows[family.lead].log_weights())
        alike.setdefault((modes, tuple(family.proposal.told.tolist())), []).append((log, family, found))
    chances = []
    for places in alike.values():
        most, first, other = max(places, key=lambda place: place[0])
        for log, family, found in places:
            if log + SHORT < most and most >= _aims(log_prior, best, family).major:
                chances.append(Chance(family, found, other.rows[first.lead]))
    return chances


def _given(state: State, best: float, chance: Chance, *, threads: int | None) -> Refined:
    """What a second chance makes of a family."""
    scorer, family, alike = state.scorer, chance.family, chance.alike
    start, _ = fit(scorer, scorer.hypotheses[alike.hypothesis], alike, family.proposal.told)
    aims = _aims(np.log(state.posterior.prior), best, family)
    return second_chance(state.bank, state.prepared, scorer, family, aims, chance.left, start, threads=threads)


def _waves(families: Sequence[FamilyStart]) -> list[Sequence[FamilyStart]]:
    """The likeliest family by itself, to measure the others by; then a few at once."""
    rest = range(1, len(families), AT_ONCE)
    return [families[:1], *(families[start : start + AT_ONCE] for start in rest)] if families else []


def _families(state: State) -> tuple[list[FamilyStart], list[FamilyStart]]:
    """The families to draw again and those in doubt, the likeliest first, so that others are measured against them.

    A hypothesis is, when the bank gives it :data:`LEAST_PROBABILITY`, or when the bank counts it roughly (one or two
    rows near sharp evidence are no measure) and the local linear model gives it :data:`LEAST_PROMISED`. It is in doubt
    when it could have :data:`LEAST_PROBABILITY` with its error counted.
    """
    posterior, hypotheses = state.posterior, state.bank.hypotheses
    probability = posterior.probability
    joint = posterior.log_evidence + np.log(posterior.prior)
    families: dict[Family, list[int]] = {}
    for number, subject in enumerate(hypotheses):
        if subject.kind != "none":
            families.setdefault(family_of(state.bank, number, hypotheses), []).append(number)
    named = [number for members in families.values() for number in members]
    in_reach = joint >= joint[named].max() + math.log(LEAST_PROMISED) - _MISSED
    local = np.full(len(hypotheses), -math.inf)
    leads = [max(members, key=lambda number: (probability[number], -number)) for members in families.values()]
    near = [(lead, members) for lead, members in zip(leads, families.values(), strict=True) if in_reach[lead]]

    def fitted(lead: int) -> tuple[Proposal, float]:
        told = told_by(state.bank, hypotheses[lead])
        return fit(state.scorer, hypotheses[lead], posterior.rows[lead], told)

    starts = []
    for lead, members in near:
        proposal, evidence = fitted(lead)
        starts.append(FamilyStart(lead, tuple(members), proposal))
        # Members share solves with their lead; what tells them apart is best seen where the bank counts well.
        apart = posterior.log_evidence[members] - posterior.log_evidence[lead]
        local[members] = np.log(posterior.prior[members]) + evidence + np.maximum(apart, -_LEAST_APART)
    rough = posterior.effective_rows < ROUGH_BELOW
    promised = np.full(len(hypotheses), -math.inf)
    promised[named] = np.where(rough, local, joint)[named]
    promised = np.exp(promised - promised.max())
    promised /= promised.sum()
    measure = np.maximum(probability / LEAST_PROBABILITY, np.where(rough, promised / LEAST_PROMISED, 0.0))
    error = np.where(rough & np.isfinite(posterior.log_evidence_se), posterior.log_evidence_se, 0.0)
    could_be = probability * np.exp(DOUBT * error) >= LEAST_PROBABILITY
    starts.sort(key=lambda start: (-max(probability[start.lead], promised[start.lead]), start.lead))
    likely = [start for start in starts if measure[list(start.members)].max() >= 1.0]
    taken = {start.lead for start in likely}
    doubtful = [start for start in starts if start.lead not in taken and could_be[list(start.members)].any()]
    return likely, doubtful


def summary(posterior: Posterior) -> Mapping[str, float]:
    """Hypothesis id -> probability, for tests and benches."""
    return {h.id: float(p) for h, p in zip(posterior.hypotheses, posterior.probability, strict=True)}
