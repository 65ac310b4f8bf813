"""Ticks, gates and overrides of one job, step by step."""

from __future__ import annotations

import datetime

import msgspec
import pytest

from tests.contracts.looks_answered import answers, photo_of
from vanewise.aircraft.layouts import make
from vanewise.contamination import Closure, SheddingEvent, trace
from vanewise.errors import InputError, Locked
from vanewise.work import log as job
from vanewise.work.compare import compare
from vanewise.work.gates import document_problems, gate_state, gate_states, holding
from vanewise.work.looks import unanswered
from vanewise.work.plan import plan
from vanewise.work.types import FittingRecord, JobLog, Override, PartDocument

TODAY = datetime.date(2025, 3, 1)
DESCRIPTION = make("suction-one-pump")
SCOPE = trace(DESCRIPTION, None, SheddingEvent(part="pump", kind="stop"))
PACKAGE = plan(DESCRIPTION, "debris_left_in_lines", SCOPE, today=TODAY, place="pump")
GOOD_PAPER = PartDocument(
    part="pump",
    serial_on_part="C-77",
    serial_on_document="C-77",
    status="overhauled",
    dated=TODAY,
    signed=True,
    reference="work order 12",
    test_figures="on the back",
)


def mapped():
    log = job.start(PACKAGE)
    hung = tuple((tag.number, end) for tag in PACKAGE.hose_tags for end in tag.ends if end != "engine bay")
    log = job.hang_tags(PACKAGE, log, hung)
    for record in PACKAGE.fittings:
        log = job.record_fitting(PACKAGE, log, msgspec.structs.replace(record, clock_deg=120.0))
    return job.answer_look(PACKAGE, log, "seen:tags", {"by": "B. Person"})


def answered(log, *looks):
    """The log with these looks, or all, answered and photographed."""
    for look in PACKAGE.looks:
        if not looks or look.id in looks:
            log = job.answer_look(PACKAGE, log, look.id, answers(look))
            for ask in look.asks:
                log = job.photograph(PACKAGE, log, photo_of(ask)) if ask.kind == "photo" else log
    return log


def ticked(log, *tasks):
    for task in tasks:
        log = job.tick(PACKAGE, log, task)
    return log


OPENING = ("safe", "open-up", "photographs", "tags", "fitting-angles", "regulator-mark")


def test_what_comes_first_comes_first():
    with pytest.raises(Locked, match="Open up"):
        job.tick(PACKAGE, ticked(job.start(PACKAGE), "safe"), "photographs")


def test_nothing_is_loosened_before_everything_is_mapped():
    bare = ticked(job.start(PACKAGE), *OPENING)
    with pytest.raises(Locked, match="nothing is loosened before"):
        job.tick(PACKAGE, bare, "pump-off")
    assert "pump-off" in job.tick(PACKAGE, ticked(mapped(), *OPENING), "pump-off").done


def closing_of(suspect):
    return Closure(
        suspect=suspect.id, how=suspect.closures[0], method="as planned", proof="seen, photographed", by="A. Person"
    )


def ready_for_the_pump():
    log = ticked(mapped(), *OPENING, "pump-off", "pump-look", "trace-look", "hoses", "tubes", "tap-lines", "manifolds")
    log = ticked(log, "regulator-clean", "filters", "pump-documents", "pad", "elbows")
    return answered(job.receive(PACKAGE, log, GOOD_PAPER), "eligible", "match", "seen:pump-documents")


def test_no_pump_goes_on_while_one_suspect_is_open():
    log = ready_for_the_pump()
    for suspect in SCOPE.suspects[:-1]:
        log = job.close_suspect(PACKAGE, log, closing_of(suspect))
    with pytest.raises(Locked) as held:
        job.tick(PACKAGE, log, "pump-on")
    assert SCOPE.suspects[-1].label in str(held.value)
    assert "certificated person" in str(held.value)
    log = job.close_suspect(PACKAGE, log, closing_of(SCOPE.suspects[-1]))
    assert "pump-on" in job.tick(PACKAGE, log, "pump-on").done


