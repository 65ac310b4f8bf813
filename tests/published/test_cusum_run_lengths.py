"""Run lengths of the cumulative-sum chart against the classic table.

Two-sided chart, k = 0.5, h = 4 and 5, shift in standard deviations: as printed in text books of statistical quality
control (Montgomery, "Introduction to Statistical Quality Control", chapter on cumulative sums, after Lucas and Crosier
1982). The table is from memory.
"""

from __future__ import annotations

import pytest

from vanewise.watch.cusum import average_run_length, run_rule_length, two_sided

SHIFTS = (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0)
TABLE = {
    4.0: (168.0, 74.2, 26.6, 13.3, 8.38, 4.75, 3.34, 2.62, 2.19, 1.71),
    5.0: (465.0, 139.0, 38.0, 17.0, 10.4, 5.75, 4.01, 3.11, 2.57, 2.01),
}


@pytest.mark.parametrize("h", [4.0, 5.0])
def test_run_lengths_of_the_two_sided_chart(h: float) -> None:
    for shift, expected in zip(SHIFTS, TABLE[h], strict=True):
        up, down = average_run_length(0.5, h, shift), average_run_length(0.5, h, -shift)
        assert 1.0 / (1.0 / up + 1.0 / down) == pytest.approx(expected, rel=0.01)
    assert two_sided(average_run_length(0.5, h)) == pytest.approx(TABLE[h][0], rel=0.01)


def test_runs_of_successes() -> None:
    """Feller, vol. 1, XIII.7: three heads in a row with a fair coin take 14 throws on average (from memory)."""
    assert run_rule_length(0.5, 3) == pytest.approx(14.0)
