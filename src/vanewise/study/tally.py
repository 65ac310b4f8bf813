"""Outcomes counted in bins of fixed width, so that any number of scenarios takes the same memory.

Tallies add up: counts are whole numbers and the sums of floating-point numbers are always taken in the order of the
chunks, so the same study gives the same bytes however it was cut up or shared out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vanewise.network.types import Floats

Counts = NDArray[np.int64]

_SPREAD = 2**32
"""Bins of one group have numbers within this; a bin's code is group * _SPREAD + bin + _SPREAD / 2."""


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """One outcome in every group, arrays (groups,) but for the bins. SI.

    ``codes`` (rising) and ``hits`` are the bins that were hit. ``below`` and ``above`` count what lies outside the
    limits it was counted against.
    """

    codes: Counts
    hits: Counts
    total: Floats
    least: Floats
    most: Floats
    below: Counts
    above: Counts

    def plus(self, other: Outcome) -> Outcome:
        """Both together; the order matters to the last digit of ``total``."""
        codes, back = np.unique(np.concatenate([self.codes, other.codes]), return_inverse=True)
        hits = np.zeros(codes.size, np.int64)
        np.add.at(hits, back, np.concatenate([self.hits, other.hits]))
        return Outcome(
            codes=codes,
            hits=hits,
            total=self.total + other.total,
            least=np.minimum(self.least, other.least),
            most=np.maximum(self.most, other.most),
            below=self.below + other.below,
            above=self.above + other.above,
        )

    def bins(self, group: int) -> tuple[Counts, Counts]:
        """Numbers of the bins hit in a group, rising, and how often: bin i reaches from i to i + 1 widths."""
        low, high = np.searchsorted(self.codes, [group * _SPREAD, (group + 1) * _SPREAD])
        return self.codes[low:high] - group * _SPREAD - _SPREAD // 2, self.hits[low:high]

    def quantile(self, group: int, share: float, width: float) -> float:
        """The value below which a ``share`` of the group lies, on a straight line within its bin."""
        bins, hits = self.bins(group)
        wanted = share * hits.sum()
        upto = np.cumsum(hits)
        at = min(int(np.searchsorted(upto, wanted)), bins.size - 1)
        within = (wanted - (upto[at] - hits[at])) / hits[at]
        return float(np.clip((bins[at] + within) * width, self.least[group], self.most[group]))


@dataclass(frozen=True, slots=True, eq=False)
class Tally:
    """Scenarios, and those that were not solved, in every group (groups,); and each outcome over the solved ones."""

    scenarios: Counts
    unsolved: Counts
    outcomes: Mapping[str, Outcome]

    def plus(self, other: Tally) -> Tally:
        return Tally(
            scenarios=self.scenarios + other.scenarios,
            unsolved=self.unsolved + other.unsolved,
            outcomes={name: outcome.plus(other.outcomes[name]) for name, outcome in self.outcomes.items()},
        )


def counted(
    values: Floats, group: Counts, groups: int, width: float, limits: tuple[float | None, float | None] = (None, None)
) -> Outcome:
    """``values`` (n,) of scenarios in ``group`` (n,), in bins of ``width``; NaN is left out.

    ``limits`` are the ends that ``below`` and ``above`` are counted against; None counts nothing.
    """
    kept = np.isfinite(values)
    x, g = values[kept], group[kept]
    bins = np.clip(np.floor(x / width), -_SPREAD // 2, _SPREAD // 2 - 1).astype(np.int64)
    codes, hits = np.unique(g * _SPREAD + bins + _SPREAD // 2, return_counts=True)
    least, most = np.full(groups, np.inf), np.full(groups, -np.inf)
    np.minimum.at(least, g, x)
    np.maximum.at(most, g, x)
    low, high = limits
    none = np.zeros(groups, np.int64)
    return Outcome(
        codes=codes,
        hits=hits.astype(np.int64),
        total=np.asarray(np.bincount(g, x, groups), float),
        least=least,
        most=most,
        below=none if low is None else np.bincount(g[x < low], minlength=groups),
        above=none if high is None else np.bincount(g[x > high], minlength=groups),
    )


def arrays(tally: Tally) -> Iterator[tuple[str, NDArray[np.generic]]]:
    """The tally as named arrays, to be written down."""
    yield "scenarios", tally.scenarios
    yield "unsolved", tally.unsolved
    for name, outcome in tally.outcomes.items():
        for part in Outcome.__slots__:
            yield f"{name}|{part}", getattr(outcome, part)


def from_arrays(named: Mapping[str, NDArray[np.generic]], outcomes: tuple[str, ...]) -> Tally:
    """The tally of :func:`arrays`. Raises KeyError when one is missing."""
    return Tally(
        scenarios=np.asarray(named["scenarios"], np.int64),
        unsolved=np.asarray(named["unsolved"], np.int64),
        outcomes={
            name: Outcome(**{part: named[f"{name}|{part}"] for part in Outcome.__slots__})  # type: ignore[arg-type]
            for name in outcomes
        },
    )
