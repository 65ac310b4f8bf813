"""From a description to junctions and branches: names, cavities, states, and systems put together wrongly."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest

from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.kinds import KINDS
from vanewise.aircraft.layouts import layouts, make
from vanewise.errors import InputError
from vanewise.network import BatchCases, OperatingPoint, cases, mass_imbalance, observe, pack, solve_batch
from vanewise.network.elements import Law
from vanewise.network.elimination import minimum_degree_order
from vanewise.network.packed import overrides
from vanewise.quantities import PA_PER_INHG

NAMES = sorted(layouts())


def rewired(description: AircraftDescription, changes: dict[str, dict[str, str]]) -> AircraftDescription:
    lines = tuple(
        msgspec.structs.replace(line, **changes[line.id]) if line.id in changes else line for line in description.lines
    )
    return msgspec.structs.replace(description, lines=lines)


def gauge(description: AircraftDescription, rpm: float = 2400.0, **states: float) -> float:
    packed = pack(description)
    batch = cases([OperatingPoint(engine_rpm=rpm)], states)
    solution = solve_batch(packed, batch, "numpy")
    assert solution.status[0] != 3
    return float(observe(packed, batch, solution).gauge_pa[0]) / PA_PER_INHG


def test_ports_of_one_cavity_are_one_junction():
    packed = pack(make("suction-one-pump"))
    assert packed.junction("manifold.attitude") == packed.junction("manifold.heading")
    assert packed.junction("regulator.gyro_side") == packed.junction("regulator.pump_side")
    assert packed.junction("filter.air") == packed.junction("cabin")
    assert packed.junction("attitude.inlet") != packed.junction("attitude.outlet")


def test_fixed_junctions_come_last_and_branches_are_sorted_by_law():
    packed = pack(make("suction-twin-pumps"))
    assert packed.junction_names[packed.free :] == ("cabin", "engine bay")
    assert (np.diff(packed.law) >= 0).all()
    assert set(packed.law.tolist()) == {int(law) for law in Law}


@pytest.mark.parametrize(("asked", "meant"), [("atitude.inlet", "attitude.inlet"), ("pump.intake", "pump.inlet")])
def test_an_unknown_port_is_refused_with_a_suggestion(asked: str, meant: str):
    packed = pack(make("suction-one-pump"))
    with pytest.raises(InputError) as refused:
        packed.junction(asked)
    assert meant in refused.value.problems[0].next_step


def test_an_unknown_state_is_refused_with_a_suggestion():
    packed = pack(make("suction-one-pump"))
    with pytest.raises(InputError) as refused:
        solve_batch(packed, cases([OperatingPoint(engine_rpm=1000.0)], {"pump.slipp": 2.0}), "numpy")
    [problem] = refused.value.problems
    assert "pump.slip" in problem.next_step and "pump.slipp" in problem.where


def test_a_column_of_built_values_changes_nothing():
    """Every key given as a column, at the value it has anyway, leaves every pressure as it was."""
    packed = pack(make("suction-twin-pumps"))
    plain = cases([OperatingPoint(engine_rpm=1500.0)])
    full = cases([OperatingPoint(engine_rpm=1500.0)], {key: packed.neutral(key) for key in packed.override_keys})
    one, other = (solve_batch(packed, batch, "numpy") for batch in (plain, full))
    assert np.abs(one.pressure_pa - other.pressure_pa).max() < 1e-3


def test_keys_of_one_line_act_together():
    """Length and bore in one batch give the same geometry as one after the other for good."""
    packed = pack(make("suction-one-pump"))
    columns = ("firewall_hose.length", "firewall_hose.bore")
    branch, place, values = overrides(packed, columns, np.array([[2.0, 0.012]]))
    row = packed.branch("firewall_hose")
    changed = packed.with_values(dict(zip(columns, (2.0, 0.012), strict=True)))
    for b, q, value in zip(branch, place, values[0], strict=True):
        if b == row:
            assert value == pytest.approx(changed.geometry[row, q], rel=1e-12)
    assert set(branch.tolist()) >= {row}


@pytest.mark.parametrize("name", NAMES)
def test_every_state_at_both_its_bounds_has_an_answer(name: str):
    """One at a time, from idle to cruise: none of them may leave the network without a solution."""
    packed = pack(make(name))
    keys, rows = [], []
    for owner, entry in packed.owners.items():
        for state in KINDS[entry.kind].states:
            for bound in (state.low, state.high):
                keys.append(f"{owner}.{state.name}")
                rows.append(bound)
    columns = tuple(dict.fromkeys(keys))
    values = np.tile([packed.neutral(key) for key in columns], (len(keys), 1))
    for row, (key, bound) in enumerate(zip(keys, rows, strict=True)):
        values[row, columns.index(key)] = bound
    for rpm in (700.0, 2400.0):
        n = len(keys)
        batch = BatchCases(columns, values, np.full(n, rpm), np.full(n, 98000.0), np.full(n, 285.0))
        solution = solve_batch(packed, batch, "numpy")
        unsolved = [(key, bound) for key, bound, s in zip(keys, rows, solution.status, strict=True) if s == 3]
        assert unsolved == []
        assert np.abs(mass_imbalance(packed, batch, solution.pressure_pa, solution.delivery_k)).max() < 1e-7


def test_a_stopped_pump_reads_nothing():
    assert gauge(make("suction-one-pump"), **{"pump.stopped": 1.0}) == pytest.approx(0.0, abs=1e-6)


def test_one_of_two_pumps_stopped_still_feeds_the_gyros():
    """The check valve keeps the stopped pump from being drawn through; stuck open it does not."""
    twin = make("suction-twin-pumps")
    sound, one = gauge(twin, 1000.0), gauge(twin, 1000.0, **{"left_pump.stopped": 1.0})
    leaking = gauge(twin, 1000.0, **{"left_pump.stopped": 1.0, "left_check_valve.stuck_open": 1.0})
    assert leaking < one < sound
    assert one > 2.0


def test_swapped_hose_ends_are_an_ordinary_case():
    """Outlet hose of one gyro on the other's inlet tee and the reverse: solved, and unlike the sound system."""
    sound = make("suction-one-pump")
    miswired = rewired(
        sound,
        {
            "attitude_inlet_hose": {"start": "manifold.attitude"},
            "attitude_outlet_hose": {"end": "filter_tee.attitude"},
        },
    )
    assert gauge(miswired) < 0.0 < gauge(sound)


