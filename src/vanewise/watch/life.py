"""How long couplings, filters, gyros and pumps last, from few lives: no plug-in estimates.

With four or more ends of a cause a Weibull life is averaged over an exact grid of scale and shape; with fewer, the rate
of ends per hour has a Gamma posterior. Both start from priors that are shown and can be replaced. Causes compete: a
unit that ended of one cause was still running as far as the others go.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence

import msgspec
import numpy as np
from scipy.special import gammaincinv

from vanewise.provenance import ASSUMED, JUDGEMENT, Value
from vanewise.watch import weibull, words
from vanewise.watch.arrays import Floats
from vanewise.watch.lifetimes import LifeRecord, Lifetimes, causes, of_cause

FEWEST_ENDS = 4
"""Ends of a cause from which on a shape is asked for."""
GRID = 61
KEPT = 1e-6
"""Grid nodes below this share of the greatest are left out of what follows from the grid."""
REACH = 6.0
"""Standard deviations of the posterior that the grid spans on each side."""


class LifePriors(msgspec.Struct, frozen=True, kw_only=True):
    """What is assumed of a kind of part before its own lives are counted."""

    scale: Value = Value(
        number=1500.0, dimension="hours", spread=1.0, standing="judgement", source=JUDGEMENT, note="characteristic life"
    )
    shape: Value = Value(
        number=1.5,
        dimension="ratio",
        spread=0.5,
        standing="assumed",
        source=ASSUMED,
        note="1: no wear-out; above: wear-out",
    )
    rate_events: Value = Value(
        number=0.5, dimension="ratio", standing="judgement", source=JUDGEMENT, note="weight of the rate, as ends seen"
    )
    rate_hours: Value = Value(
        number=750.0, dimension="hours", standing="judgement", source=JUDGEMENT, note="hours behind those ends"
    )


DEFAULT_LIFE_PRIORS = LifePriors()


@dataclasses.dataclass(frozen=True, slots=True)
class LifeGrid:
    """Posterior of scale and shape: ``log_eta`` (E,), ``log_beta`` (B,), ``weight`` (E, B) summing to 1."""

    log_eta: Floats
    log_beta: Floats
    weight: Floats
    events: float

    def survival(self, hours: Floats, age: float = 0.0, counted: bool = True) -> Floats:
        """P(lives a further ``hours`` (T,)) of a unit of ``age``, averaged over the grid.

        ``counted``: the unit itself is among the lives behind the grid. A unit that is not tells, by having reached its
        age, something more about scale and shape, and that is used here.
        """
        # Nodes that hold next to nothing are left out; what is kept is made whole again.
        row, column = np.nonzero(self.weight > KEPT * self.weight.max())
        weight = self.weight[row, column]
        eta, beta = np.exp(self.log_eta)[row], np.exp(self.log_beta)[column]
        reached = (age / eta) ** beta
        if not counted and age > 0.0:
            weight = weight * np.exp(-reached)
        weight = weight / weight.sum()
        out = np.empty(len(hours))
        for start in range(0, len(hours), 512):
            part = np.asarray(hours[start : start + 512], dtype=float)
            ahead = np.exp(reached[:, None] - ((age + part)[None, :] / eta[:, None]) ** beta[:, None])
            out[start : start + 512] = weight @ ahead
        return out

    def shape_interval(self, cover: float = 0.95) -> tuple[float, float]:
        """Central interval of the shape."""
        share = np.cumsum(self.weight.sum(axis=0))
        low, high = np.interp([(1 - cover) / 2, (1 + cover) / 2], share, self.log_beta)
        return math.exp(low), math.exp(high)

    @property
    def wears_out(self) -> bool:
        """True when a shape of 1 or below lies outside the 95 % interval: only then does age mean anything."""
        return self.shape_interval()[0] > 1.0


@dataclasses.dataclass(frozen=True, slots=True)
class LifeRate:
    """Posterior of a constant rate: ``events`` over ``hours``, both with the prior's share in them."""

    events: float
    hours: float
    counted_events: float

    def survival(self, hours: Floats, age: float = 0.0, counted: bool = True) -> Floats:
        """P(lives a further ``hours`` (T,)); at a constant rate the age does not matter."""
        exposure = self.hours if counted else self.hours + age
        return np.asarray((exposure / (exposure + np.asarray(hours, dtype=float))) ** self.events)

    @property
    def wears_out(self) -> bool:
        return False


LifeModel = LifeGrid | LifeRate


def life_model(lives: Lifetimes, priors: LifePriors = DEFAULT_LIFE_PRIORS) -> LifeModel:
    """A Weibull grid from four ends on, else a rate."""
    if lives.events >= FEWEST_ENDS:
        return life_grid(lives, priors)
    return life_rate(lives, priors)


