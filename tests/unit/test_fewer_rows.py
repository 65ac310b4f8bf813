"""Rows drawn by their weight for questions that need a rough answer: what they say stays what all of them say."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from vanewise.diagnosis.posterior import NEGLIGIBLE, log_mean, thinned
from vanewise.diagnosis.posterior import _drawn_by_weight as drawn_by_weight
from vanewise.diagnosis.predictions import Predicted
from vanewise.diagnosis.scoring import Rows


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


def test_a_row_that_is_kept_for_certain_counts_as_one():
    """However its chance by the root of its weight falls: of 500 light rows 64 stand for all of them."""
    for heavy in np.linspace(4.2, 9.2, 26):
        log = np.concatenate([[heavy], np.zeros(500)])
        kept, share = drawn_by_weight(log, 64)
        assert kept[0] == 0
        assert np.exp(share[0]) == pytest.approx(len(kept) / len(log))
        assert log_mean(log[kept] + share)[0] == pytest.approx(log_mean(log)[0], abs=0.02)


def test_a_row_that_counts_for_one_of_two_hypotheses_is_kept_for_both():
    """They share solves, and what was said likes other rows of the one than of the other."""
    generator = np.random.default_rng(3)
    nothing = np.zeros((1500, 1))
    predicted = Predicted((), (), nothing, nothing, {}, {}, nothing[:, 0], nothing[:, 0])
    read = generator.normal(0.0, 4.0, 1500)
    liked = generator.random(1500) < 0.1
    rows = [
        Rows(number, nothing, nothing, np.zeros(1500), predicted, {("gauge", 0): read, ("remarks", 0): said})
        for number, said in enumerate((np.where(liked, -6.0, 0.0), np.where(liked, 6.0, 0.0)))
    ]
    alike = SimpleNamespace(gauge_kind=lambda hypothesis: (False,))
    fewer = thinned(alike, rows, 192)  # type: ignore[arg-type]
    for own, less in zip(rows, fewer, strict=True):
        assert len(less.log_base) <= 192
        assert log_mean(less.log_weights())[0] == pytest.approx(log_mean(own.log_weights())[0], abs=0.1)
    assert fewer[0].predicted is fewer[1].predicted


def test_few_rows_that_count_are_all_kept_as_they_are():
    log = np.full(500, -3.0 * NEGLIGIBLE)
    log[[3, 77, 401]] = 0.0, -1.0, -2.0
    log[9] = -np.inf
    kept, share = drawn_by_weight(log, 64)
    assert kept.tolist() == [3, 77, 401]
    assert log_mean(log[kept] + share)[0] == pytest.approx(log_mean(log)[0], abs=1e-9)


def test_of_rows_none_of_which_has_a_weight_some_are_kept_in_equal_steps():
    kept, share = drawn_by_weight(np.full(300, -np.inf), 64)
    assert kept[0] == 0 and kept[-1] == 299 and len(set(kept.tolist())) == 64
    assert not share.any()
