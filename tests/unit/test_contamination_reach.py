"""The back-fill through a stopped pump, by volume."""

from __future__ import annotations

import math

import pytest

from vanewise.contamination.reach import Branch, moved_on, refill_volume, sweep, swept_length, volume_behind
from vanewise.quantities import M_PER_IN, PA_PER_INHG

FIVE_EIGHTHS = 5 / 8 * M_PER_IN


def test_two_worked_stops_at_height():
    """1.8 L at 4.9 inHg refilled at 25.4 and at 24.4 inHg: 0.35 L and 1.75 m, then 1.83 m, worked by hand.

    By hand: 1.8 L x 4.9 / 25.4 = 0.3472 L; a 5/8 in bore holds pi/4 x 1.5875 cm squared = 1.9793 cm2, so 1.754 m.
    1.8 L x 4.9 / 24.4 = 0.3615 L, so 1.826 m.
    """
    first = refill_volume(1.8e-3, 4.9 * PA_PER_INHG, 25.4 * PA_PER_INHG)
    assert first == pytest.approx(0.3472e-3, abs=0.0001e-3)
    assert swept_length(first, FIVE_EIGHTHS) == pytest.approx(1.754, abs=0.001)
    second = refill_volume(1.8e-3, 4.9 * PA_PER_INHG, 24.4 * PA_PER_INHG)
    assert swept_length(second, FIVE_EIGHTHS) == pytest.approx(1.826, abs=0.001)


def test_refill_conserves_the_air():
    """Isothermal bookkeeping by the gas law: what was there, plus what came in, fills the volume at ambient."""
    volume, suction, ambient, gas_constant, temperature = 1.7e-3, 17000.0, 90000.0, 287.05, 290.0
    before = (ambient - suction) * volume / (gas_constant * temperature)
    after = ambient * volume / (gas_constant * temperature)
    came_in = refill_volume(volume, suction, ambient) * ambient / (gas_constant * temperature)
    assert before + came_in == pytest.approx(after, rel=1e-12)


@pytest.mark.parametrize("suction", [-1.0, 101325.0, 2e5])
def test_impossible_suction_is_refused(suction):
    with pytest.raises(ValueError, match="suction"):
        refill_volume(1e-3, suction, 101325.0)


TREE = {
    "pump": Branch("pump", 0.0, ("hose",)),
    "hose": Branch("hose", 1.0, ("left", "right", "dead end")),
    "left": Branch("left", 2.0, ()),
    "right": Branch("right", 1.0, ()),
    "dead end": Branch("dead end", 1.0, ()),
}
ORDER = ("pump", "hose", "left", "right", "dead end")


def test_volume_behind_counts_everything_beyond():
    assert volume_behind(TREE, ORDER) == {"pump": 5.0, "hose": 5.0, "left": 2.0, "right": 1.0, "dead end": 1.0}


def test_air_fills_the_trunk_first_and_then_divides_by_the_volume_behind():
    arriving = sweep(TREE, ORDER, 3.0)
    assert arriving["hose"] == 3.0
    assert arriving["left"] == pytest.approx(1.0)
    assert arriving["right"] == pytest.approx(0.5)
    assert arriving["dead end"] == pytest.approx(0.5)


def test_air_that_stays_in_the_trunk_reaches_no_branch():
    assert set(sweep(TREE, ORDER, 0.9)) == {"pump", "hose"}


def test_undivided_air_is_taken_whole_into_each_branch():
    arriving = sweep(TREE, ORDER, 3.0, divide=False)
    assert arriving["left"] == arriving["right"] == arriving["dead end"] == 2.0


def test_whole_refill_leaves_every_dead_end_filled_by_its_own_share():
    """A dead end of volume v behind a full trunk takes v d/Pa: the trunk's own air is in it too, so less is new."""
    ratio = 0.2
    arriving = sweep(TREE, ORDER, ratio * 5.0)
    assert math.isclose(sum(arriving[name] for name in ("left", "right", "dead end") if name in arriving), 0.0)
    ratio = 0.5
    arriving = sweep(TREE, ORDER, ratio * 5.0)
    assert arriving["dead end"] == pytest.approx((2.5 - 1.0) / 4.0)
    assert arriving["dead end"] < ratio * TREE["dead end"].volume_m3


def test_air_that_comes_after_moves_the_plug_on_from_where_it_lay():
    """The plug of 1.5 ends 0.5 short of the trunk's end at 2.0; another 1.0 pushes it 0.5 into each branch.

    By hand: trunk 2.0, plug 1.5; 1.5 + 1.0 - 2.0 = 0.5. The new air alone (1.0) would not leave the trunk.
    """
    tree = {"pump": Branch("pump", 0.0, ("hose",)), "hose": Branch("hose", 2.0, ("a", "b"))}
    tree |= {name: Branch(name, 1.0, ()) for name in ("a", "b")}
    order = ("pump", "hose", "a", "b")
    lying = sweep(tree, order, 1.5)
    assert set(moved_on(tree, order, {}, 1.0)) == {"pump", "hose"}
    both = moved_on(tree, order, lying, 1.0)
    assert both["a"] == both["b"] == pytest.approx(0.5)
    assert both["hose"] == pytest.approx(2.5)


def test_without_anything_lying_it_is_the_undivided_sweep():
    assert moved_on(TREE, ORDER, {}, 3.0) == sweep(TREE, ORDER, 3.0, divide=False)
    assert moved_on(TREE, ORDER, {"hose": 1.0}, 0.0) == {}


def test_in_a_branch_the_plug_goes_on_from_its_own_place():
    """3.0 in: hose 3.0, then 1.0 of the left way's 2.0; 1.5 more ends 0.5 beyond it, were there anything."""
    tree = TREE | {"left": Branch("left", 2.0, ("beyond",)), "beyond": Branch("beyond", 1.0, ())}
    order = (*ORDER, "beyond")
    lying = {"pump": 3.0, "hose": 3.0, "left": 1.0}
    assert moved_on(tree, order, lying, 1.5)["beyond"] == pytest.approx(1.0 + 1.5 - 2.0)
