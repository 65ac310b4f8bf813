"""Lives shared between few groups: what other aircraft's pumps say about this one's, and how much.

Each group has its own characteristic life; their logarithms scatter about a common middle by a spread that is itself
unknown, and all share one shape. The whole is summed exactly over a grid of middle, spread and shape. A group with many
lives stands by itself, one with none takes the others' word, widened by the spread between groups.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence

import numpy as np

from vanewise.errors import wrong
from vanewise.watch import weibull
from vanewise.watch.arrays import Floats
from vanewise.watch.life import DEFAULT_LIFE_PRIORS, LifeGrid, LifePriors, log_likelihoods
from vanewise.watch.lifetimes import LifeRecord, of_cause

SPREADS = np.array([0.02, 0.05, 0.1, 0.2, 0.3, 0.45, 0.65, 0.9, 1.2])
"""Nodes of the log spread between groups."""
SPREAD_PRIOR = 0.4
"""The spread between groups is half-normal with this scale: judgement."""


@dataclasses.dataclass(frozen=True, slots=True)
class SharedLives:
    """Posterior of the common middle and spread, and each group's own grid of scale and shape.

    ``groups``: for a group with lives, everything known of it, its own lives among it. ``new``: a group without any.
    """

    groups: Mapping[str, LifeGrid]
    new: LifeGrid
    spread_between: float
    """Posterior mean of the log spread between groups."""

    def group(self, name: str) -> LifeGrid:
        """The grid of a group; of a new one where it has no lives."""
        return self.groups.get(name, self.new)


def share(
    records: Sequence[LifeRecord], cause: str | None = None, priors: LifePriors = DEFAULT_LIFE_PRIORS
) -> SharedLives:
    """Share the lives of several groups (``LifeRecord.group``). Raises :class:`InputError` without any life."""
    names = sorted({record.group for record in records})
    lives = {name: of_cause([r for r in records if r.group == name], cause) for name in names}
    lives = {name: found for name, found in lives.items() if len(found)}
    if not lives:
        raise wrong("lives to share", "at least one life", "none", "enter the lives of own and other pumps")
    middle, width = math.log(priors.scale.number), priors.scale.spread
    centres = [math.log(max(float(f.lower.max()), 1.0)) for f in lives.values()]
    low = min(middle - 2.5 * width, *(c - 2.0 for c in centres))
    high = max(middle + 2.5 * width, *(c + 3.0 for c in centres))
    log_eta = np.linspace(low, high, 141)
    log_beta = math.log(priors.shape.number) + np.linspace(-4.0, 4.0, 41) * priors.shape.spread
    step = log_eta[1] - log_eta[0]

    likelihood = {name: log_likelihoods(weibull.prepare(found), log_eta, log_beta) for name, found in lives.items()}
    # (spread, middle, eta): chance of a group's log eta given the common middle and the spread between groups.
    gap = (log_eta[None, None, :] - log_eta[None, :, None]) / np.maximum(SPREADS, step / 2)[:, None, None]
    kernel = np.exp(-0.5 * gap**2)
    kernel /= kernel.sum(axis=2, keepdims=True)

    log_prior = (
        -0.5 * ((log_eta - middle) / width)[None, :, None] ** 2
        - 0.5 * ((log_beta - math.log(priors.shape.number)) / priors.shape.spread)[None, None, :] ** 2
        - 0.5 * (SPREADS / SPREAD_PRIOR)[:, None, None] ** 2
        + np.log(np.gradient(SPREADS))[:, None, None]
    )
    evidence = {name: _evidence(kernel, found) for name, found in likelihood.items()}
    log_all = log_prior + sum(evidence.values())
    groups = {}
    for name, found in likelihood.items():
        # What the others say, put to this group's own lives: nothing counts twice.
        others = _normal(log_all - evidence[name])
        own = np.exp(found - found.max())
        predicted = np.einsum("smb,sme->eb", others, kernel)
        groups[name] = _grid(log_eta, log_beta, predicted * own, lives[name].events)
    whole = _normal(log_all)
    new = _grid(log_eta, log_beta, np.einsum("smb,sme->eb", whole, kernel), 0.0)
    return SharedLives(groups, new, float(whole.sum(axis=(1, 2)) @ SPREADS))


def _evidence(kernel: Floats, log_likelihood: Floats) -> Floats:
    """Log chance of a group's lives at each (spread, middle, shape), its own scale summed out."""
    top = log_likelihood.max(axis=0)
    total = np.einsum("sme,eb->smb", kernel, np.exp(log_likelihood - top[None, :]))
    return np.asarray(np.log(np.maximum(total, 1e-300)) + top[None, None, :])


def _normal(log_weight: Floats) -> Floats:
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def _grid(log_eta: Floats, log_beta: Floats, weight: Floats, events: float) -> LifeGrid:
    return LifeGrid(log_eta, log_beta, np.asarray(weight / weight.sum()), events)
