"""Shop reports read for what they mean."""

from __future__ import annotations

import datetime

import msgspec
import pytest

from vanewise.aircraft.layouts import make
from vanewise.contamination import SheddingEvent, trace
from vanewise.diagnosis.vocabulary import SYMPTOMS
from vanewise.work import log as job
from vanewise.work.fittings import condition_problem
from vanewise.work.gates import gate_state
from vanewise.work.plan import plan
from vanewise.work.reports import DUST_SYMPTOM, evidence_from_report, report_problem, tells_of_dust
from vanewise.work.types import PartDocument

PAPER = PartDocument(
    part="heading",
    serial_on_part="H-9",
    serial_on_document="H-9",
    status="overhauled",
    dated=datetime.date(2024, 8, 24),
    signed=True,
    reference="report 7",
    test_figures="page 2",
    report="grey-black dust round the rotor; bearings replaced",
    report_read_by="A. Person",
)


@pytest.mark.parametrize(
    ("report", "dust"),
    [
        ("grey-black dust round the rotor", True),
        ("Rotor bearings rough. Carbon at the inlet screen.", True),
        ("no dust found", False),
        ("case free of dust, bearings worn", False),
        ("no dust at the inlet, but black deposit on the rotor", True),
        ("bearings worn", False),
        ("", False),
    ],
)
def test_dust_is_found_in_the_words_and_its_denial_respected(report, dust):
    assert tells_of_dust(report) is dust


def test_the_filed_report_becomes_evidence_that_reopens_the_case():
    remark = evidence_from_report(PAPER)
    assert remark is not None
    assert remark.symptom == DUST_SYMPTOM
    assert remark.symptom in SYMPTOMS, "the diagnosis must know the word"
    assert remark.present
    assert remark.about == "heading"
    assert remark.when == datetime.date(2024, 8, 24)


def test_looked_and_absent_is_evidence_too_and_no_report_is_none():
    clean = evidence_from_report(msgspec.structs.replace(PAPER, report="no dust found"))
    assert clean is not None
    assert not clean.present
    assert evidence_from_report(msgspec.structs.replace(PAPER, report=" ")) is None


def test_an_unread_report_is_a_problem():
    assert report_problem(PAPER) is None
    assert report_problem(msgspec.structs.replace(PAPER, report="")) is not None
    unread = report_problem(msgspec.structs.replace(PAPER, report_read_by=""))
    assert unread is not None
    assert "sheds" in unread.next_step


def package():
    description = make("suction-one-pump")
    scope = trace(description, None, SheddingEvent(part="pump", kind="stop"))
    return plan(description, "debris_left_in_lines", scope, today=datetime.date(2025, 3, 1), place="pump")


@pytest.mark.parametrize("condition", ["rounded flats", "cracked", "port cracked"])
def test_a_bad_fitting_holds_the_run(condition):
    planned = package()
    gate = next(gate for gate in planned.gates if gate.id == "ready to run")
    record = msgspec.structs.replace(planned.fittings[0], clock_deg=120.0, condition=condition)
    assert condition_problem(record) is not None
    log = job.turned(planned, job.record_fitting(planned, job.start(planned), record), record.id, 0.75)
    assert any(condition in words for words in gate_state(planned, log, gate).missing)
    sound = msgspec.structs.replace(record, condition="sound")
    log = job.record_fitting(planned, log, sound)
    assert not any("fitting at pump, inlet" in words for words in gate_state(planned, log, gate).missing)


def test_hoses_in_question_are_run_hot_as_well():
    planned = plan(
        make("suction-one-pump"), "hose_collapsed", None, today=datetime.date(2025, 3, 1), place="firewall_hose"
    )
    hot = planned.task("hot-repeat")
    assert "ground-run" in hot.after
    assert "hot-repeat" in planned.task("record").after


def test_standby_and_boots_are_tried_before_they_are_needed():
    description = msgspec.structs.replace(
        make("suction-one-pump"), also_fitted=("standby source", "de-ice boots", "door seal")
    )
    planned = plan(description, "worn_vanes", None, today=datetime.date(2025, 3, 1), place="pump")
    assert "standby" in planned.task("standby-test").title
    assert "de-ice boots and door seal" in planned.task("cycle-test").title


def test_receiving_such_a_report_writes_the_finding():
    planned = package()
    log = job.receive(planned, job.start(planned), PAPER)
    assert any("its source is still open" in finding for finding in log.findings)
    clean = job.receive(planned, job.start(planned), msgspec.structs.replace(PAPER, report="no dust found"))
    assert clean.findings == ()
