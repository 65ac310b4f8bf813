"""A job on its pages, without scripts: what is entered is kept, judged and shown."""

from __future__ import annotations

import html
import io
import re
from typing import Any

import pytest
from django.test import Client
from pypdf import PdfReader

from vanewise.aircraft import layouts
from vanewise.aircraft.writing import write_description
from vanewise.jobs import aircraft as aircraft_job
from vanewise.jobs import evidence, work
from vanewise.jobs.casebook import open_book
from vanewise.store import journal
from vanewise.store.home import Home

AT = "2026-03-01T10:00:00Z"


class OneJob:
    """A job and what a person does on its pages."""

    def __init__(self, client: Client, craft: str, key: str, report: str) -> None:
        self.client, self.craft, self.key, self.report = client, craft, key, report
        self.address = f"/a/{craft}/jobs/{key}/"

    @property
    def found(self) -> work.Job:
        return work.job(open_book(self.craft), self.key)

    def post(self, what: str, **told: Any) -> Any:
        form = {"what": what, "author": "Ada", "head": journal.head(self.craft), **told}
        return self.client.post(f"{self.address}step/", form)

    def shown(self, part: str) -> str:
        body = self.client.get(f"{self.address}?part={part}").content.decode()
        return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", body)))

    def missing(self, gate: str) -> tuple[str, ...]:
        return next(state.missing for state in self.found.gates if state.gate.id == gate)


@pytest.fixture
def job(home: Home, client: Client) -> OneJob:
    craft = aircraft_job.keep(write_description(layouts.make("suction-one-pump")), author="Ada", at=AT)
    report = evidence.open_report(craft, "No suction.", author="Ada", when="2026-03-01", at=AT)
    package = work.make_package(craft, report, "worn_vanes", place="pump", author="Ada", at=AT)
    return OneJob(client, craft, package.id[:12], report)


def test_a_step_without_a_name_asks_for_it_and_loses_nothing(job: OneJob) -> None:
    told = {"what": "found", "words": "A clamp is missing.", "head": journal.head(job.craft)}
    asked = job.client.post(f"{job.address}step/", told)
    body = asked.content.decode()
    assert "Who is working?" in body
    kept = dict(re.findall(r'<input type="hidden" name="([a-z]+)" value="([^"]*)"', body))
    assert kept["words"] == "A clamp is missing."
    assert job.client.post(f"{job.address}step/", {**told, "author": "Ben"}).status_code == 302
    assert job.found.log.findings == ("A clamp is missing.",)


def test_tags_are_hung_on_the_page_and_open_the_gate(job: OneJob) -> None:
    ends = [f"{tag.number}|{port}" for tag in job.found.package.hose_tags for port in tag.ends if "." in port]
    job.post("tags hung", hung=ends[:-1])
    assert any("tag" in words for words in job.missing("mapped"))
    job.post("tags hung", hung=ends)
    assert not any("tag" in words for words in job.missing("mapped"))
    assert f"Tags hung: {len(ends)}" in job.shown("hoses")


def test_a_line_on_another_port_says_what_that_would_do(job: OneJob) -> None:
    assert (
        job.post("connected", line="firewall_hose", start="regulator.pump_side", end="pump.outlet").status_code == 302
    )
    shown = job.shown("hoses")
    assert "Not as mapped: do not run it like this" in shown
    assert "Air would go through the attitude indicator backwards." in shown
    assert "connected as found" in job.client.get(f"{job.address}?part=hoses").content.decode()
    job.post("connected", line="firewall_hose", start="regulator.pump_side", end="pump.inlet")
    assert "Not as mapped" not in job.shown("hoses")


def test_looks_and_threads_of_a_fitting_are_kept(job: OneJob) -> None:
    job.post("angle", fitting="pump.inlet", clock="4:30", hand_tight="3", threads="dry", condition="rounded flats")
    record = job.found.log.fittings["pump.inlet"]
    assert (record.clock_deg, record.threads, record.condition) == (135.0, "dry", "rounded flats")
    # 3 o'clock to 4:30 clockwise is an eighth of a turn.
    assert "1/8 turn past hand-tight, to 4:30" in job.shown("fittings")
    assert any("replace the fitting" in words for words in job.missing("ready to run"))