def test_a_reversed_check_valve_stops_its_pump():
    twin = make("suction-twin-pumps")
    reversed_left = rewired(
        twin,
        {
            "left_manifold_hose": {"end": "left_check_valve.outlet"},
            "left_pump_hose": {"start": "left_check_valve.inlet"},
        },
    )
    packed = pack(reversed_left)
    batch = cases([OperatingPoint(engine_rpm=1000.0)])
    solution = solve_batch(packed, batch, "numpy")
    load = observe(packed, batch, solution).pump_load_pa
    # It pulls on nothing but its own slip.
    assert load["left_pump"][0] > 3.0 * load["right_pump"][0]


def test_a_hose_off_is_off_at_its_pump_side_end():
    """Off the pump: the gyros are fed by nothing. Off at the manifold's far side: only that gyro loses its air."""
    sound = make("suction-one-pump")
    assert gauge(sound, **{"firewall_hose.off": 1.0}) < 0.05
    packed = pack(sound)
    batch = cases([OperatingPoint(engine_rpm=2400.0)], {"heading_outlet_hose.off": 1.0})
    drops = observe(packed, batch, solve_batch(packed, batch, "numpy")).drop_pa
    assert drops["heading"][0] < 0.01 * PA_PER_INHG
    assert drops["attitude"][0] > 0.3 * PA_PER_INHG


def test_a_tree_is_eliminated_without_fill_in():
    """On a tree the minimum degree order takes leaves first, so no new edge is ever made."""
    edges = [(0, 1), (1, 2), (2, 3), (2, 4), (4, 5)]
    order = minimum_degree_order(6, edges)
    left = {frozenset(edge) for edge in edges}
    for node in order:
        touching = [edge for edge in left if node in edge]
        assert len(touching) <= 1
        left -= set(touching)
