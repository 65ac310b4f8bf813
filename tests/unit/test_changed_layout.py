"""An instrument comes off the air: what goes with it, what is capped, what hangs on it, how the rest reads."""

from __future__ import annotations

import msgspec
import pytest

from vanewise.aircraft.compose import Choices, compose
from vanewise.aircraft.layouts import layouts, make
from vanewise.errors import InputError
from vanewise.network import pack
from vanewise.network.changed import added_standby, changed_layout, without_instrument
from vanewise.network.standby import STANDBY_KINDS, with_standby

RPMS = (1000.0, 2300.0)


@pytest.fixture(scope="module")
def electronic():
    return changed_layout(make("suction-one-pump"), "attitude", RPMS, 0.0)


def test_its_hoses_go_and_both_tees_are_capped(electronic):
    assert electronic.removed == ("attitude", "attitude_inlet_hose", "attitude_outlet_hose")
    assert electronic.to_cap == ("filter_tee.attitude", "manifold.attitude")
    assert sum("a cap on" in line for line in electronic.to_approve) == 2


def test_gauge_lamp_and_autopilot_are_named(electronic):
    words = " ".join(electronic.hangs_on_it)
    assert "panel gauge" in words and "warning lamp" in words and "heading indicator, port inlet" in words
    fitted = msgspec.structs.replace(make("suction-one-pump"), autopilot_takes_attitude="yes")
    assert any("autopilot" in line for line in without_instrument(fitted, "attitude")[3])


def test_less_air_is_asked_for_and_the_rest_gets_more_at_low_speed(electronic):
    """With one jet fewer the same pump pulls harder, until the regulator holds it."""
    for before, after in zip(electronic.before, electronic.spring_as_it_is, strict=True):
        assert after.demand_cfm < before.demand_cfm
        assert after.drops_inhg.keys() == {"heading"}
    low_before, low_after = electronic.before[0], electronic.spring_as_it_is[0]
    assert low_after.drops_inhg["heading"] > low_before.drops_inhg["heading"] + 0.3


def test_the_spring_set_again_reads_its_setting_and_the_change_says_how_far_off_it_was(electronic):
    setting = 5.0
    assert electronic.spring_set_again[1].gauge_inhg == pytest.approx(setting, abs=0.3)
    as_it_is, again = electronic.spring_as_it_is[1].gauge_inhg, electronic.spring_set_again[1].gauge_inhg
    assert (again - as_it_is) * electronic.spring_change_inhg["regulator"] > 0.0


def test_an_own_filter_and_a_restrictor_go_with_their_instrument():
    description = compose(Choices(duty="suction", filters="each", gyros=("attitude", "heading", "turn")), "own")
    after, removed, to_cap, _ = without_instrument(description, "turn")
    assert {"turn", "turn_filter", "turn_restrictor"} <= set(removed)
    assert to_cap == ("manifold.turn",)
    assert after.turn_instrument == "electric"


@pytest.mark.parametrize("name", layouts())
def test_every_layout_can_lose_its_heading_indicator(name: str):
    after, removed, _, _ = without_instrument(make(name), "heading")
    assert "heading" in removed
    assert not {part.id for part in after.parts} & set(removed)


def test_an_unknown_and_the_last_instrument_are_refused():
    with pytest.raises(InputError) as unknown:
        without_instrument(make("suction-one-pump"), "atitude")
    assert "attitude" in unknown.value.problems[0].next_step
    alone = compose(Choices(duty="suction", gyros=("attitude",)), "alone")
    with pytest.raises(InputError):
        without_instrument(alone, "attitude")


@pytest.mark.parametrize("kind", STANDBY_KINDS)
def test_a_standby_added_solves_as_the_ready_made_layout_with_one_does(kind: str):
    """Two ways to the same plumbing: added to the plain system, and composed with it from the start."""
    added = added_standby(make("suction-one-pump"), kind, RPMS, 0.0)
    other = {"standby pump": "suction-standby-pump", "intake source": "suction-standby-intake"}[kind]
    made = changed_layout(make(other), "heading", RPMS, 0.0).before
    for one, two in zip(added.spring_set_again, made, strict=True):
        assert one.gauge_inhg == pytest.approx(two.gauge_inhg, abs=0.01)
        assert one.drops_inhg == pytest.approx(two.drops_inhg, abs=0.01)
    assert added.hangs_on_it and added.added and not added.removed
    assert any("check valves" in words for words in added.to_approve)


def test_the_intake_source_gives_less_the_higher_and_nothing_above_its_own_pressure():
    """Standard atmosphere: ambient is below 18 inHg, the intake pressure described, from about 13,300 ft up."""
    on = added_standby(make("suction-one-pump"), "intake source", RPMS, 0.0).on_standby
    gauges = [at.gauge_inhg for at in on]
    assert gauges[0] > 4.0
    assert gauges == sorted(gauges, reverse=True)
    assert all(at.gauge_inhg == pytest.approx(0.0, abs=0.02) for at in on if at.altitude_ft > 13_500.0)


@pytest.mark.parametrize("name", ["pressure-one-pump", "suction-twin-pumps", "suction-standby-pump"])
def test_where_no_standby_can_be_added_it_says_what_to_do(name: str):
    with pytest.raises(InputError) as refused:
        with_standby(make(name), "standby pump")
    assert refused.value.problems[0].next_step


def test_a_standby_is_teed_into_an_owners_own_layout():
    """Boots on the outlet, and the pump's hose drawn the other way round."""
    boots = make("suction-outlet-boots")
    turned = tuple(
        msgspec.structs.replace(line, start=line.end, end=line.start) if line.id == "firewall_hose" else line
        for line in boots.lines
    )
    after, added, _ = with_standby(msgspec.structs.replace(boots, lines=turned), "standby pump")
    assert pack(after).branches > pack(boots).branches
    assert set(added) <= {owner.id for owner in (*after.parts, *after.lines)}
