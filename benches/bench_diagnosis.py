"""How soon a person sees causes after a new reading: first from the bank, then refined."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from scipy.stats import multivariate_normal

from benches.harness import Comparison, Work, bench
from vanewise.aircraft import layouts
from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.reading import read_description
from vanewise.diagnosis import bank as banks
from vanewise.diagnosis import infer, likelihood
from vanewise.diagnosis.evidence import prepare
from vanewise.diagnosis.infer import Options
from vanewise.diagnosis.likelihood import SharedError
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.types import Evidence

DEMO = Path(__file__).resolve().parents[1] / "src" / "vanewise" / "demo"
SEED = 0
QUICK = Options(weights=False, next_checks=False)
ROWS, READINGS = 1024, 15

Case = tuple[AircraftDescription, Evidence]


def _case() -> Case:
    description = read_description((DEMO / "d1_club_aircraft.toml").read_text(), "d1_club_aircraft.toml")
    return description, read_evidence((DEMO / "d1_evidence_27h.toml").read_text(), "d1_evidence_27h.toml")


def _twins() -> Case:
    """Twin pumps, which have half as many hypotheses again, with the same readings."""
    return layouts.make("suction-twin-pumps"), _case()[1]


def _first(case: Case) -> Work:
    """A first answer from a bank that is there."""
    description, evidence = case
    infer.make_ready(description, evidence, seed=SEED)
    return lambda: infer.diagnose(description, evidence, seed=SEED, refine=False, options=QUICK)


def _refined(case: Case) -> Work:
    description, evidence = case
    infer.make_ready(description, evidence, seed=SEED)
    return lambda: infer.diagnose(description, evidence, seed=SEED)


def _bank(case: Case) -> Work:
    description, evidence = case
    changed = prepare(description, evidence).changed
    banks.build(description, seed=SEED, rows=64, changed=changed)
    return lambda: banks.build(description, seed=SEED, changed=changed)


@bench("first answer after a new reading, bank warm", unit="ms")
def first_answer() -> Comparison:
    return Comparison(ours=_first(_case()), at_most=50.0)


@bench("refined answer with weights and next checks, bank warm", unit="ms")
def refined_answer() -> Comparison:
    return Comparison(ours=_refined(_case()), at_most=1000.0)


@bench("bank of one aircraft, warm kernel", unit="s")
def bank_of_states() -> Comparison:
    return Comparison(ours=_bank(_case()), at_most=3.0)


@bench("twin pumps: first answer after a new reading, bank warm", unit="ms")
def first_answer_of_twins() -> Comparison:
    return Comparison(ours=_first(_twins()))


@bench("twin pumps: refined answer with weights and next checks, bank warm", unit="ms")
def refined_answer_of_twins() -> Comparison:
    return Comparison(ours=_refined(_twins()))


@bench("twin pumps: bank of one aircraft, warm kernel", unit="s")
def bank_of_twins() -> Comparison:
    return Comparison(ours=_bank(_twins()))


@bench("readings of one gauge scored in closed form", unit="us per row")
def shared_error_scores() -> Comparison:
    """Against the same density by the full covariance of each row, one by one."""
    generator = np.random.default_rng(SEED)
    predicted = generator.uniform(1.0, 5.0, (ROWS, READINGS))
    observed = generator.uniform(1.0, 5.0, READINGS)
    variance = np.full((ROWS, READINGS), 0.01)
    error = SharedError(0.15, 0.02)

    def dense() -> None:
        for g in predicted[:64]:
            covariance = np.diag(variance[0]) + error.bias_sd**2 + error.scale_sd**2 * np.outer(g, g)
            multivariate_normal(g, covariance).logpdf(observed)

    return Comparison(
        ours=lambda: likelihood.shared_gauge_log(predicted, observed, variance, error, outliers=False),
        ours_per_call=ROWS,
        reference=dense,
        reference_per_call=64,
        reference_name="scipy.stats.multivariate_normal with the full covariance, row by row",
        at_least=50.0,
    )