def test_looks_are_answered_on_the_page(job: OneJob) -> None:
    assert any("How the pump went on" in words for words in job.missing("ready to run"))
    told = {"a-flange": "yes", "a-gasket": "made for it", "a-drain": "yes", "a-seat": "no"}
    assert job.post("looked", look="mount", **told).status_code == 302
    assert "answered no: it seated by hand" in " ".join(job.missing("ready to run"))
    job.post("looked", look="mount", **{"a-seat": "yes"})
    assert not any("How the pump went on" in words for words in job.missing("ready to run"))
    shown = job.client.get(job.address).content.decode()
    assert 'value="made for it"' in shown


def test_a_shop_report_goes_into_the_evidence_and_reopens_the_source(job: OneJob) -> None:
    told = {
        "part": "attitude",
        "serial_on_part": "A1",
        "serial_on_document": "A1",
        "status": "overhauled",
        "reference": "W-7",
    }
    job.post("received", **told, report="Bearings rough; black dust in the case.", report_read_by="Ada")
    found = open_book(job.craft).report(job.report)
    remarks = [entry.content["item"] for entry in found.evidence if entry.kind == "remark"]
    assert [(item["symptom"], item["present"], item["about"]) for item in remarks] == [
        ("shop_found_dust_in_indicator", True, "attitude")
    ]
    assert any("its source is still open" in words for words in job.found.log.findings)


def test_a_report_nobody_read_is_no_evidence_yet(job: OneJob) -> None:
    job.post("received", part="attitude", serial_on_part="A1", report="Black dust in the case.")
    found = open_book(job.craft).report(job.report)
    assert [entry for entry in found.evidence if entry.kind == "remark"] == []


def test_prices_and_who_may_do_it_stand_on_the_page(job: OneJob) -> None:
    assert "What it costs" in job.shown("parts")
    job.post("prices", **{"price-0": "90", "price-1": "412.50"})
    assert "parts 412.50, hands-on work" in job.shown("parts")
    assert "A mechanic's certificate does not cover any repair to an instrument" in job.shown("tasks")


def words_of(pdf: bytes) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


def test_the_pages_that_go_with_something_print_what_was_recorded(job: OneJob) -> None:
    from tests.unit.shell.test_photos import turned_jpeg
    from vanewise.jobs import photos

    job.post("found", words="Rotor cracked through two slots.")
    job.post("looked", look="pieces", **{"a-complete": "no", "a-complete why": "one corner, searched with a magnet"})
    taken = photos.take(
        job.craft, job.key, turned_jpeg(), about="pump.inlet", moment="before", author="Ada", note="elbow", at=AT
    )
    job.client.post(f"{job.address}photos/{taken.id}/", {"target": "tip:pump.inlet", "across": "9", "down": "9"})
    packet = job.client.get(f"{job.address}warranty.pdf")
    assert packet["Content-Type"] == "application/pdf"
    words = words_of(packet.content)
    for wanted in ("Rotor cracked through two slots.", "no: one corner, searched with a magnet", "No suction."):
        assert wanted in words
    assert packet.content == job.client.get(f"{job.address}warranty.pdf").content
    assert "Count sheet" in words_of(job.client.get(f"{job.address}count-sheet.pdf?page=a4").content)
    drawn = words_of(job.client.get(f"{job.address}hose-map.pdf").content)
    assert "Pump, inlet, before anything was loosened" in drawn
    assert "Ada, 2026-03-01; original" in drawn
    sent = job.client.get(f"{job.address}shop-note/pump.pdf")
    assert sent.status_code == 400, "a pump goes to no instrument shop"


def test_the_shop_note_goes_with_the_instrument(home: Home, client: Client) -> None:
    craft = aircraft_job.keep(write_description(layouts.make("suction-one-pump")), author="Ada", at=AT)
    report = evidence.open_report(craft, "Leans 6 degrees right.", author="Ada", when="2026-03-01", at=AT)
    package = work.make_package(craft, report, "indicator_bearing", place="attitude", author="Ada", at=AT)
    words = words_of(client.get(f"/a/{craft}/jobs/{package.id[:12]}/shop-note/attitude.pdf").content)
    for wanted in ("attitude indicator", "Leans 6 degrees right.", "two inches of foam"):
        assert wanted in words


