"""The case generator knows nothing of the diagnosis it measures, and gives the same cases from the same seed.

Two independent looks: at the text of its modules, and at what a process has loaded after it made cases and did checks.
"""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.generator.cases import Aircraft, Case, make
from tests.generator.faults import FAULTS
from tests.generator.workshop import perform
from tests.generator.world import Point, packed_for
from vanewise.aircraft.layouts import make as layout

ROOT = Path(__file__).resolve().parents[2]
ALLOWED = ("vanewise.aircraft", "vanewise.network", "vanewise.quantities")
FORBIDDEN = ("vanewise.network.compiled", "vanewise.network.lanes")

IN_A_PROCESS = """
import sys
from tests.generator.cases import Aircraft, make
from tests.generator.workshop import perform
from tests.generator.world import packed_for
from vanewise.aircraft.layouts import make as layout
aircraft = Aircraft("one", packed_for(layout("suction-one-pump")))
case = make(aircraft, 1, 3, "model true")
perform(case, "cover_test"), perform(case, "outlet_look")
print([name for name in sys.modules if name.startswith(("vanewise.diagnosis", "vanewise.network.compiled", "numba"))])
"""


def _imports(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom):
            found |= {f"{node.module}.{name.name}" for name in node.names}
    return {name for name in found if name.startswith("vanewise")}


@pytest.mark.parametrize("path", sorted((ROOT / "tests" / "generator").glob("*.py")), ids=lambda path: path.stem)
def test_generator_imports_only_description_and_network(path: Path) -> None:
    for name in _imports(path):
        assert name.startswith(ALLOWED) and not name.startswith(FORBIDDEN), name


def test_a_process_that_made_cases_has_loaded_no_diagnosis_and_no_kernel() -> None:
    done = subprocess.run(
        [sys.executable, "-c", IN_A_PROCESS],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env={"PYTHONPATH": f"{ROOT / 'src'}:{ROOT}", "PATH": ""},
        check=True,
    )
    assert done.stdout.strip() == "[]"


@pytest.fixture(scope="module")
def aircraft() -> Aircraft:
    return Aircraft("one", packed_for(layout("suction-one-pump")))


def _of(aircraft: Aircraft, fault: str, first: int = 0) -> Case:
    """The first case after ``first`` with that fault."""
    for number in range(first, first + 400):
        case = make(aircraft, 2, number, "model true")
        if case.truth.fault == fault:
            return case
    raise AssertionError(f"no case of {fault}")


def test_same_seed_gives_the_same_case_whatever_came_before(aircraft: Aircraft) -> None:
    first = make(aircraft, 5, 7, "model true")
    perform(first, "outlet_look")
    again = make(aircraft, 5, 7, "model true")
    assert json.loads(again.text()) == json.loads(first.text()) and again.truth == first.truth
    assert make(aircraft, 6, 7, "model true").text() != first.text()


def test_a_check_done_twice_finds_the_same(aircraft: Aircraft) -> None:
    case = make(aircraft, 5, 8, "model true")
    assert perform(case, "hose_squeeze") == perform(case, "hose_squeeze")


def test_at_least_three_faults_that_no_mode_describes(aircraft: Aircraft) -> None:
    outside = [fault for fault in FAULTS if not fault.inside]
    assert len(outside) >= 3
    assert {make(aircraft, 5, n, "fault outside").truth.inside for n in range(4)} == {False}


def test_covering_the_intake_raises_the_reading_only_where_the_seat_leaks(aircraft: Aircraft) -> None:
    rises = {}
    for fault in ("regulator seat held open", "pump worn"):
        _, entry = perform(_of(aircraft, fault), "cover_test")[0]
        rises[fault] = float(entry["covered"].split()[0]) - float(entry["before"].split()[0])
    assert rises["regulator seat held open"] > 0.3
    assert abs(rises["pump worn"]) <= 0.3


def test_a_fault_outside_moves_with_speed_as_no_fixed_state_does(aircraft: Aircraft) -> None:
    case = next(c for n in range(20) if (c := make(aircraft, 5, n, "fault outside")).truth.fault == "tachometer wrong")
    assert case.at(Point(2000.0))["@rpm"] < 2000.0 * 0.87
