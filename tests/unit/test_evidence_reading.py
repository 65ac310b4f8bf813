"""Evidence files: TOML and JSON say the same, units are read, and everything wrong is told at once in four parts."""

from __future__ import annotations

import json

import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis.evidence import prepare
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.types import Evidence, Reading
from vanewise.errors import InputError
from vanewise.quantities import PA_PER_INHG

TOML = """
notes = ["anything"]
[conditions]
altitude = "5500 ft"
[[sweeps]]
id = "as found"
rpm = [700, 1000]
reading = [0.9, 1.8]
when = 2025-01-19
[[readings]]
id = "covered"
reading = "83 hPa"
rpm = "1000 rpm"
under = { "regulator.covered" = 1 }
[[remarks]]
symptom = "gauge_fluctuates"
who = "pilot"
[[events]]
kind = "pump_changed"
hours_ago = "27 h"
[[checks]]
check = "C23"
before = "2.4 inHg"
covered = "3.7 inHg"
rpm = "1200 rpm"
"""

AS_JSON = {
    "notes": ["anything"],
    "conditions": {"altitude": "5500 ft"},
    "sweeps": [{"id": "as found", "rpm": [700, 1000], "reading": [0.9, 1.8], "when": "2025-01-19"}],
    "readings": [{"id": "covered", "reading": "83 hPa", "rpm": "1000 rpm", "under": {"regulator": {"covered": 1}}}],
    "remarks": [{"symptom": "gauge_fluctuates", "who": "pilot"}],
    "events": [{"kind": "pump_changed", "hours_ago": "27 h"}],
    "checks": [{"check": "C23", "before": "2.4 inHg", "covered": "3.7 inHg", "rpm": "1200 rpm"}],
}


def test_toml_and_json_say_the_same():
    assert read_evidence(TOML, "e.toml") == read_evidence(json.dumps(AS_JSON), "e.json")


def test_units_are_read():
    evidence = read_evidence(TOML, "e.toml")
    by_id = {reading.id: reading for reading in evidence.readings}
    assert by_id["as found 700"].value_pa == pytest.approx(0.9 * PA_PER_INHG)
    assert by_id["covered"].value_pa == pytest.approx(8300.0)
    assert by_id["covered"].under == {"regulator.covered": 1.0}
    assert evidence.altitude_m == pytest.approx(5500 * 0.3048)
    assert evidence.checks[0].check == "cover_test"
    assert evidence.checks[0].value == pytest.approx(1.3 * PA_PER_INHG)


def test_every_problem_is_told_at_once():
    text = """
    [[readings]]
    reading = "4.1"
    rpm = "1200 rpm"
    [[remarks]]
    symptom = "gauge_fluctuate"
    [[events]]
    kind = "pump changed"
    [[checks]]
    check = "cover"
    [[sweeps]]
    rpm = [700, 1000]
    reading = [1.0]
    """
    with pytest.raises(InputError) as caught:
        read_evidence(text, "bad.toml")
    problems = caught.value.problems
    where = " ".join(problem.where for problem in problems)
    for place in ("readings[0].reading", "remarks[0].symptom", "events[0].kind", "checks[0].check", "sweeps[0].rpm"):
        assert place in where
    assert all(problem.expected and problem.found and problem.next_step for problem in problems)
    told = next(problem for problem in problems if "symptom" in problem.where)
    assert "gauge_fluctuates" in told.next_step, "the nearest known word is offered"


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("readings = 3", "[[readings]]"),
        ("readings = [3]", "table"),
        ("[[readings]]\nreading = true\nrpm = '1000 rpm'", "number"),
        ("[[readings]]\nreading = 'nan inHg'\nrpm = '1000 rpm'", "inHg"),
        ("[[remarks]]\nsymptom = 'ai_leans'\npresent = 'no'", "true or false"),
        ("[[remarks]]\nsymptom = 'ai_leans'\nwhen = '19.1.2025'", "date"),
        ("[[checks]]\ncheck = 'drain_look'\noutcome = 'dry'\ngrade = 7", "0, 1, 2 or 3"),
        ("conditions = 1", "conditions"),
        ("[conditions]\nheight = '5 ft'", "height"),
        ("not toml at all", "TOML"),
        ("{", "JSON"),
        ('{"readings": [], "readings2": []}', "readings2"),
    ],
)
def test_what_cannot_be_read_is_said(text: str, word: str):
    with pytest.raises(InputError) as caught:
        read_evidence(text, "bad")
    assert word in str(caught.value)


