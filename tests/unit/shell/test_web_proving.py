"""Ground run, record, watch: predicted, read, judged, drafted, due. Without scripts."""

from __future__ import annotations

import datetime
import html
import io
import re
from typing import Any

import msgspec
import pytest
from django.test import Client
from pypdf import PdfReader

from vanewise.aircraft import layouts
from vanewise.aircraft.writing import write_description
from vanewise.errors import InputError
from vanewise.jobs import aircraft as aircraft_job
from vanewise.jobs import due_limits, groundrun, meters, records, watch
from vanewise.jobs import work as work_job
from vanewise.jobs.casebook import open_book
from vanewise.jobs.stored import answer_of
from vanewise.record.types import MaintenanceRecord
from vanewise.store import journal
from vanewise.store.home import Home

AT = "2026-03-01T10:00:00Z"
PA_PER_INHG = 3386.389


@pytest.fixture
def craft(home: Home) -> str:
    return aircraft_job.keep(write_description(layouts.make("suction-one-pump")), author="Ada", at=AT)


@pytest.fixture
def run(craft: str) -> str:
    return groundrun.predict(craft, author="Ada", altitude="400 ft", gauge_proved="0.1 inHg", at=AT)


def text(response: Any) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


def middles(craft: str, run: str, shift_inhg: float = 0.0) -> dict[str, str]:
    """A form filled with the middle of every band, both ways."""
    plan = groundrun.run(open_book(craft), run).plan
    told = {"author": "Ada"}
    for number, point in enumerate(plan.points):
        for way in ("rising", "falling"):
            told[f"{way}-{number}"] = f"{point.middle_pa / PA_PER_INHG + shift_inhg:.2f}"
    return told


def test_a_run_is_predicted_by_its_form(client: Client, craft: str) -> None:
    response = client.post(f"/a/{craft}/runs/", {"author": "Ada", "altitude": "400", "gauge_proved": "0.1"})
    assert response.status_code == 302
    shown = text(client.get(response["Location"]))
    assert "Not shown yet" in shown
    assert re.search(r"\d\.\d to \d\.\d", shown)


def test_what_was_read_in_the_bands_is_judged_point_by_point(client: Client, craft: str, run: str) -> None:
    assert client.post(f"/a/{craft}/runs/{run}/", middles(craft, run)).status_code == 302
    verdict = groundrun.verdict(groundrun.run(open_book(craft), run))
    gauges = [point for point in verdict.points if point.what.startswith("gauge")]
    assert len(gauges) == len(groundrun.run(open_book(craft), run).plan.points)
    assert {point.verdict for point in gauges} == {"pass"}
    assert verdict.overall == "not shown"


def test_readings_above_the_bands_fail_and_say_so(client: Client, craft: str, run: str) -> None:
    client.post(f"/a/{craft}/runs/{run}/", middles(craft, run, shift_inhg=1.2))
    shown = text(client.get(f"/a/{craft}/runs/{run}/"))
    assert "Fail" in shown
    assert "stop" in shown.lower()


def test_a_reading_entered_again_counts_the_later_time(client: Client, craft: str, run: str) -> None:
    told = {"author": "Ada", "rising-0": "9.9"}
    client.post(f"/a/{craft}/runs/{run}/", told)
    client.post(f"/a/{craft}/runs/{run}/", middles(craft, run))
    found = groundrun.run(open_book(craft), run)
    first = next(item for item in groundrun.reading_values(found) if item.what == "gauge")
    assert first.value == pytest.approx(found.plan.points[0].middle_pa, abs=0.01 * PA_PER_INHG)


def test_a_wrong_digit_keeps_every_other_number_typed(client: Client, craft: str, run: str) -> None:
    told = middles(craft, run) | {"rising-2": "4.l"}
    response = client.post(f"/a/{craft}/runs/{run}/", told)
    assert "Expected" in text(response)
    body = response.content.decode()
    assert 'value="4.l"' in body
    assert f'value="{told["falling-0"]}"' in body
    assert groundrun.run(open_book(craft), run).readings == ()


