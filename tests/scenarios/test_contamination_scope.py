"""The scope of two whole cases: a pump that stopped in suction duty, and one that shed for months in pressure duty."""

from __future__ import annotations

import msgspec
import pytest

from vanewise.aircraft.layouts import layouts, make
from vanewise.contamination import BarrierFinding, FrontFinding, SheddingEvent, trace
from vanewise.contamination.plumbing import plumbing
from vanewise.jobs.compute import air_of
from vanewise.provenance import MEMORY, Value
from vanewise.quantities import M_PER_FT, PA_PER_INHG


def own(number, dimension):
    return Value(number=number, dimension=dimension, standing="measured", source=MEMORY)


def club_aircraft():
    """Suction duty with 1.8 L below ambient between the jets and the pump, 0.95 m of 5/8 in hose at the pump."""
    description = make("suction-one-pump")
    graph = plumbing(description)
    others = sum(
        graph.elements[name].volume_m3
        for name in ("firewall_hose", "regulator", "regulator_hose", "manifold", "attitude_outlet_hose")
    )
    others += graph.elements["heading_outlet_hose"].volume_m3 + 2 * graph.elements["gauge.low"].volume_m3
    case = (1.8e-3 - others) / 2
    parts = tuple(
        msgspec.structs.replace(part, values={**part.values, "case_volume": own(case, "volume")})
        if part.id in ("attitude", "heading")
        else part
        for part in description.parts
    )
    return msgspec.structs.replace(description, parts=parts, duty_confirmed=True)


def stop(altitude_ft):
    return SheddingEvent(
        part="pump",
        kind="stop",
        altitude_m=altitude_ft * M_PER_FT,
        suction_pa=4.9 * PA_PER_INHG,
        ran_on_minutes=20.0,
        other_source_used=False,
        fragments_complete=False,
    )


@pytest.mark.parametrize(("altitude_ft", "metres"), [(4500.0, 1.75), (5500.0, 1.83)])
def test_reach_of_the_two_stops_of_the_club_aircraft(altitude_ft, metres):
    """1.75 m and 1.83 m by hand with ambient rounded to 25.4 and 24.4 inHg; the standard day is within 1 %."""
    scope = trace(club_aircraft(), None, stop(altitude_ft))
    assert scope.reaches[0].length_m == pytest.approx(metres, rel=0.01)
    assert scope.reach_upper_m == pytest.approx(1.3 * metres, rel=0.01), "what decides has the volume 30 % out"
    assert scope.reaches[0].volume_m3 == pytest.approx(1.8e-3, rel=1e-6)
    assert scope.reach_estimate_m < scope.reach_upper_m


def test_the_stop_puts_everything_up_to_both_gyros_on_the_list_until_sight_says_otherwise():
    scope = trace(club_aircraft(), None, stop(5500.0))
    expected = {
        "pump",
        "outlet_elbow",
        "firewall_hose",
        "regulator",
        "regulator.filter",
        "regulator_hose",
        "manifold",
        "attitude_outlet_hose",
        "heading_outlet_hose",
        "attitude",
        "heading",
        "gauge.low",
        "lamp.low",
    }
    assert set(scope.suspect_ids) == expected
    assert "filter" not in scope.suspect_ids
    assert any("A clean intake filter does not clear the gyros" in remark for remark in scope.remarks)


def test_soot_that_ends_in_both_outlet_hoses_clears_both_gyros_and_nothing_nearer():
    ends = tuple(
        FrontFinding(line=f"{gyro}_outlet_hose", clean_from_m=0.3, proof="white cloth; outlet port clean on the scope")
        for gyro in ("attitude", "heading")
    )
    scope = trace(club_aircraft(), None, stop(4500.0), stop(5500.0), findings=ends)
    assert {"attitude", "heading"}.isdisjoint(scope.suspect_ids)
    assert {"pump", "firewall_hose", "regulator", "manifold", "attitude_outlet_hose"} <= set(scope.suspect_ids)


def test_the_missing_pieces_and_the_unclosed_lines_are_spoken_of():
    scope = trace(club_aircraft(), None, stop(5500.0))
    assert any("missing" in remark for remark in scope.remarks)
    assert any("nothing new goes on before the list is closed" in remark for remark in scope.remarks)


def test_pressure_duty_with_the_inline_filter_bypassed_reaches_both_gyros():
    """A dark track past a pinched end seal: the relief seat, every line, both gyros and the tap lines are suspects."""
    bypassed = BarrierFinding(part="inline_filter", state="breached", note="dark track past the pinched end seal")
    events = (SheddingEvent(part="pump", kind="running"), SheddingEvent(part="pump", kind="stop"))
    scope = trace(make("pressure-one-pump"), None, *events, findings=(bypassed,))
    expected = {
        "pump",
        "regulator",
        "inline_filter",
        "inlet_filter",
        "pump_inlet_hose",
        "pump_outlet_hose",
        "regulator_hose",
        "firewall_hose",
        "manifold",
        "attitude_inlet_hose",
        "heading_inlet_hose",
        "attitude",
        "heading",
        "gauge.high",
        "lamp.high",
    }
    assert set(scope.suspect_ids) == expected
    assert "found breached" in scope.suspect("heading").reason


def test_pressure_duty_with_the_inline_filter_sound_spares_the_gyros():
    sound = BarrierFinding(part="inline_filter", state="intact", right_way_round=True)
    events = (SheddingEvent(part="pump", kind="running"), SheddingEvent(part="pump", kind="stop"))
    scope = trace(make("pressure-one-pump"), None, *events, findings=(sound,))
    assert {"attitude", "heading", "manifold"}.isdisjoint(scope.suspect_ids)
    assert {"regulator", "inline_filter"} <= set(scope.suspect_ids)


SUCTION_LAYOUTS = [name for name, info in layouts().items() if info.duty == "suction"]


@pytest.mark.parametrize("layout", SUCTION_LAYOUTS)
def test_with_solved_air_too_a_known_altitude_never_adds_to_the_unknown_one(layout):
    """The page and the command line solve the air anew at a height that is told; the bound has to hold over that."""
    description = make(layout)

    def ids(altitude_m):
        event = SheddingEvent(part=description.parts_of("pump")[0].id, kind="stop", altitude_m=altitude_m)
        return set(trace(description, air_of(description, (event,)), event).suspect_ids)

    unknown = ids(None)
    for feet in (0.0, 8000.0, 18000.0, 25000.0):
        assert ids(feet * M_PER_FT) <= unknown, feet
