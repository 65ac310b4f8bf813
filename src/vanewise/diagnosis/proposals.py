"""Where rows that agree with sharp evidence lie: a local linear model of the readings, and its normal posterior.

The proposal is not fitted to the few rows that agree, which would be noise, but solved for: a linear regression of the
readings on the deviates over tempered rows, then conditioning on what was read. The same model gives a log evidence,
good to a nat or two, where the bank's one or two rows give none.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.lapack import dtrtrs

from vanewise.diagnosis import nuisance, sampling
from vanewise.diagnosis.bank import Bank
from vanewise.diagnosis.hypotheses import Hypothesis
from vanewise.diagnosis.likelihood import LAMP_TRIP_SD_INHG, LAMP_WRONG_SD_INHG, OUTLIER, Bools, log_added
from vanewise.diagnosis.predictions import Predicted
from vanewise.diagnosis.scored_checks import cover_sd, flow_sd
from vanewise.diagnosis.scoring import GroupKey, Rows, Scorer, lamp_jacobian
from vanewise.network.types import Floats
from vanewise.quantities import M3S_PER_CFM, PA_PER_INHG

Numbers = NDArray[np.int64]

COMPONENTS: Final = ((0.10, 0.0), (0.70, 1.2), (0.20, 2.25))
"""Share of each round, and by how much the fitted covariance is widened there; 0 stands for the prior itself."""
_AIM_ROWS: Final = 96.0
"""Effective rows the local regression is tempered to."""
_LOG_2PI: Final = math.log(2.0 * math.pi)
_FLATTEST: Final = -10.0
"""Logarithm of the least power that weights are tempered with."""
_BISECTIONS: Final = 8
_RIDGE: Final = 1e-3
_FEW: Final = 5.0
"""Effective rows under which the local regression looks for the nearest rows by their readings alone."""
_NO_WEIGHT: Final = 1e-5
_FARTHEST: Final = 3.5
"""The fitted mean stays within so many standard deviations of the prior in every direction."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A normal distribution of the deviates that have a say, mixed with a wider one and with the prior.

    The other deviates are drawn from the prior, and so have no part in any weight.
    """

    told: Numbers
    """Which deviates the readings can tell of."""
    mean: Floats
    factor: Floats
    """Lower Cholesky factor of the fitted covariance."""

    def draw(self, rows: int, seed: int) -> Floats:
        """Deviates (rows, all dimensions), each component taking its rows evenly along the lattice."""
        found = sampling.normals(sampling.uniforms(rows, nuisance.COUNT, seed))
        spread = found[:, self.told] @ self.factor.T
        position = (np.arange(rows) * 0.6180339887498949 + 0.5) % 1.0
        start = 0.0
        for share, widen in COMPONENTS:
            here = np.flatnonzero((position >= start) & (position < start + share))
            if widen:
                found[here[:, None], self.told] = self.mean + np.sqrt(widen) * spread[here]
            start += share
        return found

    def log_prior(self, z: Floats) -> Floats:
        """Log density of the prior, up to the same constant."""
        return np.asarray(-0.5 * (z[:, self.told] ** 2).sum(axis=1))

    def log_density(self, z: Floats) -> Floats:
        """Log density of the mixture, up to the constant all components have."""
        centred = _whitened(self.factor, (z[:, self.told] - self.mean).T)
        distance = (centred**2).sum(axis=0)
        volume = np.log(np.diag(self.factor)).sum()
        dimensions = len(self.mean)
        terms = []
        for share, widen in COMPONENTS:
            if widen:
                log = -0.5 * distance / widen - volume - 0.5 * dimensions * math.log(widen)
            else:
                log = self.log_prior(z)
            terms.append(math.log(share) + log)
        return log_added(terms)


def _whitened(factor: Floats, off: Floats) -> Floats:
    """``off`` (n,) or (n, columns) solved by a lower Cholesky factor (n, n), without a wrapper's checks of both."""
    if not len(factor):  # nothing was measured: LAPACK has no such case and prints that
        return off
    return np.asarray(dtrtrs(factor, off, lower=1)[0])


