"""The rounds in which one family of hypotheses is drawn again, each nearer to what the evidence says than the last.

All rounds are pooled with the density of their mixture (balance heuristic, E. Veach and L. Guibas 1995; from memory).
Draws are solved at the reported operating points, so the grid's interpolation has no part in it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np

from vanewise.diagnosis import nuisance, sampling
from vanewise.diagnosis.bank import Bank
from vanewise.diagnosis.effects import combine
from vanewise.diagnosis.evidence import Prepared
from vanewise.diagnosis.hypotheses import Hypothesis
from vanewise.diagnosis.likelihood import log_added
from vanewise.diagnosis.posterior import log_mean
from vanewise.diagnosis.predictions import Predicted, joined, picked, solved_exactly
from vanewise.diagnosis.proposals import Numbers, Proposal, fit
from vanewise.diagnosis.scoring import GroupKey, Rows, Scorer
from vanewise.network.types import Floats

ROUNDS: Final = 2
MOST_ROUNDS: Final = 6
ENOUGH_ROWS: Final = 40.0
"""Rounds go on to the most while a family's lead has fewer effective rows than this."""
MINOR_ROWS: Final = 10.0
"""Effective rows that are enough for a family that stays minor, its error counted."""
FARTHEST_ROUNDS: Final = 10
"""Rounds while a lead has fewer effective rows than :data:`MINOR_ROWS`: towards far evidence each comes a little nearer
than the last. Of sixteen draws for a seat that lets hardly any air through, two had three rows after six rounds, a nat
and a half short; after ten they had seven and 23, and agreed with the rest."""
FIRST_ROWS: Final = {"kernel": 128, "numpy": 64}
"""Rows of the first round, which has only a few rows of the bank to follow and is there to be followed itself."""
ROUND_ROWS: Final = {"kernel": 256, "numpy": 64}
MINOR_ROUND_ROWS: Final = {"kernel": 128, "numpy": 64}
"""Rows of a round of a family that looks minor by a count of some rows: they are to tell that it is, and its count need
not be fine."""
DOUBT: Final = 3.0
"""Standard errors of its log evidence by which a roughly counted hypothesis may be more probable than it looks."""


