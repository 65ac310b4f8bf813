"""The sheet until the repair: questions and drafts, never a verdict; and the draft after a loss in flight."""

from __future__ import annotations

import datetime
import io
from pathlib import Path

import msgspec
import pytest
from pypdf import PdfReader

from vanewise import pipeline
from vanewise.aircraft import layouts
from vanewise.diagnosis.infer import Options, diagnose
from vanewise.diagnosis.modes import NOTHING_WRONG
from vanewise.diagnosis.types import Causes, Evidence
from vanewise.prints import loss_report_pdf, meanwhile_pdf
from vanewise.work.meanwhile import Meanwhile, loss_in_flight, loss_report, meanwhile

DEMO = Path(__file__).resolve().parents[2] / "src" / "vanewise" / "demo"
DAY = datetime.date(2025, 2, 22)
QUICK = Options(weights=False, next_checks=False, rows=64)


def case(aircraft: str, evidence: str) -> tuple[object, Causes, Evidence]:
    description = pipeline.describe((DEMO / aircraft).read_text(encoding="utf-8"), aircraft)
    told = pipeline.observe((DEMO / evidence).read_text(encoding="utf-8"), evidence)
    return description, diagnose(description, told, seed=0, refine=False, options=QUICK), told


@pytest.fixture(scope="module")
def d1() -> tuple[object, Causes, Evidence]:
    return case("d1_club_aircraft.toml", "d1_evidence.toml")


@pytest.fixture(scope="module")
def sheet(d1: tuple[object, Causes, Evidence]) -> Meanwhile:
    description, causes, evidence = d1
    return meanwhile(description, causes, evidence, dated=DAY)  # type: ignore[arg-type]


def every_line(sheet: Meanwhile) -> str:
    asks = [question for group in sheet.questions for question in group.asks]
    parts = (sheet.lost, sheet.pilot, sheet.placard, sheet.autopilot, sheet.pump, sheet.elsewhere, sheet.decides)
    return " ".join([sheet.finding, *asks, *(line for part in parts for line in part)])


def test_a_dead_supply_says_emergency_in_cloud_and_no_dead_pump_left_turning(sheet: Meanwhile):
    assert "emergency" in sheet.pilot[0]
    assert any("broken pieces keep turning" in line for line in sheet.pump)
    assert any("run down within minutes" in line for line in sheet.lost)


def test_it_asks_for_each_kind_of_flight_and_gives_no_verdict(sheet: Meanwhile):
    assert [group.flight for group in sheet.questions] == ["visual, by day", "visual, by night", "by instruments"]
    assert all(question.rstrip().endswith("?") for group in sheet.questions for question in group.asks)
    text = every_line(sheet).lower()
    for verdict in ("is airworthy", "may fly", "safe to fly", "approved"):
        assert verdict not in text
    assert any("decides nothing" in line for line in sheet.decides)


def test_the_autopilot_that_follows_the_indicator_is_off_and_kept_off(sheet: Meanwhile):
    assert any("breaker pulled and collared" in line for line in sheet.autopilot)
    assert any("AUTOPILOT" in line for line in sheet.placard)
    assert "________" in sheet.placard[-1], "date and name are left for the person who may placard"


@pytest.mark.parametrize(("cause", "warned"), [("inline_filter_missing", True), ("indicator_contaminated", False)])
def test_no_loaner_goes_onto_lines_behind_a_missing_filter(cause: str, warned: bool):
    look = '[[checks]]\ncheck = "inline_filter_look"\noutcome = "missing"\ngrade = 3\n'
    description, told = layouts.make("pressure-one-pump"), pipeline.observe(look, "evidence")
    causes = diagnose(description, told, seed=0, refine=False, options=QUICK)
    alone = msgspec.structs.replace(causes, causes=tuple(own for own in causes.causes if own.id == cause))
    sheet = meanwhile(description, alone, told, dated=DAY)
    assert any("No loaner" in line for line in sheet.elsewhere) == warned


def doubted(mode: str, part: str, level: str) -> Meanwhile:
    """The sheet where one instrument is in doubt, at a level of the answer."""
    description, told = layouts.make("suction-one-pump"), pipeline.observe('[[remarks]]\nsymptom="ai_leans"\n', "e")
    causes = diagnose(description, told, seed=0, refine=False, options=QUICK)
    likely = next(own for own in causes.causes if own.id == mode)
    alone = (msgspec.structs.replace(likely, part=part, present=0.4, probability=0.4),)
    at_level = msgspec.structs.replace(causes, causes=alone, level=level, levels={level: 0.85})
    return meanwhile(description, at_level, told, dated=DAY)


def test_with_no_fault_told_of_the_instrument_in_doubt_is_named():
    """It alone where one is in doubt, else all; and that no part is known to be lost is no leave to trust any."""
    lost = doubted("indicator_bearing", "heading", NOTHING_WRONG.level).lost[0]
    assert "No part is known to be lost" in lost and "In doubt until" in lost
    assert "heading indicator" in lost and "attitude indicator" not in lost
    every = doubted("leak", "", NOTHING_WRONG.level).lost[0]
    assert "heading indicator" in every and "attitude indicator" in every


