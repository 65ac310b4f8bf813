"""What makes a regulator that senses elsewhere have one answer: every pressure moves one way with its opening."""

from __future__ import annotations

from functools import cache

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vanewise.aircraft.layouts import make
from vanewise.network import OperatingPoint, PackedNetwork, cases, oracle, pack, solve_batch
from vanewise.network.delivery import judged
from vanewise.network.problem import prepare_batch
from vanewise.network.sensed import difference, spring, with_lift

SENSED = (("pressure-one-pump", "inline_filter.clean"), ("suction-one-pump", "manifold.attitude"))
ROUNDING_PA = 0.05
"""Two solutions are each within 0.02 Pa."""
points = st.builds(OperatingPoint, engine_rpm=st.floats(500.0, 2800.0), altitude_m=st.floats(0.0, 5000.0))
states = st.fixed_dictionaries(
    {
        "pump.slip": st.floats(0.3, 20.0),
        "manifold.leak": st.floats(0.0, 100.0),
        "regulator.held_open": st.floats(0.0, 50.0),
        "regulator.filter_loading": st.floats(1.0, 1e4),
        "regulator.droop": st.floats(30.0, 2e4),
    }
)


@cache
def packed_as(name: str, senses: str) -> PackedNetwork:
    built = make(name)
    parts = tuple(
        msgspec.structs.replace(part, senses=senses) if part.kind == "regulator" else part for part in built.parts
    )
    return pack(msgspec.structs.replace(built, parts=parts))


@pytest.mark.parametrize(("name", "senses"), SENSED)
@settings(max_examples=25)
@given(point=points, state=states, lifts=st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)))
def test_every_pressure_moves_one_way_with_the_opening(
    name: str, senses: str, point: OperatingPoint, state: dict[str, float], lifts: tuple[float, float]
):
    """In suction duty all but its chamber rise; in pressure duty all but it fall. So what opens it falls."""
    packed = packed_as(name, senses)
    batch = with_lift(packed, cases([point] * 2, state), np.sort(lifts))
    less, more = oracle.solve(prepare_batch(packed, batch, judged(packed, batch)))[0]
    way = 1.0 if packed.description.duty == "suction" else -1.0
    moved = way * (more - less)
    chamber = packed.branch_a if packed.description.duty == "suction" else packed.branch_b
    at = int(chamber[packed.branch("regulator")])
    others = np.arange(packed.free) != at
    assert (moved[: packed.free][others] >= -ROUNDING_PA).all()
    assert moved[at] <= ROUNDING_PA
    pull = difference(packed, np.stack([less, more]))
    assert pull[1] <= pull[0] + 2 * ROUNDING_PA


@pytest.mark.parametrize(("name", "senses"), SENSED)
@settings(max_examples=15)
@given(point=points, state=states, aside=st.floats(1e-3, 0.5))
def test_no_other_opening_agrees_with_the_spring(
    name: str, senses: str, point: OperatingPoint, state: dict[str, float], aside: float
):
    """Less open than found, more pulls than the spring asks for; more open, less does."""
    packed = packed_as(name, senses)
    batch = cases([point], state)
    solution = solve_batch(packed, batch, "numpy")
    assert solution.status[0] != 3 and solution.lift is not None
    start, band = spring(packed, batch)
    for lift in (solution.lift - aside, solution.lift + aside):
        if 0.0 <= lift[0] <= 1.0:
            pressure = oracle.solve(prepare_batch(packed, with_lift(packed, batch, lift), solution.delivery_k))[0]
            off = difference(packed, pressure) - start - band * lift
            assert off * (solution.lift - lift) >= -0.1 * np.abs(solution.lift - lift)
