"""How a bench is written down and how it is timed."""

from __future__ import annotations

import math
import os
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

UNITS = {"s": 1.0, "ms": 1e3, "us": 1e6, "ns": 1e9}
NOISY_ABOVE = 0.20
"""Largest relative gap between the reference before and after ours."""
LEAST_SECONDS = 0.5
LEAST_REPEATS = 5
MOST_REPEATS = 200
TRIES = 3

Work = Callable[[], object]


def yardstick() -> object:
    """A fixed piece of work for benches that have nothing of their own to be compared with."""
    rng = np.random.default_rng(0)
    matrices = rng.normal(size=(200, 20, 20)) + 20.0 * np.eye(20)
    return np.linalg.solve(matrices, rng.normal(size=(200, 20, 1)))


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """Two pieces of work, each with the number of equal pieces that one call does."""

    ours: Work
    ours_per_call: int = 1
    reference: Work = yardstick
    reference_per_call: int = 1
    reference_name: str = "yardstick: 200 numpy solves of 20 by 20"
    at_least: float | None = None
    """Demanded ratio: reference time over ours."""
    at_most: float | None = None
    """Demanded figure, in the bench's unit."""
    most_exponent: float | None = None
    """Where both are the same work in two sizes: the demanded exponent of cost by size, 1 being linear."""


class NotRunHere(Exception):
    """Raised while a bench is prepared: what it needs is not on this machine. Its words say how to get it."""


@dataclass(frozen=True)
class Bench:
    name: str
    unit: str
    """Starts with a unit of time: ``us per scenario``."""
    prepare: Callable[[], Comparison]

    @property
    def factor(self) -> float:
        return UNITS[self.unit.split()[0]]


BENCHES: dict[str, Bench] = {}


def bench(name: str, *, unit: str) -> Callable[[Callable[[], Comparison]], Bench]:
    """Register the function that prepares a comparison."""
    if unit.split(maxsplit=1)[0] not in UNITS:
        raise ValueError(f"the unit of {name!r} must start with one of {', '.join(UNITS)}")

    def register(prepare: Callable[[], Comparison]) -> Bench:
        if name in BENCHES:
            raise ValueError(f"two benches are called {name!r}")
        BENCHES[name] = Bench(name, unit, prepare)
        return BENCHES[name]

    return register


@dataclass(frozen=True, kw_only=True)
class Measured:
    """One bench's outcome. Figures are None when the machine was too busy to say."""

    name: str
    unit: str
    figure: float | None
    reference: str
    reference_figure: float | None
    ratio: float | None
    noisy: bool
    reference_before: float
    reference_after: float
    load_before: float | None
    load_after: float | None
    at_least: float | None
    at_most: float | None
    exponent: float | None = None
    """Of cost by size, where reference and ours are the same work in two sizes."""
    most_exponent: float | None = None

    @property
    def missed(self) -> bool:
        """Whether a demand was not met. A noisy run meets none and misses none."""
        if self.ratio is None or self.figure is None:
            return False
        short = self.at_least is not None and self.ratio < self.at_least
        steep = self.exponent is not None and self.most_exponent is not None and self.exponent > self.most_exponent
        return short or steep or (self.at_most is not None and self.figure > self.at_most)


def seconds(work: Work, clock: Callable[[], float] = time.perf_counter) -> float:
    """Median time of one call: at least five calls and half a second of them, after one that does not count."""
    work()
    times: list[float] = []
    while len(times) < LEAST_REPEATS or (sum(times) < LEAST_SECONDS and len(times) < MOST_REPEATS):
        start = clock()
        work()
        times.append(clock() - start)
    return statistics.median(times)


def load_average() -> float | None:
    return round(os.getloadavg()[0], 2) if hasattr(os, "getloadavg") else None


def measure(one: Bench, clock: Callable[[], float] = time.perf_counter) -> Measured:
    """Time a bench, up to three times while the machine is busy."""
    comparison = one.prepare()
    measured = _once(one, comparison, clock)
    for _ in range(TRIES - 1):
        if not measured.noisy:
            break
        measured = _once(one, comparison, clock)
    return measured


def _once(one: Bench, comparison: Comparison, clock: Callable[[], float]) -> Measured:
    load_before = load_average()
    before = seconds(comparison.reference, clock) / comparison.reference_per_call
    ours = seconds(comparison.ours, clock) / comparison.ours_per_call
    after = seconds(comparison.reference, clock) / comparison.reference_per_call
    noisy = abs(after - before) > NOISY_ABOVE * min(before, after)
    reference = 0.5 * (before + after)
    return Measured(
        name=one.name,
        unit=one.unit,
        figure=None if noisy else _short(ours * one.factor),
        reference=comparison.reference_name,
        reference_figure=None if noisy else _short(reference * one.factor),
        ratio=None if noisy else _short(reference / ours),
        noisy=noisy,
        reference_before=_short(before * one.factor),
        reference_after=_short(after * one.factor),
        load_before=load_before,
        load_after=load_average(),
        at_least=comparison.at_least,
        at_most=comparison.at_most,
        exponent=None if noisy else exponent(comparison, reference, ours),
        most_exponent=comparison.most_exponent,
    )


def exponent(comparison: Comparison, reference: float, ours: float) -> float | None:
    """Slope of log cost on log size from the reference's size to ours; times are a piece's. None where not asked."""
    if comparison.most_exponent is None:
        return None
    sizes = comparison.ours_per_call / comparison.reference_per_call
    return _short(1.0 + math.log(ours / reference) / math.log(sizes))


def _short(value: float) -> float:
    return float(f"{value:.4g}")
