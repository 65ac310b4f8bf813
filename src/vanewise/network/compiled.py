"""The compiled solver: all starts in turn for ranges of scenarios, shared out to threads.

It runs the algorithm of :mod:`vanewise.network.oracle` on blocks of scenarios side by side ("lanes"): every array has
one row per branch or junction and one column per lane. No scenario's arithmetic depends on its neighbours or on the
number of threads, so neither do the answers.

The parts are in files of their own (``compiled_laws``, ``compiled_moves``, ``compiled_newton``, ``compiled_proof``,
``lanes``); all of them end up in the machine code of :func:`solve_range`, the one function that is cached, so the
cache's folder carries a digest of them all (:mod:`vanewise.network.numba_cache`).

``python -m vanewise.network.compiled --warm`` compiles the kernel into its cache and exits.
"""

# mypy: disable-error-code="untyped-decorator,no-untyped-call,no-any-return"
from __future__ import annotations

import sys
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from typing import Any, Final

import numpy as np

from vanewise.network import numba_cache  # before numba: it says where the compiled code is kept

import numba  # isort: skip
from numba import types  # isort: skip

from vanewise.network import law_constants as c
from vanewise.network import turns
from vanewise.network.compiled_load import FACTORS, FOUND, HEAD, KARMAN, NOZZLE, RESUMED, SWEPT, VISCOUS
from vanewise.network.compiled_proof import NARROW_PA, certify, keep_wider, pass_over, settled, under_way
from vanewise.network.elements import PLACES, VALVE_BAND, Law
from vanewise.network.lanes import LANES, inner
from vanewise.network.oracle import Answer
from vanewise.network.problem import Problem

LEAST_CHUNK, MOST_CHUNK = 256, 2048
"""Scenarios that one thread takes at a time: few enough to share them out evenly, enough to fill the last blocks."""
SHARES: Final = 4
"""Pieces for each thread, where there are enough scenarios."""
NEAR_PA: Final = 100.0
"""A scenario has arrived when no virtual drop is further than this [Pa] from the real one, and plain Newton goes on."""
ARRIVED_PA: Final = 3.0
"""The same for what found no proof from the first start, and so may not be left to plain Newton."""
LINE: Final = 8
"""Numbers in a line of the cache."""
STARTS: Final = len(c.STARTS)
RUNGS: Final = len(c.BAND_LADDER)

_CONDUCTANCE: Final = np.array([NOZZLE, KARMAN, VISCOUS, NOZZLE, SWEPT])
"""By law: what its first number is multiplied by."""

njit: Final[Any] = numba.njit

_I8, _I64, _F64 = types.int8[::1], types.int64[::1], types.float64[::1]
_I64_2D, _F64_2D = types.int64[:, ::1], types.float64[:, ::1]
_PLACES_OF = [_I64] * 6
_OPERATIONS = [_I64_2D] * 3
_NET = types.Tuple([types.int64, types.int64, *_PLACES_OF, *_OPERATIONS, _I64, _I64, types.int64, _F64_2D, _I64])
_CHANGES = types.Tuple([_I64_2D, _I64_2D])
_BATCH = types.Tuple([_F64_2D, _F64, _I64_2D, _CHANGES, _F64_2D, _I64, _I64_2D, _F64, _F64, _F64_2D, _F64_2D])
_SIGNATURE = types.void(
    types.int64, types.int64, _NET, _BATCH, _F64_2D, types.float64, _F64_2D, _I8, _F64, _F64, _I8, _I64
)


