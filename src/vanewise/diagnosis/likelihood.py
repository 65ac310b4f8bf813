"""How likely a reading, a lamp, a remark or a check outcome is, given a row.

Shared errors are integrated out in closed form: all readings of one gauge share its offset and its scale error, which
adds two outer products to their covariance (rank 2, Sherman and Morrison). A reading may also be an outright slip of
the pen: with 2 % probability it says nothing, so that one wrong digit cannot kill the truth. Differences are in inHg.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import ModuleType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from vanewise.network.solve import kernel_available
from vanewise.network.types import Floats

MODEL_SD: Final = 0.02
"""Floor of the model's own error, share of the predicted difference (assumed)."""
OUTLIER: Final = 0.02
"""Probability that a reading says nothing (judgement)."""
OUTLIER_CENTRE_INHG: Final = 5.0
OUTLIER_SCALE_INHG: Final = 3.0
GAUGE_WRONG_BIAS_SD_INHG: Final = 1.2
GAUGE_WRONG_SCALE_SD: Final = 0.15
"""What 'gauge in error' means (judgement)."""
GAUGE_STUCK: Final = 0.2
"""Share of wrong gauges that stand still, whatever the air does (judgement)."""
GAUGE_STUCK_AT_INHG: Final = 3.5
GAUGE_STUCK_SD_INHG: Final = 2.0
"""Where they stand, if not on their stop (judgement: somewhere on the dial's used half)."""
GAUGE_ON_STOP: Final = 0.5
"""Share of those that stand on their stop: a line kinked, wet or off, or a broken movement, shows nothing (judgement;
common practice asks at a zero whether the instruments still run before the pump is taken off)."""
GAUGE_ON_STOP_SD_INHG: Final = 0.15
"""How near its stop such a pointer is read (judgement)."""
NONE_SCALE_INHG: Final = 1.5
"""'None of these' puts readings this far round the sound prediction, with a free offset as wide (judgement)."""
LAMP_TRIP_SD_INHG: Final = 0.15
LAMP_WRONG_SD_INHG: Final = 1.0
_LEAST_VARIANCE: Final = 1e-12
_LOG_2PI: Final = math.log(2.0 * math.pi)
_DEEPEST: Final = 3
"""Outliers are enumerated singly, then nested on the worst so far, to this many."""
_FAR_FROM_IDEAL: Final = 20.0
"""Nats from a perfect fit at which two slips of the pen (some eight each) begin to matter."""

Bools = NDArray[np.bool_]


def student_log_density(x: Floats, scale: float, freedom: float = 3.0) -> Floats:
    """Log density of a Student t of ``freedom`` degrees and ``scale`` at ``x``."""
    constant = (
        math.lgamma((freedom + 1.0) / 2.0)
        - math.lgamma(freedom / 2.0)
        - 0.5 * math.log(freedom * math.pi)
        - math.log(scale)
    )
    return np.asarray(constant - (freedom + 1.0) / 2.0 * np.log1p((x / scale) ** 2 / freedom))


def _outlier_log(values: Floats) -> Floats:
    return student_log_density(values - OUTLIER_CENTRE_INHG, OUTLIER_SCALE_INHG)


@lru_cache(maxsize=64)
def _slips(observed: tuple[float, ...]) -> Floats:
    """What each reading says if it is a slip, its chance included, (readings,): asked for again with every block."""
    said = _outlier_log(np.array(observed)) + math.log(OUTLIER)
    said.flags.writeable = False
    return said


@dataclass(frozen=True, slots=True)
class SharedError:
    """What one gauge adds to all its readings: standard deviations of offset [inHg] and scale (share of the reading).

    Where the two hang together, or are known to be off by something, ``bias_sd`` and ``scale_sd`` are the diagonal of
    the lower Cholesky factor of their covariance and ``tilt`` is what stands below it.
    """

    bias_sd: float
    scale_sd: float
    tilt: float = 0.0
    mean: Floats | None = None
    """Offset and scale that are expected of each row's gauge, (rows, 2); None for a gauge expected to be right."""

    def covariance(self) -> Floats:
        """Of offset and scale, (2, 2)."""
        factor = np.array([[self.bias_sd, 0.0], [self.tilt, self.scale_sd]])
        return np.asarray(factor @ factor.T + _LEAST_VARIANCE * np.eye(2))

    def shown(self, true: Floats) -> Floats:
        """What the gauge is expected to show of a true difference, (rows, readings) inHg."""
        return true if self.mean is None else true + self.mean[:, :1] + self.mean[:, 1:] * true


