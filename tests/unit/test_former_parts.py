"""What is of a part that came off is not laid on the part fitted now; only dates decide, and all of it is said."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vanewise.aircraft import layouts
from vanewise.diagnosis import infer
from vanewise.diagnosis.evidence import Prepared, prepare
from vanewise.diagnosis.infer import Options
from vanewise.diagnosis.parts_changed import CHECKS_OF, MAY_DIFFER_AFTER, PART_OF, SYMPTOMS_OF
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.types import Causes
from vanewise.diagnosis.vocabulary import CHECKS, EVENTS, SYMPTOMS

SUCTION, TWIN = layouts.make("suction-one-pump"), layouts.make("suction-twin-pumps")
PUMP = '[[events]]\nid="pump"\nkind="pump_changed"\nwhen=2024-10-05\nhours_ago="20 h"\n'
STOPPED = "".join(
    f'[[remarks]]\nid="{symptom}"\nsymptom="{symptom}"\nwhen=2024-12-01\n'
    for symptom in ("stopped_suddenly", "gauge_zero")
)
WORN = '[[checks]]\nid="worn"\ncheck="wear_port"\noutcome="past"\ngrade=3\nwhen=2024-10-02\n'
OLD = {
    "worn": WORN,
    "sweep": '[[sweeps]]\nid="sweep"\nrpm=[700,1200,2400]\nreading=[0.8,2.3,5.1]\nwhen=2024-10-01\n',
    "lamp": '[[lamp]]\nid="lamp"\nrpm="1500 rpm"\nwhen=2024-10-01\n',
    "soot": '[[remarks]]\nid="soot"\nsymptom="soot_heavy"\nflight="2024-10-01"\n',
    "looked": '[[remarks]]\nid="looked"\nsymptom="gauge_zero"\npresent=false\nwhen=2024-10-01\n',
}


def prepared(*text: str, of: object = SUCTION) -> Prepared:
    return prepare(of, read_evidence("".join(text), "evidence.toml"))  # type: ignore[arg-type]


def answered(*text: str) -> Causes:
    options = Options(rows=256, next_checks=False, pairs=False)
    return infer.diagnose(SUCTION, read_evidence("".join(text), "e.toml"), seed=0, refine=False, options=options)


def lamped(names: Sequence[str]) -> list[str]:
    """Without the lamp: this layout has none."""
    return [OLD[name] for name in names if name != "lamp"]


def test_the_second_failure_is_not_read_by_the_first_pumps_wear():
    """A port look of October, a pump of 5 October, a stop in December: the answer is that of the December report."""
    both, alone = answered(PUMP, STOPPED, *lamped(list(OLD))), answered(PUMP, STOPPED)
    assert both.level == alone.level == "supply dead"
    assert {c.id: c.probability for c in both.causes} == {c.id: c.probability for c in alone.causes}
    assert not any(cause.confirmed for cause in both.causes)
    assert any(remark.startswith("No supply") for remark in both.remarks)
    assert both.left_out["worn"] == "from before the pump was changed on 2024-10-05"
    told = next(remark for remark in both.remarks if remark.startswith("Left out"))
    assert all(
        words in told for words in ("read every vane at the wear port", "(2024-10-02)", "heavy soot", "3 readings")
    )
    assert alone.left_out == {}


@settings(max_examples=30, deadline=None)
@given(st.lists(st.sampled_from([name for name in OLD if name != "lamp"]), unique=True), st.randoms())
def test_whatever_of_the_former_pump_is_added_the_likelihood_takes_the_same(names: list[str], random: object):
    texts = [PUMP, STOPPED, *lamped(names)]
    random.shuffle(texts)  # type: ignore[attr-defined]
    found, alone = prepared(*texts), prepared(PUMP, STOPPED)
    assert (found.gauges, found.checks, found.remarks, found.events) == (
        alone.gauges,
        alone.checks,
        alone.remarks,
        alone.events,
    )
    left = set(found.former.left_out)
    assert {name.split()[0] for name in left} == set(names)


@pytest.mark.parametrize(
    "text",
    [
        PUMP.replace("when=2024-10-05\n", "") + STOPPED + WORN,
        PUMP + STOPPED + WORN.replace("2024-10-02", "2024-10-05"),
        PUMP + STOPPED + WORN.replace("2024-10-02", "2024-12-02"),
        PUMP + WORN,
        PUMP.replace("pump_changed", "intake_filter_changed") + STOPPED + WORN,
        PUMP + STOPPED + '[[checks]]\nid="worn"\ncheck="drain_look"\noutcome="wet"\nwhen=2024-10-02\n',
        PUMP + STOPPED + '[[readings]]\nid="worn"\nreading="5 inHg"\nrpm="2400 rpm"\nsound=true\nwhen=2024-10-02\n',
    ],
    ids=["change undated", "that day", "after it", "changed since the report", "another part", "the pad's", "sound"],
)
def test_what_stays(text: str):
    assert prepared(text).former.left_out == {}


def test_what_carries_no_date_is_kept_and_asked_about():
    undated = WORN.replace("when=2024-10-02\n", "")
    found = prepared(PUMP, STOPPED, undated)
    assert [item.id for item in found.checks] == ["worn"]
    assert found.former.left_out == {}
    assert len(found.former.said) == 1
    assert "enter whether that was before or after" in found.former.said[0]
    assert prepared(STOPPED, undated).former.said == ()


def test_of_two_pumps_the_event_does_not_say_which_so_nothing_is_left_out():
    assert prepared(PUMP, STOPPED, WORN, of=TWIN).former.left_out == {}


def named(text: str, part: str, field: str = "about") -> str:
    return f'{text}{field}="{part}"\n'


WORN_AT = {side: named(WORN.replace('"worn"', f'"worn {side}"'), f"{side}_pump", "place") for side in ("left", "right")}
HOT_AT = {
    side: f'[[remarks]]\nid="hot {side}"\nsymptom="pump_hot"\nwhen=2024-10-01\nabout="{side}_pump"\n'
    for side in ("left", "right")
}


def test_of_two_pumps_only_what_is_of_the_one_that_was_changed_is_left_out():
    """What was seen of the other pump stays, and so does what was read of the supply: the other pump gave it too."""
    for side, other in (("left", "right"), ("right", "left")):
        everything = (*WORN_AT.values(), *HOT_AT.values(), OLD["sweep"], OLD["lamp"], OLD["soot"])
        found = prepared(named(PUMP, f"{side}_pump"), "".join(READ_SINCE), *everything, of=TWIN).former
        assert set(found.left_out) == {f"worn {side}", f"hot {side}"}
        assert set(found.left_out.values()) == {f"from before the {side} pump was changed on 2024-10-05"}
        assert len(found.said) == 1
        assert other not in found.said[0]


def test_both_pumps_changed_each_on_its_own_day():
    second = named(PUMP.replace('"pump"', '"second"').replace("10-05", "09-01"), "right_pump")
    texts = (named(PUMP, "left_pump"), second, *READ_SINCE, *WORN_AT.values(), *HOT_AT.values())
    assert set(prepared(*texts, of=TWIN).former.left_out) == {"worn left", "hot left"}


def test_the_only_pump_named_is_that_pump_and_the_gauge_the_gauge():
    gauge = '[[events]]\nid="g"\nkind="gauge_changed"\nwhen=2024-10-05\n'
    stuck = '[[remarks]]\nid="stuck"\nsymptom="gauge_frozen"\nwhen=2024-10-01\n'
    for event, part in ((PUMP, "pump"), (gauge, "gauge")):
        texts = (STOPPED, stuck, *lamped(list(OLD)))
        plain, told = prepared(event, *texts), prepared(named(event, part), *texts)
        assert told.former == plain.former != prepared(*texts).former
        assert (told.gauges, told.checks, told.remarks) == (plain.gauges, plain.checks, plain.remarks)


READ_SINCE = ('[[remarks]]\nid="low"\nsymptom="gauge_low_cruise"\nwhen=2024-12-01\n',)
REFIT = '[[events]]\nid="refit"\nkind="gyro_changed"\nwhen=2024-10-05\n'
OF_INSTRUMENTS = {
    "leans": '[[remarks]]\nid="leans"\nsymptom="ai_leans"\nwhen=2024-10-01\n',
    "drifts": '[[remarks]]\nid="drifts"\nsymptom="hi_drifts"\nwhen=2024-10-01\n',
    **{
        f"{name} {part}": f'[[checks]]\nid="{name} {part}"\ncheck="{check}"\noutcome="{outcome}"\nplace="{part}"\n'
        "when=2024-10-01\n"
        for part in ("attitude", "heading")
        for name, check, outcome in (
            ("coast", "coast_down_listening", "short_or_noisy"),
            ("bench", "indicator_bench", "worn"),
            ("dirty", "indicator_bench", "dirty"),
            ("mount", "ports_look", "plugged"),
        )
    },
    "dust": named('[[remarks]]\nid="dust"\nsymptom="shop_found_dust_in_indicator"\nwhen=2024-10-01\n', "heading"),
    "wanders": '[[remarks]]\nid="wanders"\nsymptom="ap_wanders"\nwhen=2024-10-01\n',
}


def test_another_instrument_takes_what_was_seen_of_the_one_that_came_out_and_of_no_other():
    """Dust in it stays: it came through the lines. So does what the autopilot did, and what work may have left."""
    of_one = {"attitude": {"leans"}, "heading": {"drifts"}}
    for part, own in of_one.items():
        found = prepared(named(REFIT, part), *READ_SINCE, *OF_INSTRUMENTS.values()).former
        assert set(found.left_out) == own | {f"coast {part}", f"bench {part}"}
        assert (
            "indicator was changed or refitted on 2024-10-05. If the same one went back in, enter work" in found.said[0]
        )
    unnamed = prepared(REFIT, *READ_SINCE, *OF_INSTRUMENTS.values())
    assert unnamed.former.left_out == {}
    assert unnamed.former.said == ()


def test_another_hose_takes_what_was_seen_of_that_hose():
    event = named('[[events]]\nid="hose"\nkind="hose_changed"\nwhen=2024-10-05\n', "firewall_hose")
    soft = '[[remarks]]\nid="{0}"\nsymptom="hose_soft"\nwhen=2024-10-01\n'
    looks = (
        named(soft.format("firewall"), "firewall_hose"),
        named(soft.format("regulator"), "regulator_hose"),
        soft.format("somewhere"),
        named('[[remarks]]\nid="carbon"\nsymptom="carbon_in_hose"\nwhen=2024-10-01\n', "firewall_hose"),
        named(
            '[[checks]]\nid="chips"\ncheck="borescope_lines"\noutcome="chips"\nwhen=2024-10-01\n',
            "firewall_hose",
            "place",
        ),
    )
    found = prepared(event, *READ_SINCE, *looks).former
    assert found.left_out == {"firewall": "from before the firewall hose was changed on 2024-10-05"}
    assert prepared(event.replace('about="firewall_hose"\n', ""), *READ_SINCE, *looks).former.left_out == {}


@settings(max_examples=30, deadline=None)
@given(st.lists(st.sampled_from(list(OF_INSTRUMENTS)), unique=True), st.randoms())
def test_work_on_one_instrument_leaves_all_of_the_other_as_it_was(names: list[str], random: object):
    texts = [named(REFIT, "heading"), *READ_SINCE, *(OF_INSTRUMENTS[name] for name in names)]
    random.shuffle(texts)  # type: ignore[attr-defined]
    left = set(prepared(*texts).former.left_out)
    assert left <= {"drifts", "coast heading", "bench heading"}
    assert left == {name for name in names if name in ("drifts", "coast heading", "bench heading")}


def test_a_look_that_was_left_out_is_offered_again():
    assert ("wear_port", "") in prepared(STOPPED, WORN).done
    assert ("wear_port", "") not in prepared(PUMP, STOPPED, WORN).done


def test_every_word_of_the_tables_is_known():
    assert CHECKS_OF.keys() == SYMPTOMS_OF.keys() == PART_OF.keys()
    assert {*PART_OF, *MAY_DIFFER_AFTER} <= EVENTS.keys()
    assert {check for own in MAY_DIFFER_AFTER.values() for check in own} <= CHECKS.keys()
    assert {symptom for own in SYMPTOMS_OF.values() for symptom in own} <= SYMPTOMS.keys()


READ = '[[readings]]\nid="{0}"\nreading="2.5 inHg"\nrpm="900 rpm"\nwhen={1}\n'


def test_what_was_read_before_it_stopped_says_nothing_of_what_stopped_it():
    """Idle suction down for weeks, then dead: the reading fits no dead pump, and is not asked for again."""
    early = READ.format("early", "2024-11-10")
    lamp = OLD["lamp"].replace("2024-10-01", "2024-11-10")
    found = prepared(STOPPED, early, lamp, of=layouts.make("suction-twin-pumps"))
    assert not found.gauges and not found.lamps
    assert found.former.left_out == dict.fromkeys(("early", "lamp"), "read before the supply stopped on 2024-12-01")
    told = answered(STOPPED, early)
    assert "Left out, as of the state before: 1 reading; the supply stopped on 2024-12-01." in told.remarks
    alone = answered(STOPPED)
    assert {c.id: c.probability for c in told.causes} == {c.id: c.probability for c in alone.causes}
    assert not told.contradictory


@pytest.mark.parametrize(
    "text",
    [
        STOPPED + READ.format("same day", "2024-12-01"),
        STOPPED + READ.format("after", "2024-12-02"),
        STOPPED + READ.format("undated", "2024-11-10").replace("when=2024-11-10\n", ""),
        STOPPED + READ.format("baseline", "2024-11-10") + "sound=true\n",
        STOPPED.replace('"\nwhen', '"\npresent=false\nwhen') + READ.format("not lost", "2024-11-10"),
        STOPPED.replace("when=2024-12-01\n", "") + READ.format("no day of the stop", "2024-11-10"),
        STOPPED + '[[remarks]]\nsymptom="comes_and_goes"\n' + READ.format("came back", "2024-11-10"),
    ],
)
def test_what_may_be_of_the_stopped_system_stays(text: str):
    found = prepared(text)
    assert not found.former.left_out
    assert sum(len(group.items) for group in found.gauges) == 1
