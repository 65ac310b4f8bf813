"""From evidence to causes: what it is, how sure, what remains open, and what each piece of evidence says.

:func:`diagnose` is the whole stage. Everything is a function of its arguments: same description, evidence and seed,
same answer, whatever the order of entry and the number of threads.
"""

from __future__ import annotations

import datetime
from functools import cache

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis import answer as answering
from vanewise.diagnosis.bank import Bank, bank_for
from vanewise.diagnosis.before_another import before_another
from vanewise.diagnosis.evidence import Prepared, prepare
from vanewise.diagnosis.hypotheses import prior_weights
from vanewise.diagnosis.next_check import next_checks
from vanewise.diagnosis.posterior import make_posterior
from vanewise.diagnosis.predictions import from_bank
from vanewise.diagnosis.refine import refined
from vanewise.diagnosis.resampling import resample
from vanewise.diagnosis.scored_bank import make_scorer, score_bank
from vanewise.diagnosis.state import EVERYTHING, FIRST, Options, State
from vanewise.diagnosis.types import Causes, Evidence, NextCheck
from vanewise.diagnosis.weighing import evidence_weights
from vanewise.network.types import Engine

__all__ = ["FIRST", "Options", "State", "answer", "diagnose", "first_answer", "infer", "make_ready"]


def diagnose(
    description: AircraftDescription,
    evidence: Evidence,
    *,
    seed: int,
    refine: bool = True,
    engine: Engine | None = None,
    today: datetime.date | None = None,
    options: Options = EVERYTHING,
) -> Causes:
    """The causes of a report, with their probabilities, doubt, evidence and next checks.

    With ``refine`` every hypothesis above 0.5 % is sampled again near what the evidence says, at the reported
    operating points; without it the answer comes from the bank alone. ``engine`` None takes the compiled solver where
    there is one. Raises InputError for evidence that does not fit the aircraft, NoAnswer when the bank has no proven
    solutions.
    """
    return answer(infer(description, evidence, seed=seed, refine=refine, engine=engine, options=options), seed, options)


def infer(
    description: AircraftDescription,
    evidence: Evidence,
    *,
    seed: int,
    refine: bool = True,
    engine: Engine | None = None,
    options: Options = EVERYTHING,
) -> State:
    """The posterior and everything behind it (see :func:`diagnose`)."""
    prepared = prepare(description, evidence)
    bank = bank_for(description, seed=seed, engine=engine, rows=options.rows, changed=prepared.changed)
    first = first_answer(bank, prepared)
    if not refine:
        return first
    return refined(first, pairs=options.pairs)


def make_ready(
    description: AircraftDescription, evidence: Evidence, *, seed: int, engine: Engine | None = None
) -> None:
    """Build the bank that an answer to this evidence would start from, so that the answer need not wait for it."""
    bank_for(description, seed=seed, engine=engine, changed=prepare(description, evidence).changed)


def first_answer(bank: Bank, prepared: Prepared) -> State:
    """The answer of the bank alone."""
    predicted = from_bank(bank, prepared)
    prior = prior_weights(bank.hypotheses, prepared.events, prepared.said(), prepared.of_one())
    scorer = make_scorer(bank, prepared, predicted, prior)
    rows = score_bank(bank, scorer, predicted)
    return State(bank, prepared, scorer, predicted, make_posterior(bank.hypotheses, rows, prior), refined=False)


def answer(state: State, seed: int, options: Options = EVERYTHING) -> Causes:
    """The answer for people and files from an inferred state."""
    weights = evidence_weights(state) if options.weights else {}
    causes = answering.causes(state, weights)
    drawn = cache(lambda: resample(state))  # for whichever of the two asks first, where one does
    checks: tuple[NextCheck, ...] = ()
    if options.next_checks:
        checks = next_checks(state, causes, drawn, not_possible=options.not_possible, opened=options.opened)
    questions = before_another(state, causes, options, drawn)
    return answering.assemble(state, causes, checks, seed, asked=options.next_checks, questions=questions)