_Sums = tuple[Floats, Floats, Floats, Floats, Floats, Floats, Floats]


def _sums(predicted: Floats, observed: Floats, variance: Floats, error: SharedError) -> _Sums:
    """What each reading adds to the seven sums of the closed form, each (rows, readings)."""
    inverse = 1.0 / variance
    residual = observed - error.shown(predicted)
    scaled = error.scale_sd * predicted
    weighted = residual * inverse
    shared = error.bias_sd + error.tilt * predicted
    offset = shared * inverse
    return (
        shared * offset,
        offset * scaled,
        scaled * scaled * inverse,
        shared * weighted,
        scaled * weighted,
        residual * weighted,
        np.log(variance) + _LOG_2PI,
    )


def _added(parts: _Sums) -> _Sums:
    bb, bs, ss, rb, rs, rr, logs = (part.sum(axis=-1) for part in parts)
    return bb, bs, ss, rb, rs, rr, logs


def _all_but_each(total: _Sums, parts: _Sums) -> _Sums:
    """The sums with one reading left out, for each reading."""
    bb, bs, ss, rb, rs, rr, logs = (whole[:, None] - part for whole, part in zip(total, parts, strict=True))
    return bb, bs, ss, rb, rs, rr, logs


def _quadratic(sums: _Sums) -> tuple[Floats, Floats]:
    """Mahalanobis distance squared, and the determinant the shared errors add (never below 1)."""
    bb, bs, ss, rb, rs, rr, _ = sums
    determinant = np.maximum((1.0 + bb) * (1.0 + ss) - bs * bs, 1.0)
    explained = ((1.0 + ss) * rb * rb - 2.0 * bs * rb * rs + (1.0 + bb) * rs * rs) / determinant
    return np.maximum(rr - explained, 0.0), determinant


def _from_sums(sums: _Sums) -> Floats:
    """Log density from the seven sums."""
    distance, determinant = _quadratic(sums)
    return np.asarray(-0.5 * (distance + sums[6] + np.log(determinant)))


def needs_depth(best: float, read_sd: Floats) -> bool:
    """Whether two or three slips can matter: when even the best row of the bank is far from a perfect fit.

    A slip costs about eight nats; a bank's best row is some ten nats off for being one of a thousand.
    """
    ideal = float(-0.5 * (2.0 * np.log(read_sd) + _LOG_2PI).sum())
    return best < ideal - _FAR_FROM_IDEAL


def shared_gauge_log(
    predicted: Floats,
    observed: Floats,
    variance: Floats,
    error: SharedError,
    *,
    outliers: bool = True,
    deep: bool = True,
) -> Floats:
    """Log density of all readings of one gauge, shape (rows,).

    ``predicted`` and ``variance`` have shape (rows, readings), ``observed`` (readings,). The outlier mixture is summed
    over no outlier, every single one, all of them, and, if ``deep``, nested sets of two and three that grow by the
    worst reading; the sets left out are smaller (see :func:`needs_depth`).
    """
    if observed.shape[0] and not outliers:
        return _from_sums(_added(_sums(predicted, observed, variance, error)))
    return np.asarray(gauge_logs(predicted, observed, variance, ((np.zeros(1), error),), deep=deep)[0])


def gauge_logs(
    predicted: Floats,
    observed: Floats,
    variance: Floats,
    kinds: Sequence[tuple[Floats, SharedError]],
    *,
    deep: bool,
) -> Floats:
    """:func:`shared_gauge_log` for several kinds of gauge at once, each with its log chance added, (kinds, rows).

    ``kinds`` are pairs of a log chance, (rows,) or (1,), and the error of such a gauge.
    """
    everything = np.ones(observed.shape, dtype=bool)
    return np.asarray(gauge_logs_of(predicted, observed, variance, kinds, (everything,), deep=deep)[0])