def test_sights_are_kept(client: Client, craft: str, run: str) -> None:
    told = {"author": "Ada", "s-drain": "pass", "s-outlet": "fail", "m-lamp out": "1070", "m-erect": "3"}
    assert client.post(f"/a/{craft}/runs/{run}/", told).status_code == 302
    verdict = groundrun.verdict(groundrun.run(open_book(craft), run))
    by_name = {point.what: point.verdict for point in verdict.points}
    assert by_name["drain"] == "pass"
    assert by_name["outlet"] == "fail"


def test_a_run_that_did_not_pass_is_no_baseline(craft: str, run: str) -> None:
    with pytest.raises(InputError, match="passed"):
        groundrun.keep_baseline(craft, run, author="Ada")


def finish(craft: str) -> str:
    """A job with every task ticked or passed by name, and a passed ground run."""
    report = {"report": "r1", "title": "Gauge low", "words": "Gauge low in cruise.", "when": "2026-02-22"}
    journal.append(craft, "report", report, author="Ada", at=AT, expected_head=journal.ANY_HEAD)
    key = work_job.make_package(craft, "r1", "regulator_low", place="regulator", author="Ada", at=AT).id[:12]
    job = work_job.job(open_book(craft), key)
    for gate in job.package.gates:
        said = {"gate": gate.id, "name": "Cleo", "reason": "in this test"}
        work_job.do(craft, key, "passed", said, author="Ada", expected_head=journal.ANY_HEAD)
    for task in job.package.tasks:
        what, said = ("left out", {"reason": "not found"}) if task.only_if else ("done", {})
        work_job.do(craft, key, what, {"task": task.id, **said}, author="Ada", expected_head=journal.ANY_HEAD)
    return key


def test_no_record_is_drafted_while_work_is_open(client: Client, craft: str) -> None:
    report = {"report": "r1", "title": "Gauge low", "words": "Gauge low.", "when": ""}
    journal.append(craft, "report", report, author="Ada", at=AT, expected_head=journal.ANY_HEAD)
    key = work_job.make_package(craft, "r1", "regulator_low", place="regulator", author="Ada", at=AT).id[:12]
    assert "Not yet: still open" in text(client.get(f"/a/{craft}/jobs/{key}/record/"))
    response = client.post(
        f"/a/{craft}/jobs/{key}/record/", {"author": "Ada", "head": journal.head(craft), "tach": "2983.9"}
    )
    assert "Next" in text(response)
    assert open_book(craft).of("record draft") == ()


def test_a_record_is_a_draft_with_the_head_it_stands_on(client: Client, craft: str) -> None:
    key = finish(craft)
    told = {"author": "Ada", "tach": "2983.9", "completed_on": "2026-03-01", "override_name": "Cleo"}
    told |= {"override_reason": "no run in this test", "head": journal.head(craft)}
    head = journal.head(craft)
    response = client.post(f"/a/{craft}/jobs/{key}/record/", told)
    assert response.status_code == 302, text(response)
    shown = text(client.get(response["Location"]))
    assert "DRAFT, not signed" in shown
    assert "signature" in shown
    record = answer_of(open_book(craft).of("record draft")[0], MaintenanceRecord)
    assert record.head_digest == head
    assert record.missing


def test_follow_ups_of_a_job_come_onto_the_due_list_and_leave_it_once_done(craft: str) -> None:
    key = finish(craft)
    package = work_job.job(open_book(craft), key).package
    records.keep_draft(
        craft,
        key,
        author="Ada",
        completed_on="2026-03-01",
        tach="2983.9 h",
        override_name="Cleo",
        override_reason="in this test",
        at=AT,
    )
    items = watch.due(open_book(craft), datetime.date(2026, 3, 2))
    wanted = {298390 + round(look.after_hours * 100) for look in package.follow_ups}
    assert {item.due_centihours for item in items} == wanted
    if items:
        due_limits.add_done(craft, items[0].item, date="2026-03-09", tach="2985.0 h", author="Ada")
        left = watch.due(open_book(craft), datetime.date(2026, 3, 9))
        assert items[0].item not in {item.item for item in left}


