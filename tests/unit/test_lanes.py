"""Rows of lanes: the largest of two rows, where a number that is not one must never be lost."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

numba = pytest.importorskip("numba")

from vanewise.network import lanes  # noqa: E402


@numba.njit  # type: ignore[untyped-decorator]
def largest_of(rows: Any, count: int, into: Any) -> None:
    for k in range(count):
        lanes.row_largest(into, 0, rows, k)


@pytest.mark.parametrize("bad", [0, 1, 2])
def test_a_number_that_is_not_one_wins_from_wherever_it_comes(bad: int):
    rows = np.arange(3.0 * lanes.LANES)
    rows[bad * lanes.LANES + 3] = np.nan
    found = np.zeros(lanes.LANES)
    largest_of(rows, 3, found)
    assert np.isnan(found[3])
    others = np.arange(lanes.LANES) != 3
    assert (found[others] == rows[2 * lanes.LANES :][others]).all()
