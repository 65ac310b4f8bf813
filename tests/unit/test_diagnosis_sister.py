"""A sister aircraft's sound readings: the density, and how much they say beside the aircraft's own baseline."""

from __future__ import annotations

import json

import numpy as np
import pytest
from scipy import stats

from vanewise.aircraft.layouts import make
from vanewise.diagnosis import infer
from vanewise.diagnosis.infer import Options
from vanewise.diagnosis.likelihood import SharedError
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.sister import SHARED, Kin, kin_of, sister_log
from vanewise.errors import InputError

RPM = (1000, 1500, 1800, 2400)
NOW = (2.1, 3.4, 4.2, 4.9)
SOUND = (3.2, 4.6, 4.8, 5.1)


def test_density_is_a_multivariate_student_t_about_the_shared_part():
    rows = np.random.default_rng(3).normal((3.0, 5.0), (0.5, 0.2), (200, 2))
    kin = kin_of(rows)
    read, error, seen = np.array([0.06, 0.05]), SharedError(0.15, 0.02), np.array([3.4, 5.1])
    shape = (1 - SHARED**2) * np.cov(rows.T) + np.diag(read**2) + 0.15**2 + 0.02**2 * np.outer(kin.mean, kin.mean)
    expected = [
        stats.multivariate_t.logpdf(seen, kin.mean + SHARED * (row - kin.mean), shape, df=4) for row in rows[:5]
    ]
    assert sister_log(rows[:5], seen, read, error, kin) == pytest.approx(expected)


def test_nothing_read_says_nothing():
    kin = Kin(np.zeros(0), np.zeros((0, 0)))
    assert sister_log(np.zeros((3, 0)), np.zeros(0), np.zeros(0), SharedError(0.1, 0.0), kin).tolist() == [0.0] * 3


def chance_of_nothing_in_the_supply(baseline: dict[str, object] | None) -> tuple[float, tuple[str, ...]]:
    """Sum over causes that leave the air as it is: what a sound but small system would look like."""
    sweeps: list[dict[str, object]] = [{"id": "now", "rpm": list(RPM), "reading": list(NOW)}]
    if baseline is not None:
        sweeps.append({"id": "sound", "rpm": list(RPM), "reading": list(SOUND), "sound": True, **baseline})
    evidence = read_evidence(json.dumps({"sweeps": sweeps}), "case")
    options = Options(next_checks=False, weights=False)
    answer = infer.diagnose(make("suction-one-pump"), evidence, seed=0, refine=True, options=options)
    return answer.levels["one instrument"] + answer.levels["indication"], answer.remarks


def test_a_sister_says_less_than_the_aircrafts_own_baseline_and_is_named():
    nothing, _ = chance_of_nothing_in_the_supply(None)
    sister, said = chance_of_nothing_in_the_supply({"sister": "the other club aircraft"})
    own, _ = chance_of_nothing_in_the_supply({})
    assert own < sister < nothing
    assert any("the other club aircraft" in remark for remark in said)
    assert any("No earlier sound readings of this aircraft" in remark for remark in said)


def test_a_sister_that_was_not_sound_is_refused():
    text = json.dumps({"readings": [{"reading": "4.9 inHg", "rpm": "2400 rpm", "sister": "the other one"}]})
    evidence = read_evidence(text, "case")
    with pytest.raises(InputError) as caught:
        infer.diagnose(make("suction-one-pump"), evidence, seed=0, options=Options(rows=64))
    assert "sister" in caught.value.problems[0].where
