"""Work that this aircraft's own jobs hold, told beside a report that does not know of it."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from vanewise.aircraft import layouts
from vanewise.aircraft.writing import write_description
from vanewise.jobs import aircraft as aircraft_job
from vanewise.jobs import earlier_work, kinds
from vanewise.jobs import evidence as evidence_job
from vanewise.jobs.casebook import open_book
from vanewise.store import journal
from vanewise.store.home import Home

JOB = "f" * 64


@pytest.fixture
def craft(home: Home) -> str:
    text = write_description(layouts.make("suction-one-pump"))
    return aircraft_job.keep(text, author="Ada", at="2025-01-02T10:00:00Z")


def told(craft: str, when: str = "2025-09-01") -> tuple[earlier_work.Unsaid, ...]:
    book = open_book(craft)
    reports = [report.id for report in book.reports]
    report = reports[-1] if reports else evidence_job.open_report(craft, "Stopped", author="Ada", when=when)
    book = open_book(craft)
    return earlier_work.unsaid(book, book.report(report))


def keep(craft: str, kind: str, content: dict[str, Any], at: str = "2025-03-04T10:00:00Z") -> None:
    journal.append(craft, kind, content, author="Ada", at=at, expected_head=journal.ANY_HEAD)


def step(craft: str, task: str, what: str = "done") -> None:
    keep(craft, kinds.STEP, {"package": JOB, "what": what, "task": task})


def test_a_pump_fitted_by_an_own_job_is_told_until_the_report_names_it(craft: str) -> None:
    """Fitted in March by the tool's own job, stopped in September: the report does not know of it yet."""
    keep(craft, kinds.PACKAGE, {"package": JOB, "report": "r0"})
    step(craft, "pump-on")
    assert told(craft) == (), "the former pump put back after work at the pad"
    step(craft, "pump-documents")
    assert told(craft) == (earlier_work.Unsaid("pump_changed", "2025-03-04", JOB[:12]),)
    report = open_book(craft).reports[-1].id
    item = {"kind": "pump_changed", "when": "2025-03-04"}
    evidence_job.add(craft, report, [(kinds.EVENT, item)], author="Ada")
    assert told(craft) == ()


def test_what_was_taken_back_or_came_after_the_report_is_not_told(craft: str) -> None:
    keep(craft, kinds.PACKAGE, {"package": JOB, "report": "r0"})
    step(craft, "regulator-exchange")
    assert [one.event for one in told(craft)] == ["regulator_changed"]
    step(craft, "regulator-exchange", "not done")
    assert told(craft) == ()
    step(craft, "regulator-exchange")
    early = evidence_job.open_report(craft, "Low", author="Ada", when="2025-01-10")
    book = open_book(craft)
    assert earlier_work.unsaid(book, book.report(early)) == ()


def test_the_reports_page_says_what_to_enter(craft: str, client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    found = earlier_work.Unsaid("pump_changed", "2025-03-04", JOB[:12])
    monkeypatch.setattr(earlier_work, "unsaid", lambda book, report: (found,))
    report = evidence_job.open_report(craft, "Stopped", author="Ada", when="2025-09-01")
    page = client.get(f"/a/{craft}/reports/{report}/").content.decode()
    assert "Pump changed on" in page
    assert "does not know of it" in page
    assert f"/a/{craft}/jobs/{JOB[:12]}/" in page
