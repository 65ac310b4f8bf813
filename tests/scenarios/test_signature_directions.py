"""What the gauge can and cannot see: the trade's table of directions against the solved network.

The trade's table (its section on signatures) was made with a simple model, the gauge across a gyro; it gives
directions, no published sizes. It is transcribed here by hand as allowed signs, ``0`` being less than 0.1 inHg. Where
the physics of this project disagrees, physics wins: those rows are marked and explained in
``docs/explanation/signatures.md``, whose own tables are checked against the solver below.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from vanewise.aircraft import layouts
from vanewise.network.observe import observe
from vanewise.network.pack import pack
from vanewise.network.solve import cases, solve_batch
from vanewise.network.types import OperatingPoint
from vanewise.quantities import M_PER_FT, PA_PER_INHG

PAGE = Path(__file__).resolve().parents[2] / "docs" / "explanation" / "signatures.md"
LAYOUT = {"suction": "suction-one-pump", "pressure": "pressure-one-pump"}
POINTS = tuple(
    OperatingPoint(engine_rpm=rpm, altitude_m=feet * M_PER_FT)
    for rpm, feet in ((700.0, 0.0), (1800.0, 0.0), (2400.0, 0.0), (2400.0, 18_000.0))
)
SMALL, MEDIUM, LARGE = 0.1, 0.45, 1.5
_EDGE = 0.03
"""inHg: below the first is ``0``, then one, two and three signs."""

# fault -> (state, allowed signs at idle, run-up, cruise and altitude, of the pump's load in cruise)
SUCTION: dict[str, tuple[str, float, str, str, str, str, str]] = {
    "intake filter half blocked": ("filter.loading", 5.0, "0", "-", "-", "-", "0"),
    "intake filter nearly blocked": ("filter.loading", 30.0, "-", "-", "-", "-", "0+"),
    "worn pump": ("pump.slip", 2.0, "-", "0-", "0-", "0-", "0-"),
    "very worn pump": ("pump.slip", 6.0, "-", "-", "-", "-", "-"),
    "small leak at the manifold": ("manifold.leak", 1.5, "-", "0-", "0-", "0-", "0"),
    "big leak": ("manifold.leak", 60.0, "-", "-", "-", "-", "-"),  # physics: an open line unloads the pump
    "hose at the pump collapsed": ("firewall_hose.open_fraction", 0.12, "-", "0-", "-", "-", "+"),
    "gyro-to-regulator line collapsed": ("regulator_hose.open_fraction", 0.15, "-", "-", "-", "-", "0+"),
    "regulator set low": ("regulator.set_shift_inhg", -1.0, "0", "-", "-", "-", "-"),
    "regulator set high": ("regulator.set_shift_inhg", 1.0, "0", "+", "+", "+", "+"),
    "regulator stuck shut": ("regulator.stuck_shut", 1.0, "0", "+", "+", "+", "+"),
    "dirt on the regulator seat": ("regulator.held_open", 4.0, "-", "-", "-", "-", "-"),
    "regulator filter clogged": ("regulator.filter_loading", 100.0, "0", "+", "+", "+", "+"),
    "pump outlet blocked": ("pump.outlet_blocked", 0.9, "-", "0", "0-", "0", "+"),
    "attitude jets choked": ("attitude.jet_fraction", 0.3, "+", "+", "+", "+", "+"),  # physics: more suction, more load
    "one gyro case open": ("heading.case_leak", 60.0, "-", "-", "-", "-", "-"),  # physics: as a big leak
    "pump stopped": ("pump.stopped", 1.0, "-", "-", "-", "-", "-"),
    "intake filter missing": ("filter.missing", 1.0, "0", "0+", "0+", "0+", "0"),
}
PRESSURE: dict[str, tuple[str, float, str, str, str, str, str]] = {
    "inline filter half blocked": ("inline_filter.loading", 4.0, "0-", "-", "-", "-", "0"),
    "inline filter nearly blocked": ("inline_filter.loading", 30.0, "-", "-", "-", "-", "0+"),
    "worn pump": ("pump.slip", 2.0, "-", "0-", "0-", "0-", "0-"),
    "very worn pump": ("pump.slip", 6.0, "-", "-", "-", "-", "-"),
    "leak between regulator and gyros": ("manifold.leak", 4.0, "-", "-", "-", "-", "0-"),
    "hose pump to regulator kinked": ("pump_outlet_hose.open_fraction", 0.12, "-", "0-", "0-", "0-", "+"),
    "line regulator to gyros kinked": ("firewall_hose.open_fraction", 0.15, "-", "-", "-", "-", "0+"),
    "relief stuck shut": ("regulator.stuck_shut", 1.0, "0", "+", "+", "+", "+"),
    "dirt on the relief seat": ("regulator.held_open", 4.0, "-", "-", "-", "-", "-"),
    "pump inlet filter blocked": ("inlet_filter.loading", 30.0, "-", "-", "-", "-", "+"),
    "attitude jets choked": ("attitude.jet_fraction", 0.3, "+", "+", "+", "+", "0+"),
    "pump stopped": ("pump.stopped", 1.0, "-", "-", "-", "-", "-"),
    "inline filter missing": ("inline_filter.missing", 1.0, "0+", "+", "+", "+", "0"),
}
TABLES = {"suction": SUCTION, "pressure": PRESSURE}
ROWS = [(duty, fault) for duty, table in TABLES.items() for fault in table]


@cache
def observed(duty: str, state: str = "", value: float = 0.0) -> dict[str, np.ndarray]:
    """Both gauge connections and the pump's load at the four points [inHg]."""
    packed = pack(layouts.make(LAYOUT[duty]))
    batch = cases(POINTS, {state: value} if state else {})
    seen = observe(packed, batch, solve_batch(packed, batch, "numpy"))
    return {
        "across": seen.other["gauge_across_gyro"] / PA_PER_INHG,
        "line": seen.other["gauge_line_to_cabin"] / PA_PER_INHG,
        "load": seen.pump_load_pa["pump"] / PA_PER_INHG,
        "heading": seen.drop_pa["heading"] / PA_PER_INHG,
    }