def test_an_override_needs_name_and_reason_and_is_kept():
    log = ready_for_the_pump()
    for bad in (Override(what="suspects", name="", reason="late"), Override(what="suspects", name="A", reason=" ")):
        with pytest.raises(InputError):
            job.override(PACKAGE, log, bad)
    with pytest.raises(InputError):
        job.override(PACKAGE, log, Override(what="no such gate", name="A. Person", reason="because"))
    entry = Override(what="suspects", name="A. Person", reason="indicators fly elsewhere; ports capped")
    passed = job.override(PACKAGE, log, entry)
    state = next(state for state in gate_states(PACKAGE, passed) if state.gate.id == "suspects")
    assert state.is_open
    assert state.missing
    assert state.override == entry
    assert "pump-on" in job.tick(PACKAGE, passed, "pump-on").done


def test_papers_that_lack_something_hold_the_part():
    for lacking in (
        {"serial_on_document": "C-78"},
        {"serial_on_part": "", "serial_on_document": ""},
        {"status": ""},
        {"dated": None},
        {"signed": False},
        {"reference": ""},
        {"test_figures": ""},
    ):
        paper = msgspec.structs.replace(GOOD_PAPER, **lacking)
        assert document_problems(paper), lacking
        log = job.receive(PACKAGE, job.start(PACKAGE), paper)
        assert any(
            state.gate.title == "part and papers of the other pump agree" for state in holding(PACKAGE, log, "pump-on")
        )
    assert document_problems(GOOD_PAPER) == ()


def test_nothing_turns_before_connections_turns_torque_and_counts_are_in():
    gate = next(gate for gate in PACKAGE.gates if gate.id == "ready to run")
    log = job.start(PACKAGE)
    assert len(gate_state(PACKAGE, log, gate).missing) == len(gate.needs)
    for tag in PACKAGE.hose_tags:
        log = job.connect(PACKAGE, log, tag.line, tag.ends)
    for record in PACKAGE.fittings:
        log = job.turned(PACKAGE, log, record.id, 0.75)
    log = job.torque(PACKAGE, log, "pad nuts", "90 in-lb, wrench W7")
    numbers = {"pad nuts": 4, "plain washers": 4, "lock washers": 4, "vanes": 6, "caps": 9, "rags": 5, "tools": 31}
    log = answered(job.count(PACKAGE, log, numbers, numbers))
    assert gate_state(PACKAGE, log, gate).is_open
    crossed = job.connect(PACKAGE, log, "attitude_outlet_hose", ("attitude.outlet", "manifold.heading"))
    assert "manifold.heading" in gate_state(PACKAGE, crossed, gate).missing[0]
    lost = job.count(PACKAGE, log, {}, {"lock washers": 3})
    assert "lock washers" in gate_state(PACKAGE, lost, gate).missing[0]
    short = job.count(PACKAGE, log, {"pad nuts": 3}, {"pad nuts": 3})
    assert "pad nuts" in gate_state(PACKAGE, short, gate).missing[0]


def test_turns_over_the_limit_are_refused_at_once():
    with pytest.raises(InputError, match="at most 1 turn"):
        job.turned(PACKAGE, job.start(PACKAGE), "pump.inlet", 1.25)


def test_only_a_conditional_task_may_be_left_out_and_only_for_a_reason():
    log = job.start(PACKAGE)
    assert "regulator-set" in job.leave_out(PACKAGE, log, "regulator-set", "plateau within the band").left_out
    with pytest.raises(InputError):
        job.leave_out(PACKAGE, log, "regulator-set", " ")
    with pytest.raises(InputError, match="always done"):
        job.leave_out(PACKAGE, log, "pump-on", "no time")


def test_opening_a_task_again_opens_what_came_after_it():
    log = job.untick(PACKAGE, ticked(mapped(), *OPENING, "pump-off", "pump-look"), "pump-off")
    assert log.done == OPENING


