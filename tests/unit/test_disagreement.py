"""Two results of one check at one place that cannot both be so are named; a repeat after work on the part is not."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanewise.aircraft import layouts
from vanewise.diagnosis import confirming, infer
from vanewise.diagnosis.evidence import Prepared, prepare
from vanewise.diagnosis.infer import Options
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.types import Causes

SUCTION = layouts.make("suction-one-pump")
TWIN = layouts.make("suction-twin-pumps")
PAST = '[[checks]]\nid="a"\ncheck="wear_port"\noutcome="past"\ngrade=3\nwhen=2025-01-01\nwho="A"\n'
WITHIN = '[[checks]]\nid="b"\ncheck="wear_port"\noutcome="within"\ngrade=3\nwhen=2025-01-02\nwho="B"\n'
SWEEP = "[[sweeps]]\nrpm = [700, 1000, 1200, 1500, 1800, 2100, 2400]\nreading = [0.8, 1.6, 2.3, 3.4, 4.7, 5.0, 5.1]\n"


def prepared(*text: str) -> Prepared:
    return prepare(SUCTION, read_evidence("".join(text), "evidence.toml"))


def answered(*text: str) -> Causes:
    options = Options(rows=256, next_checks=False, weights=False, pairs=False)
    return infer.diagnose(SUCTION, read_evidence("".join(text), "e.toml"), seed=0, refine=False, options=options)


def cover(name: str, covered: float, day: int, rpm: int = 1200) -> str:
    return (
        f'[[checks]]\nid="{name}"\ncheck="cover_test"\nbefore="2.3 inHg"\ncovered="{covered} inHg"\n'
        f'rpm="{rpm} rpm"\nwhen=2025-01-{day:02d}\n'
    )


def test_opposite_sights_are_named_confirm_nothing_and_end_nothing():
    """Past its limit by one person, within by another a day later: neither is called seen, whichever is likelier."""
    found = answered(SWEEP, PAST, WITHIN)
    assert {"a", "b"} <= set(found.contradictory)
    assert not any(cause.confirmed for cause in found.causes)
    assert found.stop == ""
    named = [remark for remark in found.remarks if remark.startswith("Contradictory: read every vane")]
    assert len(named) == 1
    assert all(told in named[0] for told in ("past its limit (A, 2025-01-01)", "within its limit (B, 2025-01-02)"))
    assert "withdraw" in named[0]


def test_one_of_them_withdrawn_the_other_confirms_again():
    found = answered(SWEEP, PAST)
    assert found.contradictory == ()
    assert [cause.id for cause in found.causes if cause.confirmed] == ["worn_vanes"]


def test_a_check_whose_results_disagree_is_offered_again():
    assert ("wear_port", "") in prepared(PAST).done
    assert ("wear_port", "") not in prepared(PAST, WITHIN).done


@pytest.mark.parametrize(
    "text",
    [
        PAST + WITHIN.replace("2025-01-02", "2025-01-09") + '[[events]]\nkind="pump_changed"\nwhen=2025-01-05\n',
        PAST.replace('id="a"', 'id="a"\nplace="pump"') + WITHIN.replace('id="b"', 'id="b"\nplace="second"'),
        PAST + WITHIN.replace('"within"', '"past"'),
        WITHIN + PAST.replace("2025-01-01", "2025-03-01"),
        cover("a", 3.6, 1) + cover("b", 3.8, 2),
        cover("a", 3.6, 1) + cover("b", 2.3, 2, rpm=2000),
    ],
    ids=["pump changed between", "another place", "the same", "worn since", "within its errors", "other speed"],
)
def test_what_contradicts_nothing(text: str):
    assert prepared(text).disagreeing == ()


@pytest.mark.parametrize(
    "text",
    [
        PAST + WITHIN,
        PAST + WITHIN + '[[events]]\nkind="pump_changed"\n',
        PAST + WITHIN + '[[events]]\nkind="gauge_changed"\nwhen=2025-01-02\n',
        PAST + WITHIN.replace("2025-01-02", "2025-03-02"),
        cover("a", 2.3, 1) + cover("b", 3.7, 5),
    ],
    ids=["plain", "work without a date", "work on something else", "no vane grows", "a rise and none"],
)
def test_what_cannot_both_be_so(text: str):
    assert prepared(text).disagreeing == (("a", "b"),)


def at(text: str, place: str) -> str:
    return f'{text}place="{place}"\n'


@pytest.mark.parametrize(
    ("event", "about", "explained"),
    [
        ("pump_changed", "", True),
        ("pump_changed", "left_pump", True),
        ("pump_changed", "right_pump", False),
        ("gyro_changed", "", True),
        ("gyro_changed", "attitude", True),
        ("gyro_changed", "heading", False),
        ("hose_changed", "left_pump_hose", True),
        ("hose_changed", "right_pump_hose", False),
        ("panel_work", "heading", True),
    ],
)
def test_work_on_another_part_of_its_kind_explains_no_other_result(event: str, about: str, explained: bool):
    looks = {
        "pump_changed": (PAST, WITHIN, "left_pump"),
        "gyro_changed": (*_told("coast_down_listening", "short_or_noisy", "long_and_quiet"), "attitude"),
        "hose_changed": (*_told("hose_squeeze", "flat_or_off", "sound"), "left_pump_hose"),
        "panel_work": (*_told("ports_look", "plugged", "open_and_right"), "attitude"),
    }
    one, other, place = looks[event]
    said = f'about="{about}"\n' if about else ""
    work = f'[[events]]\nkind="{event}"\nwhen=2025-01-01\n{said}'
    # Of a result that is left out as of the former part nothing can disagree.
    found = prepare(TWIN, read_evidence(at(one, place) + at(other, place) + work, "evidence.toml"))
    assert found.disagreeing == (() if explained else (("a", "b"),))
    assert not found.former.left_out


def _told(check: str, first: str, second: str) -> tuple[str, str]:
    text = '[[checks]]\nid="{0}"\ncheck="{1}"\noutcome="{2}"\ngrade=3\nwhen=2025-01-0{3}\n'
    return text.format("a", check, first, 1), text.format("b", check, second, 2)


def test_work_about_a_part_may_explain_a_result_that_names_none_or_is_of_many():
    work = '[[events]]\nkind="pump_changed"\nwhen=2025-01-01\nabout="left_pump"\n'
    flow = '[[checks]]\nid="{0}"\ncheck="section_suction"\noutcome="{1}"\nwhen=2025-01-0{2}\n'
    for texts in ((PAST, WITHIN), (flow.format("a", "tight", 1), flow.format("b", "leaks", 2))):
        assert prepare(TWIN, read_evidence("".join((*texts, work)), "evidence.toml")).disagreeing == ()
        assert prepare(TWIN, read_evidence("".join(texts), "evidence.toml")).disagreeing == (("a", "b"),)


def test_two_suction_flows_at_one_port_disagree_only_at_the_same_suction_and_states():
    one = (
        '[[checks]]\nid="a"\ncheck="workshop_suction"\nplace="manifold.regulator"\nsuction="5 inHg"\nvalue="3.8 cfm"\n'
    )
    other = one.replace('"a"', '"b"').replace("3.8", "5.5")
    assert prepared(one, other).disagreeing == (("a", "b"),)
    assert prepared(one, other.replace('"5 inHg"', '"3 inHg"')).disagreeing == ()
    assert prepared(one, f'{other}under = {{ "regulator.covered" = 1 }}\n').disagreeing == ()


@given(st.lists(st.sampled_from(["past", "near", "within"]), min_size=1, max_size=4), st.randoms())
def test_the_order_of_entry_changes_nothing_and_what_differs_is_named(outcomes: list[str], random: object):
    texts = [
        f'[[checks]]\nid="c{number}"\ncheck="wear_port"\noutcome="{outcome}"\ngrade=3\nwho="{number}"\n'
        for number, outcome in enumerate(outcomes)
    ]
    straight = prepared(*texts)
    random.shuffle(texts)  # type: ignore[attr-defined]
    assert prepared(*texts).disagreeing == straight.disagreeing
    assert bool(straight.disagreeing) == (len(set(outcomes)) > 1)
    assert bool(confirming.confirmed(straight)) == (set(outcomes) == {"past"})


def test_one_day_without_a_rise_does_not_clear_the_seat():
    """Grit moves: a rise of 1.4 inHg on another day speaks for the seat, and the two are named as disagreeing."""

    def seat(*text: str) -> float:
        return next(cause.present for cause in answered(SWEEP, *text).causes if cause.id == "regulator_seat_dirty")

    rise, none = cover("b", 3.7, 5), cover("a", 2.3, 1)
    assert seat(none) < 0.3 * seat()
    assert seat(none, rise) > 3.0 * seat()
    assert seat(rise) > seat(none, rise)