def life_rate(lives: Lifetimes, priors: LifePriors = DEFAULT_LIFE_PRIORS) -> LifeRate:
    """Gamma posterior of a constant rate. An end between two looks counts its hours to the middle."""
    until = np.where(
        np.isfinite(lives.upper), (lives.lower + np.where(np.isfinite(lives.upper), lives.upper, 0.0)) / 2, lives.lower
    )
    hours = float(lives.weight @ (until - lives.entry)) if len(lives) else 0.0
    return LifeRate(priors.rate_events.number + lives.events, priors.rate_hours.number + hours, lives.events)


def life_grid(lives: Lifetimes, priors: LifePriors = DEFAULT_LIFE_PRIORS, nodes: int = GRID) -> LifeGrid:
    """Posterior on an exact grid of (log eta, log beta), laid where the posterior is by its peak and curvature."""
    data = weibull.prepare(lives)
    centre, spread = _peak(data, lives, priors)
    first = _lay(data, lives, priors, centre, spread, nodes)
    # A first grid laid by a rough guess is laid anew by its own mean and spread.
    marginals = (first.weight.sum(axis=1), first.log_eta), (first.weight.sum(axis=0), first.log_beta)
    centre = np.array([float(w @ x) for w, x in marginals])
    spread = np.array([math.sqrt(float(w @ (x - c) ** 2)) for (w, x), c in zip(marginals, centre, strict=True)])
    return _lay(data, lives, priors, centre, spread, nodes)


def _lay(
    data: weibull.Prepared, lives: Lifetimes, priors: LifePriors, centre: Floats, spread: Floats, nodes: int
) -> LifeGrid:
    reach = np.linspace(-REACH, REACH, nodes)
    log_eta, log_beta = centre[0] + reach * spread[0], centre[1] + reach * spread[1]
    log_weight = log_likelihoods(data, log_eta, log_beta) + _log_prior(log_eta[:, None], log_beta[None, :], priors)
    weight = np.exp(log_weight - log_weight.max())
    return LifeGrid(log_eta, log_beta, weight / weight.sum(), lives.events)


def _log_prior(log_eta: Floats | float, log_beta: Floats | float, priors: LifePriors) -> Floats:
    eta = (log_eta - math.log(priors.scale.number)) / priors.scale.spread
    beta = (log_beta - math.log(priors.shape.number)) / priors.shape.spread
    return np.asarray(-0.5 * (np.square(eta) + np.square(beta)))


def _peak(data: weibull.Prepared, lives: Lifetimes, priors: LifePriors) -> tuple[Floats, Floats]:
    """A first centre and spread of the posterior: the prior's own where the data alone have no peak."""
    middle = np.array([math.log(priors.scale.number), math.log(priors.shape.number)])
    width = np.array([priors.scale.spread, priors.shape.spread])
    if not len(lives):
        return middle, width
    a, s = weibull.start(lives) if lives.events else middle
    point = np.array([a, s])
    precision = np.diag(1.0 / width**2)
    curve = precision
    for _ in range(60):
        _, gradient, hessian = weibull.derivatives(data, float(point[0]), float(point[1]))
        slope = gradient - precision @ (point - middle)
        curve = precision - hessian
        if np.linalg.eigvalsh(curve)[0] <= 0 or not np.all(np.isfinite(curve)):
            curve = precision + np.diag(np.abs(np.nan_to_num(np.diag(hessian))))
        move = np.clip(np.linalg.solve(curve, np.nan_to_num(slope)), -0.5, 0.5)
        point = point + move
        if float(np.max(np.abs(move))) < 1e-6:
            break
    spread = np.sqrt(np.diag(np.linalg.inv(curve)))
    return point, np.minimum(spread * 1.3, width)


def log_likelihoods(data: weibull.Prepared, log_eta: Floats, log_beta: Floats) -> Floats:
    """Log likelihood at every pair (E, B)."""
    out = np.empty((len(log_eta), len(log_beta)))
    for column, s in enumerate(log_beta):
        k = math.exp(s)
        # Factored in eta: exp(k (log t - a)) = t**k eta**-k, so each shape needs one pass over the lives.
        top = float(data.log_t.max()) if len(data.log_t) else 0.0
        total = float(data.signed @ np.exp(k * (data.log_t - top)))
        n = data.exact_weight
        out[:, column] = n * s + (k - 1.0) * data.exact_log_t - k * n * log_eta - np.exp(k * (top - log_eta)) * total
        if len(data.low):
            e1 = np.exp(k * (data.low[None, :] - log_eta[:, None]))
            e2 = np.exp(k * (data.high[None, :] - log_eta[:, None]))
            with np.errstate(divide="ignore"):
                ended = -e1 + np.log(-np.expm1(-(e2 - e1)))
            out[:, column] += np.maximum(ended, -1e6) @ data.between_weight
    return out


