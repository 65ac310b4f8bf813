"""Slopes of a reading, the margin map, and many scenarios in slices."""

from __future__ import annotations

import numpy as np
import pytest

from vanewise.aircraft.layouts import layouts, make
from vanewise.errors import InputError
from vanewise.network import (
    BatchCases,
    OperatingPoint,
    PackedNetwork,
    cases,
    delivery,
    gauge_ports,
    gauge_reading,
    margin_map,
    pack,
    sensitivities,
    smooth_keys,
    solve_batch,
    solve_in_slices,
    sweep,
)
from vanewise.network.margin import needs
from vanewise.quantities import M_PER_FT, PA_PER_INHG


def worn(packed: PackedNetwork) -> dict[str, float]:
    """A system in which nothing stands at a corner: small leaks everywhere, the regulator open."""
    states = {}
    for owner, entry in packed.owners.items():
        if entry.kind == "line":
            states[f"{owner}.leak"] = 0.2
            states[f"{owner}.open_fraction"] = 0.9
        elif entry.kind == "manifold":
            states[f"{owner}.leak"] = 0.3
        elif entry.kind == "regulator":
            states[f"{owner}.held_open"] = 0.5
        elif entry.kind == "pump":
            states[f"{owner}.outlet_blocked"] = 0.3
        elif "filter" in entry.kind:
            states[f"{owner}.bypass_mm2"] = 0.4
        elif "indicator" in entry.kind:
            states[f"{owner}.case_leak"] = 0.4
    return states


@pytest.mark.parametrize("name", sorted(layouts()))
def test_slopes_are_those_of_two_solves(name: str, monkeypatch: pytest.MonkeyPatch):
    """The adjoint against central differences of whole solutions, for every key of the network.

    Both at one delivery temperature, which is held by what is tested and settled to some tenths of a pascal otherwise.
    """
    packed = pack(make(name))
    states = worn(packed)
    point = OperatingPoint(engine_rpm=2300.0, altitude_m=1500.0)
    batch = cases([point], states)
    high, low = gauge_ports(packed.description)
    keys = smooth_keys(packed)
    solution = solve_batch(packed, batch, "numpy")
    [slopes] = sensitivities(packed, batch, solution, high, low, keys)
    for pass_around in ("judged", "delivered"):
        monkeypatch.setattr(delivery, pass_around, lambda _, batch, *__: np.full(batch.count, solution.delivery_k[0]))
    built = {key: states.get(key, packed.neutral(key)) for key in keys}
    steps = [1e-3 * abs(value) if value else 1e-3 for value in built.values()]
    moved = [
        {**built, key: built[key] + sign * step} for key, step in zip(keys, steps, strict=True) for sign in (1.0, -1.0)
    ]
    trials = cases([point] * len(moved), moved)
    either = gauge_reading(packed, solve_batch(packed, trials, "numpy").pressure_pa).reshape(-1, 2)
    expected = 0.5 * (either[:, 0] - either[:, 1])
    # What the reading moves in these two solves, to 2 % and the width of their enclosures.
    for key, slope, step, difference in zip(keys, slopes, steps, expected, strict=True):
        assert slope * step == pytest.approx(difference, rel=0.02, abs=0.02), key


def test_slopes_name_what_moves_the_reading():
    """Trade custom, no source: below the knee the pump decides, on the plateau the regulator does."""
    packed = pack(make("suction-one-pump"))
    batch = cases([OperatingPoint(engine_rpm=rpm) for rpm in (900.0, 2400.0)])
    solution = solve_batch(packed, batch, "numpy")
    keys = ("pump.displacement_factor", "regulator.set_shift_inhg", "manifold.leak")
    slopes = sensitivities(packed, batch, solution, *gauge_ports(packed.description), keys)
    pump, setting, leak = slopes.T
    assert pump[0] > 3.0 * pump[1] > 0.0
    assert setting[0] == pytest.approx(0.0, abs=1.0)
    assert 0.5 * PA_PER_INHG < setting[1] < PA_PER_INHG
    assert (leak < 0.0).all()


@pytest.mark.parametrize("key", ["pump.stopped", "pump.slipp"])
def test_what_has_no_slope_is_refused(key: str):
    packed = pack(make("suction-one-pump"))
    batch = cases([OperatingPoint(engine_rpm=900.0)])
    with pytest.raises(InputError):
        sensitivities(packed, batch, solve_batch(packed, batch, "numpy"), "cabin", "manifold.attitude", [key])


