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

from tests.generator import cases
from tests.generator.cases import Aircraft, Case, make
from tests.generator.faults import FAULTS
from tests.generator.workshop import known, perform
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


NAMED_LATER = {
    "nothing wrong": ("nothing", "nothing wrong"),
    "instrument not level in its panel": ("mounting", "one instrument"),
    "plug left in an instrument's port": ("line", "one instrument"),
    "an instrument's hoses exchanged": ("misrouting", "one instrument"),
    "pump of the wrong hand, weak or dead from the first start": ("pump", None),
}
"""Fault -> its group, and the level each of its cases has."""


def _only(monkeypatch: pytest.MonkeyPatch, aircraft: Aircraft, fault: str, count: int) -> list[Case]:
    """Cases of a study in which nothing else goes wrong."""
    monkeypatch.setattr(cases, "FAULTS", tuple(one for one in FAULTS if one.name == fault))
    return [make(aircraft, 8, number, "model true") for number in range(count)]


def _outcomes(made: list[Case], check: str, place: str = "") -> list[str]:
    return [str(perform(case, check, place or case.truth.part)[0][1]["outcome"]) for case in made]


def _mostly(outcomes: list[str], wanted: str) -> bool:
    return outcomes.count(wanted) >= 0.7 * len(outcomes)


@pytest.mark.parametrize("fault", NAMED_LATER)
def test_each_of_the_faults_draws_and_is_reported_for_something(
    fault: str, aircraft: Aircraft, monkeypatch: pytest.MonkeyPatch
) -> None:
    group, level = NAMED_LATER[fault]
    for case in _only(monkeypatch, aircraft, fault, 4):
        assert case.truth.fault == fault and case.truth.group == group and case.truth.inside
        assert level is None or case.truth.level == level
        assert case.evidence.get("remarks") or case.evidence["sweeps"][-1]["reading"]


def test_nothing_wrong_has_sound_pressures_everywhere(aircraft: Aircraft, monkeypatch: pytest.MonkeyPatch) -> None:
    points = [Point(rpm, step=step) for rpm, step in ((700.0, 0.0), (1800.0, 0.5), (2400.0, 1.0))]
    for case in _only(monkeypatch, aircraft, "nothing wrong", 6):
        sound = case.world.solved([(point, {}) for point in points])
        found = case.world.solved([(point, case.at(point)) for point in points])
        assert {name: values.tolist() for name, values in found.items()} == {
            name: values.tolist() for name, values in sound.items()
        }
        assert cases.now_gauge(case) == case.world.gauge
        assert min(found[f"drop {gyro}"][2] for gyro in ("attitude", "heading")) > 4.0


def test_nothing_wrong_comes_out_of_a_check_as_a_sound_aircraft(
    aircraft: Aircraft, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = _only(monkeypatch, aircraft, "nothing wrong", 20)
    assert _mostly(_outcomes(made, "mount_look", "attitude"), "level_and_tight")
    assert _mostly(_outcomes(made, "ports_look", "heading"), "open_and_right")
    assert _mostly(_outcomes(made, "indicator_bench", "attitude"), "sound")
    assert _mostly(_outcomes(made, "coast_down_listening", "heading"), "long_and_quiet")
    assert _mostly(_outcomes(made, "section_suction", "nowhere"), "tight")
    for where, reading in (perform(case, "gauge_at_run_up", "")[0] for case in made):
        assert (where, reading["rpm"]) == ("readings", "1800 rpm")
        assert 4.0 < float(str(reading["reading"]).removesuffix(" inHg")) < 6.0


def test_an_instrument_not_level_moves_no_air_and_is_seen_with_a_spirit_level(
    aircraft: Aircraft, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = _only(monkeypatch, aircraft, "instrument not level in its panel", 15)
    assert {case.truth.part for case in made} == {"attitude"} and not any(case.faulty for case in made)
    assert _mostly(_outcomes(made, "mount_look"), "askew_or_loose")
    assert _mostly(_outcomes(made, "mount_look", "heading"), "level_and_tight")
    assert _mostly(_outcomes(made, "ports_look"), "open_and_right")


def test_a_plug_starves_one_gyro_and_is_seen_at_its_ports(aircraft: Aircraft, monkeypatch: pytest.MonkeyPatch) -> None:
    made = _only(monkeypatch, aircraft, "plug left in an instrument's port", 15)
    point = Point(2400.0, step=1.0)
    for case in made[:5]:
        seen = case.world.solved([(point, case.at(point))])
        drops = {gyro: seen[f"drop {gyro}"][0] for gyro in ("attitude", "heading")}
        assert drops.pop(case.truth.part) < 0.3 and min(drops.values()) > 4.0
        # A test gauge teed into the hoses still reads the difference that the plug keeps from the jets.
        across = perform(case, "test_gauge_across_instrument", case.truth.part)[0][1]["value"]
        assert float(across.split()[0]) > 4.0
    assert _mostly(_outcomes(made, "ports_look"), "plugged")
    assert _mostly(_outcomes(made, "hose_map_trace"), "as_mapped")


def test_exchanged_hoses_leave_the_pressures_and_are_traced(
    aircraft: Aircraft, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = _only(monkeypatch, aircraft, "an instrument's hoses exchanged", 15)
    point = Point(2400.0, step=1.0)
    for case in made[:5]:
        now, was = case.world.solved([(point, case.at(point)), (point, {})])["gauge"]
        assert abs(now - was) < 0.25
    assert _mostly(_outcomes(made, "ports_look"), "exchanged")
    assert _mostly(_outcomes(made, "hose_map_trace"), "at_instrument")
    words = {entry["symptom"] for case in made for entry in case.evidence.get("remarks", [])}
    assert words & {"ai_tumbles", "hi_spins", "ai_slow_erect", "hi_sluggish"}


def test_a_pump_of_the_wrong_hand_is_weak_or_dead_with_its_coupling_whole(
    aircraft: Aircraft, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = _only(monkeypatch, aircraft, "pump of the wrong hand, weak or dead from the first start", 15)
    assert {case.truth.level for case in made} <= {"supply dead", "supply weak"}
    assert {"pump.stopped" in case.faulty for case in made} == {True, False}
    assert _mostly(_outcomes(made, "pump_marking_look"), "wrong_hand")
    assert _mostly(_outcomes(made, "coupling_look"), "turns")
    assert _mostly(_outcomes(made, "pump_teardown"), "ordinary")


def test_every_symptom_of_a_fault_can_be_shown_by_some_aircraft() -> None:
    about = {name for words in cases.noticing.ABOUT.values() for name in words}
    for fault in FAULTS:
        assert {word for word in fault.noticed if word.startswith("@")} <= about, fault.name
        plain = {word for word in fault.noticed if not word.startswith("@")}
        assert plain <= cases._WORDS, fault.name
    assert known("mount_look") and known("ports_look")