def gauge_logs_of(
    predicted: Floats,
    observed: Floats,
    variance: Floats,
    kinds: Sequence[tuple[Floats, SharedError]],
    some: Sequence[Bools],
    *,
    deep: bool,
) -> Floats:
    """:func:`gauge_logs` of some of the readings, for each of several choices of them, (choices, kinds, rows)."""
    found = np.empty((len(some), len(kinds), predicted.shape[0]))
    for place, (chance, _) in enumerate(kinds):
        found[:, place] = chance
    errors, compiled = [error for _, error in kinds], _compiled()
    if compiled is not None:
        _by_compiled_code(compiled, predicted, observed, variance, errors, some, deep, found)
        return found
    for chosen, out in zip(some, found, strict=True):
        if chosen.any():
            for own, error in zip(out, errors, strict=True):
                own += gauge_log_in_numpy(predicted[:, chosen], observed[chosen], variance[:, chosen], error, deep=deep)
    return found


@lru_cache(maxsize=1)
def _compiled() -> ModuleType | None:
    """The compiled scores where numba is installed; without it numpy gives the same."""
    if not kernel_available():
        return None
    from vanewise.diagnosis import compiled  # late: numba takes its time to import and may be missing

    return compiled


def _by_compiled_code(
    compiled: ModuleType,
    predicted: Floats,
    observed: Floats,
    variance: Floats,
    errors: Sequence[SharedError],
    some: Sequence[Bools],
    deep: bool,
    out: Floats,
) -> None:
    """Add to ``out`` (choices, kinds, rows). The errors have a mean all of them or none."""
    lines, variances = np.ascontiguousarray(predicted.T), np.ascontiguousarray(variance.T)
    means = [error.mean for error in errors if error.mean is not None]
    mean = np.array(means) if means else np.zeros((len(errors), 0, 2))
    sd = np.array([(error.bias_sd, error.scale_sd, error.tilt) for error in errors])
    for chosen, own in zip(some, out, strict=True):
        if not chosen.any():
            continue
        told = (lines, observed, variances) if chosen.all() else (lines[chosen], observed[chosen], variances[chosen])
        slip = _slips(tuple(told[1].tolist()))
        compiled.gauge_logs(*told, sd, mean, slip, math.log1p(-OUTLIER), _DEEPEST if deep else 1, own)


def gauge_log_in_numpy(
    predicted: Floats, observed: Floats, variance: Floats, error: SharedError, *, deep: bool
) -> Floats:
    """:func:`shared_gauge_log` with its outliers, without compiled code."""
    readings = observed.shape[0]
    parts = _sums(predicted, observed, variance, error)
    total = _added(parts)
    slip = _outlier_log(observed) + math.log(OUTLIER)
    none = _from_sums(total) + readings * math.log1p(-OUTLIER)
    each = _one_more_slip(total, parts, np.zeros(1), slip, readings - 1)
    everything = np.full(predicted.shape[0], float(slip.sum()))
    if readings == 1:
        return np.asarray(np.logaddexp(none, each[:, 0]))
    found = _log_sum(np.concatenate([none[:, None], each, everything[:, None]], axis=1))
    return np.asarray(np.logaddexp(found, _nested_slips(parts, each, slip))) if deep else found


def _one_more_slip(total: _Sums, parts: _Sums, said: Floats, slip: Floats, left: int) -> Floats:
    """Log density with each reading in turn taken for a slip, (rows, readings)."""
    return np.asarray(
        _from_sums(_all_but_each(total, parts)) + said[:, None] + slip[None, :] + left * math.log1p(-OUTLIER)
    )


def _nested_slips(parts: _Sums, each: Floats, slip: Floats) -> Floats:
    """Log density summed over pairs and triples of slips that contain the worst reading, then the two worst."""
    rows = np.arange(each.shape[0])
    readings = each.shape[1]
    total = _added(parts)
    gone = np.zeros(each.shape, dtype=bool)
    said = np.zeros(each.shape[0])
    terms = []
    for depth in range(2, min(_DEEPEST, readings) + 1):
        worst = np.argmax(each, axis=1)
        gone[rows, worst] = True
        bb, bs, ss, rb, rs, rr, logs = (whole - part[rows, worst] for whole, part in zip(total, parts, strict=True))
        total = bb, bs, ss, rb, rs, rr, logs
        said = said + slip[worst]
        each = _one_more_slip(total, parts, said, slip, readings - depth)
        each[gone] = -np.inf
        terms.append(_log_sum(each))
    return _log_sum(np.stack(terms, axis=-1)) if terms else np.full(each.shape[0], -np.inf)