def test_a_limit_by_hours_and_calendar_is_due_whichever_comes_first(client: Client, craft: str) -> None:
    told = {"form": "limit", "limit-author": "Ada", "limit-item": "regulator foam", "limit-nature": "custom"}
    told |= {"limit-source": "common practice, no source", "limit-hours": "100", "limit-months": "12"}
    told |= {"limit-counted_from": "done"}
    assert client.post(f"/a/{craft}/next/", told).status_code == 302
    done = {"form": "done", "done-author": "Ada", "done-item": "regulator foam", "done-date": "2026-01-10"}
    assert client.post(f"/a/{craft}/next/", done | {"done-tach": "2941.6"}).status_code == 302
    meters = {"form": "meters", "meters-author": "Ada", "meters-tach": "3040.0", "meters-date": "2026-02-20"}
    assert client.post(f"/a/{craft}/next/", meters).status_code == 302
    (item,) = watch.due(open_book(craft), datetime.date(2026, 2, 21))
    # 100.0 h after 2,941.6 h, of which 1.6 h are left: hours come first, and exactly.
    assert (item.by, item.due_centihours) == ("hours", 304160)
    assert "Regulator foam" in text(client.get(f"/a/{craft}/next/"))


def test_a_meter_that_runs_backwards_is_refused(craft: str) -> None:
    meters.add_meters(craft, tach="3040.0 h", hour_meter="", date="2026-02-20", author="Ada")
    with pytest.raises(InputError):
        meters.add_meters(craft, tach="3030.0 h", hour_meter="", date="2026-02-21", author="Ada")


def test_a_regulation_is_not_put_off(client: Client, craft: str) -> None:
    limit = {"item": "annual inspection", "nature": "regulation", "source": "the rule", "months": "12"}
    due_limits.add_limit(craft, limit, author="Ada")
    told = {"form": "off", "off-author": "Ada", "off-item": "annual inspection", "off-name": "Cleo"}
    response = client.post(f"/a/{craft}/next/", told | {"off-reason": "busy", "off-until_date": "2030-01-01"})
    assert "its owner may put off" in text(response)
    assert open_book(craft).of("put off") == ()


def test_a_look_at_the_wear_port_becomes_a_forecast_with_look_again_by(client: Client, craft: str) -> None:
    told = {"author": "Ada", "kind": "length", "hours": "300", "length": "0.62", "date": "2026-01-10"}
    told |= {"new_length": "0.75", "minimum_length": "0.50"}
    assert client.post(f"/a/{craft}/readings/wear/pump/", told).status_code == 302
    shown = text(client.get(f"/a/{craft}/readings/"))
    assert re.search(r"Look again by \d+ h", shown)
    assert "No reading predicts a sudden stop" in shown


def test_a_look_without_the_manuals_lengths_says_what_is_missing(client: Client, craft: str) -> None:
    told = {"author": "Ada", "kind": "length", "hours": "300", "length": "0.62"}
    response = client.post(f"/a/{craft}/readings/wear/pump/", told)
    assert "manual of this pump" in text(response)
    assert 'value="0.62"' in response.content.decode()


def test_lamp_speeds_of_several_dates_become_a_line_in_time(client: Client, craft: str) -> None:
    for date, rpm in (("2025-10-05", "1070"), ("2025-12-15", "1250"), ("2026-02-09", "1450")):
        told = {"author": "Ada", "direction": "rising", "when": date, "lamp_rpm": rpm}
        assert client.post(f"/a/{craft}/readings/add/", told).status_code == 302
    shown = client.get(f"/a/{craft}/readings/")
    assert "Engine speed at lamp out" in text(shown)
    assert shown.content.decode().count('class="point ring"') == 3


def test_an_answer_kept_by_a_newer_program_is_said_and_not_guessed(craft: str, run: str) -> None:
    entry = open_book(craft).of("ground run")[0]
    torn = msgspec.structs.replace(entry, content={**entry.content, "answer": "{}"})
    with pytest.raises(InputError, match="compute it anew"):
        answer_of(torn, MaintenanceRecord)


