"""Which part an event is about: kept, checked, shown, and weighed for that part and for what sits elsewhere."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from typing import Any

import pytest

from vanewise.aircraft.layouts import layouts, make
from vanewise.diagnosis.evidence import Prepared, prepare
from vanewise.diagnosis.evidence_problems import problems_of
from vanewise.diagnosis.hypotheses import Hypothesis, Member, context_factor, singles_and_chains
from vanewise.diagnosis.parts_named import OF_EVENT, of_kinds, of_remark, part_ids
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.symptoms import EVENTS, SYMPTOMS, event_name
from vanewise.diagnosis.types import Event, Evidence, Remark
from vanewise.diagnosis.weighing import item_words
from vanewise.errors import InputError
from vanewise.jobs.evidence_file import items_of
from vanewise.work.meanwhile import _before

ONE = "suction-one-pump"
TWIN = "suction-twin-pumps"


def prepared(*events: dict[str, str], layout: str = ONE) -> Prepared:
    return prepare(make(layout), read_evidence(json.dumps({"events": list(events)}), "case"))


def changed(about: str = "", kind: str = "gyro_changed", **more: str) -> dict[str, str]:
    return {"kind": kind, **({"about": about} if about else {}), **more}


def hypotheses(layout: str = ONE) -> dict[str, Hypothesis]:
    return {hypothesis.id: hypothesis for hypothesis in singles_and_chains(make(layout))}


def test_a_file_says_the_part_and_one_without_it_reads_as_before():
    told = read_evidence(json.dumps({"events": [changed("heading"), changed()]}), "case").events
    assert [event.about for event in told] == ["heading", ""]
    report, _, _ = items_of('[[events]]\nkind = "gyro_changed"\nabout = "heading"\n', "case.toml")
    assert [item["about"] for _, item in report] == ["heading"]


def test_an_unknown_part_is_refused_with_what_it_may_be():
    with pytest.raises(InputError) as caught:
        prepared(changed("headng", id="refit"))
    (problem,) = caught.value.problems
    assert problem.where == 'event "refit" about'
    assert problem.expected == "a part of this aircraft"
    assert problem.found == '"headng"'
    assert "heading" in problem.next_step


def test_two_instruments_refitted_are_two_events_and_the_same_told_twice_is_one():
    found = prepared(changed("heading"), changed("attitude", hours_ago="50 h"), changed("heading", note="once more"))
    assert set(found.events) == {"gyro_changed@attitude", "gyro_changed@heading"}
    assert len(found.work) == 2
    assert found.happened == {"gyro_changed": 1.0}, "the freshest, whichever it was"


def test_the_part_is_named_where_evidence_is_listed():
    description = make(ONE)
    found = prepared(changed("heading"), changed())
    words = item_words(found, description.labels())
    assert words["gyro_changed@heading"] == "an air-driven instrument changed or refitted (heading indicator)"
    assert words["gyro_changed"] == "an air-driven instrument changed or refitted"
    evidence = read_evidence(json.dumps({"events": [changed("heading", hours_ago="5 h")]}), "case")
    assert _before(description, evidence) == (f"{words['gyro_changed@heading']}, 5.0 h before",)


@pytest.mark.parametrize("mode", ["indicator_bearing", "port_plugged", "instrument_case_leak"])
def test_a_refit_weighs_on_a_fault_of_that_instrument_and_of_no_other(mode: str):
    found = hypotheses()
    factor = found[f"{mode}@heading"].source.contexts["gyro_changed"]
    for own, other in (("heading", "attitude"), ("attitude", "heading")):
        events = prepared(changed(own)).events
        assert context_factor(found[f"{mode}@{own}"], events) == factor
        assert context_factor(found[f"{mode}@{other}"], events) == 1.0


def test_the_mount_of_the_horizon_is_not_loosened_by_the_heading_indicators_refit():
    """Its one place has no place beside it to be told from, and is an instrument all the same."""
    mount = hypotheses()["instrument_mounting"]
    assert context_factor(mount, prepared(changed("heading")).events) == 1.0
    assert context_factor(mount, prepared(changed("attitude")).events) == mount.source.contexts["gyro_changed"]
    with_panel = prepared(changed("heading"), changed(kind="panel_work")).events
    assert context_factor(mount, with_panel) == mount.source.contexts["panel_work"]


def test_what_sits_elsewhere_has_the_factor_whichever_instrument_it_was():
    elsewhere = 0
    for hypothesis in hypotheses().values():
        instruments = {place.part for member in hypothesis.members for place in member.places}
        if instruments & {"attitude", "heading"} or hypothesis.kind != "single":
            continue
        plain = context_factor(hypothesis, {"gyro_changed": 1.0})
        elsewhere += plain != 1.0
        for about in ("attitude", "heading"):
            assert context_factor(hypothesis, prepared(changed(about)).events) == plain, hypothesis.id
    assert elsewhere > 5
    both = prepared(changed("attitude"), changed("heading", hours_ago="70 h")).events
    for hypothesis in hypotheses().values():
        if "attitude" not in hypothesis.id and "heading" not in hypothesis.id and hypothesis.kind == "single":
            assert context_factor(hypothesis, both) == context_factor(hypothesis, {"gyro_changed": 1.0}), "one job"


@pytest.mark.parametrize("layout", [ONE, TWIN])
def test_without_a_part_every_hypothesis_weighs_as_it_did_to_the_last_digit(layout: str):
    words = ("hard_landing", "panel_work", "pump_changed", "regulator_changed")
    events = prepared(*({"kind": kind, "hours_ago": "20 h"} for kind in words), layout=layout).events
    assert set(events) == set(words)
    for hypothesis in hypotheses(layout).values():
        factors = [
            [
                (member.mode.contexts.get(kind, 1.0) * ({} if number else member.mode.source_contexts).get(kind, 1.0))
                ** events[kind]
                for kind in sorted(events)
            ]
            for number, member in enumerate(hypothesis.members)
        ]
        if hypothesis.kind != "chain":
            assert context_factor(hypothesis, events) == math.prod(factors[0])
            continue
        # What raises source and victim counts once, by the larger factor; what lowers one counts for that one.
        once = [
            max(1.0, *own) * math.prod(factor for factor in own if factor < 1.0) for own in zip(*factors, strict=True)
        ]
        assert context_factor(hypothesis, events) == pytest.approx(math.prod(once), rel=1e-12)


def test_what_makes_source_and_victim_likelier_counts_once():
    """An old pump's vanes wear, and its coupling goes: the chain's share says already how often the one leads there."""
    found = hypotheses()
    worn, sheared = found["worn_vanes"], found["coupling_sheared"]
    both = found["worn_vanes>coupling_sheared"]
    old = {"pump_past_its_hours": 1.0}
    alone = [context_factor(hypothesis, old) for hypothesis in (worn, sheared)]
    assert min(alone) > 1.0
    assert context_factor(both, old) == pytest.approx(max(alone))
    cold = {"cold_start": 1.0}
    assert context_factor(both, cold) == pytest.approx(context_factor(sheared, cold)), "only the victim is of the cold"


def test_a_fault_of_both_instruments_at_once_has_it_of_either():
    at = [hypotheses()[f"indicator_bearing@{name}"].members[0] for name in ("attitude", "heading")]
    both = Member(at[0].mode, (*at[0].places, *at[1].places), 0)
    worn = Hypothesis("both", "single", (both,), 1.0)
    for about in ("attitude", "heading"):
        assert context_factor(worn, prepared(changed(about)).events) == 0.7


def test_two_refits_count_each_for_its_own_instrument_at_its_own_freshness():
    found = hypotheses()
    events = prepared(changed("attitude"), changed("heading", hours_ago="70 h")).events
    late = events["gyro_changed@heading"]
    assert 0.0 < late < 1.0
    assert context_factor(found["indicator_bearing@attitude"], events) == 0.7
    assert context_factor(found["indicator_bearing@heading"], events) == 0.7**late


def test_one_of_two_pumps_changed_leaves_the_other_as_worn_as_it_was():
    found = hypotheses(TWIN)
    left, right = "left_pump", "right_pump"
    events = prepared(changed(left, "pump_changed"), layout=TWIN).events
    factor = found["worn_vanes@left_pump"].source.source_contexts["pump_changed"]
    assert context_factor(found[f"worn_vanes@{left}"], events) == factor
    assert context_factor(found[f"worn_vanes@{right}"], events) == 1.0
    hoses = [name for name in found if name.startswith("hose_off@")]
    assert all(context_factor(found[n], events) == context_factor(found[n], {"pump_changed": 1.0}) for n in hoses)


def test_the_only_pump_is_that_pump_and_an_event_about_a_line_is_about_no_other_pump():
    found = hypotheses()["worn_vanes"]
    line = make(ONE).lines[0].id
    for about in ("pump", line):
        events = {event_name("pump_changed", about): 1.0}
        assert context_factor(found, events) == found.source.source_contexts["pump_changed"]
    assert set(prepared(changed("pump", "pump_changed")).events) == {"pump_changed@pump"}


@pytest.mark.parametrize(
    ("kind", "about", "expected", "kind_found"),
    [
        ("pump_changed", "heading", "a pump of this aircraft, by its id (pump)", "a heading indicator"),
        (
            "gyro_changed",
            "pump",
            "an air-driven instrument of this aircraft, by its id (attitude or heading)",
            "a pump",
        ),
        ("regulator_changed", "firewall_hose", "a regulator of this aircraft, by its id (regulator)", "a hose or tube"),
        ("gauge_changed", "regulator", "a gauge of this aircraft, by its id (gauge)", "a regulator"),
        (
            "inline_filter_changed",
            "filter",
            "an inline filter of this aircraft, by its id (none is described)",
            "an intake filter",
        ),
    ],
)
def test_an_event_about_a_part_of_another_kind_is_refused(kind: str, about: str, expected: str, kind_found: str):
    with pytest.raises(InputError) as caught:
        prepared(changed(about, kind, id="work"))
    (problem,) = caught.value.problems
    assert problem.where == 'event "work" about'
    assert problem.expected == expected
    assert problem.found == f'"{about}", {kind_found}'
    assert problem.next_step.endswith("leave about out where nobody knows which it was")
    assert ("write" in problem.next_step) == ("none" not in expected)


@pytest.mark.parametrize(
    ("item", "where"),
    [
        ({"remarks": [{"id": "a", "symptom": "ai_leans", "about": "heading"}]}, 'remark "a" about'),
        ({"remarks": [{"id": "a", "symptom": "coupling_parted", "about": "regulator"}]}, 'remark "a" about'),
        ({"checks": [{"id": "a", "check": "wear_port", "outcome": "past", "place": "heading"}]}, 'check "a" place'),
        (
            {"checks": [{"id": "a", "check": "mount_look", "outcome": "askew_or_loose", "place": "heading"}]},
            'check "a" place',
        ),
    ],
)
def test_a_remark_or_a_check_of_a_part_of_another_kind_is_refused(item: dict[str, Any], where: str):
    with pytest.raises(InputError) as caught:
        prepare(make(ONE), read_evidence(json.dumps(item), "case"))
    assert [problem.where for problem in caught.value.problems] == [where]


@pytest.mark.parametrize("layout", layouts())
def test_every_word_of_the_tables_is_known_and_what_may_be_named_is_accepted(layout: str):
    assert OF_EVENT.keys() <= EVENTS.keys()
    description = make(layout)
    for kind, kinds in OF_EVENT.items():
        for part in of_kinds(description, kinds):
            assert set(prepared(changed(part, kind), layout=layout).events) == {f"{kind}@{part}"}
    remarks = [
        Remark(id=f"{name} {part}", symptom=name, about=part) for name in SYMPTOMS for part in _may_be(layout, name)
    ]
    assert len(remarks) > 100
    assert not problems_of(description, Evidence(remarks=tuple(remarks)))


def _may_be(layout: str, symptom: str) -> Sequence[str]:
    description = make(layout)
    return of_kinds(description, of_remark(symptom)) if of_remark(symptom) else part_ids(description)


@pytest.mark.parametrize(
    ("layout", "mode", "own", "others", "open_one"),
    [
        (
            "suction-own-filters",
            "hose_off",
            "heading_outlet_hose",
            "attitude_outlet_hose firewall_hose",
            "turn_outlet_hose",
        ),
        (TWIN, "hose_collapsed", "left_pump_hose", "right_pump_hose pump_manifold_hose", "left_manifold_hose"),
        ("pressure-one-pump", "hose_off", "pump_outlet_hose", "attitude_inlet_hose heading_inlet_hose", ""),
    ],
)
def test_a_new_hose_weighs_on_no_other_hose(layout: str, mode: str, own: str, others: str, open_one: str):
    """A hose that is no place of the mode may stand with any of its side: it weighs as one that nobody named."""
    found = hypotheses(layout)
    factor = found[f"{mode}@{own}"].source.contexts["hose_changed"]

    def weighs(hypothesis: str, about: str) -> float:
        return context_factor(found[hypothesis], prepared(changed(about, "hose_changed"), layout=layout).events)

    assert weighs(f"{mode}@{own}", own) == factor != 1.0
    for name in (own, *others.split()):
        assert weighs(f"{mode}@{name}", "") == factor
        assert name == own or weighs(f"{mode}@{name}", own) == 1.0
        assert name == own or weighs(f"{mode}@{own}", name) == 1.0
    if open_one:
        assert weighs(f"{mode}@{own}", open_one) == factor


def test_an_instruments_new_hose_says_nothing_of_the_pumps_hose_and_all_of_what_sits_in_no_hose():
    found = hypotheses()
    events = prepared(changed("heading_outlet_hose", "hose_changed")).events
    assert context_factor(found["hose_collapsed"], events) == 1.0
    assert context_factor(found["leak@firewall_hose"], events) == 1.0
    assert context_factor(found["leak@attitude_outlet_hose"], events) == 1.5, "it stands for all of that side"
    assert context_factor(found["sealant_drawn_in"], events) == 1.5
    pumps = prepared(changed("firewall_hose", "hose_changed")).events
    assert context_factor(found["hose_collapsed"], pumps) == 0.3


def test_an_event_is_a_fact_without_a_part_by_default():
    assert Event(id="a", kind="gyro_changed").about == ""