SHORT: Final = 6.0
"""Nats by which both a count of a few rows and the local linear model may be short after a round."""
_ALONE: Final = 5.0
"""Effective rows under which one row carries all. The next round then gains tens of nats where it comes nearer to the
evidence, so a family is not left while it gains more than :data:`SHORT`, nor after its first round."""
_COUNTED: Final = 5.0
"""Effective rows from which the standard error of a count is one."""
_NEARER: Final = 1.0
"""Nats that a round from where an alike family ended must gain, else no more follow it."""
_BESIDE: Final = "beside "
"""Rounds from there have seeds of their own, so that they are no repetition of those that were left."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """Rows drawn for hypotheses with the same solves."""

    z: Floats
    quantiles: Floats
    predicted: Predicted


def solve_deviates(
    bank: Bank, prepared: Prepared, subject: Hypothesis, z: Floats, *, threads: int | None = None
) -> Drawn:
    drawn = nuisance.draw(bank.packed, z, bank.changed, bank.engine, bank.drawn.springs, bank.tie)
    quantiles = sampling.quantiles(z[:, : nuisance.SEVERITIES])
    columns = combine(drawn.now, subject.changes(bank.packed.description, quantiles), len(z))
    goes = subject.goes > 0.0
    predicted = solved_exactly(bank.packed, drawn, columns, prepared, bank.engine, goes=goes, threads=threads)
    return Drawn(z, quantiles, predicted)


def _joined(parts: Sequence[Drawn]) -> Drawn:
    return Drawn(
        np.concatenate([part.z for part in parts]),
        np.concatenate([part.quantiles for part in parts]),
        joined([part.predicted for part in parts]),
    )


Family = tuple[int, int, bool, tuple[str, ...]]


def family_of(bank: Bank, number: int, hypotheses: Sequence[Hypothesis]) -> Family:
    """Hypotheses of one family share solves and have much the same posterior of the unknowns."""
    subject = hypotheses[number]
    dragged = tuple(place.part for member in subject.members if member.mode.gyro_drag for place in member.places)
    wrong = subject.has("gauge_in_error") + subject.set_by_wrong_gauge
    return bank.block_of[number], wrong, subject.goes > 0.0, dragged


@dataclass(frozen=True, slots=True)
class Aims:
    """Log evidences of a family: from ``major`` up it is counted well; what stays below ``least`` is left early."""

    major: float
    least: float


LEAST_KEPT: Final = 3e-3
"""A family that falls short of this share of the likeliest so far, after a round or two, is left at that."""
MINOR_SHARE: Final = 0.1
"""A family whose members each stay below this share of the likeliest so far is minor."""

NO_AIMS: Final = Aims(-math.inf, -math.inf)


def aims_beside(best: float, log_prior: float) -> Aims:
    """Aims of a family beside the likeliest so far, of log probability ``best``."""
    level = best - log_prior
    return Aims(level + math.log(MINOR_SHARE), level + math.log(LEAST_KEPT))


@dataclass(frozen=True, slots=True)
class FamilyStart:
    """Where the rounds of a family start: its likeliest member, and those of its members that could matter."""

    lead: int
    members: tuple[int, ...]
    proposal: Proposal


@dataclass(frozen=True, slots=True)
class Refined:
    """A family as its rounds left it: rows of each member, and what further rounds go on from."""

    rows: Mapping[int, Rows]
    mixture: _Mixture


def refine_family(
    bank: Bank,
    prepared: Prepared,
    scorer: Scorer,
    family: FamilyStart,
    aims: Aims,
    base: Mapping[int, Rows],
    *,
    threads: int | None = None,
) -> Refined:
    """Rows of each member from rounds that follow the lead, as many as its evidence is worth by ``aims``.

    ``base`` holds, by number of hypothesis, rows drawn from the prior (the bank's own), which are pooled with those of
    the rounds: where these follow the wrong one of two regions, the other is not lost. ``threads`` is for the solver.
    """
    prior = family.proposal.log_prior(base[family.lead].deviates)
    rounds = _begun(bank, prepared, scorer, base[family.lead], _Mixture([len(prior)], [], prior), threads)
    rounds.draw(family.proposal, "0", FIRST_ROWS)
    rounds.follow(family.proposal.told, aims, "")
    return Refined(_members(scorer, family, rounds, base), rounds.mixture)


def second_chance(
    bank: Bank,
    prepared: Prepared,
    scorer: Scorer,
    family: FamilyStart,
    aims: Aims,
    left: Refined,
    beside: Proposal,
    *,
    threads: int | None = None,
) -> Refined:
    """The family after a round from ``beside``, where an alike one ended, and more where that is nearer.

    The round's rows are kept whether they are nearer or not: kept for what they say, they would say too much.
    Deviates are shared by name: what another place of the same fault says of pump, seat and setting may hold here too.
    """
    before = left.rows[family.lead]
    rounds = _begun(bank, prepared, scorer, before, left.mixture.copy(), threads)
    rounds.draw(beside, f"{_BESIDE}0", FIRST_ROWS)
    last, *_ = log_mean(before.log_weights())
    if log_mean(rounds.scored().log_weights())[0] >= last + _NEARER:
        rounds.follow(beside.told, aims, _BESIDE, last)
    return Refined(_members(scorer, family, rounds, left.rows), rounds.mixture)


@dataclass(slots=True)
class _Rounds:
    """The rounds of one family, pooled, the newest first, and scored for the lead alone."""

    bank: Bank
    prepared: Prepared
    scorer: Scorer
    lead: int
    threads: int | None
    pooled: Drawn
    log_base: Floats
    parts: Mapping[GroupKey, Floats]
    mixture: _Mixture

    def scored(self) -> Rows:
        return _rows(self.lead, self.pooled, self.log_base, self.parts)

    def draw(self, proposal: Proposal, name: str, rows: Mapping[str, int]) -> None:
        """One round more. Its ``name`` is that of its seed."""
        bank, subject = self.bank, self.scorer.hypotheses[self.lead]
        z = proposal.draw(rows[bank.engine], sampling.seed_of(bank.seed, "refine", subject.id, name))
        drawn = solve_deviates(bank, self.prepared, subject, z, threads=self.threads)
        self.pooled = _joined([drawn, self.pooled])
        new = _parts(self.scorer, self.lead, drawn)
        self.parts = {key: np.concatenate([new[key], known]) for key, known in self.parts.items()}
        self.log_base = self.mixture.log_base(proposal, drawn.z, self.pooled.z)

    def follow(self, told: Numbers, aims: Aims, name: str, last: float = -math.inf) -> None:
        """Rounds after a first, each nearer than the last, as many as they are worth. ``last``: log evidence before."""
        subject = self.scorer.hypotheses[self.lead]
        for number in range(1, FARTHEST_ROUNDS):
            scored = self.scored()
            log, effective, error = log_mean(scored.log_weights())
            if number >= ROUNDS and effective >= (ENOUGH_ROWS if number < MOST_ROUNDS else MINOR_ROWS):
                break
            proposal, local = fit(self.scorer, subject, scored, told)
            # A dozen rows may agree in the wrong one of two regions. The local linear model sees farther than they,
            # where it is fitted to more than one round that followed them.
            if number >= ROUNDS and effective >= MINOR_ROWS and max(log + DOUBT * error, local) < aims.major:
                break
            short = DOUBT * error if effective >= _COUNTED else SHORT
            climbing = effective < _ALONE and log > last + SHORT
            if not climbing and max(log, local) + short < aims.least:
                break
            last = log
            minor = effective >= _COUNTED and max(log, local) + short < aims.major
            self.draw(proposal, f"{name}{number}", MINOR_ROUND_ROWS if minor else ROUND_ROWS)


def _begun(
    bank: Bank, prepared: Prepared, scorer: Scorer, lead: Rows, mixture: _Mixture, threads: int | None
) -> _Rounds:
    """Rounds that go on from known rows of the lead."""
    pooled = Drawn(lead.deviates, lead.quantiles, lead.predicted)
    return _Rounds(bank, prepared, scorer, lead.hypothesis, threads, pooled, lead.log_base, lead.parts, mixture)


def _members(scorer: Scorer, family: FamilyStart, rounds: _Rounds, before: Mapping[int, Rows]) -> dict[int, Rows]:
    """Rows of every member: the new ones scored for each, those ``before`` as they were."""
    lead, pooled, log_base = family.lead, rounds.pooled, rounds.log_base
    fresh = len(log_base) - len(before[lead].log_base)
    drawn = Drawn(pooled.z[:fresh], pooled.quantiles[:fresh], picked(pooled.predicted, slice(0, fresh)))
    known = {scorer.gauge_kind(lead): {key: values[:fresh] for key, values in rounds.parts.items()}}
    found = {lead: rounds.scored()}
    for member in family.members:
        if member not in found:
            kind = scorer.gauge_kind(member)
            own = _parts(scorer, member, drawn, known.get(kind, {}))
            known.setdefault(kind, own)
            whole = {key: np.concatenate([values, before[member].parts[key]]) for key, values in own.items()}
            found[member] = _rows(member, pooled, log_base, whole)
    return found


def _parts(
    scorer: Scorer, member: int, drawn: Drawn, alike: Mapping[GroupKey, Floats] = MappingProxyType({})
) -> dict[GroupKey, Floats]:
    """What each group of evidence says of rows: it does not depend on how the rows were proposed.

    ``alike`` are those of a member whose gauges and lamp are scored the same.
    """
    return {
        key: alike[key]
        if key[0] in ("gauge", "lamp") and key in alike
        else scorer.group_log(key, member, drawn.quantiles, drawn.predicted)
        for key in scorer.group_keys()
    }


def _rows(member: int, drawn: Drawn, log_base: Floats, parts: Mapping[GroupKey, Floats]) -> Rows:
    return Rows(member, drawn.z, drawn.quantiles, log_base, drawn.predicted, parts)


@dataclass(slots=True)
class _Mixture:
    """All rounds' proposals and the prior, each with its share of the rows, and their log densities at all rows.

    A row's density by a proposal does not change, so each is worked out once. Newest rows first, as they are pooled.
    """

    shares: list[int]
    """Rows of each round, the newest first, and last those drawn from the prior."""
    densities: list[tuple[Proposal, Floats]]
    prior: Floats

    def copy(self) -> _Mixture:
        return _Mixture(list(self.shares), self.densities, self.prior)

    def log_base(self, proposal: Proposal, drawn: Floats, pooled: Floats) -> Floats:
        """Log of prior over mixture of all rows, after the rows ``drawn`` by ``proposal``, the first of ``pooled``."""
        self.shares.insert(0, len(drawn))
        earlier = [(own, np.concatenate([own.log_density(drawn), known])) for own, known in self.densities]
        self.densities = [(proposal, proposal.log_density(pooled)), *earlier]
        self.prior = np.concatenate([proposal.log_prior(drawn), self.prior])
        shares = np.log(np.array(self.shares) / sum(self.shares))
        terms = [share + log for share, (_, log) in zip(shares, self.densities, strict=False)]
        return np.asarray(self.prior - log_added([*terms, shares[-1] + self.prior]))
