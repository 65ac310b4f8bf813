"""Amounts are conserved and follow the flow; they sort and nothing else."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanewise.aircraft.layouts import make
from vanewise.contamination import BarrierFinding, SheddingEvent, trace
from vanewise.contamination.amounts import amounts
from vanewise.errors import InputError
from vanewise.network import OperatingPoint, pack, solve
from vanewise.network.types import Solved

LAYOUTS = ("suction-one-pump", "pressure-one-pump", "suction-twin-pumps")


@pytest.fixture(scope="module")
def solved():
    answers = {}
    for name in LAYOUTS:
        answer = solve(pack(make(name)), OperatingPoint(engine_rpm=2400.0))
        assert isinstance(answer, Solved)
        answers[name] = answer
    return answers


@given(st.sampled_from(LAYOUTS), st.data(), st.sampled_from(["dust", "chips"]))
def test_what_was_shed_is_kept_somewhere_or_leaves(solved, layout, data, size):
    description = make(layout)
    sources = [part.id for part in description.parts] + [line.id for line in description.lines]
    source = data.draw(st.sampled_from(sources))
    state = data.draw(st.sampled_from(["intact", "breached", "absent", "reversed", "unknown"]))
    findings = tuple(
        BarrierFinding(part=part.id, state=state, right_way_round=True)
        for part in description.parts
        if part.kind.endswith("filter")
    )
    found = amounts(description, solved[layout], source, findings=findings, size=size)
    assert sum(found.kept.values()) + found.overboard == pytest.approx(1.0, abs=1e-9)
    assert all(-1e-12 <= share <= 1.0 + 1e-9 for share in (*found.kept.values(), *found.arriving.values()))


@given(st.sampled_from(LAYOUTS), st.data())
def test_amounts_reach_only_what_the_scope_lists(solved, layout, data):
    description = make(layout)
    source = data.draw(st.sampled_from([part.id for part in description.parts_of("pump")]))
    scope = trace(description, solved[layout], SheddingEvent(part=source, kind="running"))
    found = amounts(description, solved[layout], source)
    reached = {name for name, share in found.arriving.items() if share > 1e-12}
    assert reached <= set(scope.suspect_ids)


def test_a_sound_inline_filter_keeps_what_an_absent_one_lets_into_the_gyros(solved):
    description = make("pressure-one-pump")
    gyros = ("attitude", "heading")

    def into_gyros(state):
        finding = BarrierFinding(part="inline_filter", state=state, right_way_round=True)
        found = amounts(description, solved["pressure-one-pump"], "pump", findings=(finding,))
        return sum(found.arriving[gyro] for gyro in gyros)

    assert into_gyros("intact") < into_gyros("unknown") < into_gyros("breached") < into_gyros("absent")


def test_more_flow_carries_more(solved):
    """The attitude indicator draws 2.30 cfm and the heading indicator 1.30: so does the dust."""
    description = make("pressure-one-pump")
    found = amounts(description, solved["pressure-one-pump"], "pump")
    ratio = found.arriving["attitude"] / found.arriving["heading"]
    assert ratio == pytest.approx(2.30 / 1.30, rel=0.05)


def test_a_relief_valve_dumps_its_share(solved):
    description = make("pressure-one-pump")
    found = amounts(description, solved["pressure-one-pump"], "pump")
    assert found.overboard > 0.0
    assert found.arriving["inline_filter"] < found.arriving["regulator"]


def test_unknown_source_is_refused(solved):
    with pytest.raises(InputError, match="source"):
        amounts(make("pressure-one-pump"), solved["pressure-one-pump"], "engine")


def test_the_scope_carries_the_shares_of_running_events_only_with_solved_flows(solved):
    description = make("pressure-one-pump")
    running = SheddingEvent(part="pump", kind="running")
    with_flows = trace(description, solved["pressure-one-pump"], running)
    shares = {suspect.id: suspect.share for suspect in with_flows.suspects}
    assert shares["pump"] == pytest.approx(1.0)
    assert 0.0 < shares["heading"] < shares["attitude"] < 1.0
    assert all(suspect.share is None for suspect in trace(description, None, running).suspects)
