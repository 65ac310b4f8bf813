"""The plain comparison: a straight line through new, and the hours at which it meets the limit.

Shown beside a forecast so that a person sees what a ruler would say. It takes no account of reading error or of wear
that goes unevenly, so it has no interval that could be stood behind.
"""

from __future__ import annotations

from vanewise.errors import wrong
from vanewise.watch.arrays import Floats


def life_through_origin(hours: Floats, worn: Floats, limit: float) -> float:
    """Hours at which a least-squares line through the origin reaches ``limit``: limit sum(h h) / sum(h w).

    ``hours`` and ``worn`` (n,), ``limit`` in the unit of ``worn``. Raises :class:`InputError` where nothing is worn.
    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.2.3 (method).
    """
    rising = float(hours @ worn)
    if rising <= 0.0:
        raise wrong("straight line through the readings", "some wear at some hours", "none", "measure a worn vane")
    return limit * float(hours @ hours) / rising