def change(duty: str, fault: str, what: str) -> np.ndarray:
    state, value, *_ = TABLES[duty][fault]
    return observed(duty, state, value)[what] - observed(duty)[what]


def sign(x: float) -> str:
    return "0" if abs(x) < SMALL else "+" if x > 0 else "-"


def word(x: float) -> str:
    size = abs(x)
    count = 0 if size < SMALL else 1 if size < MEDIUM else 2 if size < LARGE else 3
    return "0" if not count else ("+" if x > 0 else "-") * count


@pytest.mark.parametrize(("duty", "fault"), ROWS)
def test_directions_across_a_gyro_and_of_the_pumps_load(duty: str, fault: str):
    *_, idle, run_up, cruise, high, load = TABLES[duty][fault]
    found = [sign(x) for x in change(duty, fault, "across")]
    for place, allowed in enumerate((idle, run_up, cruise, high)):
        assert found[place] in allowed, (fault, found)
    assert sign(change(duty, fault, "load")[2]) in load


def test_line_against_cabin_hides_a_loaded_filter_while_the_gyros_starve():
    line, heading = (change("suction", "intake filter nearly blocked", what) for what in ("line", "heading"))
    assert np.all(line >= 0.0)
    assert np.all(heading[1:] < -1.0)


def test_a_collapsed_line_is_large_across_the_gyro_and_nothing_at_the_regulator():
    fault = "gyro-to-regulator line collapsed"
    assert np.all(change("suction", fault, "across")[1:] < -LARGE)
    assert np.all(np.abs(change("suction", fault, "line")[1:3]) < 0.2)


def test_a_collapsed_hose_at_the_pump_loads_it_many_times_more_than_the_gauge_shows():
    fault = "hose at the pump collapsed"
    assert change("suction", fault, "load")[2] > 5.0
    assert abs(change("suction", fault, "across")[2]) < 0.6


def test_seat_pump_and_leak_give_the_same_sweep():
    """Three faults sized to read alike at 1000 rpm stay within 0.2 inHg of each other from idle to cruise."""
    packed = pack(layouts.make("suction-one-pump"))
    rpms = (700.0, 1000.0, 1200.0, 1500.0, 1800.0, 2100.0, 2400.0)
    sweeps = []
    for states in ({"pump.slip": 3.0}, {"manifold.leak": 2.75}, {"regulator.held_open": 2.6}):
        batch = cases([OperatingPoint(engine_rpm=rpm) for rpm in rpms], states)
        sweeps.append(observe(packed, batch, solve_batch(packed, batch, "numpy")).gauge_pa / PA_PER_INHG)
    spread = np.max(sweeps, axis=0) - np.min(sweeps, axis=0)
    assert spread[1] < 0.1
    assert spread.max() < 0.2


def page_rows() -> dict[tuple[str, str], list[str]]:
    """Rows of the page's two tables: (duty, fault) -> its nine words."""
    found: dict[tuple[str, str], list[str]] = {}
    duty = ""
    for line in PAGE.read_text(encoding="utf-8").splitlines():
        if line.startswith("## "):
            duty = "suction" if "uction" in line else "pressure" if "ressure" in line else ""
        cells = [cell.strip().strip("`") for cell in line.strip("|").split("|")]
        if duty and len(cells) == 10 and cells[0] != "---" and re.fullmatch(r"0|\++|-+", cells[1]):
            found[duty, cells[0]] = cells[1:]
    return found


def test_the_page_says_what_is_solved():
    rows = page_rows()
    assert set(rows) == set(ROWS)
    for (duty, fault), cells in rows.items():
        changes = [*change(duty, fault, "across"), *change(duty, fault, "line"), change(duty, fault, "load")[2]]
        for told, x in zip(cells, changes, strict=True):
            near = {word(x - _EDGE), word(x), word(x + _EDGE)}
            assert told in near, (fault, told, float(x))
