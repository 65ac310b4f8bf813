"""Stratified, scrambled draws: a rank-1 lattice built component by component, shifted by the seed.

Every column of the lattice is a permutation of k/N, so each single dimension is stratified over N equal cells; the
generating vector is chosen to spread pairs and triples too (component-by-component construction with product weights
in the weighted Sobolev space, after F. Kuo, Journal of Complexity 19, 2003; from memory, not checked against a text).
The seed shifts the whole lattice modulo 1 and folds it (tent), which scrambles it without losing the strata.
"""

from __future__ import annotations

import hashlib
from functools import lru_cache

import numpy as np
from scipy.special import ndtr, ndtri

from vanewise.network.types import Floats

_CANDIDATES = 64


def seed_of(*parts: object) -> int:
    """A 63-bit seed from the text of ``parts``: same parts, same seed, on every machine."""
    text = "\x1f".join(str(part) for part in parts)
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big") >> 1


@lru_cache(maxsize=8)
def _generating_vector(count: int, dimensions: int) -> tuple[int, ...]:
    """Odd generators for ``count`` points (a power of two), greedily, each minimising the worst-case error so far."""
    index = np.arange(count)
    product = np.ones(count)
    candidates = np.unique(np.linspace(1, count // 2 - 1, _CANDIDATES).astype(np.int64) | 1)
    chosen: list[int] = []
    for dimension in range(dimensions):
        weight = 1.0 / (dimension + 1.0) ** 1.5
        fraction = (candidates[:, None] * index[None, :] % count) / count
        kernel = 1.0 + weight * 2.0 * np.pi**2 * (fraction**2 - fraction + 1.0 / 6.0)
        error = (product[None, :] * kernel).sum(axis=1)
        error[np.isin(candidates, chosen)] = np.inf
        best = int(np.argmin(error))
        chosen.append(int(candidates[best]))
        product = product * kernel[best]
    return tuple(chosen)


@lru_cache(maxsize=8)
def _lattice(count: int, dimensions: int) -> Floats:
    generator = np.array(_generating_vector(count, dimensions), dtype=np.int64)
    return np.asarray((np.arange(count, dtype=np.int64)[:, None] * generator[None, :] % count) / count)


def uniforms(count: int, dimensions: int, seed: int) -> Floats:
    """Draws in (0, 1), shape (count, dimensions). ``count`` is a power of two of at least 64."""
    if count < 64 or count & (count - 1):
        raise ValueError(f"count must be a power of two of at least 64, not {count}")
    shift = np.random.Generator(np.random.PCG64(seed)).random(dimensions)
    shifted = _lattice(count, dimensions) + shift[None, :]
    shifted -= np.floor(shifted)
    folded = 1.0 - np.abs(2.0 * shifted - 1.0)
    edge = 0.25 / count
    return np.clip(folded, edge, 1.0 - edge)


def normals(quantiles: Floats) -> Floats:
    """Standard normal deviates at ``quantiles``; same shape."""
    return np.asarray(ndtri(quantiles))


def quantiles(deviates: Floats) -> Floats:
    """Standard normal probabilities at ``deviates``; same shape, kept inside (0, 1)."""
    return np.asarray(np.clip(ndtr(deviates), 1e-9, 1.0 - 1e-9))
