"""Sound systems this aircraft may be: drawn by the spread of every assumed number, weighted by its earlier readings.

Rows are standard normal deviates of the same unknowns the diagnosis uses, plus the gauge's offset and scale and the
lamp switch. Earlier sound readings weight them; because a sharp baseline leaves few rows of a plain draw, two further
rounds are drawn around the normal posterior of a local linear model, and all rounds are pooled with the density of
their mixture (balance heuristic).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from vanewise.diagnosis import nuisance, sampling
from vanewise.diagnosis.likelihood import LAMP_TRIP_SD_INHG, MODEL_SD
from vanewise.diagnosis.solving import Point, point_at, solve_rows, tapped, taps
from vanewise.diagnosis.types import LampReading, Reading
from vanewise.errors import NoAnswer, Problem
from vanewise.network.packed import PackedNetwork
from vanewise.network.types import Engine, Floats
from vanewise.quantities import PA_PER_INHG
from vanewise.values import judgement

EXTRA: Final = 3
"""Gauge offset, gauge scale, lamp switch: the last columns of a draw."""
DIMENSIONS: Final = nuisance.COUNT + EXTRA
RPM_SD: Final = 40.0
"""Reading an engine speed off a tachometer while a lamp changes, rpm (judgement)."""
_ROUNDS: Final = 2
_WIDENED: Final = ((0.3, 0.0), (0.4, 1.3), (0.3, 4.0))
"""Share of a further round, and by how much its covariance is widened; 0 stands for the prior."""
_LAMP_SPAN: Final = 150.0


@dataclass(frozen=True, slots=True)
class GaugeErrors:
    """One standard deviation of the panel gauge's offset [Pa], scale, and of reading its needle [Pa]."""

    bias_pa: float
    scale: float
    read_pa: float


@dataclass(frozen=True, slots=True)
class Rows:
    """Weighted sound systems: deviates (n, DIMENSIONS), weights (n,) that sum to 1, what they are worth in rows."""

    z: Floats
    weights: Floats
    effective: float


def gauge_errors(packed: PackedNetwork, proved_within_pa: float | None) -> GaugeErrors:
    """The gauge's errors; one that was compared within so many Pa has that as a uniform half-width and no scale."""
    gauge = packed.description.gauge
    read = (gauge.read_sd or judgement.GAUGE_READ_SD).number
    if proved_within_pa is not None:
        return GaugeErrors(bias_pa=proved_within_pa / math.sqrt(3.0), scale=0.0, read_pa=read)
    bias, scale = (gauge.bias_sd or judgement.GAUGE_BIAS_SD), (gauge.scale_sd or judgement.GAUGE_SCALE_SD)
    return GaugeErrors(bias_pa=bias.number, scale=scale.number, read_pa=read)


def as_read(true_pa: Floats, z: Floats, errors: GaugeErrors) -> Floats:
    """What each row's gauge shows of a true difference, (n, points)."""
    offset = (errors.bias_pa * z[:, -3])[:, None]
    return np.asarray(true_pa * (1.0 + errors.scale * z[:, -2])[:, None] + offset)


def trip_pa(packed: PackedNetwork, z: Floats) -> Floats:
    """The difference at which each row's lamp changes."""
    lamp = packed.description.lamp
    assert lamp is not None
    spread = max(lamp.trip.spread if lamp.trip.spread_kind == "absolute" else 0.0, LAMP_TRIP_SD_INHG * PA_PER_INHG)
    return np.asarray(lamp.trip.number + spread * z[:, -1])


@dataclass(frozen=True, slots=True)
class Solver:
    """Solves rows at points, today or as the system was at its baseline."""

    packed: PackedNetwork
    changed: frozenset[str]
    engine: Engine
    errors: GaugeErrors

    def pressures(self, z: Floats, points: Sequence[Point], before: bool = False) -> Floats:
        drawn = nuisance.draw(self.packed, z[:, : nuisance.COUNT], self.changed, self.engine)
        return solve_rows(self.packed, drawn.before if before else drawn.now, points, self.engine)


@dataclass(frozen=True, slots=True)
class Baseline:
    """Earlier sound readings as numbers: gauge values and lamp conditions."""

    gauge_points: tuple[Point, ...]
    gauge_pairs: tuple[tuple[tuple[int, int], ...], ...]
    gauge_pa: Floats
    own_gauge: tuple[bool, ...]
    lamp_points: tuple[Point, ...]
    lamp_rpm: Floats

    @property
    def count(self) -> int:
        return len(self.gauge_points) + len(self.lamp_points)