def test_one_number_at_a_time_walks_up_and_down_again(client: Client, craft: str, run: str) -> None:
    points = groundrun.run(open_book(craft), run).plan.points
    address, seen = f"/a/{craft}/runs/{run}/one/", []
    for _ in range(2 * len(points)):
        body = client.get(address).content.decode()
        name = re.search(r'name="((?:rising|falling)-[0-9]+)"', body)
        assert name is not None
        seen.append(name[1])
        number = int(name[1].partition("-")[2])
        middle = f"{points[number].middle_pa / PA_PER_INHG:.2f}"
        address = client.post(address, {"author": "Ada", name[1]: middle})["Location"]
    assert seen == [f"rising-{n}" for n in range(len(points))] + [f"falling-{n}" for n in reversed(range(len(points)))]
    assert address == f"/a/{craft}/runs/{run}/"
    assert len(groundrun.run(open_book(craft), run).readings) == 2 * len(points)


def test_a_reading_above_its_band_says_stop_at_once(client: Client, craft: str, run: str) -> None:
    answer = client.post(f"/a/{craft}/runs/{run}/one/?at=rising-3", {"author": "Ada", "rising-3": "9.9"})
    assert answer["Location"].endswith("?at=rising-3&over=1")
    assert "throttle back and stop the run" in text(client.get(answer["Location"]))


def test_a_hot_repeat_asks_for_the_sweep_alone_and_stands_beside_the_cold_one(
    client: Client, craft: str, run: str
) -> None:
    refused = client.post(f"/a/{craft}/runs/{run}/hot/", {"author": "Ada"})
    assert refused.status_code == 400
    client.post(f"/a/{craft}/runs/{run}/", middles(craft, run))
    answer = client.post(f"/a/{craft}/runs/{run}/hot/", {"author": "Ada"})
    name = answer["Location"].rstrip("/").rpartition("/")[2]
    shown = text(client.get(answer["Location"]))
    assert "hot repeat" in shown
    assert "Attitude erect after" not in shown
    assert client.post(answer["Location"], middles(craft, name)).status_code == 302
    hot = groundrun.run(open_book(craft), name)
    assert groundrun.verdict(hot).overall == "pass"
    with pytest.raises(InputError, match="first sweep"):
        groundrun.keep_baseline(craft, name, author="Ada")


def test_drift_is_judged_where_it_was_watched_and_how_it_moved(client: Client, craft: str, run: str) -> None:
    """By hand: 15 sin 50 = 11.49 deg/h, 2.87 in 15 min; 12 kt east at 50 N: 12/60 tan 50 = 0.24 deg/h, 0.06."""
    told = {"author": "Ada", "m-drift": "-3.0", "drift-minutes": "15", "drift-latitude": "50", "drift-eastward": "12"}
    assert client.post(f"/a/{craft}/runs/{run}/", told).status_code == 302
    verdict = groundrun.verdict(groundrun.run(open_book(craft), run))
    drift = next(point for point in verdict.points if point.what == "heading drift")
    assert "of which earth -2.9, travel -0.1, rest -0.1" in drift.reading
    assert drift.verdict == "pass"


def test_the_brief_for_the_next_pilots_is_printed_from_the_run(client: Client, craft: str, run: str) -> None:
    client.post(f"/a/{craft}/runs/{run}/", {**middles(craft, run), "m-lamp out": "1070"})
    answer = client.get(f"/a/{craft}/runs/{run}/brief.pdf")
    assert answer["Content-Type"] == "application/pdf"
    assert "1070 rpm" in " ".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages)


def test_a_failed_hot_repeat_takes_the_place_of_the_first_verdict(craft: str, run: str, client: Client) -> None:
    client.post(f"/a/{craft}/runs/{run}/", middles(craft, run))
    groundrun.keep_verdict(craft, run, author="Ada")
    assert groundrun.verdict_of(open_book(craft), "") is not None
    name = groundrun.repeat_hot(craft, run, author="Ada")
    client.post(f"/a/{craft}/runs/{name}/", middles(craft, name, shift_inhg=-2.0))
    groundrun.keep_verdict(craft, name, author="Ada")
    kept = groundrun.verdict_of(open_book(craft), "")
    assert kept is not None
    assert kept.overall == "fail"
