"""What a pump works against, what raises it, and the budget of its air."""

from __future__ import annotations

import pytest

from vanewise.aircraft.layouts import layouts, make
from vanewise.errors import InputError
from vanewise.network import OperatingPoint, pack, sweep
from vanewise.network.load import flow_budget, pump_load

POINT = OperatingPoint(engine_rpm=2400.0, altitude_m=1500.0)


@pytest.mark.parametrize("name", layouts())
def test_the_shares_add_up_to_what_the_pumps_take_in(name: str):
    """Conservation of mass, with wear and two leaks; to a thousandth of the intake."""
    description = make(name)
    pump = description.parts_of("pump")[0].id
    states = {f"{pump}.slip": 2.0, "manifold.leak": 1.0, "attitude.case_leak": 0.5}
    budget = flow_budget(description, POINT, states)
    assert abs(budget.unaccounted_cfm) < 1e-3 * budget.intake_cfm
    uses = {(share.part, share.use) for share in budget.shares}
    assert {("attitude", "instrument"), ("attitude", "leak"), ("manifold", "leak"), (pump, "slip")} <= uses
    [at] = sweep(pack(description), [POINT.engine_rpm], POINT.altitude_m, states=states).points
    flows = {part.id: part.flow_cfm for part in at.parts}
    for share in budget.shares:
        if share.use in ("instrument", "regulator"):
            assert share.cfm == pytest.approx(abs(flows[share.part]), abs=1e-6)
    through = sum(abs(flows[part.id]) for part in description.parts_of("pump"))
    assert budget.through_pumps_cfm == pytest.approx(through, abs=1e-3)


def test_a_closed_hose_at_the_pump_doubles_the_load_while_the_gauge_keeps_still():
    """Common practice, no source: a blocked outlet loads the pump and the panel gauge does not show it."""
    description = make("suction-one-pump")
    load = pump_load(description, [2400.0], [0.0], at_rpm=2400.0, at_altitude_m=0.0)
    raised = {(one.part, one.state): one for one in load.raisers}
    outlet = raised["pump", "outlet_blocked"]
    assert outlet.load_inhg[1] > 1.7 * outlet.load_inhg[0]
    assert outlet.gauge_inhg[1] == pytest.approx(outlet.gauge_inhg[0], abs=0.1)
    worn = raised["pump", "slip"]
    assert worn.load_inhg[1] < worn.load_inhg[0]
    rises = [one.load_inhg[1] - one.load_inhg[0] for one in load.raisers]
    assert rises == sorted(rises, reverse=True)


def test_higher_up_the_load_falls_and_the_ratio_rises():
    load = pump_load(make("suction-one-pump"), [2400.0], [0.0, 5500.0], at_rpm=2400.0, at_altitude_m=0.0)
    low, high = load.points
    assert high.load_inhg["pump"] < low.load_inhg["pump"]
    assert high.pressure_ratio["pump"] > low.pressure_ratio["pump"] + 0.15


def test_an_unknown_state_is_refused():
    with pytest.raises(InputError):
        flow_budget(make("suction-one-pump"), POINT, {"pump.slipp": 2.0})
