"""Two engines, one answer: the compiled kernel and the numpy solver within 0.1 Pa and with the same verdict.

Neither the number of threads nor the company a scenario keeps in its batch changes an answer, and a scenario that has
none spoils no other.
"""

from __future__ import annotations

import importlib.util

import numpy as np
import pytest

from tests.contracts.hard_scenarios import hard_batch
from vanewise.aircraft.layouts import layouts, make
from vanewise.diagnosis.solving import point_at, solve_rows, solve_together
from vanewise.network import (
    BatchSolution,
    NotSolved,
    OperatingPoint,
    oracle,
    pack,
    solve,
    solve_batch,
)
from vanewise.network.types import Engine

NAMES = sorted(layouts())
AGREE_PA = 0.1

needs_numba = pytest.mark.skipif(importlib.util.find_spec("numba") is None, reason="numba is not installed")
ENGINES = ["numpy", pytest.param("kernel", marks=needs_numba)]


def same(one: BatchSolution, other: BatchSolution) -> bool:
    pairs = (
        (one.pressure_pa, other.pressure_pa),
        (one.status, other.status),
        (one.radius_pa, other.radius_pa),
        (one.mass_residual, other.mass_residual),
        (one.iterations, other.iterations),
    )
    return all(np.array_equal(a, b, equal_nan=a.dtype.kind == "f") for a, b in pairs)


@needs_numba
@pytest.mark.parametrize("name", NAMES)
def test_same_pressures_and_same_verdict(name: str):
    packed = pack(make(name))
    batch = hard_batch(packed, 300, seed=11)
    kernel, numpy = (solve_batch(packed, batch, engine) for engine in ("kernel", "numpy"))
    assert ((kernel.status == 3) == (numpy.status == 3)).all()
    solved = kernel.status != 3
    assert solved.sum() > 290
    gap = np.abs(kernel.pressure_pa - numpy.pressure_pa)[solved].max(axis=1)
    assert gap.max() < AGREE_PA
    # Each engine's own bound must cover the other's answer to the same equations, those of one delivery temperature.
    same = (kernel.delivery_k == numpy.delivery_k)[solved]
    assert same.mean() > 0.99
    assert (gap <= (kernel.radius_pa + numpy.radius_pa)[solved] + 1e-6)[same].all()


@needs_numba
@pytest.mark.parametrize("name", NAMES)
def test_threads_change_no_answer(name: str):
    """More scenarios than one thread takes at a time, so that two threads do share them."""
    packed = pack(make(name))
    batch = hard_batch(packed, 700, seed=12)
    one, two = (solve_batch(packed, batch, "kernel", threads=threads) for threads in (1, 2))
    assert same(one, two)


@needs_numba
@pytest.mark.parametrize("name", ["suction-one-pump", "pressure-one-pump", "suction-twin-pumps"])
def test_company_changes_no_bit_of_a_kernel_answer(name: str):
    """Slow scenarios are put by and share blocks with others: in any company the same steps and the same proof."""
    packed = pack(make(name))
    batch = hard_batch(packed, 900, seed=15)
    together = solve_batch(packed, batch, "kernel", threads=1)
    shuffled = np.random.default_rng(16).permutation(900)
    for some in np.array_split(shuffled, [1, 17, 33, 500]):
        assert same(solve_batch(packed, batch.rows(some), "kernel", threads=1), together.rows(some))


@pytest.mark.parametrize("engine", ENGINES)
def test_neighbours_change_no_answer(engine: Engine):
    packed = pack(make("suction-one-pump"))
    batch = hard_batch(packed, 40, seed=13)
    together = solve_batch(packed, batch, engine)
    some = np.array([31, 4, 17])
    alone = solve_batch(packed, batch.rows(some), engine)
    assert np.allclose(alone.pressure_pa, together.pressure_pa[some], rtol=0.0, atol=1e-9)
    assert (alone.status == together.status[some]).all()


@pytest.mark.parametrize("engine", ENGINES)
def test_systems_solved_together_are_as_each_alone(engine: Engine):
    """Systems with states of their own at points of their own, some under a test state, in one call of the solver."""
    packed = pack(make("suction-one-pump"))
    points = [point_at(rpm, 0.0, None) for rpm in (700.0, 1200.0, 1800.0, 2400.0)]
    covered = point_at(1800.0, 900.0, 290.0, under={"firewall_hose.leak": 3.0})
    pump = {"pump.slip": np.linspace(1.0, 4.0, 60)}
    screw = {"regulator.set_shift_inhg": np.linspace(-0.5, 0.5, 35), "pump.slip": np.full(35, 1.2)}
    for asked in ([(pump, points), (screw, points[1:3])], [(screw, []), (pump, [*points, covered])]):
        for (columns, own), found in zip(asked, solve_together(packed, asked, engine), strict=True):
            assert found.shape[:2] == (len(columns["pump.slip"]), len(own))
            if own:
                alone = solve_rows(packed, columns, own, engine)
                assert np.allclose(found, alone, rtol=0.0, atol=AGREE_PA)


@pytest.mark.parametrize("bad", [np.nan, -1e5, 0.0])
@pytest.mark.parametrize("engine", ENGINES)
def test_one_bad_scenario_raises_nothing_and_spoils_no_other(engine: Engine, bad: float):
    packed = pack(make("suction-one-pump"))
    batch = hard_batch(packed, 20, seed=14)
    sound = solve_batch(packed, batch, engine)
    batch.ambient_pa[7] = bad
    with np.errstate(all="ignore"):
        mixed = solve_batch(packed, batch, engine)
    others = np.arange(20) != 7
    assert mixed.status[7] == 3
    assert np.isnan(mixed.pressure_pa[7]).all() and np.isnan(mixed.radius_pa[7])
    assert np.allclose(mixed.pressure_pa[others], sound.pressure_pa[others], rtol=0.0, atol=1e-9)


def test_a_point_without_an_answer_says_where(monkeypatch: pytest.MonkeyPatch):
    """With no scenario ever proven, a single solve names the worst junction instead of handing on pressures."""
    packed = pack(make("suction-one-pump"))
    no_proof = (np.array([np.inf]), np.array([0.0]))
    monkeypatch.setattr(oracle, "certify", lambda problem, p, rows: (no_proof[0].repeat(len(rows)), no_proof[1]))
    answer = solve(packed, OperatingPoint(engine_rpm=2300.0), {"pump.slip": 3.0})
    assert isinstance(answer, NotSolved)
    assert answer.reason
    assert answer.worst_junction in packed.junction_names
    assert np.isfinite(answer.mass_residual)
    assert not hasattr(answer, "pressure_pa")