def test_a_closure_the_part_does_not_allow_is_refused():
    with pytest.raises(InputError, match="back from instrument shop"):
        job.close_suspect(
            PACKAGE,
            job.start(PACKAGE),
            Closure(suspect="attitude", how="cleaned and inspected", method="blown", proof="looks fine", by="A"),
        )


def test_log_of_another_package_is_refused():
    with pytest.raises(InputError, match="package"):
        job.tick(PACKAGE, JobLog(package="0" * 64), "safe")


def test_entries_about_nothing_in_the_package_are_refused():
    log = job.start(PACKAGE)
    for act in (
        lambda: job.tick(PACKAGE, log, "no such task"),
        lambda: job.connect(PACKAGE, log, "no_such_line", ("a", "b")),
        lambda: job.count(PACKAGE, log, {"spoons": 1}),
        lambda: job.count(PACKAGE, log, {"caps": -1}),
        lambda: job.torque(PACKAGE, log, "pad nuts", " "),
        lambda: job.record_fitting(PACKAGE, log, FittingRecord(id="x", port="x")),
    ):
        with pytest.raises(InputError):
            act()


def test_two_packages_compared_tell_what_a_finding_changed():
    from vanewise.contamination import FrontFinding

    ends = tuple(
        FrontFinding(line=f"{gyro}_outlet_hose", clean_from_m=0.3, proof="cloth") for gyro in ("attitude", "heading")
    )
    shorter = trace(DESCRIPTION, None, SheddingEvent(part="pump", kind="stop"), findings=ends)
    newer = plan(DESCRIPTION, "debris_left_in_lines", shorter, today=TODAY, place="pump", parent=PACKAGE.id)
    difference = compare(PACKAGE, newer)
    assert {"attitude", "heading"} <= set(difference.dropped_suspects)
    assert "Refit the attitude indicator" in difference.dropped_tasks
    assert difference.added_suspects == ()
    assert newer.parent == PACKAGE.id
    assert compare(PACKAGE, PACKAGE).is_empty


def test_package_and_log_survive_their_json_form():
    log = job.receive(PACKAGE, mapped(), GOOD_PAPER)
    for value in (PACKAGE, log):
        assert msgspec.json.decode(msgspec.json.encode(value), type=type(value)) == value


LOOKS = {look.id: look for look in PACKAGE.looks}


@pytest.mark.parametrize(
    ("look", "told", "words"),
    [
        ("match", {"rotation": "clockwise", "rotation other": "counter-clockwise"}, "needed by this pad"),
        ("match", {"coupling": "no"}, "answered no"),
        ("pieces", {"complete": "no"}, "where it was searched"),
        ("pieces", {"complete": ""}, "where it was searched"),
        ("eligible", {"directives on": "last week"}, "no date"),
        ("eligible", {"basis": " "}, "not written"),
        ("mount", {"drain": "no"}, "answered no"),
        ("mount", {"gasket": ""}, "not written"),
    ],
)
def test_an_answer_that_is_not_right_holds_its_gate(look, told, words):
    log = answered(job.start(PACKAGE), look)
    assert unanswered(PACKAGE, log, look) == ()
    log = job.answer_look(PACKAGE, log, look, told)
    assert words in " ".join(unanswered(PACKAGE, log, look))
    gate = next(gate for gate in PACKAGE.gates if f"look:{look}" in gate.needs)
    assert any(LOOKS[look].title in missing for missing in gate_state(PACKAGE, log, gate).missing)


def test_a_missing_piece_may_be_searched_for_and_written_down():
    told = {
        "complete": "no",
        "complete why": "one corner; case, pad and hoses searched with lamp and magnet, A. Person",
    }
    log = job.answer_look(PACKAGE, answered(job.start(PACKAGE), "pieces"), "pieces", told)
    assert unanswered(PACKAGE, log, "pieces") == ()


