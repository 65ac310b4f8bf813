"""Weibull lives by maximum likelihood: exact, right-, left- and interval-censored, left-truncated, weighted.

S(t) = exp(-(t / eta)**beta); eta the scale (characteristic life, h), beta the shape. The search runs on
(a, s) = (log eta, log beta) with the exact first and second derivatives, so that the likelihood is found to machine
precision. With u = beta (log t - a) every kind of life is a function of u alone.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np

from vanewise.errors import NoAnswer, Problem
from vanewise.watch.arrays import Floats
from vanewise.watch.lifetimes import Lifetimes

MOST_STEPS = 100


@dataclasses.dataclass(frozen=True, slots=True)
class WeibullFit:
    """A maximum-likelihood fit. ``covariance`` (2, 2) is that of (log eta, log beta)."""

    eta: float
    beta: float
    log_likelihood: float
    covariance: Floats
    steps: int

    @property
    def aic(self) -> float:
        return 4.0 - 2.0 * self.log_likelihood

    @property
    def mean(self) -> float:
        return self.eta * math.gamma(1.0 + 1.0 / self.beta)

    @property
    def sd(self) -> float:
        second = math.gamma(1.0 + 2.0 / self.beta)
        return self.eta * math.sqrt(second - math.gamma(1.0 + 1.0 / self.beta) ** 2)

    def quantile(self, p: float) -> float:
        """Hours by which a share ``p`` of units has ended."""
        return float(self.eta * (-math.log1p(-p)) ** (1.0 / self.beta))

    def survival(self, hours: float | Floats) -> Floats:
        return np.exp(-((np.asarray(hours, dtype=float) / self.eta) ** self.beta))

    def beta_interval(self, cover: float = 0.95) -> tuple[float, float]:
        """Interval of the shape by the normal approximation of its logarithm."""
        from scipy.special import ndtri

        reach = float(ndtri(0.5 + cover / 2.0)) * math.sqrt(float(self.covariance[1, 1]))
        return self.beta * math.exp(-reach), self.beta * math.exp(reach)


@dataclasses.dataclass(frozen=True, slots=True)
class Prepared:
    """Logarithms taken once. ``log_t``, ``signed``: every term -w exp(u) (+ for entry); exact and interval lives."""

    log_t: Floats
    signed: Floats
    exact_weight: float
    exact_log_t: float
    """Weighted sum of log t of exact ends."""
    low: Floats
    high: Floats
    between_weight: Floats


def prepare(lives: Lifetimes) -> Prepared:
    """Sort lives by kind and take their logarithms."""
    exact = lives.lower == lives.upper
    running = ~np.isfinite(lives.upper)
    between = ~exact & ~running
    late = lives.entry > 0.0
    with np.errstate(divide="ignore"):
        log_lower, log_upper = np.log(lives.lower), np.log(np.where(running, 1.0, lives.upper))
        log_entry = np.log(lives.entry[late])
    whole = exact | running
    return Prepared(
        log_t=np.concatenate([log_lower[whole], log_entry]),
        signed=np.concatenate([lives.weight[whole], -lives.weight[late]]),
        exact_weight=float(lives.weight[exact].sum()),
        exact_log_t=float(lives.weight[exact] @ log_lower[exact]),
        low=log_lower[between],
        high=log_upper[between],
        between_weight=lives.weight[between],
    )


def log_likelihood(lives: Lifetimes | Prepared, eta: float, beta: float) -> float:
    """Log likelihood of the lives at given parameters."""
    data = prepare(lives) if isinstance(lives, Lifetimes) else lives
    return derivatives(data, math.log(eta), math.log(beta))[0]


def derivatives(data: Prepared, a: float, s: float) -> tuple[float, Floats, Floats]:
    """Log likelihood, gradient (2,) and Hessian (2, 2) at (a, s)."""
    k = math.exp(s)
    u = k * (data.log_t - a)
    with np.errstate(over="ignore"):
        e = data.signed * np.exp(u)
    s0 = float(e.sum())
    eu = e * u
    s1, s2 = float(eu.sum()), float(eu @ u)
    n = data.exact_weight
    exact_u = k * (data.exact_log_t - n * a)
    value = n * s + exact_u - data.exact_log_t - s0
    gradient = np.array([-k * n + k * s0, n + exact_u - s1])
    cross = -k * n + k * s0 + k * s1
    hessian = np.array([[-k * k * s0, cross], [cross, exact_u - s1 - s2]])
    if len(data.low):
        more = _between(data, a, k)
        value, gradient, hessian = value + more[0], gradient + more[1], hessian + more[2]
    return value, gradient, hessian


def _between(data: Prepared, a: float, k: float) -> tuple[float, Floats, Floats]:
    """The same for ends between two looks: log(exp(-e1) - exp(-e2)), with e = exp(u)."""
    with np.errstate(over="ignore", invalid="ignore"):
        u1, u2 = k * (data.low - a), k * (data.high - a)
        e1, e2 = np.exp(u1), np.exp(u2)
        gap = e2 - e1
        q = 1.0 / np.expm1(gap)
    u1 = np.where(np.isfinite(u1), u1, 0.0)
    w = data.between_weight
    value = float(w @ (-e1 + np.log(-np.expm1(-gap))))
    g1, g2 = -e1 * (1.0 + q), q * e2
    both = q * (1.0 + q)
    h11, h22, h12 = g1 - both * e1 * e1, g2 - both * e2 * e2, both * e1 * e2
    gradient = np.array([-k * float(w @ (g1 + g2)), float(w @ (g1 * u1 + g2 * u2))])
    aa = k * k * float(w @ (h11 + 2.0 * h12 + h22))
    cross = -k * float(w @ (h11 * u1 + h12 * (u1 + u2) + h22 * u2 + g1 + g2))
    ss = float(w @ (h11 * u1 * u1 + 2.0 * h12 * u1 * u2 + h22 * u2 * u2 + g1 * u1 + g2 * u2))
    return value, gradient, np.array([[aa, cross], [cross, ss]])


def fit(lives: Lifetimes) -> WeibullFit:
    """The maximum-likelihood fit.

    Raises :class:`NoAnswer` where none exists: no ends at all, or ends that do not differ.
    """
    if lives.events <= 0:
        raise _no_fit("at least one life that has ended", "none")
    data = prepare(lives)
    a, s = start(lives)
    value, gradient, hessian = derivatives(data, a, s)
    steps = 0
    while steps < MOST_STEPS:
        steps += 1
        move = _newton(gradient, hessian)
        shrink = 1.0
        while True:
            new = derivatives(data, a + shrink * move[0], s + shrink * move[1])
            if np.isfinite(new[0]) and new[0] >= value - 1e-9 * abs(value):
                break
            shrink /= 2.0
            if shrink < 1e-10:
                raise _no_fit("ends that let a Weibull life be found", "a likelihood without a peak")
        a, s = a + shrink * float(move[0]), s + shrink * float(move[1])
        value, gradient, hessian = new
        if s > 6.0:
            raise _no_fit("ends at different ages", "ends that all lie together: no spread to fit")
        if shrink == 1.0 and float(np.max(np.abs(move))) < 1e-11:
            break
    covariance: Floats = np.asarray(np.linalg.inv(-hessian), dtype=float)
    if not np.all(np.isfinite(covariance)) or covariance[0, 0] <= 0 or covariance[1, 1] <= 0:
        raise _no_fit("ends that let a Weibull life be found", "a likelihood without a peak")
    return WeibullFit(math.exp(a), math.exp(s), float(value), covariance, steps)


def _newton(gradient: Floats, hessian: Floats) -> Floats:
    """Newton step, kept within a factor of e; uphill along the gradient where the surface is not yet a hill."""
    determinant = float(hessian[0, 0] * hessian[1, 1] - hessian[0, 1] ** 2)
    if determinant > 0 and hessian[0, 0] < 0:
        move = -np.linalg.solve(hessian, gradient)
    else:
        move = gradient / max(float(np.max(np.abs(gradient))), 1e-300) * 0.5
    return np.asarray(np.clip(move, -1.0, 1.0))


def start(lives: Lifetimes) -> tuple[float, float]:
    """A first guess: shape from the spread of log ends, scale from the total of t**beta per end."""
    ended = np.isfinite(lives.upper)
    times = np.where(ended, (lives.lower + np.where(ended, lives.upper, 0.0)) / 2.0, lives.lower)
    weight = lives.weight
    log_ends = np.log(np.maximum(times[ended], 1e-12))
    share = weight[ended] / weight[ended].sum()
    centre = float(share @ log_ends)
    spread = math.sqrt(float(share @ (log_ends - centre) ** 2))
    k = min(max(1.2825 / max(spread, 0.05), 0.3), 20.0)
    log_all = np.log(np.maximum(times, 1e-12))
    top = float(log_all.max())
    total = float(weight @ np.exp(k * (log_all - top))) / float(weight[ended].sum())
    return top + math.log(total) / k, math.log(k)


def _no_fit(expected: str, found: str) -> NoAnswer:
    return NoAnswer(
        Problem(
            where="Weibull life",
            expected=expected,
            found=found,
            next_step="use the rate of ends per hour instead, or wait for more lives",
        )
    )