@njit(error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True)
def aligned(count: int) -> Any:
    """An array of ``count`` numbers that begins where a row of lanes fits a line of the processor's cache."""
    array = np.empty(count + LINE)
    skipped = (-(array.ctypes.data // 8)) % LINE
    return array[skipped : skipped + count]


@inner
def leave_out(todo: Any, count: int, free: int, pressure: Any, radius: Any) -> None:
    """No half answers: nothing is left of what has no proof."""
    for i in range(count):
        radius[todo[i]] = np.nan
        for j in range(free):
            pressure[todo[i], j] = np.nan


@njit(_SIGNATURE, error_model="numpy", nogil=True, cache=True)
def solve_range(
    first: int,
    last: int,
    net: Any,
    lists: Any,
    fixed: Any,
    gmin: float,
    pressure: Any,
    status: Any,
    radius: Any,
    imbalance: Any,
    reached: Any,
    taken: Any,
) -> None:
    """Scenarios ``first`` to ``last``: all starts in turn, then continuation, each answer certified.

    The only entry point, with one signature. It holds no lock, so threads may work on ranges of one batch.
    """
    free, branches, entries = net[0], net[2].size, net[13]
    flat, junctions, unknowns = branches * LANES, (free + fixed.shape[1]) * LANES, free * LANES
    factor = aligned((1 + lists[9].shape[1] * FACTORS) * LANES)
    slope, numbers = aligned(2 * flat), aligned(PLACES * flat)
    batch = (*lists, factor)
    work = (
        numbers.reshape((PLACES, flat)),
        aligned(junctions),
        aligned(junctions),
        aligned((entries + 1) * LANES),
        aligned(unknowns),
        aligned(flat),
        aligned(flat),
        aligned(flat),
        aligned(flat),
        aligned(flat),
        aligned(flat),
        slope[:flat],
        slope[flat:],
        aligned(flat),
        aligned(LANES),
        aligned(LANES),
        aligned(unknowns),
        aligned(unknowns),
        aligned(unknowns),
        np.empty(LANES, np.int64),
        np.empty(LANES, np.int64),
        slope,
        numbers,
        aligned(unknowns),
        aligned(flat),
        aligned(unknowns),
        aligned(LANES),
        np.empty(LANES, np.int64),
    )
    count = last - first
    todo, good = np.empty(count, np.int64), np.empty(count, np.int64)
    way = (first, np.empty((count, net[12][3] // LANES)), np.zeros(count, np.int64))
    for i in range(count):
        todo[i] = first + i
    for attempt in range(STARTS + 1):
        for i in range(count):
            reached[todo[i]], radius[todo[i]] = 0, np.inf
        apart = NEAR_PA if attempt == 0 else ARRIVED_PA
        for rung in range(1 if attempt < STARTS else RUNGS):
            band = 1.0 if attempt < STARTS else c.BAND_LADDER[rung]
            share = c.STARTS[attempt] if attempt < STARTS else (1.0 if rung == 0 else FOUND)
            moving = count
            for i in range(count):
                good[i] = todo[i]
            while moving > 0:
                pass_over(
                    good, moving, share, band, apart, net, batch, fixed, gmin,
                    pressure, radius, imbalance, reached, taken, way, work,
                )  # fmt: skip
                moving, share = under_way(good, moving, reached, way), RESUMED
        found = keep_wider(todo, count, NARROW_PA, radius, reached, good)
        if found > 0:
            pass_over(
                good, found, FOUND, 1.0, 0.0, net, batch, fixed, gmin,
                pressure, radius, imbalance, reached, taken, way, work,
            )  # fmt: skip
        for polish in range(1 + c.MOST_POLISH):
            found = keep_wider(todo, count, c.LARGEST_RADIUS, radius, reached, good)
            if found > 0:
                certify(good, found, polish > 0, net, batch, fixed, gmin, pressure, radius, imbalance, work)
        verdict = min(attempt, 1) if attempt < STARTS else 2
        # What stays wide from the first start counts as unproved: another start, held to tighter arrival, does better.
        most = c.LARGEST_RADIUS if attempt == 0 else c.WIDEST_RADIUS
        count = settled(todo, count, verdict, most, status, radius, reached)
        if count == 0:
            break
    leave_out(todo, count, free, pressure, radius)


@lru_cache(maxsize=4)
def _pool(threads: int) -> ThreadPoolExecutor:
    return ThreadPoolExecutor(threads, thread_name_prefix="vanewise-solve")


def law_lists(problem: Problem) -> tuple[Any, ...]:
    """What :func:`load_lane` writes where, worked out once a batch.

    Geometry; numbers that only the air changes, with (place, factor) of each; the overrides that the air scales and
    those it does not, each as (place, factor, column), and their values; the places of the valves' bands; the places
    of (conductance, core slope) of every passage and the ratio of the two; engine speed, root of temperature and
    viscosity. Places are rows of lanes; factor 0 is one.
    """
    branches, law = problem.law.size, problem.law
    at_zone = 1 + problem.zone.astype(np.int64) * FACTORS
    factor = np.zeros((branches, PLACES), np.int64)
    factor[:, 0] = at_zone + _CONDUCTANCE[law]
    factor[law == int(Law.PIPE), 1] = at_zone[law == int(Law.PIPE)] + VISCOUS
    factor[law == int(Law.FILTER), 3] = at_zone[law == int(Law.FILTER)] + HEAD
    place = np.arange(PLACES) * branches + np.arange(branches)[:, None]
    number = problem.geometry.copy()
    number[law == int(Law.FILTER), 3] = 1.0
    valve_rows = np.flatnonzero(law == int(Law.VALVE))
    constant = factor > 0
    constant[valve_rows, VALVE_BAND] = True
    changed = problem.override_branch, problem.override_place
    constant[changed] = False
    over = np.stack([place[changed], factor[changed], np.arange(changed[0].size)], axis=1)
    passages = np.flatnonzero((law == int(Law.ORIFICE)) | (law == int(Law.VALVE)))
    return (
        np.ascontiguousarray(problem.geometry),
        number[constant],
        np.stack([place[constant], factor[constant]], axis=1),
        (np.ascontiguousarray(over[over[:, 1] > 0]), np.ascontiguousarray(over[over[:, 1] == 0])),
        np.ascontiguousarray(problem.override_values.T),
        place[valve_rows, VALVE_BAND],
        np.stack([place[passages, 0], place[passages, 3]], axis=1),
        problem.geometry[passages, 3],
        problem.rpm, problem.air.root_t, problem.air.viscosity,
    )  # fmt: skip


def solve(problem: Problem, threads: int | None = None) -> Answer:
    """Answers as :func:`vanewise.network.oracle.solve`, by the compiled kernel.

    ``threads`` None takes all that this process may use; the answers do not depend on it.
    """
    shape, n, branches = problem.elimination, problem.count, problem.branch_a.size
    adding, subtracting = np.concatenate([shape.at_aa, shape.at_ab]), np.concatenate([shape.at_ba, shape.at_bb])
    slope_rows = np.arange(2 * branches)
    into, out_of = adding < shape.entries, subtracting < shape.entries
    group_ends = np.array([problem.slices[law].stop for law in Law], np.int64) * LANES
    net = (
        shape.count, problem.reference, problem.branch_a, problem.branch_b,
        adding[into], slope_rows[into], subtracting[out_of], slope_rows[out_of],
        shape.lower, shape.inner, shape.upper, shape.upper_start, group_ends, shape.entries,
        problem.guess, problem.guess_row,
    )  # fmt: skip
    pressure = np.empty((n, shape.count + problem.fixed_pa.shape[1]))
    pressure[:, shape.count :] = problem.fixed_pa
    status, reached = np.full(n, 3, np.int8), np.zeros(n, np.int8)
    radius, imbalance, taken = np.full(n, np.inf), np.full(n, np.nan), np.zeros(n, np.int64)
    shared: tuple[Any, ...] = (
        net,
        law_lists(problem),
        problem.fixed_pa,
        problem.gmin,
        pressure,
        status,
        radius,
        imbalance,
        reached,
        taken,
    )
    threads = threads or numba_cache.threads()
    # One thread takes all at once: between pieces it would wait for the interpreter, which others may be using.
    chunk = min(max(-(-n // (SHARES * threads)), LEAST_CHUNK), MOST_CHUNK) if threads > 1 else max(n, 1)
    ranges = [(first, min(first + chunk, n)) for first in range(0, n, chunk)]
    threads = min(threads, len(ranges))
    with turns.given_up():
        if threads > 1:
            pool = _pool(threads)
            for job in [pool.submit(solve_range, first, last, *shared) for first, last in ranges]:
                job.result()
        elif n:
            solve_range(0, n, *shared)
    pressure[status == 3] = np.nan
    return pressure, status, radius, imbalance, np.minimum(taken, 32767).astype(np.int16)


if __name__ == "__main__":
    # Importing this file compiled the kernel, or found it in its cache.
    if sys.argv[1:] != ["--warm"]:
        sys.exit("usage: python -m vanewise.network.compiled --warm")
    sys.stdout.write(f"kernel ready in {numba_cache.FOLDER}\n")