def _log_sum(values: Floats) -> Floats:
    """Logarithm of the sum of exponentials over the last axis."""
    top = values.max(axis=-1)
    top = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(top + np.log(np.exp(values - top[..., None]).sum(axis=-1)))


def log_added(logs: Sequence[Floats] | Floats) -> Floats:
    """Logarithm of the sum of exponentials of finite arrays of one shape, in place of numpy's slower one by one."""
    compiled = _compiled()
    if compiled is None:
        return log_added_in_numpy(logs)
    terms = np.array(logs, order="C")
    found = np.empty(terms.shape[1:])
    compiled.log_added(terms.reshape(len(terms), -1), found.reshape(-1))
    return found


def log_added_in_numpy(logs: Sequence[Floats] | Floats) -> Floats:
    """:func:`log_added` without compiled code."""
    top = logs[0]
    for other in logs[1:]:
        top = np.maximum(top, other)
    total = np.zeros(top.shape)
    for own in logs:
        total = total + np.exp(own - top)
    return np.asarray(top + np.log(total))


def outlier_weights(predicted: Floats, observed: Floats, variance: Floats, error: SharedError) -> Floats:
    """Probability that each reading is a slip, per row, shape (rows, readings).

    Shares of the same sets that :func:`shared_gauge_log` sums over: none, each one, and sets that grow by the worst.
    """
    readings = observed.shape[0]
    rows = np.arange(predicted.shape[0])
    parts = _sums(predicted, observed, variance, error)
    total = _added(parts)
    slip = _outlier_log(observed) + math.log(OUTLIER)
    none = _from_sums(total) + readings * math.log1p(-OUTLIER)
    each = _one_more_slip(total, parts, np.zeros(1), slip, readings - 1)
    gone = np.zeros(each.shape, dtype=bool)
    said = np.zeros(each.shape[0])
    sets: list[tuple[Floats, Bools]] = [(each, gone.copy())]
    for depth in range(2, min(_DEEPEST, readings) + 1):
        worst = np.argmax(each, axis=1)
        gone[rows, worst] = True
        bb, bs, ss, rb, rs, rr, logs = (whole - part[rows, worst] for whole, part in zip(total, parts, strict=True))
        total = bb, bs, ss, rb, rs, rr, logs
        said = said + slip[worst]
        each = _one_more_slip(total, parts, said, slip, readings - depth)
        each[gone] = -np.inf
        sets.append((each, gone.copy()))
    every = _log_sum(np.concatenate([none[:, None], *(log for log, _ in sets)], axis=1))
    found = np.zeros(each.shape)
    for log, already in sets:
        share = np.exp(log - every[:, None])
        found += np.where(already, share.sum(axis=1)[:, None], share)
    return np.minimum(found, 1.0)


def squared_distance(predicted: Floats, observed: Floats, variance: Floats, error: SharedError) -> Floats:
    """Mahalanobis distance squared of all readings of one gauge under the shared errors, shape (rows,)."""
    return _quadratic(_added(_sums(predicted, observed, variance, error)))[0]


def stuck_gauge_log(observed: Floats, read_sd: Floats) -> float:
    """Log density of readings of a pointer that stands still: one place for all of them, and reading error.

    The place is its stop, or anywhere on the dial.
    """
    if observed.shape[0] == 0:
        return 0.0

    def standing(at: float, sd: float) -> float:
        still = np.full((1, observed.shape[0]), at)
        return float(shared_gauge_log(still, observed, (read_sd**2)[None, :], SharedError(sd, 0.0), deep=False)[0])

    on_stop = standing(0.0, GAUGE_ON_STOP_SD_INHG) + math.log(GAUGE_ON_STOP)
    elsewhere = standing(GAUGE_STUCK_AT_INHG, GAUGE_STUCK_SD_INHG) + math.log1p(-GAUGE_ON_STOP)
    return float(np.logaddexp(on_stop, elsewhere))


