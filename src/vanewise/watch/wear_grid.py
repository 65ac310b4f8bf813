"""Exact filter on a grid for monotone wear.

Model. Wear as a share of the allowance is W = z + U(x) / m on the clock x, where

* x = (effective hours / median life)**c, the run-in clock;
* U is a gamma process with mean x and shape A x, so its increments are never negative and W never shrinks;
* m = L**c, L this pump's own life over the median life, log-normal: on average the limit W = 1 comes at hours L;
* z is the tolerance of the new length, normal with a small spread.

The key to speed: R = (1 - z) m - U is all that the future needs to know of the past, because
P(limit not reached after a further dx) = P(Gamma(A dx) <= A R) = gammainc(A dx, A R).

A *branch* is one combination of mixture member and rate node. A branch that may change has a second state, reached
once at a constant hazard per unit of clock, in which the clock runs faster by a factor (only with c = 1).

Everything here is plain arrays: B branches, S states (1 or 2), M life nodes, Z tolerance nodes, N wear nodes.
Source: van Noortwijk, "A survey of the application of gamma processes in maintenance", Reliability Engineering and
System Safety 94 (2009), for the process (from memory); the grid recursion is our own.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Sequence

import numpy as np
from scipy.special import gammainc, gammaincinv, gammaln, ndtr, xlogy

from vanewise.watch.arrays import Flags, Floats

LENGTH_LOW, LENGTH_HIGH = -0.5, 1.5
"""A length written wrongly lies anywhere between these shares of the allowance."""
CHANGE_NODES = 5
CLOCK_MAX = 7.0
"""Median lives looked ahead, and the largest remaining resource told apart."""
_SQRT_TWO_PI = float(np.sqrt(2.0 * np.pi))


@dataclasses.dataclass(frozen=True, slots=True)
class Observation:
    """What one look says about wear at one time. ``kind``: see :func:`likelihood`. Shares of the allowance."""

    kind: str
    value: float = 0.0
    sd: float = 0.05
    slip: float = 0.0
    good: bool = True


def likelihood(observation: Observation, wear: Floats) -> Floats:
    """Likelihood of an observation at each wear, any shape.

    ``length``: a measured share with normal error, or with chance ``slip`` any share at all. ``port``: the edge looks
    good (wear below ``value``, blurred by ``sd``), or bad, misread with chance ``slip``. ``within``: an inspection
    found it short of the limit (``good``) or past it. ``none``: nothing was seen.
    """
    if observation.kind == "length":
        density = (wear - observation.value) * (np.sqrt(0.5) / observation.sd)
        np.square(density, out=density)
        np.negative(density, out=density)
        np.exp(density, out=density)
        density *= (1.0 - observation.slip) / (observation.sd * _SQRT_TWO_PI)
        density += observation.slip / (LENGTH_HIGH - LENGTH_LOW)
        return np.asarray(density)
    if observation.kind == "port":
        below = ndtr((observation.value - wear) / observation.sd)
        good = np.asarray(observation.slip / 2.0 + (1.0 - observation.slip) * below)
        return good if observation.good else 1.0 - good
    if observation.kind == "within":
        # Blurred by a thousandth so that the answer is smooth on the grid.
        short = np.asarray(ndtr((1.0 - wear) / 1e-3))
        return short if observation.good else 1.0 - short
    return np.ones_like(wear)


def cumulative(observation: Observation, wear: Floats) -> Floats:
    """P(a reading of this kind at or below the one taken | wear), for the surprise of a reading.

    For a look (good or bad) half of the chance of the outcome itself is counted, so that both tails mean surprise and
    a bad outcome lies at the top.
    """
    if observation.kind == "length":
        spread = np.clip((observation.value - LENGTH_LOW) / (LENGTH_HIGH - LENGTH_LOW), 0.0, 1.0)
        below = ndtr((observation.value - wear) / observation.sd)
        return np.asarray((1.0 - observation.slip) * below + observation.slip * spread)
    good = likelihood(dataclasses.replace(observation, good=True), wear)
    return 0.5 * good if observation.good else good + 0.5 * (1.0 - good)


@dataclasses.dataclass(frozen=True, slots=True)
class Branches:
    """All branches side by side; every array has B entries, ``clock`` (B, K) also one column per time asked.

    ``clock`` is before the run-in exponent; ``hazard`` and ``factor`` are 0 and 1 where no change can come;
    ``log_shift`` moves the prior on log life.
    """

    weight: Floats
    scatter: Floats
    run_in: Floats
    hazard: Floats
    factor: Floats
    log_shift: Floats
    clock: Floats
    rate_now: Floats

    def take(self, keep: Flags) -> Branches:
        return Branches(*(getattr(self, field.name)[keep] for field in dataclasses.fields(self)))

    @property
    def time(self) -> Floats:
        """Run-in clock at each time asked, (B, K)."""
        return self.clock ** self.run_in[:, None]


@dataclasses.dataclass(frozen=True, slots=True)
class Grid:
    """State after the last time: masses ``p`` (B, S, M, Z, N) that sum to 1 over S, Z, N for each B, M.

    ``log_evidence`` (B, M) of all observations given the life node; ``log_life`` (B, M); ``tolerance`` (Z,) with its
    weights; ``worn`` (B, N) the nodes of U.
    """

    p: Floats
    log_evidence: Floats
    log_life: Floats
    tolerance: Floats
    worn: Floats
    surprise: Floats
    """(B, M): probability integral of the newest observation given everything before it."""
    log_before: Floats
    """(B, M): log evidence without the newest observation."""


def hat_masses(shape: Floats, rate: Floats, step: Floats, count: int) -> Floats:
    """Masses (B, count) of Gamma(shape, rate) on nodes 0, step, 2 step ...: total and mean are kept exactly.

    Linear (hat) weights put each point on its two neighbours. A shape of 0 is a point mass at 0.
    """
    edges = np.arange(count + 1)[None, :] * step[:, None]
    safe = np.maximum(shape, 1e-12)[:, None]
    x = rate[:, None] * edges
    below = gammainc(safe, x)
    mass = np.diff(below, axis=1)
    # The mean below each edge needs gammainc(shape + 1, x), which the recurrence gives without a second evaluation.
    above_one = below - np.exp(xlogy(safe, x) - x - gammaln(safe + 1.0))
    moment = np.diff((safe / rate[:, None]) * above_one, axis=1)
    up = moment / step[:, None] - np.arange(count)[None, :] * mass
    masses: Floats = np.asarray(mass - up)
    masses[:, 1:] += up[:, :-1]
    np.maximum(masses, 0.0, out=masses)
    still = shape <= 1e-12
    if still.any():
        masses[still] = 0.0
        masses[still, 0] = 1.0
    return masses


def _steps(branches: Branches, gap: Floats, step: Floats, count: int) -> tuple[Floats, Floats | None, Floats | None]:
    """Masses of the move over ``gap`` (B,): unchanged to unchanged, to changed, and changed to changed."""
    rate = branches.scatter
    if not branches.hazard.any():
        return hat_masses(rate * gap, rate, step, count), None, None
    nodes, weights = np.polynomial.legendre.leggauss(CHANGE_NODES)
    when = gap[:, None] * (nodes[None, :] + 1.0) / 2.0
    share = weights[None, :] / 2.0 * gap[:, None] * branches.hazard[:, None] * np.exp(-branches.hazard[:, None] * when)
    moved = when + branches.factor[:, None] * (gap[:, None] - when)
    # All moves in one call: unchanged, changed throughout, and changed at each node of the gap.
    moves = np.concatenate([gap[:, None], (branches.factor * gap)[:, None], moved], axis=1)
    wide = moves.shape[1]
    every = hat_masses((rate[:, None] * moves).ravel(), np.repeat(rate, wide), np.repeat(step, wide), count)
    every = every.reshape(len(rate), wide, count)
    stay = every[:, 0] * np.exp(-branches.hazard * gap)[:, None]
    changed = every[:, 1]
    turn: Floats = np.asarray((every[:, 2:] * share[:, :, None]).sum(axis=1))
    # The quadrature is made to lose or gain no mass.
    total = turn.sum(axis=1)
    wanted = (1.0 - np.exp(-branches.hazard * gap)) * np.minimum(stay.sum(axis=1) * np.exp(branches.hazard * gap), 1.0)
    turn *= np.where(total > 0, wanted / np.maximum(total, 1e-300), 0.0)[:, None]
    return stay, turn, changed


def _move(p: Floats, branches: Branches, gap: Floats, step: Floats, at_start: bool) -> Floats:
    """Masses after a further ``gap`` (B,) of clock: a convolution along the wear nodes.

    By Fourier transform on twice the length, so that nothing wraps round; what would pass the last node is dropped (it
    holds less than 1e-8). Round-off of some 1e-17 is cut at 0; a matrix product is no more exact and, on a busy
    machine, many times slower.
    """
    states, count = p.shape[1], p.shape[4]
    size = 2 * count
    stay, turn, changed = _steps(branches, gap, step, count)
    if at_start:
        # Everything still lies at zero wear, so the masses of the step are the answer.
        started = p[..., :1] * stay[:, None, None, None, :]
        if turn is not None:
            started[:, 1] = p[:, 0, :, :, :1] * turn[:, None, None, :]
        return started
    spectrum = np.fft.rfft(p, size, axis=-1)
    if states == 2 and turn is not None and changed is not None:
        spectrum[:, 1] *= np.fft.rfft(changed, size, axis=-1)[:, None, None, :]
        spectrum[:, 1] += spectrum[:, 0] * np.fft.rfft(turn, size, axis=-1)[:, None, None, :]
    spectrum[:, 0] *= np.fft.rfft(stay, size, axis=-1)[:, None, None, :]
    moved = np.fft.irfft(spectrum, size, axis=-1)[..., :count]
    return np.maximum(moved, 0.0)


def run(
    branches: Branches,
    observations: Sequence[Observation],
    log_life: Floats,
    tolerance: tuple[Floats, Floats],
    nodes: int,
    newest: int | None,
) -> Grid:
    """Filter all ``observations`` (K of them, in the order of ``branches.clock``) on given life nodes (B, M).

    ``tolerance``: nodes and weights of the new length's tolerance. ``newest`` names the observation whose surprise is
    wanted.
    """
    b, m = log_life.shape
    z_nodes, z_weights = tolerance
    states = 2 if branches.hazard.any() else 1
    time = branches.time
    reach = branches.factor * time[:, -1]
    shape = np.maximum(branches.scatter * reach, 1e-9)
    top = np.maximum(gammaincinv(shape, 1.0 - 1e-8) / branches.scatter, 1e-9)
    step = top / (nodes - 2)
    worn = np.arange(nodes)[None, :] * step[:, None]
    life = np.exp(branches.run_in[:, None] * log_life)
    wear = z_nodes[None, None, :, None] + worn[:, None, None, :] / life[:, :, None, None]

    p: Floats = np.zeros((b, states, m, len(z_nodes), nodes))
    p[:, 0, :, :, 0] = z_weights[None, None, :]
    log_evidence = np.zeros((b, m))
    log_before = log_evidence
    surprise = np.full((b, m), 0.5)
    last = np.zeros(b)
    # The wear nodes do not move with time, so looks that saw the same say the same.
    seen: dict[Observation, Floats] = {}
    for index, observation in enumerate(observations):
        gap = time[:, index] - last
        last = time[:, index]
        if np.any(gap > 0):
            p = _move(p, branches, np.maximum(gap, 0.0), step, not np.any(time[:, index] > gap))
        if observation.kind == "none":
            continue
        if index == newest:
            log_before = log_evidence.copy()
            total = p.sum(axis=(1, 3, 4))
            surprise = (p * cumulative(observation, wear)[:, None]).sum(axis=(1, 3, 4)) / np.maximum(total, 1e-300)
        if observation not in seen:
            seen[observation] = likelihood(observation, wear)[:, None]
        p *= seen[observation]
        total = np.maximum(p.sum(axis=(1, 3, 4)), 1e-300)
        p /= total[:, None, :, None, None]
        log_evidence = log_evidence + np.log(total)
    return Grid(p, log_evidence, log_life, z_nodes, worn, surprise, log_before)


def tolerance_nodes(sd: float, count: int = 3) -> tuple[Floats, Floats]:
    """Gauss-Hermite nodes and weights of the tolerance of the new length."""
    if sd <= 0.0:
        return np.zeros(1), np.ones(1)
    x, w = np.polynomial.hermite_e.hermegauss(count)
    return sd * x, w / w.sum()


@functools.lru_cache(maxsize=64)
def survival_table(scatter: float, hazard: float, factor: float, changed: bool) -> tuple[Floats, Floats, Floats]:
    """(clock nodes, resource nodes, P(not used up)): chance that a resource R lasts a further clock time.

    Both node sets are spaced evenly in the square root, dense at 0. A table is a constant of its arguments.
    """
    clock = clock_nodes()
    resource = resource_nodes()
    speed = factor if changed else 1.0
    table = gammainc(np.maximum(scatter * speed * clock, 1e-12)[:, None], scatter * resource[None, :])
    table[0, :] = 1.0
    table[:, 0] = 0.0
    if hazard <= 0.0 or changed:
        return clock, resource, table
    # Unchanged so far: the change may come at any time before the clock asked.
    nodes, weights = np.polynomial.legendre.leggauss(8)
    out = table * np.exp(-hazard * clock)[:, None]
    for node, weight in zip((nodes + 1.0) / 2.0, weights / 2.0, strict=True):
        when = clock * node
        moved = when + factor * (clock - when)
        share = weight * clock * hazard * np.exp(-hazard * when)
        out += share[:, None] * gammainc(np.maximum(scatter * moved, 1e-12)[:, None], scatter * resource[None, :])
    out[0, :] = 1.0
    out[:, 0] = 0.0
    return clock, resource, out


@functools.lru_cache(maxsize=1)
def clock_nodes() -> Floats:
    """Nodes of the clock ahead, evenly spaced in the square root."""
    return CLOCK_MAX * (np.arange(360) / 359.0) ** 2


@functools.lru_cache(maxsize=1)
def resource_nodes() -> Floats:
    """Nodes of the remaining resource R, evenly spaced in the square root."""
    return CLOCK_MAX * (np.arange(256) / 255.0) ** 2
