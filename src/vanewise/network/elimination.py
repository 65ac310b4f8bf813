"""Sparse elimination prepared once per network: an order, a place for every entry, and the list of operations.

The Jacobian of the mass balances is an M-matrix, so it can be factored in any fixed order without pivoting. The order
is minimum degree; every operation is a pair of places in one flat array, so a batch repeats the same short list.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]


def minimum_degree_order(count: int, edges: list[tuple[int, int]]) -> list[int]:
    """An elimination order of nodes 0..count-1 that keeps fill-in low; ties go to the lower number."""
    neighbours: list[set[int]] = [set() for _ in range(count)]
    for a, b in edges:
        if a != b:
            neighbours[a].add(b)
            neighbours[b].add(a)
    left = set(range(count))
    order: list[int] = []
    while left:
        node = min(left, key=lambda n: (len(neighbours[n]), n))
        left.discard(node)
        order.append(node)
        around = neighbours[node]
        for other in around:
            neighbours[other] |= around
            neighbours[other] -= {other, node}
    return order


@dataclass(frozen=True, slots=True, eq=False)
class Elimination:
    """The operation list for ``count`` unknowns, already numbered in elimination order.

    Entries live in a flat array of ``entries`` places plus one spare place at the end that swallows the entries of
    fixed junctions; place i (i < count) is the diagonal of unknown i. ``at_aa`` .. ``at_bb`` (one per branch) are the
    places where a branch adds its slopes. Forward step q: factor = entry[lower[q,0]] / entry[lower[q,1]], then for r
    in [lower[q,3], lower[q,4]): entry[inner[r,0]] -= factor * entry[inner[r,1]], and right side lower[q,2] -= factor *
    right side lower[q,1]. Back substitution of unknown k uses upper[r] = (place, unknown), r in [start[k], start[k+1]).
    """

    count: int
    entries: int
    at_aa: Ints
    at_ab: Ints
    at_ba: Ints
    at_bb: Ints
    lower: Ints
    inner: Ints
    upper: Ints
    upper_start: Ints


def prepare(count: int, branch_a: Ints, branch_b: Ints) -> Elimination:
    """The operation list of a network of ``count`` unknowns; junction numbers from ``count`` up are fixed."""
    place: dict[tuple[int, int], int] = {(i, i): i for i in range(count)}

    def at(i: int, j: int) -> int:
        return place.setdefault((i, j), len(place))

    for a, b in zip(branch_a.tolist(), branch_b.tolist(), strict=True):
        if a < count and b < count:
            at(a, b)
            at(b, a)
    rows: list[set[int]] = [set() for _ in range(count)]
    for i, j in place:
        rows[i].add(j)
    lower: list[tuple[int, int, int, int, int]] = []
    inner: list[tuple[int, int]] = []
    for k in range(count):
        right = sorted(j for j in rows[k] if j > k)
        for i in (i for i in range(k + 1, count) if k in rows[i]):
            lower.append((at(i, k), k, i, len(inner), len(inner) + len(right)))
            for j in right:
                rows[i].add(j)
                inner.append((at(i, j), at(k, j)))
    upper: list[tuple[int, int]] = []
    start = [0]
    for k in range(count):
        upper.extend((at(k, j), j) for j in sorted(rows[k]) if j > k)
        start.append(len(upper))
    spare = len(place)

    def slope_places(first: Ints, second: Ints) -> Ints:
        return np.array(
            [place.get((a, b), spare) for a, b in zip(first.tolist(), second.tolist(), strict=True)], np.int64
        )

    return Elimination(
        count=count,
        entries=spare,
        at_aa=slope_places(branch_a, branch_a),
        at_ab=slope_places(branch_a, branch_b),
        at_ba=slope_places(branch_b, branch_a),
        at_bb=slope_places(branch_b, branch_b),
        lower=np.array(lower, np.int64).reshape(-1, 5),
        inner=np.array(inner, np.int64).reshape(-1, 2),
        upper=np.array(upper, np.int64).reshape(-1, 2),
        upper_start=np.array(start, np.int64),
    )
