"""A regulator that senses elsewhere than at its own port: one answer with its proof, whoever asks.

The examples are ready-made systems with a sense line added: behind the inline filter in pressure duty, at an instrument
in suction duty.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import msgspec
import numpy as np
import pytest

from tests.contracts.answer_shapes import run
from tests.contracts.hard_scenarios import hard_batch
from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.layouts import make
from vanewise.aircraft.reading import read_description
from vanewise.aircraft.writing import write_description
from vanewise.errors import InputError
from vanewise.network import (
    OperatingPoint,
    PackedNetwork,
    Solved,
    branch_flows,
    calibrate_preload,
    cases,
    gauge_ports,
    gauge_reading,
    kernel_available,
    mass_imbalance,
    observe,
    pack,
    sensitivities,
    smooth_keys,
    solve,
    solve_batch,
)
from vanewise.network.sensed import difference, spring

SENSED = (("pressure-one-pump", "inline_filter.clean"), ("suction-one-pump", "attitude.outlet"))
needs_numba = pytest.mark.skipif(not kernel_available(), reason="numba is not installed")


def described(name: str, senses: str) -> AircraftDescription:
    built = make(name)
    parts = tuple(
        msgspec.structs.replace(part, senses=senses) if part.kind == "regulator" else part for part in built.parts
    )
    return msgspec.structs.replace(built, parts=parts)


@cache
def packed_as(name: str, senses: str) -> PackedNetwork:
    return pack(described(name, senses))


@needs_numba
@pytest.mark.parametrize(("name", "senses"), [*SENSED, ("suction-twin-pumps", "manifold.attitude")])
def test_hard_scenarios_have_one_answer_from_both_engines(name: str, senses: str) -> None:
    packed = packed_as(name, senses)
    batch = hard_batch(packed, 300, seed=21)
    kernel, numpy = (solve_batch(packed, batch, engine) for engine in ("kernel", "numpy"))
    both = (kernel.status != 3) & (numpy.status != 3)
    assert both.sum() >= 299
    gap = np.abs(kernel.pressure_pa - numpy.pressure_pa)[both].max(axis=1)
    assert gap.max() < 0.1
    same = (kernel.delivery_k == numpy.delivery_k)[both]
    assert (gap <= (kernel.radius_pa + numpy.radius_pa)[both] + 1e-6)[same].all()
    for solution in (kernel, numpy):
        own = np.abs(mass_imbalance(packed, batch, solution.pressure_pa, solution.delivery_k)).sum(axis=1)
        assert own[both].max() < 2e-5
        assert np.allclose(own[both], solution.mass_residual[both], rtol=0.0, atol=2e-9)
        assert solution.radius_pa[both].max() < 1.0


def test_neighbours_change_no_answer() -> None:
    packed = packed_as(*SENSED[0])
    batch = hard_batch(packed, 20, seed=22)
    whole, some = solve_batch(packed, batch, "numpy"), np.array([17, 3, 8])
    alone = solve_batch(packed, batch.rows(some), "numpy")
    assert np.array_equal(alone.pressure_pa, whole.pressure_pa[some], equal_nan=True)
    assert np.array_equal(alone.lift, whole.rows(some).lift, equal_nan=True)  # type: ignore[arg-type]


@pytest.mark.parametrize(("name", "senses"), SENSED)
def test_the_lift_is_what_the_spring_asks_for(name: str, senses: str) -> None:
    """The spring's own straight line at the pressures found, from its preload and droop alone."""
    packed = packed_as(name, senses)
    batch = cases([OperatingPoint(engine_rpm=rpm) for rpm in (700.0, 1300.0, 2000.0, 2700.0)])
    solution = solve_batch(packed, batch, "numpy")
    start, band = spring(packed, batch)
    values = packed.owners["regulator"].values
    assert np.allclose([start, band], [[values["preload"]], [values["droop"]]])
    assert solution.lift is not None
    assert solution.lift == pytest.approx(
        np.clip((difference(packed, solution.pressure_pa) - start) / band, 0.0, 1.0), abs=1e-5
    )
    assert solution.lift[0] == 0.0 < solution.lift[1]


def test_sensing_right_beside_its_own_port_is_sensing_at_it() -> None:
    """Two ways to the same system: the port's own law, and the search around the solver through a hose without drop."""
    built = make("pressure-one-pump")

    def wide(item):  # type: ignore[no-untyped-def]
        values = {
            **item.values,
            "length": msgspec.structs.replace(item.values["length"], number=0.02),
            "bore": msgspec.structs.replace(item.values["bore"], number=0.03),
            "elbows": msgspec.structs.replace(item.values["elbows"], number=0.0),
        }
        return msgspec.structs.replace(item, values=values)

    lines = tuple(wide(line) if line.id == "regulator_hose" else line for line in built.lines)
    own = msgspec.structs.replace(built, lines=lines)
    sensing = msgspec.structs.replace(described("pressure-one-pump", "inline_filter.dirty"), lines=lines)
    batch = cases([OperatingPoint(engine_rpm=rpm) for rpm in (800.0, 1500.0, 2500.0)])
    packed = [pack(system, calibrate=False) for system in (own, sensing)]
    one, other = (gauge_reading(system, solve_batch(system, batch, "numpy").pressure_pa) for system in packed)
    assert np.isfinite(one).all()
    assert one == pytest.approx(other, abs=3.0)


