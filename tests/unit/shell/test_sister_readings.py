"""A sister aircraft's sound sweep, kept through the page: evidence for every report, no reading of this aircraft."""

from __future__ import annotations

import pytest
from django.test import Client

from vanewise.aircraft import layouts
from vanewise.aircraft.writing import write_description
from vanewise.jobs import aircraft as aircraft_job
from vanewise.jobs import causes, evidence
from vanewise.jobs.casebook import open_book
from vanewise.store.home import Home
from vanewise.web.views.watching import past_readings

SWEEP = {"author": "Ada", "direction": "rising", "rpm0": "1000", "value0": "3.1", "rpm1": "2400", "value1": "5.0"}


@pytest.fixture
def craft(home: Home) -> str:
    return aircraft_job.keep(write_description(layouts.make("suction-one-pump")), author="Ada")


def test_it_counts_for_a_report_and_is_no_reading_of_this_aircraft(client: Client, craft: str) -> None:
    report = evidence.open_report(craft, "Gauge low at idle.", author="Ada")
    before = causes.evidence_head(open_book(craft), open_book(craft).report(report))
    told = {**SWEEP, "sister": "the blue one", "sound": "on"}
    assert client.post(f"/a/{craft}/readings/add/", told).status_code == 302
    book = open_book(craft)
    counted = evidence.evidence_of(book, book.report(report)).readings
    assert [reading.sister for reading in counted] == ["the blue one", "the blue one"]
    assert evidence.baseline(book) == ()
    assert past_readings(book) == []
    assert causes.evidence_head(book, book.report(report)) != before, "an answer made before it is out of date"
    assert "the blue one" in client.get(f"/a/{craft}/reports/{report}/").content.decode()


@pytest.mark.parametrize(
    ("more", "said"),
    [({}, "write sound = true"), ({"sound": "on", "lamp_rpm": "1100"}, "leave the lamp out")],
)
def test_what_is_no_use_of_a_sister_is_refused_and_kept_on_the_form(
    client: Client, craft: str, more: dict[str, str], said: str
) -> None:
    response = client.post(f"/a/{craft}/readings/add/", {**SWEEP, "sister": "the blue one", **more})
    shown = response.content.decode()
    assert response.status_code == 200
    assert said in shown
    assert 'value="the blue one"' in shown
    assert evidence.of_sisters(open_book(craft)) == ()