def test_a_picture_that_is_asked_for_has_to_be_there():
    log = job.answer_look(PACKAGE, job.start(PACKAGE), "old filter", {"finding": "grey dust"})
    assert "no photograph: old filter cut open" in unanswered(PACKAGE, log, "old filter")


def test_a_hold_point_asks_for_the_name_of_who_saw_it():
    held = [task.id for task in PACKAGE.tasks if task.hold_point]
    assert {f"seen:{task}" for task in held} <= LOOKS.keys()
    asked = {need for gate in PACKAGE.gates for need in gate.needs}
    assert {f"look:seen:{task}" for task in held} <= asked, "every hold point holds something"


def test_a_look_of_a_task_left_out_is_not_asked_for():
    look = next(look for look in PACKAGE.looks if PACKAGE.task(look.task).only_if)
    log = job.start(PACKAGE)
    assert unanswered(PACKAGE, log, look.id)
    assert unanswered(PACKAGE, job.leave_out(PACKAGE, log, look.task, "not needed"), look.id) == ()


def test_an_instrument_comes_back_only_with_its_report_read():
    note = PACKAGE.shop_notes[0]
    paper = msgspec.structs.replace(GOOD_PAPER, part=note.part)
    gate = next(gate for gate in PACKAGE.gates if f"documents:{note.part}" in gate.needs)
    log = job.receive(PACKAGE, job.start(PACKAGE), paper)
    assert "report" in " ".join(gate_state(PACKAGE, log, gate).missing)
    read = msgspec.structs.replace(paper, report="bearings dry, no dust inside", report_read_by="A. Person")
    missing = gate_state(PACKAGE, job.receive(PACKAGE, log, read), gate).missing
    assert not any("report," in words for words in missing)


def test_a_question_nobody_asked_is_refused():
    for look, told in (("no such look", {}), ("mount", {"colour": "red"})):
        with pytest.raises(InputError):
            job.answer_look(PACKAGE, job.start(PACKAGE), look, told)


def test_a_package_that_takes_the_place_takes_over_what_still_means_the_same():
    shorter = trace(DESCRIPTION, None, SheddingEvent(part="pump", kind="running"))
    newer = plan(DESCRIPTION, "debris_left_in_lines", shorter, today=TODAY, place="pump", parent=PACKAGE.id)
    log = ticked(mapped(), *OPENING, "pump-off")
    log = job.count(PACKAGE, log, {"pad nuts": 4})
    for suspect in ("manifold", "outlet_elbow"):
        log = job.close_suspect(PACKAGE, log, closing_of(SCOPE.suspect(suspect)))
    log = job.override(
        PACKAGE, job.note(PACKAGE, log, "a clamp missing"), Override(what="suspects", name="A", reason="b")
    )
    kept = job.carry_over(newer, PACKAGE, log)
    assert kept.package == newer.id
    assert (kept.tags_hung, kept.fittings, kept.counts_out) == (log.tags_hung, log.fittings, {"pad nuts": 4})
    assert kept.findings == ("a clamp missing",)
    assert kept.overrides == (), "somebody passed a gate of the other package, not of this one"
    assert [closure.suspect for closure in kept.closures] == ["outlet_elbow"]
    assert set(kept.done) <= set(log.done)
    assert {"safe", "open-up", "tags"} <= set(kept.done)
    # Every task it says is done could have been ticked here in that order.
    again = ticked_in(newer, msgspec.structs.replace(kept, done=()), kept.done)
    assert again.done == kept.done


def ticked_in(package, log, tasks):
    for task in tasks:
        log = job.tick(package, log, task)
    return log


def test_the_printed_torque_sheet_has_what_was_filled_in():
    line = msgspec.structs.replace(
        PACKAGE.torques[0], wanted="90 in-lb, own manual", adapter="E 2 in", setting="75 in-lb"
    )
    log = job.fill_in_torque(PACKAGE, job.start(PACKAGE), line)
    printed = job.with_torques(PACKAGE, log)
    assert printed.torques[0] == line
    assert printed.torques[1:] == PACKAGE.torques[1:] and printed.id == PACKAGE.id
