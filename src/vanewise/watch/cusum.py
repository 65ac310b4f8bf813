"""How often a cumulative-sum chart cries wolf: run lengths and false-alarm chances by Markov chain.

The sum S <- max(0, S + z - k) of standardised readings z raises an alarm above h. Its states are cut into cells, after
Brook and Evans (Biometrika 59, 1972). Where the baseline is only a few readings, its error is summed over as well.
"""

from __future__ import annotations

import functools
import math

import numpy as np
from scipy.special import chdtri, ndtr

from vanewise.watch.arrays import Floats

CELLS = 120


def _transitions(k: float, h: float, shift: float, scale: float, cells: int = CELLS) -> Floats:
    """(cells, cells) chances of moving between cells of the sum; what is missing from a row is the alarm.

    Readings are normal with mean ``shift`` and standard deviation ``scale``. Cell 0 holds the sum at zero.
    """
    width = 2.0 * h / (2 * cells - 1)
    state = np.arange(cells) * width
    upper = state[None, :] + width / 2.0 - state[:, None] + k
    reached = ndtr((upper - shift) / scale)
    chances = np.diff(reached, axis=1, prepend=0.0)
    return np.asarray(chances)


def average_run_length(k: float, h: float, shift: float = 0.0) -> float:
    """Readings to an alarm, on average, of a one-sided chart started at zero, for a known normal baseline.

    ``k``, ``h`` and ``shift`` are in standard deviations; ``shift`` 0 gives the run between false alarms.
    """
    chances = _transitions(k, h, shift, 1.0)
    return float(np.linalg.solve(np.eye(len(chances)) - chances, np.ones(len(chances)))[0])


def two_sided(one_sided: float) -> float:
    """Run length of two such charts side by side, started at zero: 1/L = 2/L1."""
    return one_sided / 2.0


@functools.lru_cache(maxsize=256)
def false_alarm_chance(k: float, h: float, readings: int, baseline: int, freedom: float) -> float:
    """P(an alarm within ``readings`` of a sound aircraft), one-sided.

    The baseline mean comes from ``baseline`` readings and the standard deviation from ``freedom`` degrees of freedom;
    both errors are shared by all later readings and are summed over here.
    """
    x, w = np.polynomial.hermite_e.hermegauss(9)
    w = w / w.sum()
    # Equally likely values of the true over the estimated standard deviation.
    shares = (np.arange(7) + 0.5) / 7.0
    ratios = np.sqrt(freedom / chdtri(freedom, shares))
    total = 0.0
    for ratio in ratios:
        for node, weight in zip(x, w, strict=True):
            shift = float(ratio) * float(node) / math.sqrt(baseline)
            total += float(weight) / len(ratios) * _alarm_within(k, h, shift, float(ratio), readings)
    return total


def _alarm_within(k: float, h: float, shift: float, scale: float, readings: int) -> float:
    chances = _transitions(k, h, shift, scale, cells=48)
    state = np.zeros(len(chances))
    state[0] = 1.0
    for _ in range(readings):
        state = state @ chances
    return 1.0 - float(state.sum())


@functools.lru_cache(maxsize=64)
def decision_limit(k: float, budget: float, readings: int, baseline: int, freedom: float) -> float:
    """The alarm limit h at which a sound aircraft's chance of a false alarm within ``readings`` is ``budget``."""
    low, high = 1.0, 4.0
    while false_alarm_chance(k, high, readings, baseline, freedom) > budget and high < 500.0:
        low, high = high, high * 1.7
    for _ in range(18):
        middle = (low + high) / 2.0
        if false_alarm_chance(k, middle, readings, baseline, freedom) > budget:
            low = middle
        else:
            high = middle
    return high


@functools.lru_cache(maxsize=64)
def decision_limit_known(k: float, budget: float, readings: int) -> float:
    """The alarm limit h for scores that are standard normal without any error of a baseline, one-sided."""
    low, high = 0.5, 40.0
    for _ in range(40):
        middle = (low + high) / 2.0
        if _alarm_within(k, middle, 0.0, 1.0, readings) > budget:
            low = middle
        else:
            high = middle
    return high


def run_rule_length(p: float, runs: int) -> float:
    """Readings to ``runs`` in a row beyond a limit, on average, when each is beyond it with chance ``p``.

    The classic waiting time for a run of successes: (1 - p**r) / ((1 - p) p**r).
    """
    if p <= 0.0:
        return math.inf
    if p >= 1.0:
        return float(runs)
    return (1.0 - p**runs) / ((1.0 - p) * p**runs)