_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
_LOG_WEIGHTS: Final = np.log(_WEIGHTS / _WEIGHTS.sum())


def none_gauge_log(sound: Floats, observed: Floats) -> Floats:
    """Log density of readings under 'none of these': heavy tails round the sound prediction, with a free offset."""
    if observed.shape[0] == 0:
        return np.zeros(sound.shape[0])
    offset = NONE_SCALE_INHG * _NODES
    residual = observed[None, :, None] - sound[:, :, None] - offset[None, None, :]
    per_node = student_log_density(residual, NONE_SCALE_INHG).sum(axis=1)
    return _log_sum(per_node + _LOG_WEIGHTS[None, :])


def single_log(predicted: Floats, observed: float, sd: Floats, slip_density: float) -> Floats:
    """Log density of one measured value with outliers: ``slip_density`` is that of a value that says nothing."""
    core = -0.5 * ((observed - predicted) / sd) ** 2 - np.log(sd) - 0.5 * _LOG_2PI
    with np.errstate(invalid="ignore"):  # a row without a solution has no score
        return np.asarray(np.logaddexp(core + math.log1p(-OUTLIER), math.log(OUTLIER) + math.log(slip_density)))


RELIABILITY: Final = ((0.3, 0.02), (0.5, 0.10), (0.2, 0.30))
"""Reporters: share of people, and how often what they say is no better than chance (judgement)."""
SAID_BY_CHANCE: Final = 0.10
"""How often such a person names any one thing: three remarks out of the thirty or so that fit an aircraft (judgement).
Remarks are volunteered. Only who was asked to look, and says that it was absent, answers yes or no like a coin."""
MISS: Final = 0.10
"""'Looked, and absent' misses this share of what is there (judgement)."""
MISS_READ: Final = 0.02
"""The same of a pointer or a lamp, which who looks at it reads (judgement)."""
_READ_IS_SURER: Final = 1.0 / 3.0
"""By how much less often 'it read right' is no better than chance than other answers (judgement)."""


def remark_group_log(probabilities: Floats, present: Bools, read: Bools | bool = False) -> Floats:
    """Log probability of one person's remarks about one flight, shape (rows,).

    ``probabilities`` (rows, remarks) that each thing is there to be noticed; ``present`` (remarks,) what was said;
    ``read`` (remarks,) whether it is read off a pointer or a lamp.
    """
    looked = np.logical_and(np.logical_not(present), read)
    miss = np.where(looked, MISS_READ, MISS)
    noticed = np.where(present[None, :], probabilities, 1.0 - (1.0 - miss) * probabilities)
    columns = np.ascontiguousarray(noticed.T)
    chance = np.where(present, SAID_BY_CHANCE, 0.5)[:, None]
    total = np.zeros(probabilities.shape[0])
    for share, noise in RELIABILITY:
        heard = np.full_like(total, share)
        doubt = noise * np.where(looked, _READ_IS_SURER, 1.0)[:, None]
        for column in (1.0 - doubt) * columns + doubt * chance:
            heard *= column
        total += heard
    return np.asarray(np.log(total))


MISJUDGED: Final = {0: 0.15, 1: 0.05, 2: 0.02, 3: 0.005}
"""Share of check results that are misjudged, by grade of evidence (judgement)."""


def with_misjudgement(probabilities: Floats, grade: int) -> Floats:
    """Outcome probabilities (rows, outcomes) with the misjudged share spread evenly."""
    share = MISJUDGED[grade]
    return np.asarray((1.0 - share) * probabilities + share / probabilities.shape[1])


def gravest(rows: list[Floats]) -> Floats:
    """Probabilities of the gravest outcome of several independent ones, each (rows, outcomes) or (outcomes,)."""
    cumulative: Floats = np.ones(1)
    for probabilities in rows:
        cumulative = cumulative * np.minimum(np.cumsum(probabilities, axis=-1), 1.0)
    return np.asarray(np.diff(cumulative, axis=-1, prepend=0.0))


def sigmoid(x: Floats) -> Floats:
    power = np.negative(x)
    return np.asarray(1.0 / (1.0 + np.exp(np.minimum(np.maximum(power, -60.0), 60.0))))
