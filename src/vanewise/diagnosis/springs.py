"""The regulator's spring of a row without a search: a regression over the rows of a bank whose springs were found.

A spring makes up for what lies between the regulator and the gauge at the speed where it was set: drops that go with
flows, bores and lengths. So it is regressed on the setting and on the logarithms of the sound system's own numbers, as
a full quadratic. The valve itself takes its opening band times its lift, and the lift is what it has to pass over its
area: so the band over the area stands by its own value, and times each of the others. Two passes: the second leaves out
the rows that the first misses by far, where the pump is too weak for the setting and no spring is the right one, or too
strong for the valve. Where such rows are many (twin pumps), the regression is where a search begins, which then needs a
look or two in place of five.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from vanewise.network.calibrate import pushing
from vanewise.network.types import Floats
from vanewise.quantities import PA_PER_INHG

Ints = NDArray[np.int64]

_ROWS_PER_TERM: Final = 4
_LEAST_SPREAD: Final = 1e-9
_FAR: Final = 5.0
"""Median misses beyond which a row is left out of the second pass."""
WITHIN_PA: Final = 200.0
"""The finest difference a panel gauge shows, 0.06 inHg: nineteen rows in twenty are to be nearer than that."""
_SHARE: Final = 0.95
_BAND: Final = ".droop"
_AREA: Final = ".flow_area"


@dataclass(frozen=True, slots=True, eq=False)
class Springs:
    """A regression of the spring [Pa] on the sound system's varying numbers and the setting."""

    columns: tuple[str, ...]
    middle: Floats
    spread: Floats
    band_over_area: float
    """The middle one."""
    terms: Floats
    near: bool
    """Whether nineteen rows in twenty are within :data:`WITHIN_PA`; else it says where a search begins."""

    def at(self, sound: Mapping[str, Floats], setting_pa: Floats) -> Floats:
        """The spring of each row, (rows,)."""
        told = (_told(sound, self.columns, setting_pa) - self.middle) / self.spread
        ratio = _band_over_area(sound, self.columns) / self.band_over_area
        return pushing(setting_pa + _regression(self.terms, told, ratio))


def _regulators(columns: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(key.removesuffix(_BAND) for key in columns if key.endswith(_BAND))


def _told(sound: Mapping[str, Floats], columns: tuple[str, ...], setting_pa: Floats) -> Floats:
    own = {regulator + field for regulator in _regulators(columns) for field in (_BAND, _AREA)}
    return np.column_stack([*(np.log(sound[key]) for key in columns if key not in own), setting_pa / PA_PER_INHG])


def _band_over_area(sound: Mapping[str, Floats], columns: tuple[str, ...]) -> Floats:
    """Of the regulators, in any unit: the geometric mean of several."""
    logs = [np.log(sound[own + _BAND]) - np.log(sound.get(own + _AREA, 1.0)) for own in _regulators(columns)]
    return np.asarray(np.exp(np.mean(logs, axis=0)))


def _design(x: Floats, ratio: Floats) -> Floats:
    """Terms: constant, linear, squares and products of ``x``; the ratio, its square, it times each and each squared."""
    first, second = _pairs(x.shape[1])
    r = ratio[:, None]
    return np.asarray(np.column_stack([np.ones(len(x)), x, x[:, first] * x[:, second], r, r * r, r * x, r * x * x]))


@lru_cache(maxsize=8)
def _pairs(count: int) -> tuple[Ints, Ints]:
    """Each of so many with itself and with each that comes after it."""
    first, second = np.triu_indices(count)
    first.flags.writeable = second.flags.writeable = False
    return first, second


def _regression(terms: Floats, x: Floats, ratio: Floats) -> Floats:
    """``_design(x, ratio) @ terms``, without the table of all terms."""
    n = x.shape[1]
    first, second = _pairs(n)
    ends = np.cumsum([1, n, len(first), 1, 1, n])
    constant, linear, products, by_ratio, by_square, tilted, bent = np.split(terms, ends)
    quadratic = np.zeros((n, n))
    quadratic[first, second] = products
    plain = constant[0] + x @ linear + ((x @ quadratic) * x).sum(axis=1)
    return np.asarray(plain + ratio * (by_ratio[0] + by_square[0] * ratio + x @ tilted + (x * x) @ bent))


def regressed(sound: Mapping[str, Floats], setting_pa: Floats, spring_pa: Floats) -> Springs | None:
    """The regression over rows whose springs are known; None where there are too few of them."""
    columns = tuple(key for key, values in sound.items() if np.ptp(values) > 0.0 and values.min() > 0.0)
    if not _regulators(columns):
        return None
    told = _told(sound, columns, setting_pa)
    middle = np.asarray(told.mean(axis=0), float)
    spread = np.maximum(np.asarray(told.std(axis=0), float), _LEAST_SPREAD)
    ratio = _band_over_area(sound, columns)
    usual = float(np.median(ratio))
    design, extra = _design((told - middle) / spread, ratio / usual), spring_pa - setting_pa
    pushes = spring_pa > 0.0
    if pushes.sum() < _ROWS_PER_TERM * design.shape[1]:
        return None
    first = np.linalg.lstsq(design[pushes], extra[pushes], rcond=None)[0]
    miss = np.abs(design @ first - extra)
    near = pushes & (miss <= _FAR * np.median(miss[pushes]))
    terms = np.asarray(np.linalg.lstsq(design[near], extra[near], rcond=None)[0], float)
    miss = np.abs(pushing(setting_pa + design @ terms) - spring_pa)
    return Springs(columns, middle, spread, usual, terms, near=bool(np.quantile(miss, _SHARE) <= WITHIN_PA))
