"""Both engines keep one contract: the same answers within 0.1 Pa and their radii, whoever computes them and how."""

from __future__ import annotations

import numpy as np
import pytest

from tests.contracts.hard_scenarios import hard_batch
from vanewise.aircraft.layouts import layouts, make
from vanewise.network import (
    BatchCases,
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

NAMES = sorted(layouts())
ENGINES = ("numpy", "kernel")
SAME_PA = 0.1

needs_kernel = pytest.mark.skipif(not kernel_available(), reason="numba is not installed")


def engines() -> list[pytest.param]:
    return [pytest.param(engine, marks=needs_kernel if engine == "kernel" else ()) for engine in ENGINES]


def sweep_points() -> list[OperatingPoint]:
    return [
        OperatingPoint(engine_rpm=rpm, altitude_m=altitude)
        for altitude in (0.0, 2500.0, 5486.4)
        for rpm in (600.0, 1000.0, 1500.0, 2400.0, 2700.0)
    ]


def same(one: BatchSolution, other: BatchSolution) -> None:
    """Bit for bit."""
    for name in BatchSolution.__dataclass_fields__:
        assert np.array_equal(getattr(one, name), getattr(other, name), equal_nan=True), name


@needs_kernel
@pytest.mark.parametrize("name", NAMES)
def test_the_engines_agree_on_sound_systems(name: str):
    packed = pack(make(name))
    batch = cases(sweep_points())
    one, other = solve_batch(packed, batch, "numpy"), solve_batch(packed, batch, "kernel")
    assert (one.status == 0).all() and (other.status == 0).all()
    assert np.abs(one.pressure_pa - other.pressure_pa).max() < SAME_PA


@needs_kernel
@pytest.mark.parametrize("name", NAMES)
def test_the_engines_agree_on_hard_scenarios(name: str):
    """Where both have an answer the two lie within the sum of their radii, and within 0.1 Pa of each other."""
    packed = pack(make(name))
    batch = hard_batch(packed, 400, seed=71)
    one, other = solve_batch(packed, batch, "numpy"), solve_batch(packed, batch, "kernel")
    both = (one.status != 3) & (other.status != 3)
    assert both.sum() >= 399
    apart = np.abs(one.pressure_pa - other.pressure_pa)[both].max(axis=1)
    assert (apart <= (one.radius_pa + other.radius_pa)[both]).all()
    assert apart.max() < SAME_PA


@needs_kernel
def test_threads_change_no_answer():
    packed = pack(make("suction-twin-pumps"))
    batch = hard_batch(packed, 1500, seed=72)
    one = solve_batch(packed, batch, "kernel", threads=1)
    for threads in (2, 3):
        same(one, solve_batch(packed, batch, "kernel", threads=threads))


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
    batch = cases(sweep_points()).rows(np.array([], np.int64))
    assert solve_batch(packed, batch, engine).pressure_pa.shape[0] == 0


@pytest.mark.parametrize("engine", engines())
def test_every_solution_is_finite_or_says_that_it_is_none(engine: str):
    packed = pack(make("suction-twin-pumps"))
    solution = solve_batch(packed, hard_batch(packed, 200, seed=74), engine)
    solved = solution.status != 3
    assert np.isfinite(solution.pressure_pa[solved]).all()
    assert np.isfinite(solution.radius_pa[solved]).all()
    assert np.isnan(solution.pressure_pa[~solved][:, : packed.free]).all()


@pytest.mark.parametrize("engine", engines())
def test_a_single_solve_gives_names_or_nothing(engine: str):
    packed = pack(make("suction-one-pump"))
    answer = solve(packed, OperatingPoint(engine_rpm=2400.0), {"pump.slip": 3.0}, engine=engine)
    assert isinstance(answer, Solved | NotSolved)
    assert isinstance(answer, Solved)
    assert set(answer.pressure_pa) == set(packed.alias)
    assert set(answer.flow_kg_s) == set(packed.branch_names)
    assert answer.pressure_pa["manifold.attitude"] == answer.pressure_pa["manifold.regulator"]


@pytest.mark.parametrize("engine", engines())
def test_an_unsolvable_scenario_leaves_the_others_alone(engine: str):
    """A state that is not a number ends as 'not converged', and only there."""
    packed = pack(make("suction-one-pump"))
    values = np.array([[1.0], [np.nan], [2.0]])
    batch = BatchCases(
        columns=("pump.slip",),
        values=values,
        engine_rpm=np.full(3, 2400.0),
        ambient_pa=np.full(3, 101325.0),
        temperature_k=np.full(3, 288.15),
    )
    solution = solve_batch(packed, batch, engine)
    assert solution.status.tolist() == [0, 3, 0]
    assert np.isnan(solution.pressure_pa[1, : packed.free]).all() and np.isnan(solution.radius_pa[1])
    assert np.isfinite(solution.pressure_pa[[0, 2]]).all()
