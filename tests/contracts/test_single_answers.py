"""What both engines give back for one scenario: alone or in company the same, by names, or nothing."""

from __future__ import annotations

import numpy as np
import pytest

from tests.contracts.hard_scenarios import hard_batch
from vanewise.aircraft.layouts import make
from vanewise.network import (
    BatchSolution,
    NotSolved,
    OperatingPoint,
    Solved,
    cases,
    kernel_available,
    pack,
    solve,
    solve_batch,
)

ENGINES = ("numpy", "kernel")

needs_kernel = pytest.mark.skipif(not kernel_available(), reason="numba is not installed")


def engines() -> list[pytest.param]:
    return [pytest.param(engine, marks=needs_kernel if engine == "kernel" else ()) for engine in ENGINES]


def same(one: BatchSolution, other: BatchSolution) -> None:
    """Bit for bit."""
    for name in BatchSolution.__dataclass_fields__:
        mine, yours = getattr(one, name), getattr(other, name)
        assert (mine is None) == (yours is None), name
        assert mine is None or np.array_equal(mine, yours, equal_nan=True), name


@pytest.mark.parametrize("engine", engines())
def test_neighbours_change_no_answer(engine: str):
    """A scenario solved alone, in a shuffled batch or in a part of it comes out the same, to the last bit."""
    packed = pack(make("pressure-one-pump"))
    batch = hard_batch(packed, 60, seed=73)
    whole = solve_batch(packed, batch, engine)
    order = np.random.default_rng(1).permutation(batch.count)
    same(whole.rows(order), solve_batch(packed, batch.rows(order), engine))
    for row in (0, 17, 59):
        alone = np.array([row])
        same(whole.rows(alone), solve_batch(packed, batch.rows(alone), engine))


@pytest.mark.parametrize("engine", engines())
def test_an_empty_batch_is_answered(engine: str):
    packed = pack(make("suction-one-pump"))
    batch = cases([OperatingPoint(engine_rpm=2400.0)]).rows(np.array([], np.int64))
    assert solve_batch(packed, batch, engine).pressure_pa.shape[0] == 0


@pytest.mark.parametrize("engine", engines())
def test_a_single_solve_gives_names_or_nothing(engine: str):
    packed = pack(make("suction-one-pump"))
    answer = solve(packed, OperatingPoint(engine_rpm=2400.0), {"pump.slip": 3.0}, engine=engine)
    assert isinstance(answer, Solved | NotSolved)
    assert isinstance(answer, Solved)
    assert set(answer.pressure_pa) == set(packed.alias)
    assert set(answer.flow_kg_s) == set(packed.branch_names)
    assert answer.pressure_pa["manifold.attitude"] == answer.pressure_pa["manifold.regulator"]