HEIGHTS_FT = (0.0, 9000.0, 18000.0)


def mapped(description, rpms, feet=HEIGHTS_FT, states=None, rows=0, **given):
    heights = [height * M_PER_FT for height in feet]
    return margin_map(description, rpms, heights, needs(description, given), states, seed=0, rows=rows, engine="numpy")


def test_the_margin_map_says_what_sweeps_say():
    description, rpms = make("suction-one-pump"), (1200.0, 2400.0)
    found = mapped(description, rpms)
    assert found.altitudes_ft == pytest.approx(HEIGHTS_FT)
    heading = next(one for one in found.gyros if one.gyro == "heading")
    assert heading.low_inhg == () and heading.wideners == ()
    for row, height in enumerate(HEIGHTS_FT):
        points = sweep(pack(description), rpms, height * M_PER_FT).points
        for column, point in enumerate(points):
            # The regulator is set to half a pascal of reading in both.
            assert heading.drop_inhg[row][column] == pytest.approx(point.drops_inhg["heading"], abs=1e-3)
            assert found.pump_load_inhg["pump"][row][column] == pytest.approx(point.pump_load_inhg["pump"], abs=1e-3)


def test_the_ceiling_is_where_the_drop_falls_short_and_lies_within_its_band():
    """A worn pump at 1800 rpm: at the ceiling found between two altitudes the drop is about what was asked for."""
    description = make("suction-one-pump")
    found = mapped(description, [700.0, 1800.0, 2700.0], range(0, 24001, 3000), {"pump.slip": 3.0}, rows=16)
    attitude = next(one for one in found.gyros if one.gyro == "attitude")
    too_slow, ceiling, enough = attitude.ceiling_ft
    assert too_slow is None
    assert ceiling is not None and 2000.0 < ceiling < 24000.0
    assert enough is not None and enough >= ceiling
    [at] = sweep(pack(description), [1800.0], ceiling * M_PER_FT, states={"pump.slip": 3.0}).points
    assert at.drops_inhg["attitude"] == pytest.approx(4.0, abs=0.05)
    assert (attitude.ceiling_low_ft[1] or 0.0) < ceiling < attitude.ceiling_high_ft[1]


def test_a_need_is_the_drop_its_air_use_is_stated_at_until_somebody_gives_it():
    """AC 43.13-2A, table 11.1: attitude and heading at 4.00 inHg, turn and bank at 2.00 inHg."""
    stated = needs(make("suction-own-filters"))
    assert {gyro: need.inhg for gyro, need in stated.items()} == pytest.approx(
        {gyro: 2.0 if gyro == "turn" else 4.0 for gyro in stated}
    )
    assert all(need.assumed and "AC 43.13-2A" in need.source for need in stated.values())
    given = needs(make("suction-one-pump"), {"attitude": 4.6})["attitude"]
    assert given.inhg == 4.6 and not given.assumed


def test_wear_lowers_every_ceiling():
    """Trade custom, no source: a worn pump's margin goes first at altitude and at low speed."""
    description, feet = make("suction-one-pump"), range(0, 24001, 3000)
    sound, worn_out = (mapped(description, [1600.0], feet, {"pump.slip": slip}).gyros for slip in (1.0, 4.0))
    for before, after in zip(sound, worn_out, strict=True):
        assert (after.ceiling_ft[0] or 0.0) < before.ceiling_ft[0]


def test_slices_give_what_one_batch_gives():
    packed = pack(make("suction-one-pump"))

    def make_cases(first: int, last: int) -> BatchCases:
        """Each scenario from its own number, whatever the slice."""
        slips = np.array([[1.0 + np.random.default_rng(number).random()] for number in range(first, last)])
        n = last - first
        return BatchCases(("pump.slip",), slips, np.full(n, 1500.0), np.full(n, 99000.0), np.full(n, 285.0))

    whole = solve_batch(packed, make_cases(0, 50), "numpy")
    slices = list(solve_in_slices(packed, make_cases, 50, size=16, engine="numpy"))
    assert [batch.count for batch, _ in slices] == [16, 16, 16, 2]
    assert np.array_equal(np.concatenate([part.pressure_pa for _, part in slices]), whole.pressure_pa)
