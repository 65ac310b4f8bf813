"""The same work on many pieces at once, where compiled code lets go of the interpreter meanwhile.

The answers do not depend on it: each piece is worked out by itself and they are put together in their order.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from typing import TypeVar

from vanewise.network.solve import kernel_available
from vanewise.network.turns import given_up

Piece = TypeVar("Piece")
Result = TypeVar("Result")


@lru_cache(maxsize=1)
def _pool() -> ThreadPoolExecutor | None:
    """As many threads as the solver may use; None where there is no compiled code or only one core."""
    if not kernel_available():
        return None
    from vanewise.network import numba_cache  # late: it makes the folder of the compiled code

    count = numba_cache.threads()
    return ThreadPoolExecutor(count, thread_name_prefix="vanewise-score") if count > 1 else None


def solver_threads(pieces: int) -> int | None:
    """Threads for the solver in each of so many pieces: its own one, or for a piece by itself all there are."""
    return 1 if pieces > 1 else None


def each(work: Callable[[Piece], Result], pieces: Sequence[Piece]) -> list[Result]:
    """``work`` done on every piece, in their order."""
    pool = _pool() if len(pieces) > 1 else None
    if pool is None:
        return [work(piece) for piece in pieces]
    with given_up():  # a piece may take turns itself
        return list(pool.map(work, pieces))
