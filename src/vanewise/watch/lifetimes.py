"""Lives as they are really known: ended, still running, ended between two looks, and only watched from some age on."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Sequence

import msgspec
import numpy as np

from vanewise.errors import InputError, Problem
from vanewise.watch.arrays import Floats


class LifeRecord(msgspec.Struct, frozen=True, kw_only=True):
    """One life of one unit, in hours since it was new or overhauled.

    ``lived_to``: hours up to which it is known to have lived. ``ended_by``: None while it runs or was taken off sound;
    equal to ``lived_to`` when the end is known to the hour; above it when the end was found at a later look.
    ``cause``: what ended it, empty while it has not ended. A sound unit taken off on its age alone is still running as
    far as its life is concerned; one taken off on a wear reading is not, so enter that reading instead.
    """

    lived_to: float
    ended_by: float | None = None
    cause: str = ""
    watched_from: float = 0.0
    """Age at which it came under watch; a unit that had ended before would not be in the record."""
    group: str = ""
    unit: str = ""
    weight: float = 1.0


@dataclasses.dataclass(frozen=True, slots=True)
class Lifetimes:
    """Lives as arrays, all shape (n,): end between ``lower`` and ``upper``, seen from ``entry`` on.

    ``lower`` = ``upper``: exact; ``upper`` infinite: still running; ``lower`` 0 with finite ``upper``: ended before.
    """

    lower: Floats
    upper: Floats
    entry: Floats
    weight: Floats

    def __len__(self) -> int:
        return len(self.lower)

    @property
    def events(self) -> float:
        """Lives that have ended, by weight."""
        return float(self.weight[np.isfinite(self.upper)].sum())

    def without(self, index: int) -> Lifetimes:
        """All but one, for forecasting that one."""
        return Lifetimes(*(np.delete(getattr(self, f.name), index) for f in dataclasses.fields(self)))


def lifetimes(
    lower: Sequence[float] | Floats,
    upper: Sequence[float] | Floats,
    entry: Sequence[float] | Floats | None = None,
    weight: Sequence[float] | Floats | None = None,
) -> Lifetimes:
    """Checked arrays. Raises :class:`InputError` naming the first row that cannot be."""
    low, high = np.asarray(lower, dtype=float), np.asarray(upper, dtype=float)
    begin = np.zeros(len(low)) if entry is None else np.asarray(entry, dtype=float)
    share = np.ones(len(low)) if weight is None else np.asarray(weight, dtype=float)
    if not len(low) == len(high) == len(begin) == len(share):
        raise ValueError("lower, upper, entry and weight must have one length")
    wrong = (
        ~(np.isfinite(low) & (low >= 0.0))
        | np.isnan(high)
        | (high < low)
        | (high <= 0.0)
        | ~((begin >= 0.0) & (begin <= low))
        | ~(np.isfinite(share) & (share > 0.0))
        | ((low <= 0.0) & ~np.isfinite(high))
    )
    if wrong.any():
        row = int(np.nonzero(wrong)[0][0])
        raise InputError(
            Problem(
                where=f"life {row + 1}",
                expected="watched from no later than it lived to, ended no earlier, all hours 0 or more",
                found=(
                    f"watched from {begin[row]:g}, lived to {low[row]:g}, ended by {high[row]:g}, weight {share[row]:g}"
                ),
                next_step="correct this row; leave the end empty while the unit runs",
            )
        )
    return Lifetimes(low, high, begin, share)


def of_cause(records: Iterable[LifeRecord], cause: str | None = None) -> Lifetimes:
    """Lives as far as one cause goes: a unit that ended of another cause had not ended of this one yet.

    ``cause`` None takes every end, whatever its cause.
    """
    rows = []
    for record in records:
        ended = record.ended_by is not None and (cause is None or record.cause == cause)
        if record.ended_by is None or ended:
            lower, upper = record.lived_to, record.ended_by if ended and record.ended_by is not None else math.inf
        else:
            # Ended of something else between two looks: it is only known to have lived to the earlier one.
            lower, upper = record.lived_to, math.inf
        if lower <= 0.0 and not math.isfinite(upper):
            continue
        rows.append((lower, upper, record.watched_from, record.weight))
    if not rows:
        return Lifetimes(*(np.zeros(0) for _ in range(4)))
    columns = list(zip(*rows, strict=True))
    return lifetimes(*columns)


def causes(records: Iterable[LifeRecord]) -> tuple[str, ...]:
    """The causes that ended lives, by name."""
    return tuple(sorted({record.cause for record in records if record.ended_by is not None}))