def baseline_of(packed: PackedNetwork, readings: Sequence[Reading | LampReading], altitude_m: float) -> Baseline:
    """Read the baseline: of gauge readings the value, of lamp readings the speed. Altitude defaults to the field's."""
    gauges = [entry for entry in readings if isinstance(entry, Reading)]
    lamps = [entry for entry in readings if isinstance(entry, LampReading)]
    if packed.description.lamp is None:
        lamps = []

    def height(value: float | None) -> float:
        return altitude_m if value is None else value

    # Two points for each lamp: the slope between them turns an error in rpm into one in pressure.
    lamp_points = tuple(
        point_at(rpm, height(lamp.altitude_m), None, before=True)
        for lamp in lamps
        for rpm in (lamp.engine_rpm, lamp.engine_rpm + _LAMP_SPAN)
    )
    return Baseline(
        gauge_points=tuple(
            point_at(entry.engine_rpm, height(entry.altitude_m), entry.temperature_k, before=True, under=entry.under)
            for entry in gauges
        ),
        gauge_pairs=tuple(taps(packed, entry.high, entry.low) for entry in gauges),
        gauge_pa=np.array([entry.value_pa for entry in gauges]),
        own_gauge=tuple(entry.instrument == "panel gauge" for entry in gauges),
        lamp_points=lamp_points,
        lamp_rpm=np.array([lamp.engine_rpm for lamp in lamps]),
    )


def _measured(solver: Solver, baseline: Baseline, z: Floats) -> tuple[Floats, Floats, Floats]:
    """Predicted (n, k), observed (k,) and variance (n, k) of every baseline entry, in inHg."""
    points = (*baseline.gauge_points, *baseline.lamp_points)
    pressure = solver.pressures(z, points, before=True)
    predicted, variance = [], []
    for number, pairs in enumerate(baseline.gauge_pairs):
        true = tapped(pressure[:, number], pairs)[:, None]
        shown = as_read(true, z, solver.errors)[:, 0] if baseline.own_gauge[number] else true[:, 0]
        predicted.append(shown)
        variance.append(solver.errors.read_pa**2 + (MODEL_SD * true[:, 0]) ** 2)
    lamp = solver.packed.description.lamp
    for number in range(len(baseline.lamp_rpm)):
        assert lamp is not None
        at = len(baseline.gauge_points) + 2 * number
        pairs = taps(solver.packed, lamp.high, lamp.low)
        here, above = tapped(pressure[:, at], pairs), tapped(pressure[:, at + 1], pairs)
        slope = np.maximum((above - here) / _LAMP_SPAN, 0.1)
        # At the speed where the lamp changed the difference was the switch's own.
        predicted.append(here - trip_pa(solver.packed, z))
        variance.append((slope * RPM_SD) ** 2 + (MODEL_SD * here) ** 2)
    observed = np.concatenate([baseline.gauge_pa, np.zeros(len(baseline.lamp_rpm))])
    inhg = PA_PER_INHG
    return np.stack(predicted, 1) / inhg, observed / inhg, np.stack(variance, 1) / inhg**2


def _log_likelihood(predicted: Floats, observed: Floats, variance: Floats) -> Floats:
    log = -0.5 * ((predicted - observed) ** 2 / variance + np.log(variance))
    total = np.asarray(log.sum(axis=1))
    return np.where(np.isfinite(total), total, -np.inf)


def _log_prior(z: Floats) -> Floats:
    return np.asarray(-0.5 * (z**2).sum(axis=1))


@dataclass(frozen=True, slots=True)
class _Proposal:
    """A normal fitted to the local linear model, mixed with a wider one and the prior."""

    mean: Floats
    factor: Floats

    def draw(self, rows: int, seed: int) -> Floats:
        normal = sampling.normals(sampling.uniforms(rows, DIMENSIONS, seed))
        spread = normal @ self.factor.T
        # A golden-ratio sequence deals the rows out evenly to the shares, whatever their order.
        place = (np.arange(rows) * 0.6180339887498949 + 0.5) % 1.0
        found = np.empty_like(normal)
        start = 0.0
        for share, widen in _WIDENED:
            here = (place >= start) & (place < start + share)
            found[here] = self.mean + math.sqrt(widen) * spread[here] if widen else normal[here]
            start += share
        return found

    def log_density(self, z: Floats) -> Floats:
        distance = (np.linalg.solve(self.factor, (z - self.mean).T) ** 2).sum(axis=0)
        volume = float(np.log(np.diag(self.factor)).sum())
        terms = [
            math.log(share)
            + (-0.5 * distance / widen - volume - 0.5 * DIMENSIONS * math.log(widen) if widen else _log_prior(z))
            for share, widen in _WIDENED
        ]
        return np.asarray(np.logaddexp.reduce(np.stack(terms), axis=0))