def survival_band(model: LifeModel, hours: Floats, cover: float = 0.8) -> tuple[Floats, Floats]:
    """Low and high (T,) of the chance that a new unit lives so long, as far as the lives leave it open.

    The central ``cover`` of the posterior at each hour by itself; what one unit does scatters about it.
    """
    tail = (1.0 - cover) / 2.0
    at = np.asarray(hours, dtype=float)
    if isinstance(model, LifeRate):
        rates = gammaincinv(model.events, np.array([1.0 - tail, tail])) / model.hours
        return np.exp(-rates[0] * at), np.exp(-rates[1] * at)
    row, column = np.nonzero(model.weight > KEPT * model.weight.max())
    weight = model.weight[row, column] / model.weight[row, column].sum()
    eta, beta = np.exp(model.log_eta)[row], np.exp(model.log_beta)[column]
    low, high = np.empty(len(at)), np.empty(len(at))
    for index, hour in enumerate(at):
        lasting = np.exp(-((hour / eta) ** beta))
        order = np.argsort(lasting)
        share = np.cumsum(weight[order])
        low[index], high[index] = np.interp([tail, 1.0 - tail], share, lasting[order])
    return low, high


class CauseLife(msgspec.Struct, frozen=True, kw_only=True):
    """One cause in words: how many ends, what kind of model, whether age means anything."""

    cause: str
    ends: int
    model: str
    wears_out: bool


@dataclasses.dataclass(frozen=True, slots=True)
class CompetingLives:
    """Every cause with its own model; a unit lives as long as none has ended it (causes independent given age)."""

    models: Mapping[str, LifeModel]
    told: tuple[CauseLife, ...]

    def survival(self, hours: Floats, age: float = 0.0, counted: bool = True) -> Floats:
        """P(no cause ends it within a further ``hours`` (T,))."""
        out = np.ones(len(hours))
        for model in self.models.values():
            out = out * model.survival(hours, age, counted)
        return out

    def chance_by_cause(
        self, hours: float, age: float = 0.0, counted: bool = True, steps: int = 200
    ) -> dict[str, float]:
        """P(each cause is the one that ends it within ``hours``); they sum to the chance of any end."""
        grid = np.linspace(0.0, hours, steps + 1)
        each = {cause: model.survival(grid, age, counted) for cause, model in self.models.items()}
        whole = np.prod(np.array(list(each.values())), axis=0) if each else np.ones(len(grid))
        logs = {cause: -np.diff(np.log(np.maximum(s, 1e-300))) for cause, s in each.items()}
        total = sum(logs.values()) if logs else np.zeros(steps)
        lost = -np.diff(whole)
        share = {cause: np.where(total > 0, hazard / np.maximum(total, 1e-300), 0.0) for cause, hazard in logs.items()}
        return {cause: float((part * lost).sum()) for cause, part in share.items()}


def competing(records: Sequence[LifeRecord], priors: LifePriors = DEFAULT_LIFE_PRIORS) -> CompetingLives:
    """A model for each cause that has ended a life."""
    models: dict[str, LifeModel] = {}
    told = []
    for cause in causes(records):
        lives = of_cause(records, cause)
        model = life_model(lives, priors)
        models[cause] = model
        kind = "Weibull, averaged over scale and shape" if isinstance(model, LifeGrid) else "constant rate, few ends"
        told.append(CauseLife(cause=cause, ends=round(lives.events), model=kind, wears_out=model.wears_out))
    return CompetingLives(models, tuple(told))


def without_unit(records: Sequence[LifeRecord], unit: str) -> tuple[LifeRecord, ...]:
    """The records without one unit's own, for forecasting that unit: no life counts twice."""
    return tuple(record for record in records if record.unit != unit)


def in_words(model: LifeModel, what: str) -> tuple[str, ...]:
    """What the lives say, in words; where they show no wear-out, that no age follows from them."""
    hours = np.linspace(0.0, 12000.0, 2401)
    ended = 1.0 - model.survival(hours)
    low, middle, high = (float(np.interp(p, ended, hours)) for p in (0.1, 0.5, 0.9))
    lines = [
        f"Half of {what} last {words.hours(middle)}; 4 of 5 between {words.hours(low)} and {words.hours(high)}."
        if ended[-1] > 0.9
        else f"Half of {what} last {words.hours(middle)}."
        if ended[-1] > 0.5
        else f"Most {what} outlast the record.",
    ]
    if not model.wears_out:
        lines.append(
            f"These lives show no wear-out age for {what}: an old one is no likelier to end than a new one, as far as "
            "they tell, so replacing by hours is not supported by them."
        )
    return tuple(lines)