@pytest.mark.parametrize(("mode", "warned"), [("instrument_mounting", True), ("indicator_bearing", False)])
def test_a_loaner_leans_too_in_a_panel_that_is_askew(mode: str, warned: bool):
    assert any("askew" in line for line in doubted(mode, "attitude", "one instrument").elsewhere) == warned


def test_an_aircraft_without_autopilot_has_none_on_its_placard():
    description, causes, evidence = case("d3_case_leak.toml", "d3_evidence.toml")
    sheet = meanwhile(description, causes, evidence, dated=DAY)  # type: ignore[arg-type]
    assert not any("AUTOPILOT" in line for line in sheet.placard)
    assert not loss_in_flight(causes, evidence)


def test_the_loss_report_holds_what_was_said_in_order_of_time(d1: tuple[object, Causes, Evidence]):
    description, causes, evidence = d1
    assert loss_in_flight(causes, evidence)
    report = loss_report(description, causes, evidence, words="Zero in cruise.", dated=DAY)  # type: ignore[arg-type]
    by_title = {section.title: section for section in report.sections}
    order = by_title["In order of time"].held
    minutes = [float(line.split(" min")[0]) for line in order if " min after" in line]
    assert minutes == sorted(minutes) and minutes
    assert "fell to nothing" in " ".join(order[:2])
    assert by_title["Aircraft and part"].to_add, "type and serials are asked for, never guessed"
    assert any("42.3 h" in line for line in by_title["Aircraft and part"].held), "2,983.9 less 2,941.6 h"
    assert "Nothing has been sent" in " ".join(report.before_sending)


def test_the_sheet_is_one_page_and_the_same_bytes_twice(sheet: Meanwhile):
    pdf = meanwhile_pdf(sheet)
    assert pdf == meanwhile_pdf(sheet)
    for page in ("letter", "a4"):
        assert len(PdfReader(io.BytesIO(meanwhile_pdf(sheet, page=page))).pages) == 1


def test_the_report_prints(d1: tuple[object, Causes, Evidence]):
    description, causes, evidence = d1
    report = loss_report(description, causes, evidence, words="Zero.", dated=DAY)  # type: ignore[arg-type]
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(loss_report_pdf(report))).pages)
    assert "to add" in text and "Before it is sent" in text


@pytest.mark.parametrize("layout", ["suction-standby-pump", "suction-standby-intake"])
def test_a_standby_drawn_in_the_layout_is_spoken_of_and_tried_after_work(layout: str):
    """Drawn as a part it counts as much as one only said to be fitted."""
    description = layouts.make(layout)
    evidence = pipeline.observe('[[remarks]]\nsymptom = "gauge_low_cruise"\n', "e")
    causes = diagnose(description, evidence, seed=0, refine=False, options=QUICK)
    sheet = meanwhile(description, causes, evidence, dated=DAY)
    assert any("standby source replaces a pump only" in line for line in sheet.lost)
    package = pipeline.plan(description, "worn_vanes", None, today=DAY)
    assert "standby-test" in {task.id for task in package.tasks}


def test_boots_drawn_in_the_layout_ask_for_ice_and_are_cycled_after_work():
    description = layouts.make("pressure-boots")
    evidence = pipeline.observe('[[remarks]]\nsymptom = "gauge_low_cruise"\n', "e")
    causes = diagnose(description, evidence, seed=0, refine=False, options=QUICK)
    sheet = meanwhile(description, causes, evidence, dated=DAY)
    assert any("ice forecast" in question for group in sheet.questions for question in group.asks)
    package = pipeline.plan(description, "worn_vanes", None, today=DAY)
    assert "cycle-test" in {task.id for task in package.tasks}


def test_the_loss_report_keeps_side_height_and_day_and_fits_on_one_page(d1: tuple[object, Causes, Evidence]):
    description, causes, _ = d1
    evidence = pipeline.observe(
        """
[[readings]]
reading = "0 inHg"
rpm = "2400 rpm"
altitude = "5500 ft"
when = 2025-02-22
[[remarks]]
symptom = "stopped_suddenly"
[[remarks]]
symptom = "ai_leans"
manner = "to the left"
minutes_after = "4 min"
note = "six degrees"
""",
        "e",
    )
    draft = loss_report(description, causes, evidence, words="", dated=DAY)  # type: ignore[arg-type]
    held = [line for section in draft.sections for line in section.held]
    assert "4 min after: attitude indicator leans to the left: six degrees" in held
    assert "panel gauge 0.0 inHg at 2400 rpm, 5500 ft, 2025-02-22" in held
    assert len(PdfReader(io.BytesIO(loss_report_pdf(draft, page="letter"))).pages) == 1


@pytest.mark.parametrize(("nothing", "told"), [(0.2, True), (0.02, False)])
def test_where_nothing_may_be_wrong_the_open_finding_says_so(
    d1: tuple[object, Causes, Evidence], nothing: float, told: bool
):
    description, causes, evidence = d1
    open_ = msgspec.structs.replace(causes, level="", levels={"no fault told of": nothing})
    sheet = meanwhile(description, open_, evidence, dated=DAY)  # type: ignore[arg-type]
    assert sheet.finding.startswith("Open: ") and "in doubt" in sheet.finding
    assert ("whether anything is wrong" in sheet.finding) == told
