"""What a study costs by its size, by the engine that solves it, and against a library of pipe networks."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import numpy as np

from benches.harness import Comparison, NotRunHere, bench
from benches.network_cases import nineteen_junctions, plausible
from benches.pipe_network import RPM, pipe_network, without_acceleration
from vanewise.network import OperatingPoint, cases, pack, solve_batch
from vanewise.study import Draw, Prepared, Study, Tally, Varied, added_up, prepare, work_out

ROOT = Path(__file__).resolve().parents[1]
SEED = 11
SMALL, LARGE = 1_000, 1_000_000
ENGINE_SCENARIOS = 10_000
AGREEMENT = 1e-3


def _prepared(draws: int) -> Prepared:
    """Two pumps that wear, at all speeds and heights: ``draws`` systems, each at one point."""
    varied = (
        Varied(key="left_pump.slip", draw=Draw(kind="log uniform", low=1.0, high=8.0)),
        Varied(key="right_pump.slip", draw=Draw(kind="log uniform", low=1.0, high=8.0)),
        Varied(key="rpm", draw=Draw(kind="uniform", low=700.0, high=2600.0)),
        Varied(key="altitude", draw=Draw(kind="uniform", low=0.0, high=5000.0)),
    )
    return prepare(Study(title="bench", description=nineteen_junctions(), seed=SEED, draws=draws, varied=varied))


def _worked_out(ready: Prepared) -> Tally:
    return added_up(ready.study, (work_out(ready, number, threads=1) for number in range(ready.study.chunks)))


@bench("study, a million scenarios against a thousand, one thread", unit="us per scenario")
def size() -> Comparison:
    small, large = _prepared(SMALL), _prepared(LARGE)
    return Comparison(
        ours=lambda: _worked_out(large),
        ours_per_call=LARGE,
        reference=lambda: _worked_out(small),
        reference_per_call=SMALL,
        reference_name="the same study with a thousand scenarios",
        at_least=0.8,
        most_exponent=1.05,
    )


@bench("19-junction network, compiled kernel on one thread against the numpy engine", unit="us per scenario")
def engines() -> Comparison:
    packed = pack(nineteen_junctions())
    batch = plausible(packed, ENGINE_SCENARIOS, SEED)
    few = batch.rows(slice(0, ENGINE_SCENARIOS // 10))
    one, other = solve_batch(packed, few, "kernel"), solve_batch(packed, few, "numpy")
    if not np.abs(one.pressure_pa - other.pressure_pa).max() < 0.1:
        raise ArithmeticError("the engines do not agree to 0.1 Pa")
    return Comparison(
        ours=lambda: solve_batch(packed, batch, "kernel", threads=1),
        ours_per_call=ENGINE_SCENARIOS,
        reference=lambda: solve_batch(packed, few, "numpy"),
        reference_per_call=few.count,
        reference_name="the numpy engine, the first of the same batch",
        at_least=10.0,
    )


class Library:
    """pandapipes in its own environment, solving a network that is built already; asked through a pipe."""

    def __init__(self) -> None:
        folder = ROOT / ".venv-oracles"
        python = folder / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")
        self.answers = ROOT / "build" / "oracles.json"
        if not python.exists() or not self.answers.exists():
            raise NotRunHere("pandapipes has an environment of its own; make it with: python3 dev.py oracles")
        self._process = subprocess.Popen(
            [str(python), "-m", "oracles.timed"], cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        self._answer()

    def _answer(self) -> None:
        assert self._process.stdout is not None
        if not self._process.stdout.readline():
            raise NotRunHere("pandapipes ended without an answer; try: python3 dev.py oracles --again")

    def solve(self, times: int) -> None:
        assert self._process.stdin is not None
        self._process.stdin.write(f"{times}\n")
        self._process.stdin.flush()
        self._answer()


@bench("network of twelve pipes, batch on one thread against pandapipes", unit="us per scenario")
def pipes() -> Comparison:
    """Agreement is looked at first: every drop and flow within 0.1 %, friction by Colebrook in both."""
    library = Library()
    case = json.loads(library.answers.read_text(encoding="utf-8"))["sets"]["pipe_network"]["cases"][0]
    inputs, answer = case["inputs"], case["answer"]
    packed = without_acceleration(pack(pipe_network(inputs, answer), calibrate=False))
    kelvin = inputs["temperature_k"]
    point = OperatingPoint(engine_rpm=RPM, temperature_k=kelvin, cabin_temperature_k=kelvin)
    batch = cases([point] * ENGINE_SCENARIOS)
    solved = solve_batch(packed, batch, "kernel", threads=1)
    for node, theirs in enumerate(answer["pressure_pa"][1:], start=1):
        port = next(port for port in packed.alias if port.startswith(f"node_{node}."))
        drop = batch.ambient_pa - solved.pressure_pa[:, packed.junction(port)]
        if not np.abs(drop / (inputs["ambient_pa"] - theirs) - 1.0).max() < AGREEMENT:
            raise ArithmeticError(f"node {node}: not within 0.1 % of pandapipes")
    return Comparison(
        ours=lambda: solve_batch(packed, batch, "kernel", threads=1),
        ours_per_call=ENGINE_SCENARIOS,
        reference=lambda: library.solve(10),
        reference_per_call=10,
        reference_name="pandapipes, one by one, the network built already",
        at_least=1000.0,
    )
