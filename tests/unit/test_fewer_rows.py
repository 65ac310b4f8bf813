"""Rows drawn by their weight for questions that need a rough answer: what they say stays what all of them say."""

from __future__ import annotations

import numpy as np
import pytest

from vanewise.diagnosis.posterior import NEGLIGIBLE, log_mean
from vanewise.diagnosis.posterior import _drawn_by_weight as drawn_by_weight


@pytest.mark.parametrize("most", [64, 192])
def test_fewer_rows_have_the_mean_of_all(most: int):
    generator = np.random.default_rng(2)
    errors, without = [], []
    for _ in range(40):
        log = generator.normal(-20.0, 5.0, 2000)
        kept, share = drawn_by_weight(log, most)
        assert len(kept) == len(share) <= most
        errors.append(log_mean(log[kept] + share)[0] - log_mean(log)[0])
        # Without a piece of evidence that spoke for some rows by three nats.
        other = log - np.where(generator.random(2000) < 0.5, 3.0, 0.0)
        without.append(log_mean(other[kept] + share)[0] - log_mean(other)[0])
    # The usual error of so many rows, had each the same weight, and no bias beyond what forty draws leave.
    for found in (errors, without):
        assert np.sqrt(np.mean(np.square(found))) < 1.6 / np.sqrt(most)
        assert abs(np.mean(found)) < 4.0 * np.std(found) / np.sqrt(len(found)) + 0.2 / most


def test_few_rows_that_count_are_all_kept_as_they_are():
    log = np.full(500, -3.0 * NEGLIGIBLE)
    log[[3, 77, 401]] = 0.0, -1.0, -2.0
    log[9] = -np.inf
    kept, share = drawn_by_weight(log, 64)
    assert kept.tolist() == [3, 77, 401]
    assert log_mean(log[kept] + share)[0] == pytest.approx(log_mean(log)[0], abs=1e-9)


def test_rows_none_of_which_has_a_weight_are_kept_as_they_come():
    kept, share = drawn_by_weight(np.full(300, -np.inf), 64)
    assert len(kept) == 64 and not share.any()
