"""The posterior of a discrete diagnosis against exact inference by ``pyAgrum`` (see oracles/case_posterior.py)."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from vanewise.diagnosis import likelihood, posterior


def ours(inputs: dict[str, Any]) -> np.ndarray:
    """The pieces that the diagnosis is made of: remarks that share a reporter, mean over rows, shares by prior."""
    things = sorted(int(k) for k in inputs["said"])
    present = np.array([bool(inputs["said"][str(k)]) for k in things])
    evidence = []
    for chance in inputs["chance"]:
        table = np.array(chance)[things].T  # (rows, things)
        rows = likelihood.remark_group_log(table, present)
        evidence.append(posterior.log_mean(rows)[0])
    return posterior.shares(np.array(evidence), np.array(inputs["prior"]))


def test_discrete_posterior_against_exact_inference(oracle: Any, monkeypatch: pytest.MonkeyPatch):
    cases = oracle("discrete_posterior")["cases"]
    assert len(cases) >= 7
    for case in cases:
        inputs = case["inputs"]
        reporters = [(share, 1.0 - c) for share, c in zip(inputs["reliability"], inputs["candour"], strict=True)]
        monkeypatch.setattr(likelihood, "RELIABILITY", reporters)
        monkeypatch.setattr(likelihood, "MISS", inputs["miss"])
        monkeypatch.setattr(likelihood, "SAID_BY_CHANCE", 0.5)  # the reporter of these cases tosses a coin
        assert ours(inputs) == pytest.approx(case["answer"]["posterior"], rel=1e-9), inputs["said"]
