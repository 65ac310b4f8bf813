"""A million scenarios drawn to be hard, in one call and bounded memory: none wrong, and those unsolved are counted.

Each answer's balance is worked out again by ``network.balance``, which shares no law code with either solver; its
enclosure has to be narrower than 1 Pa. The draws are those of ``tests/contracts/hard_scenarios``, written as a study.
"""

from __future__ import annotations

import resource

import numpy as np
import pytest

from benches.network_cases import nineteen_junctions
from tests.contracts.test_hard_scenarios import LARGEST_IMBALANCE, LARGEST_RADIUS_PA, ROUNDING
from vanewise.aircraft.layouts import layouts, make
from vanewise.network import BatchCases, BatchSolution, mass_imbalance, pack
from vanewise.network.packed import PackedNetwork
from vanewise.study import Draw, Study, Varied, run

COUNT = 1_000_000
MOST_UNSOLVED = 1
"""The promise of this project for a million."""
EACH = 111_112
"""Scenarios of each of the nine layouts: a million in all."""
MORE_MEGABYTES = 120
"""Chunks of ten thousand take some 70 in all; a million scenarios kept whole would take 300 and more."""


def spread(low: float, high: float, chance: float = 1.0, otherwise: float = 0.0) -> Draw:
    return Draw(kind="log uniform", low=low, high=high, chance=chance, otherwise=otherwise)


def sometimes(chance: float) -> Draw:
    return Draw(kind="one of", values=(1.0,), weights=(1.0,), chance=chance, otherwise=0.0)


def draw_of(kind: str, name: str, built: float) -> Draw | None:
    """What is drawn for a number of a part, far past what an aircraft would fly with; None for what stays as it is."""
    flat = Draw(kind="uniform", low=0.3, high=1.15)
    return {
        ("pump", "slip"): spread(0.3, 30.0),
        ("pump", "stopped"): sometimes(0.15),
        ("pump", "displacement_factor"): flat,
        ("pump", "outlet_blocked"): Draw(kind="uniform", low=0.0, high=0.999, chance=0.2),
        ("line", "open_fraction"): spread(1e-3, 1.0, 0.3, 1.0),
        ("line", "leak"): spread(1e-4, 400.0, 0.2),
        ("line", "off"): sometimes(0.03),
        ("manifold", "leak"): spread(1e-4, 400.0, 0.3),
        ("check valve", "opening"): spread(0.03 * built, 3.0 * built) if built else None,
        ("check valve", "stuck_open"): sometimes(0.1),
        ("check valve", "stuck_shut"): sometimes(0.1),
        ("regulator", "set_shift_inhg"): Draw(kind="uniform", low=-4.0, high=4.0),
        ("regulator", "droop"): spread(0.003 * built, 3.0 * built) if built else None,
        ("regulator", "held_open"): spread(1e-3, 100.0, 0.2),
        ("regulator", "filter_loading"): spread(1.0, 1e5, 0.5, 1.0),
        ("regulator", "stuck_shut"): sometimes(0.1),
        ("regulator", "covered"): sometimes(0.05),
        ("filter", "loading"): spread(1.0, 1e5),
        ("filter", "missing"): sometimes(0.05),
        ("filter", "bypass_mm2"): spread(1e-3, 100.0, 0.1),
        ("gyro", "jet_fraction"): spread(0.02, 2.0),
        ("gyro", "case_leak"): spread(1e-4, 100.0, 0.3),
        ("gyro", "capped"): sometimes(0.05),
    }.get((kind, name))


def hard_study(packed: PackedNetwork, count: int, seed: int) -> Study:
    varied = []
    for key in packed.override_keys:
        owner, _, name = key.rpartition(".")
        kind = packed.owners[owner].kind
        family = "filter" if "filter" in kind else "gyro" if "indicator" in kind else kind
        draw = draw_of(family, name, packed.neutral(key))
        varied += [] if draw is None else [Varied(key=key, draw=draw)]
    at = {
        "rpm": Draw(kind="uniform", low=400.0, high=3000.0, chance=0.98, otherwise=0.0),
        "altitude": Draw(kind="uniform", low=0.0, high=7620.0),
        "temperature": Draw(kind="uniform", low=225.0, high=318.0),
    }
    varied += [Varied(key=key, draw=draw) for key, draw in at.items()]
    # The spring stays as it is: among such systems there is nobody who sets it.
    return Study(
        title="hard",
        description=packed.description,
        seed=seed,
        draws=count,
        varied=tuple(varied),
        set_anew=False,
        told=("gauge",),
    )


class Judge:
    """Adds up what is wrong, chunk by chunk."""

    def __init__(self, packed: PackedNetwork):
        self.packed, self.wrong, self.looked_at = packed, 0, 0

    def __call__(self, batch: BatchCases, solution: BatchSolution) -> None:
        gap = np.abs(mass_imbalance(self.packed, batch, solution.pressure_pa, solution.delivery_k)).sum(axis=1)
        told = np.abs(gap - solution.mass_residual) < ROUNDING
        sound = (solution.radius_pa < LARGEST_RADIUS_PA) & (gap < LARGEST_IMBALANCE) & told
        solved = solution.status != 3
        self.wrong += int((solved & ~sound).sum())
        self.looked_at += int(solved.sum())


def megabytes() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


@pytest.mark.long
def test_a_million_hard_scenarios() -> None:
    packed = pack(nineteen_junctions())
    judge = Judge(packed)
    run(hard_study(packed, 20_000, 1), look=judge)
    before = megabytes()
    tally = run(hard_study(packed, COUNT, 20_261), look=judge)
    assert judge.wrong == 0
    assert tally.scenarios.sum() == COUNT and judge.looked_at + int(tally.unsolved.sum()) >= COUNT
    assert megabytes() - before < MORE_MEGABYTES
    assert tally.unsolved.sum() <= MOST_UNSOLVED


@pytest.mark.long
def test_a_million_hard_scenarios_of_nine_layouts() -> None:
    """Both duties, twin pumps, standby sources, boots and door seal, filters of their own: every layout described."""
    wrong, unsolved, looked_at = 0, {}, 0
    for number, name in enumerate(sorted(layouts())):
        packed = pack(make(name))
        judge = Judge(packed)
        tally = run(hard_study(packed, EACH, 30_000 + number), look=judge)
        wrong, looked_at = wrong + judge.wrong, looked_at + judge.looked_at
        unsolved[name] = int(tally.unsolved.sum())
        assert tally.scenarios.sum() == EACH
    assert wrong == 0
    assert sum(unsolved.values()) <= MOST_UNSOLVED, unsolved
    assert len(unsolved) * EACH >= COUNT and looked_at + sum(unsolved.values()) == len(unsolved) * EACH
