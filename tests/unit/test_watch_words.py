"""Chances and hours in words."""

from __future__ import annotations

import pytest

from vanewise import chances
from vanewise.watch import words


@pytest.mark.parametrize(
    ("probability", "expected"),
    [
        (0.0, "less than 1 in 1,000,000"),
        (1 / 317, "1 in 300"),
        (1 / 7.6, "1 in 8"),
        (1 / 12.7, "1 in 10"),
        (0.25, "1 in 4"),
        (0.5, "5 in 10"),
        (0.94, "9 in 10"),
        (0.97, "more than 19 in 20"),
        (1.0, "more than 99 in 100"),
    ],
)
def test_a_chance_has_one_figure_and_is_never_certain(probability: float, expected: str) -> None:
    assert chances.chance(probability) == expected


def test_a_number_that_is_no_chance_is_refused() -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        chances.chance(1.2)


def test_hours_are_rounded_as_people_read_them() -> None:
    assert words.hours(612.4) == "610 h"
    assert words.hours(41.6) == "42 h"
    assert words.hours_down(612.9) == "612 h"
    assert words.hours(1534.0) == "1,530 h"