def effective_rows(log_weights: Floats) -> float:
    """How many rows of equal weight these are worth."""
    finite = log_weights[np.isfinite(log_weights)]
    weight = np.exp(finite - finite.max(initial=-math.inf)) if len(finite) else np.zeros(1)
    return float(weight.sum() ** 2 / max(float((weight**2).sum()), 1e-300))


def _tempered(log_weights: Floats, aim: float) -> Floats:
    """Weights raised to the highest power that leaves ``aim`` effective rows (all of it when there are enough)."""
    log = np.where(np.isfinite(log_weights), log_weights, -np.inf)
    log -= log.max()

    work = np.empty_like(log)

    def rows(power: float) -> float:
        weight = np.exp(np.multiply(log, power, out=work), out=work)
        return float(weight.sum()) ** 2 / float(weight @ weight)

    low, high = _FLATTEST, 0.0
    power = 1.0
    if rows(power) < aim:
        for _ in range(_BISECTIONS):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if rows(math.exp(middle)) >= aim else (low, middle)
        power = math.exp(low)
    weight = np.exp(power * log)
    return np.asarray(weight / weight.sum())


@dataclass(frozen=True, slots=True)
class _Measured:
    """Everything measured, as numbers: predictions (rows, n), observations (n,), covariance (n, n)."""

    predicted: Floats
    observed: Floats
    covariance: Floats
    jacobian: float
    """Logarithm of what turns a density of these into one of what was read: the lamp is read in engine speed."""


def _measured(scorer: Scorer, subject: Hypothesis, predicted: Predicted, at: int) -> _Measured:
    """Readings, lamp and solver checks stacked, with their errors as they stand near row ``at``."""
    values: list[Floats] = []
    observed: list[Floats] = []
    blocks: list[Floats] = []
    for number, group in enumerate(scorer.prepared.gauges):
        if group.sister:
            continue  # it says little of this aircraft, and that little is counted in the weights
        (value, seen, variance), eras = scorer.likeliest(number, subject, predicted, at)
        block, shown = np.diag(variance), np.empty_like(value)
        for some, error in eras:
            if len(eras) == 1:
                shown = error.shown(value)
            else:
                shown[:, some] = error.shown(value)[:, some]
            first, second = some * (error.bias_sd + error.tilt * value[at]), some * (error.scale_sd * value[at])
            block += np.outer(first, first) + np.outer(second, second)
        values.append(shown)
        observed.append(seen)
        blocks.append(block)
    lamp, jacobian = scorer.description.lamp, 0.0
    if lamp is not None and scorer.prepared.lamps:
        jacobian = float(lamp_jacobian(predicted.lamp_slope[at]).sum())
        count = len(scorer.prepared.lamps)
        sd_rpm = np.array([item.sd_rpm for item in scorer.prepared.lamps])
        own = np.maximum((predicted.lamp_slope[at] * sd_rpm) ** 2, 1e-4) + 0.05**2
        shared = LAMP_WRONG_SD_INHG if subject.has("lamp_false") else LAMP_TRIP_SD_INHG
        values.append(predicted.lamp)
        observed.append(np.full(count, lamp.trip.number / PA_PER_INHG))
        blocks.append(np.diag(own) + shared**2)
    for item in scorer.prepared.checks:
        if item.id in predicted.checks and item.value is not None:
            value = predicted.checks[item.id][:, None]
            flow = item.suction is not None
            sd = flow_sd(value[at], None) if flow else cover_sd(value[at], subject, None)
            values.append(value)
            observed.append(np.array([item.value / (M3S_PER_CFM if flow else PA_PER_INHG)]))
            blocks.append(np.diag(sd**2))
    if not values:
        return _Measured(np.zeros((len(predicted.lamp), 0)), np.zeros(0), np.zeros((0, 0)), 0.0)
    return _Measured(np.concatenate(values, axis=1), np.concatenate(observed), _diagonal(blocks), jacobian)


