"""Only what no other cause shows confirms, an act only by both ways, and the words say which of the two it was."""

from __future__ import annotations

import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis import confirming, infer
from vanewise.diagnosis.evidence import prepare
from vanewise.diagnosis.infer import Options
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.types import Causes
from vanewise.work import meanwhile

SUCTION = layouts.make("suction-one-pump")
HIGH = '[[readings]]\nreading="6.2 inHg"\nrpm="2300 rpm"\n'
FOAM_OFF = '[[checks]]\nid="foam"\ncheck="regulator_filter_off"\noutcome="falls"\n'


def confirmed_by(text: str) -> dict[str, str]:
    return dict(confirming.confirmed(prepare(SUCTION, read_evidence(text, "evidence.toml"))))


def answered(text: str) -> Causes:
    options = Options(rows=256, next_checks=False, weights=False, pairs=False)
    return infer.diagnose(SUCTION, read_evidence(text, "e.toml"), seed=0, refine=False, options=options)


@pytest.mark.parametrize(
    ("check", "outcome"),
    [
        ("drain_look", "wet"),
        ("pad_joint_look", "from_drain"),
        ("section_suction", "leaks"),
        ("shop_air", "bubbles"),
        ("borescope_lines", "liner_or_kink"),
        ("open_ports_look", "line_off"),
        ("standby_test", "nothing"),
    ],
)
def test_a_sign_that_several_causes_share_confirms_none(check: str, outcome: str):
    assert confirmed_by(f'[[checks]]\ncheck="{check}"\noutcome="{outcome}"\ngrade=3\n') == {}


@pytest.mark.parametrize(
    ("check", "outcome", "mode"),
    [
        ("wear_port", "past", "worn_vanes"),
        ("open_ports_look", "one_open", "cap_left_off"),
        ("pad_joint_look", "from_joint", "pad_gasket_wrong"),
        ("pump_teardown", "foreign_carbon", "debris_left_in_lines"),
        ("pump_teardown", "sealant", "sealant_drawn_in"),
    ],
)
def test_what_is_seen_and_is_nothing_else_confirms(check: str, outcome: str, mode: str):
    seen = f'[[checks]]\ncheck="{check}"\noutcome="{outcome}"\n'
    assert confirmed_by(f"{seen}grade=3\n")[mode].startswith("seen directly: ")
    assert confirmed_by(f"{seen}grade=2\n") == {}, "a pattern confirms nothing"


def test_a_cap_found_off_beside_a_section_that_leaks_is_what_was_seen():
    text = (
        "[[sweeps]]\nrpm=[700,1000,1200,1500,1800,2100,2400]\nreading=[0.8,1.6,2.3,3.4,4.7,5.0,5.1]\n"
        '[[checks]]\ncheck="section_suction"\noutcome="leaks"\ngrade=3\n'
        '[[checks]]\ncheck="open_ports_look"\noutcome="one_open"\ngrade=3\n'
    )
    found = answered(text)
    assert [cause.id for cause in found.causes if cause.confirmed] == ["cap_left_off"]
    assert "leak in a line or joint was seen" not in found.stop


@pytest.mark.parametrize("grade", ["", "grade=2\n", "grade=3\n"])
def test_an_act_done_one_way_confirms_nothing_at_any_grade(grade: str):
    assert confirmed_by(FOAM_OFF + grade) == {}


@pytest.mark.parametrize("grade", ["", "grade=2\n", "grade=3\n"])
def test_an_act_proved_both_ways_confirms_whatever_grade_was_written(grade: str):
    text = f"{FOAM_OFF}{grade}both_ways=true\n"
    assert confirmed_by(text)["regulator_filter_clogged"].startswith("proved both ways: ")
    assert prepare(SUCTION, read_evidence(text, "e.toml")).checks[0].grade >= 2


def test_the_words_say_that_it_was_proved_and_not_seen():
    found = answered(f"{HIGH}{FOAM_OFF}both_ways=true\n")
    assert found.causes[0].id == "regulator_filter_clogged"
    assert found.causes[0].confirmed
    assert "was proved both ways" in found.stop
    assert "seen directly" not in found.stop
    assert "Proved both ways: regulator filter clogged" in meanwhile._finding(found)