def test_a_line_as_found_is_kept_printed_and_held_while_it_is_bad(job: OneJob) -> None:
    told = {"line": "firewall_hose", "routing": "two clips, through the firewall", "clamps": "worm drive"}
    job.post("line seen", **told, condition="cracked", length="31 in", marking="cured 2009")
    job.post("connected", line="firewall_hose", start="regulator.pump_side", end="pump.inlet")
    assert any("cracked, replace it" in words for words in job.missing("ready to run"))
    assert "As found: cracked; two clips, through the firewall; clamps worm drive; 31 in; marked cured 2009" in (
        job.shown("hoses")
    )
    assert "As found: cracked" in words_of(job.client.get(f"{job.address}hose-map.pdf").content)
    job.post("line seen", **told, condition="cracked", replaced="yes")
    assert not any("cracked" in words for words in job.missing("ready to run"))


def test_a_condition_there_is_no_word_for_is_refused(job: OneJob) -> None:
    assert job.post("line seen", line="firewall_hose", condition="fine").status_code == 400
    assert job.post("line seen", line="no_hose", condition="sound").status_code == 400


def test_the_wrench_is_set_for_its_adapter(job: OneJob) -> None:
    """By hand: (90 + 6) in-lb at the nut, L 10 in, E 2 in straight on: 96 x 10 / 12 = 80 in-lb."""
    told = {"line": "pad nuts", "wanted": "90", "drag": "6", "lever": "10", "offset": "2", "angle": "0"}
    assert job.post("torque wanted", **told).status_code == 400, "a value without its source is no value"
    job.post("torque wanted", **told, manual="engine sheet 4", wrench="T-3", calibrated="2024-11-20")
    shown = job.shown("fittings")
    assert "set the wrench to 80 in-lb" in shown
    assert "engine sheet 4" in shown
    assert "wrench T-3" in shown
    job.post("torque wanted", **{**told, "angle": "90"}, manual="engine sheet 4")
    assert "set the wrench to 96 in-lb" in job.shown("fittings")


def test_the_manuals_own_limit_of_turns_counts(job: OneJob) -> None:
    assert job.post("turns", fitting="pump.inlet", turns="5/4").status_code == 400
    assert job.post("angle", fitting="pump.inlet", limit="1.5").status_code == 400, "no source"
    assert job.post("angle", fitting="pump.inlet", limit="3", manual="chapter 37").status_code == 400, (
        "never beyond two"
    )
    job.post("angle", fitting="pump.inlet", limit="1.5", manual="chapter 37")
    assert job.post("turns", fitting="pump.inlet", turns="5/4").status_code == 302
    assert not any("5/4" in words or "1.25" in words for words in job.missing("ready to run"))


def test_a_step_is_taken_back_by_a_correction_found_on_the_job(job: OneJob) -> None:
    job.post("count", count="caps", out="6")
    job.post("found", words="A clamp is missing.")
    body = job.client.get(job.address).content.decode()
    (address,) = set(re.findall(r'href="(/a/[^"]+/journal/[0-9a-f]{64}/)">Found', body))
    told = {"reason": "it was there", "author": "Ada", "head": journal.head(job.craft)}
    assert job.client.post(address, told).status_code == 302
    assert job.found.log.findings == ()
    assert job.found.log.counts_out == {"caps": 6}


def test_a_new_package_takes_over_and_both_say_so(job: OneJob) -> None:
    job.post("found", words="The pad seal was wet.")
    job.post("count", count="pad nuts", out="4")
    told = {"cause": "oil_in_pump", "place": "pump", "parent": job.key, "author": "Ada"}
    answer = job.client.post(f"/a/{job.craft}/reports/{job.report}/plan/", told)
    assert answer.status_code == 302
    newer = OneJob(job.client, job.craft, answer["Location"].rstrip("/").rpartition("/")[2], job.report)
    assert newer.found.package.parent == job.found.package.id
    assert newer.found.log.findings == ("The pad seal was wet.",)
    assert newer.found.log.counts_out == {"pad nuts": 4}
    assert "Another package took its place" in job.shown("tasks")
    assert "It takes the place of another package" in newer.shown("tasks")
    # What is written on the old one afterwards stays there.
    job.post("found", words="Too late.")
    assert newer.found.log.findings == ("The pad seal was wet.",)
    newer.post("count", count="pad nuts", **{"in": "4"})
    assert newer.found.log.counts_in == {"pad nuts": 4}