def _fit(z: Floats, predicted: Floats, observed: Floats, variance: Floats, weights: Floats) -> _Proposal:
    """Normal posterior of a linear model of the readings, regressed on the rows with these weights."""
    used = np.isfinite(predicted).all(axis=1) & (weights > 0.0)
    zs, ys, ws = z[used], predicted[used], weights[used] / weights[used].sum()
    centre, level = ws @ zs, ws @ ys
    spread = zs - centre
    gram = spread.T @ (ws[:, None] * spread) + 0.02 * np.eye(DIMENSIONS)
    slopes = np.linalg.solve(gram, spread.T @ (ws[:, None] * (ys - level)))
    noise = ws @ variance[used]
    precision = np.eye(DIMENSIONS) + (slopes / noise) @ slopes.T
    covariance = np.linalg.inv(precision)
    target = observed - level + centre @ slopes
    mean = np.clip(covariance @ (slopes / noise) @ target, -3.5, 3.5)
    factor = np.asarray(np.linalg.cholesky(covariance + 1e-9 * np.eye(DIMENSIONS)), np.float64)
    return _Proposal(mean=mean, factor=factor)


def _tempered(log: Floats, aim: float) -> Floats:
    """Weights from log likelihoods, flattened until they are worth ``aim`` rows."""
    log = log - log.max()
    low, high = 0.0, 1.0
    for _ in range(30):
        middle = 0.5 * (low + high)
        weights = np.exp(middle * np.maximum(log, -700.0))
        enough = float(weights.sum() ** 2 / (weights**2).sum()) >= aim
        low, high = (middle, high) if enough else (low, middle)
    weights = np.exp(low * np.maximum(log, -700.0))
    return np.asarray(weights / weights.sum())


def draw_rows(solver: Solver, baseline: Baseline, rows: int, seed: int) -> Rows:
    """Weighted sound systems. Without a baseline every row weighs the same.

    Raises :class:`NoAnswer` when no row agrees with the baseline at all, which means that it was not this system.
    """
    prior = sampling.normals(sampling.uniforms(rows, DIMENSIONS, seed))
    if not baseline.count:
        return Rows(z=prior, weights=np.full(rows, 1.0 / rows), effective=float(rows))
    batches, predicted, variance, proposals = [prior], [], [], []
    measured = _measured(solver, baseline, prior)
    observed = measured[1]
    predicted.append(measured[0])
    variance.append(measured[2])
    weights = _tempered(_log_likelihood(*measured), max(64.0, 2.0 * DIMENSIONS))
    for step in range(_ROUNDS):
        every = np.concatenate(batches)
        proposal = _fit(every, np.concatenate(predicted), observed, np.concatenate(variance), weights)
        proposals.append(proposal)
        z = proposal.draw(rows, sampling.seed_of(seed, "round", step))
        fresh = _measured(solver, baseline, z)
        batches.append(z)
        predicted.append(fresh[0])
        variance.append(fresh[2])
        log = _log_likelihood(np.concatenate(predicted), observed, np.concatenate(variance))
        log_weights = log + _log_prior(np.concatenate(batches)) - _mixture(np.concatenate(batches), proposals)
        weights = _tempered(log_weights, 2.0 * DIMENSIONS) if step + 1 < _ROUNDS else _normalised(log_weights)
    return Rows(z=np.concatenate(batches), weights=weights, effective=float(1.0 / (weights**2).sum()))


def _mixture(z: Floats, proposals: Sequence[_Proposal]) -> Floats:
    """Log density of the pooled rounds: each drew as many rows as the prior did."""
    terms = [_log_prior(z), *(proposal.log_density(z) for proposal in proposals)]
    return np.asarray(np.logaddexp.reduce(np.stack(terms), axis=0) - math.log(len(terms)))


def _normalised(log_weights: Floats) -> Floats:
    if not np.isfinite(log_weights).any():
        raise NoAnswer(
            Problem(
                where="baseline",
                expected="earlier readings that some sound system of this description can give",
                found="none does",
                next_step="check the readings, their engine speeds and the description, or predict without them",
            )
        )
    weights = np.exp(log_weights - log_weights.max())
    return np.asarray(weights / weights.sum())
