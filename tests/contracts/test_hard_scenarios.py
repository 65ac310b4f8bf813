"""No answer is wrong without saying so: thousands of scenarios drawn to be hard, each answer's balance worked out anew.

The balance is worked out again by ``network.balance``, which shares no law code with either solver. How many scenarios
may stay without an answer, and how small their balance must be, are promises of this project.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from tests.contracts.hard_scenarios import hard_batch
from vanewise.aircraft.layouts import layouts, make
from vanewise.network import BatchCases, best_engine, kernel_available, mass_imbalance, pack, solve_batch
from vanewise.network.extended import LONGER
from vanewise.network.types import Engine

NAMES = sorted(layouts())
ENGINES: tuple[Engine, ...] = ("kernel", "numpy") if kernel_available() else ("numpy",)
CORPUS = json.loads(Path(__file__).with_name("failures_network.json").read_text(encoding="utf-8"))
LARGEST_RADIUS_PA = 1.0
LARGEST_IMBALANCE = 5e-6
"""Summed over all junctions [kg/s]. An opening of 400 mm2 has a slope of 6e-5 kg/s per Pa near no flow, so each that a
scenario has turns a harmless 0.02 Pa into 1.2e-6 kg/s; this allows for four."""
ROUNDING = 2e-9
"""Most by which two ways of adding up the same flows may differ [kg/s]."""


def judged(name: str, count: int, seed: int) -> tuple[int, list[int]]:
    """Scenarios without an answer, and the numbers of those with a wrong one."""
    return judge(name, hard_batch(pack(make(name)), count, seed))


def judge(name: str, batch: BatchCases, engine: Engine | None = None) -> tuple[int, list[int]]:
    packed = pack(make(name))
    solution = solve_batch(packed, batch, engine or best_engine())
    solved = solution.status != 3
    gap = np.abs(mass_imbalance(packed, batch, solution.pressure_pa, solution.delivery_k)).sum(axis=1)
    told = solution.mass_residual
    sound = (solution.radius_pa < LARGEST_RADIUS_PA) & (gap < LARGEST_IMBALANCE) & (np.abs(gap - told) < ROUNDING)
    assert np.isfinite(solution.pressure_pa[solved]).all()
    assert np.isnan(solution.pressure_pa[~solved][:, : packed.free]).all()
    return int((~solved).sum()), np.flatnonzero(solved & ~sound).tolist()


@pytest.mark.parametrize("name", NAMES)
def test_two_thousand_hard_scenarios(name: str):
    unsolved, wrong = judged(name, 2000, seed=20260)
    assert wrong == []
    assert unsolved <= (0 if LONGER else 2)


@pytest.mark.long
@pytest.mark.parametrize("name", NAMES)
def test_a_hundred_thousand_hard_scenarios(name: str):
    unsolved, wrong = 0, []
    for part in range(10):
        more_unsolved, more_wrong = judged(name, 10_000, seed=31_000 + part)
        unsolved += more_unsolved
        wrong += [(31_000 + part, row) for row in more_wrong]
    assert wrong == []
    assert unsolved <= (1 if LONGER else 10)


@pytest.mark.parametrize("name", NAMES)
def test_the_balance_notices_a_wrong_pressure(name: str):
    """The check can fail: one junction moved by 20 Pa does not pass."""
    packed = pack(make(name))
    batch = hard_batch(packed, 50, 3)
    solution = solve_batch(packed, batch, "numpy")
    pressure = solution.pressure_pa.copy()
    pressure[:, packed.junction("attitude.inlet")] += 20.0
    gap = np.abs(mass_imbalance(packed, batch, pressure, solution.delivery_k)).sum(axis=1)
    assert np.median(gap) > LARGEST_IMBALANCE


@pytest.mark.parametrize("name", NAMES)
def test_the_balance_is_nan_where_there_is_no_answer(name: str):
    packed = pack(make(name))
    batch = hard_batch(packed, 3, 3)
    solution = solve_batch(packed, batch, "numpy")
    pressure = solution.pressure_pa.copy()
    pressure[1, : packed.free] = np.nan
    gap = np.abs(mass_imbalance(packed, batch, pressure, solution.delivery_k)).sum(axis=1)
    assert np.isnan(gap[1]) and np.isfinite(gap[[0, 2]]).all()


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("case", CORPUS, ids=[case["found"] for case in CORPUS])
def test_what_once_had_no_answer_has_one_now(case: dict[str, object], engine: Engine):
    """Scenarios that a solver gave up on, of 990,000: pumps dead-headed at tens of bar, where ordinary precision can
    prove nothing, and one regulator with a choked filter and hardly a band. Where a machine has no longer numbers some
    may stay unsolved, none may be wrong."""
    numbers = {key: np.array([value], float) for key, value in case["at"].items()}  # type: ignore[attr-defined]
    states: dict[str, float] = case["states"]  # type: ignore[assignment]
    batch = BatchCases(tuple(states), np.array([list(states.values())]), **numbers)
    unsolved, wrong = judge(str(case["layout"]), batch, engine)
    assert wrong == []
    assert unsolved == 0 or not LONGER