def test_a_pressure_system_whose_regulator_stays_shut_may_read_more_than_any_suction_can():
    reading = Reading(id="a", value_pa=30.2 * PA_PER_INHG, engine_rpm=2400.0)
    assert prepare(layouts.make("pressure-one-pump"), Evidence(readings=(reading,))).gauges
    with pytest.raises(InputError, match="30 inHg"):
        prepare(layouts.make("suction-one-pump"), Evidence(readings=(reading,)))


@pytest.mark.parametrize(
    ("text", "where"),
    [
        ("[[readings]]\nreading='4 inHg'\nrpm='1200 rpm'\nhigh='pump.inlett'\nlow='cabin'", "high"),
        ("[[readings]]\nreading='4 inHg'\nrpm='1200 rpm'\nhigh='pump.inlet'", "both ends"),
        ("[[readings]]\nreading='4 inHg'\nrpm='1200 rpm'\nunder={'regulator.cover'=1}", "under"),
        ("[[readings]]\nreading='99 inHg'\nrpm='1200 rpm'", "30 inHg"),
        ("[[remarks]]\nsymptom='ai_leans'\nabout='altimeter'", "about"),
        ("[[checks]]\ncheck='drain_look'\noutcome='soaked'", "outcome"),
        ("[[checks]]\ncheck='cover_test'", "measured value"),
        ("[[checks]]\ncheck='case_suction'\noutcome='tight'", "place"),
        ("[[checks]]\ncheck='workshop_suction'\nvalue='4 cfm'", "place"),
        ("[[checks]]\ncheck='sweep'", "readings"),
        ("[[checks]]\ncheck='gauge_at_run_up'\nvalue='4.9 inHg'", "one reading with its rpm"),
        ("[[checks]]\ncheck='swap_indicator'\nplace='attitude'\noutcome='fault_goes'\nboth_ways=true", "harmless"),
    ],
)
def test_what_does_not_fit_the_aircraft_is_said(text: str, where: str):
    evidence = read_evidence(text, "e.toml")
    with pytest.raises(InputError) as caught:
        prepare(layouts.make("suction-one-pump"), evidence)
    assert where in str(caught.value)
    assert all(problem.next_step for problem in caught.value.problems)


def test_the_same_look_twice_is_one_item():
    text = """
    [[remarks]]
    id = "a"
    symptom = "ai_leans"
    who = "pilot"
    flight = "one"
    [[remarks]]
    id = "b"
    symptom = "ai_leans"
    who = "pilot"
    flight = "one"
    note = "said again"
    """
    prepared = prepare(layouts.make("suction-one-pump"), read_evidence(text, "e.toml"))
    assert [item.id for group in prepared.remarks for item in group.items] == ["a"]


def test_what_changed_since_the_baseline():
    base = "[[readings]]\nid='b'\nreading='3 inHg'\nrpm='1000 rpm'\nsound=true\nwhen={base}\n"
    event = "[[events]]\nkind='pump_changed'\nwhen=2024-11-02\n"
    description = layouts.make("suction-one-pump")
    after = prepare(description, read_evidence(base.format(base="2020-06-20") + event, "e.toml"))
    before = prepare(description, read_evidence(base.format(base="2024-12-01") + event, "e.toml"))
    assert after.changed == {"pump"}
    assert before.changed == frozenset()