def test_behind_the_filter_a_loaded_filter_takes_nothing_from_the_gyros() -> None:
    """What such a sense line is for: with it the pump carries the filter, without it the gyros do."""
    point = OperatingPoint(engine_rpm=2400.0)
    lost = []
    for packed in (pack(make("pressure-one-pump")), packed_as(*SENSED[0])):
        batch = cases([point] * 2, [{"inline_filter.loading": 1.0}, {"inline_filter.loading": 6.0}])
        drops = observe(packed, batch, solve_batch(packed, batch, "numpy")).drop_pa
        lost.append(min(clean - loaded for clean, loaded in drops.values()))
    own, behind = lost
    assert own > 10.0 * behind > 0.0


@pytest.mark.parametrize(("name", "senses"), SENSED)
def test_a_set_spring_reads_its_setting(name: str, senses: str) -> None:
    packed = packed_as(name, senses)
    values = packed.owners["regulator"].values
    point = OperatingPoint(engine_rpm=values["set_at_rpm"], altitude_m=packed.description.field.elevation.number)
    [reading] = gauge_reading(packed, solve_batch(packed, cases([point]), "numpy").pressure_pa)
    assert reading == pytest.approx(values["setting"], abs=1.0)
    weaker = cases([point], {"pump.displacement_factor": 0.9})
    [preload] = calibrate_preload(packed, weaker, values["setting"], engine="numpy")
    again = cases([point], {"pump.displacement_factor": 0.9, "regulator.preload": float(preload)})
    [reading] = gauge_reading(packed, solve_batch(packed, again, "numpy").pressure_pa)
    assert reading == pytest.approx(values["setting"], abs=1.0)


def test_a_single_answer_adds_up() -> None:
    packed = packed_as(*SENSED[0])
    point = OperatingPoint(engine_rpm=2300.0)
    answer = solve(packed, point)
    assert isinstance(answer, Solved)
    # What comes out of the pump goes to the regulator's dump and to the gyros, but for what GMIN lets through.
    gyros = sum(answer.flow_kg_s[name] for name in ("attitude", "heading"))
    assert answer.flow_kg_s["pump.exit"] == pytest.approx(gyros + answer.flow_kg_s["regulator"], rel=1e-4)
    batch = cases([point])
    flows = branch_flows(packed, batch, solve_batch(packed, batch, "numpy"))
    assert flows[0, packed.branch("regulator")] == answer.flow_kg_s["regulator"] > 0.0


@pytest.mark.parametrize("rpm", [800.0, 2300.0])
def test_slopes_are_those_of_two_solves(rpm: float) -> None:
    """Shut (800 rpm) and working, against central differences of whole solutions."""
    packed = packed_as(*SENSED[0])
    point = OperatingPoint(engine_rpm=rpm, altitude_m=1500.0)
    states = {"pump.outlet_blocked": 0.3, "regulator.held_open": 0.5, "manifold.leak": 0.4}
    batch = cases([point], states)
    keys = [key for key in smooth_keys(packed) if key.split(".")[0] in ("pump", "regulator", "inline_filter")]
    keys = [key for key in [*keys, "manifold.leak"] if states.get(key, packed.neutral(key)) != 0.0]
    keys.append("regulator.set_shift_inhg")
    assert "regulator.lift" not in smooth_keys(packed)
    [slopes] = sensitivities(packed, batch, solve_batch(packed, batch, "numpy"), *gauge_ports(packed.description), keys)
    built = {**states, **{key: states.get(key, packed.neutral(key)) for key in keys}}
    steps = [2e-3 * abs(built[key]) or 1e-3 for key in keys]
    moved = [
        {**built, key: built[key] + sign * step} for key, step in zip(keys, steps, strict=True) for sign in (1.0, -1.0)
    ]
    trials = cases([point] * len(moved), moved)
    either = gauge_reading(packed, solve_batch(packed, trials, "numpy").pressure_pa).reshape(-1, 2)
    for key, slope, step, apart in zip(keys, slopes, steps, 0.5 * (either[:, 0] - either[:, 1]), strict=True):
        assert slope * step == pytest.approx(apart, rel=0.02, abs=0.04), key


def test_the_file_says_it_and_the_command_line_answers(tmp_path: Path) -> None:
    written = tmp_path / "sensed.toml"
    written.write_text(write_description(described(*SENSED[0])), encoding="utf-8")
    assert read_description(written.read_text(encoding="utf-8")).part("regulator").senses == SENSED[0][1]
    assert run("validate", str(written)).exit_code == 0
    done = run("sweep", str(written), "--json")
    assert done.exit_code == 0
    assert '"status": "converged"' in done.output


def test_two_sense_lines_are_refused_by_the_network_too() -> None:
    twin = make("pressure-twin-pumps")
    parts = tuple(
        msgspec.structs.replace(part, senses="manifold.attitude") if part.kind == "regulator" else part
        for part in twin.parts
    )
    with pytest.raises(InputError, match="at most one regulator"):
        pack(msgspec.structs.replace(twin, parts=parts))
    with pytest.raises(InputError, match="between the pump and the gyros"):
        pack(described("pressure-one-pump", "heading.outlet"))
