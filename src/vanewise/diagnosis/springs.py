"""The regulator's spring of a row without a search: a regression over the rows of a bank whose springs were found.

A spring makes up for what lies between the regulator and the gauge at the speed where it was set: drops that go with
flows, bores and lengths. So it is regressed on the setting and on the logarithms of the sound system's own numbers, as
a full quadratic, in two passes: the second leaves out the rows that the first misses by far, where the pump is too weak
for the setting and no spring is the right one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from vanewise.network.types import Floats
from vanewise.quantities import PA_PER_INHG

_ROWS_PER_TERM: Final = 4
_LEAST_SPREAD: Final = 1e-9
_FAR: Final = 5.0
"""Median misses beyond which a row is left out of the second pass."""
WITHIN_PA: Final = 200.0
"""The finest difference a panel gauge shows, 0.06 inHg: nineteen rows in twenty are to be nearer than that."""
_SHARE: Final = 0.95


@dataclass(frozen=True, slots=True, eq=False)
class Springs:
    """A regression of the spring [Pa] on the sound system's varying numbers and the setting."""

    columns: tuple[str, ...]
    middle: Floats
    spread: Floats
    terms: Floats

    def at(self, sound: Mapping[str, Floats], setting_pa: Floats) -> Floats:
        """The spring of each row, (rows,)."""
        design = _quadratic((_told(sound, self.columns, setting_pa) - self.middle) / self.spread)
        return np.asarray(setting_pa + design @ self.terms)


def _told(sound: Mapping[str, Floats], columns: tuple[str, ...], setting_pa: Floats) -> Floats:
    return np.column_stack([*(np.log(sound[key]) for key in columns), setting_pa / PA_PER_INHG])


def _quadratic(x: Floats) -> Floats:
    """Terms of a quadratic: constant, linear, squares and products."""
    first, second = np.triu_indices(x.shape[1])
    return np.asarray(np.column_stack([np.ones(len(x)), x, x[:, first] * x[:, second]]))


def regressed(sound: Mapping[str, Floats], setting_pa: Floats, spring_pa: Floats) -> Springs | None:
    """The regression over rows whose springs are known; None where there are too few of them or it misses too far."""
    columns = tuple(key for key, values in sound.items() if np.ptp(values) > 0.0 and values.min() > 0.0)
    told = _told(sound, columns, setting_pa)
    middle = np.asarray(told.mean(axis=0), float)
    spread = np.maximum(np.asarray(told.std(axis=0), float), _LEAST_SPREAD)
    design, extra = _quadratic((told - middle) / spread), spring_pa - setting_pa
    if len(design) < _ROWS_PER_TERM * design.shape[1]:
        return None
    first = np.linalg.lstsq(design, extra, rcond=None)[0]
    miss = np.abs(design @ first - extra)
    near = miss <= _FAR * np.median(miss)
    terms = np.asarray(np.linalg.lstsq(design[near], extra[near], rcond=None)[0], float)
    miss = np.abs(design @ terms - extra)
    return Springs(columns, middle, spread, terms) if np.quantile(miss, _SHARE) <= WITHIN_PA else None