def _without_slips(scorer: Scorer, rows: Rows, measured: _Measured) -> Floats:
    """Log weights in which no reading is a slip of the pen.

    Where hardly a row is near, those far away all come to the same: every reading a slip. Nothing would then lead from
    them to where the evidence lies.
    """
    off = measured.observed - measured.predicted
    solved: Bools = np.asarray(np.isfinite(off).all(axis=1))
    factor = np.linalg.cholesky(measured.covariance)
    scaled = _whitened(np.asarray(factor), np.where(solved[:, None], off, 0.0).T)
    said = [values for key, values in rows.parts.items() if not _is_measured(scorer, key)]
    total = rows.log_base - 0.5 * (scaled**2).sum(axis=0) + sum(said, np.zeros(len(off)))
    return np.where(solved & np.isfinite(total), total, -np.inf)


def _diagonal(blocks: Sequence[Floats]) -> Floats:
    size = sum(len(block) for block in blocks)
    found = np.zeros((size, size))
    start = 0
    for block in blocks:
        found[start : start + len(block), start : start + len(block)] = block
        start += len(block)
    return found


def fit(scorer: Scorer, subject: Hypothesis, rows: Rows, told: Numbers) -> tuple[Proposal, float]:
    """Normal posterior of a local linear model of the readings, by regression on tempered rows, and its log evidence.

    That of what is no measurement (remarks, looks) is its mean over the tempered rows.
    """
    log_weights = rows.log_weights()
    dimensions = len(told)
    if not np.isfinite(log_weights).any():
        return Proposal(told, np.zeros(dimensions), np.eye(dimensions)), -math.inf
    z = rows.deviates[:, told]
    measured = _measured(scorer, subject, rows.predicted, int(np.nanargmax(log_weights)))
    if effective_rows(log_weights) < _FEW:
        log_weights = _without_slips(scorer, rows, measured)
    weight = _tempered(log_weights, min(_AIM_ROWS, 0.5 * len(z)))
    used = weight > _NO_WEIGHT * weight.max()
    weight = weight / weight[used].sum()
    weight, z, predicted = weight[used], z[used], measured.predicted[used]
    middle, level = weight @ z, weight @ predicted
    centred, moved = z - middle, predicted - level
    normal = (centred * weight[:, None]).T @ centred + _RIDGE * np.eye(dimensions)
    slope = np.linalg.solve(normal, (centred * weight[:, None]).T @ moved)
    effective = 1.0 / float((weight**2).sum())
    spare = max(0.2, 1.0 - dimensions / effective)
    curved = (weight @ (moved - centred @ slope) ** 2) / spare
    error = measured.covariance + np.diag(curved)
    gain = np.linalg.solve(error, slope.T).T if slope.size else np.zeros((dimensions, 0))
    precision = np.eye(dimensions) + gain @ slope.T
    target = gain @ (measured.observed - level + slope.T @ middle)
    covariance = np.linalg.inv(precision)
    mean = np.clip(covariance @ target, -_FARTHEST, _FARTHEST)
    factor = np.linalg.cholesky(0.5 * (covariance + covariance.T))
    proposal = Proposal(told, np.asarray(mean), np.asarray(factor, dtype=np.float64))
    off = measured.observed - level + slope.T @ middle
    whole = np.linalg.cholesky(error + slope.T @ slope)
    scaled = _whitened(whole, off)
    evidence = -0.5 * float(scaled @ scaled) - float(np.log(np.diag(whole)).sum()) - 0.5 * len(off) * _LOG_2PI
    evidence += measured.jacobian + len(off) * math.log1p(-OUTLIER)
    said = sum((own[used] for key, own in rows.parts.items() if not _is_measured(scorer, key)), np.zeros(len(weight)))
    return proposal, evidence + float(weight @ np.nan_to_num(said))


def _is_measured(scorer: Scorer, key: GroupKey) -> bool:
    kind, number = key
    return kind in ("gauge", "lamp") or (kind == "check" and scorer.prepared.checks[number].value is not None)


def told_by(bank: Bank, subject: Hypothesis) -> Numbers:
    """The deviates that have a say in a hypothesis' readings."""
    severities = {member.severity for member in subject.members if member.mode.severity.kind != "none"}
    return np.array(sorted(severities | set(nuisance.with_a_say(bank.packed, bank.changed))))
