"""Which readings of a gauge share what it is off by: proposals must take the same ones as the score does."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from vanewise.aircraft.reading import read_description
from vanewise.diagnosis import likelihood
from vanewise.diagnosis.infer import Options, State, infer
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.rounds import MINOR_ROWS
from vanewise.diagnosis.wandering import wander_of

DEMO = Path(__file__).resolve().parents[2] / "src" / "vanewise" / "demo"
QUICK = Options(weights=False, next_checks=False)


@cache
def state(refine: bool) -> State:
    """The demo's aircraft with its baseline, a sweep of today, and a pump changed and a screw turned in between."""
    description = read_description(
        (DEMO / "d1_club_aircraft.toml").read_text(encoding="utf-8"), "d1_club_aircraft.toml"
    )
    evidence = read_evidence((DEMO / "d1_evidence_27h.toml").read_text(encoding="utf-8"), "d1_evidence_27h.toml")
    return infer(description, evidence, seed=0, refine=refine, options=QUICK)


def test_readings_that_share_an_error_are_those_that_are_scored_together():
    """A gauge that may be wrong in its own right has its score from more than its eras: it may stand still."""
    first = state(False)
    scorer, compared = first.scorer, set()
    for number, subject in enumerate(first.bank.hypotheses):
        wrong = subject.has("gauge_in_error")
        if subject.kind == "none" or wander_of(subject) or (wrong and not subject.set_by_wrong_gauge):
            continue
        own = first.predicted[first.bank.block_of[number]]
        value, observed, variance = scorer.gauge_terms(0, subject, own)
        total = np.zeros(len(value))
        for some, kinds in scorer.eras(0, subject, own):
            deep = 0 in scorer.deep
            terms = value[:, some], observed[some], variance[:, some]
            total += np.logaddexp.reduce(likelihood.gauge_logs(*terms, kinds, deep=deep), axis=0)
        assert total == pytest.approx(first.posterior.rows[number].parts["gauge", 0], rel=1e-9), subject.id
        compared.add(subject.set_by_wrong_gauge)
    assert compared == {False, True}


def test_a_regulator_set_by_a_wrong_gauge_is_soon_drawn_where_its_readings_are():
    """With the baseline's readings taken to be off by what the gauge is off by today, ten rounds left two rows."""
    posterior = state(True).posterior
    number = [hypothesis.id for hypothesis in posterior.hypotheses].index("gauge_in_error>regulator_high")
    assert posterior.effective_rows[number] >= MINOR_ROWS
    assert len(posterior.rows[number].log_base) < 2048
