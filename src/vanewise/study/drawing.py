"""Numbers drawn for any stretch of systems, each from seed, key and the system's own number alone.

So a stretch can be drawn anywhere, in any order, and two studies of one seed that vary the same part draw the same
numbers for it. The stream is that of the counter-based generator Philox 4x64-10 (Salmon, Moraes, Dror and Shaw,
"Parallel random numbers: as easy as 1, 2, 3", SC11), whose raw output numpy promises to keep.
"""

from __future__ import annotations

import hashlib

import numpy as np

from vanewise.network.types import Floats
from vanewise.study.types import Draw

_WORDS = 4
"""Numbers that one step of the generator's counter gives."""
_LARGEST_KEY = 2**64 - 1


def uniforms(seed: int, key: str, first: int, count: int) -> Floats:
    """Numbers above 0 and below 1 for the systems from ``first`` on, (count,)."""
    stream = int.from_bytes(hashlib.blake2b(key.encode(), digest_size=8).digest(), "little")
    blocks, skipped = divmod(first, _WORDS)
    generator = np.random.Philox(key=np.array([seed & _LARGEST_KEY, stream], np.uint64), counter=blocks)
    raw = generator.random_raw(count + skipped)[skipped:]
    return np.asarray(((raw >> np.uint64(11)).astype(np.float64) + 0.5) * 2.0**-53)


def normals(seed: int, key: str, first: int, count: int) -> Floats:
    """Standard normal deviates for the systems from ``first`` on, (count,)."""
    from scipy.special import ndtri  # late: many studies draw none

    return np.asarray(ndtri(uniforms(seed, key, first, count)))


def drawn(draw: Draw, seed: int, key: str, first: int, count: int) -> Floats:
    """The number ``key`` of the systems from ``first`` on, (count,)."""
    numbers = _at(draw, uniforms(seed, key, first, count))
    if draw.chance >= 1.0:
        return numbers
    happens = uniforms(seed, f"{key} at all", first, count) < draw.chance
    return np.where(happens, numbers, draw.otherwise)


def _at(draw: Draw, u: Floats) -> Floats:
    """The number below which a share ``u`` of the distribution lies."""
    if draw.kind == "uniform":
        return np.asarray(draw.low + (draw.high - draw.low) * u)
    if draw.kind == "log uniform":
        low, high = np.log(draw.low), np.log(draw.high)
        return np.asarray(np.clip(np.exp(low + (high - low) * u), draw.low, draw.high))
    if draw.kind == "one of":
        shares = np.cumsum(draw.weights) / np.sum(draw.weights)
        return np.array(draw.values)[np.minimum(np.searchsorted(shares, u, side="right"), len(draw.values) - 1)]
    from scipy.special import ndtr, ndtri

    logarithmic = draw.kind == "lognormal"
    middle, low, high = (np.log(x) if logarithmic else x for x in (draw.middle, draw.low, draw.high))
    below, within = ndtr((low - middle) / draw.spread), ndtr((high - middle) / draw.spread)
    numbers = middle + draw.spread * ndtri(below + (within - below) * u)
    return np.asarray(np.clip(np.exp(numbers) if logarithmic else numbers, draw.low, draw.high))
