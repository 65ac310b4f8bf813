"""A sign that somebody says of one part is a sign of that part, not of its twin."""

from __future__ import annotations

import numpy as np
import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis.infer import Options, infer
from vanewise.diagnosis.reading import read_evidence

QUICK = Options(weights=False, next_checks=False)


def given(layout: str, symptom: str, about: str) -> dict[str, float]:
    said = f'about = "{about}"\n' if about else ""
    text = f'[[remarks]]\nsymptom = "{symptom}"\n{said}'
    state = infer(layouts.make(layout), read_evidence(text, "report"), seed=2, refine=False, options=QUICK)
    names = [hypothesis.id for hypothesis in state.posterior.hypotheses]
    return dict(zip(names, state.posterior.probability.tolist(), strict=True))


@pytest.mark.parametrize("symptom", ["oil_at_drain", "pump_hot", "soot_heavy"])
def test_of_two_pumps_the_one_that_was_named(symptom: str):
    named = {side: given("suction-twin-pumps", symptom, f"{side}_pump") for side in ("left", "right")}
    bare = given("suction-twin-pumps", symptom, "")
    mode = {"oil_at_drain": "oil_in_pump", "pump_hot": "pump_overheated", "soot_heavy": "worn_vanes"}[symptom]
    for side, other in (("left", "right"), ("right", "left")):
        assert named[side][f"{mode}@{side}_pump"] > 4.0 * named[side][f"{mode}@{other}_pump"]
    assert bare[f"{mode}@left_pump"] == pytest.approx(bare[f"{mode}@right_pump"], rel=0.2)


def test_what_is_said_of_the_standby_is_not_said_of_the_engine_driven_pump():
    of_standby, of_pump = (given("suction-standby-pump", "pump_noise", part) for part in ("standby", "pump"))
    assert of_standby["worn_vanes"] < 0.6 * of_pump["worn_vanes"]


def test_a_hose_is_named_as_itself_or_as_one_of_its_stretch():
    """A leak is looked for at one hose of a stretch; its neighbour's crack still speaks for it."""
    at_pump = given("suction-one-pump", "hose_cracked", "firewall_hose")
    bare = given("suction-one-pump", "hose_cracked", "")
    assert at_pump["leak@firewall_hose"] > 2.0 * at_pump["leak@manifold"]
    assert at_pump["leak@firewall_hose"] > bare["leak@firewall_hose"]


def test_a_gyro_is_heard_where_it_is_driven_too_hard_whatever_does_it():
    """Wound up by a little it is not heard; by two inches, or by a regulator stuck shut, it is."""
    description = layouts.make("suction-one-pump")
    evidence = read_evidence('[[remarks]]\nsymptom = "ai_noise"\n[[remarks]]\nsymptom = "hi_noise"\n', "report")
    state = infer(description, evidence, seed=2, refine=False, options=QUICK)
    group = state.scorer.prepared.remarks[0]
    noise = group.items[0]
    by_id = {hypothesis.id: index for index, hypothesis in enumerate(state.bank.hypotheses)}

    def heard(name: str) -> np.ndarray:
        own = state.posterior.rows[by_id[name]]
        subject = state.bank.hypotheses[by_id[name]]
        return state.scorer.remarks.noticed(noise, subject, own.quantiles, own.predicted)

    wound_up = state.bank.hypotheses[by_id["regulator_high"]]
    severity = wound_up.source.severity.at(state.posterior.rows[by_id["regulator_high"]].quantiles[:, 0])
    chance = heard("regulator_high")
    assert chance[severity < 0.4].mean() < 0.08
    assert chance[severity > 1.8].mean() > 0.2
    assert heard("regulator_stuck_shut").mean() > 0.2
    assert heard("worn_vanes").mean() < 0.04
