"""The pages without scripts: described, traced, planned, ticked, corrected; what is wrong is said in four parts."""

from __future__ import annotations

import html
import re
import xml.etree.ElementTree as ET
from typing import Any

import pytest
from django.template import engines
from django.test import Client

from vanewise.aircraft import layouts
from vanewise.aircraft.writing import write_description
from vanewise.jobs import aircraft as aircraft_job
from vanewise.jobs import causes as causes_job
from vanewise.jobs import evidence as evidence_job
from vanewise.jobs import kinds, tracing
from vanewise.jobs import work as work_job
from vanewise.jobs.casebook import open_book
from vanewise.store import journal
from vanewise.store.home import Home

AT = "2026-03-01T10:00:00Z"


@pytest.fixture
def craft(home: Home) -> str:
    return aircraft_job.keep(write_description(layouts.make("suction-one-pump")), author="Ada", at=AT)


@pytest.fixture
def report(craft: str) -> str:
    content = {"report": "r1", "title": "Gauge to zero", "words": "Gauge to zero.", "when": "2026-02-22"}
    journal.append(craft, "report", content, author="Ada", at=AT, expected_head=journal.ANY_HEAD)
    event = {"part": "pump", "kind": "stop", "altitude": "5500 ft"}
    tracing.add_event(craft, "r1", event, author="Ada", at=AT)
    return "r1"


@pytest.fixture
def job(craft: str, report: str) -> str:
    return work_job.make_package(craft, report, "debris_left_in_lines", place="pump", author="Ada", at=AT).id[:12]


def text(response: Any) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


def hidden(response: Any, name: str) -> str:
    found = re.search(rf'name="{name}"[^>]*value="([^"]*)"', response.content.decode())
    assert found is not None
    return found[1]


def test_an_empty_home_says_where_to_start(client: Client) -> None:
    assert "Ten questions" in text(client.get("/"))


def test_nobody_who_knows_anything_still_gets_an_aircraft(client: Client) -> None:
    response = client.post("/start/", {"name": "Club tourer", "author": "Ada"})
    assert response.status_code == 302
    page = client.get(response["Location"])
    assert "examples, not this aircraft's own" in text(page)
    assert "<svg" in page.content.decode()
    assert "Club tourer" in text(client.get("/"))


def test_an_answer_is_taken_with_the_unit_that_stands_beside_it(client: Client) -> None:
    response = client.post("/start/", {"name": "X", "author": "Ada", "gauge_cruise": "4,9", "drive_ratio": "1.4"})
    aircraft = response["Location"].split("/")[2]
    description = open_book(aircraft).description
    assert description.part("regulator").values["setting"].number == pytest.approx(4.9 * 3386.389)
    assert description.part("pump").values["drive_ratio"].number == 1.4


def test_a_wrong_answer_is_shown_at_its_field_and_nothing_typed_is_lost(client: Client) -> None:
    response = client.post("/start/", {"name": "Tourer", "author": "Ada", "cruise_rpm": "fast", "idle_rpm": "700"})
    assert response.status_code == 400
    body = response.content.decode()
    field = body[body.index('for="id_cruise_rpm"') :][:900]
    assert "Expected" in field
    assert "Next:" in field
    assert 'value="fast"' in body
    assert 'value="700"' in body
    assert journal.aircraft_rows() == ()


def test_a_wet_pump_is_refused_politely(client: Client) -> None:
    response = client.post("/start/", {"name": "X", "author": "Ada", "pumps": "wet pump"})
    assert response.status_code == 400
    assert "wet pump" in text(response)


@pytest.mark.parametrize("layout", list(layouts.layouts()))
def test_every_layout_is_drawn_with_its_pressures(client: Client, layout: str) -> None:
    page = client.get(f"/start/layout/{layout}/")
    response = client.post(
        f"/start/layout/{layout}/", {"author": "Ada", "toml": write_description(layouts.make(layout)), "why": ""}
    )
    assert page.status_code == 200
    shown = text(client.get(response["Location"]))
    assert re.search(r"the gauge would read 5\.0 inHg", shown)


def test_the_operating_point_can_be_chosen_and_a_wrong_one_is_said(client: Client, craft: str) -> None:
    slow = text(client.get(f"/a/{craft}/?rpm=1000&altitude=400"))
    reading = float(re.search(r"would read (\d\.\d) inHg", slow)[1])  # type: ignore[index]
    assert 2.0 < reading < 4.5
    wrong = client.get(f"/a/{craft}/?rpm=fast")
    assert wrong.status_code == 400
    assert "a number from 300 to 4,000 rpm" in text(wrong)


def test_describing_it_anew_keeps_the_former_description(client: Client, craft: str) -> None:
    toml = open_book(craft).version.toml
    changed = re.sub(r'name = "[^"]*"', 'name = "Renamed"', toml, count=1)
    page = client.get(f"/a/{craft}/describe/")
    response = client.post(
        f"/a/{craft}/describe/", {"toml": changed, "author": "Ben", "why": "name", "head": hidden(page, "head")}
    )
    assert response.status_code == 302
    assert [version.why for version in open_book(craft).versions] == ["first description", "name"]
    assert journal.aircraft_rows()[0][1] == "Renamed"


def test_a_description_with_faults_keeps_what_was_typed(client: Client, craft: str) -> None:
    toml = open_book(craft).version.toml.replace("pump.inlet", "pmup.inlet")
    response = client.post(f"/a/{craft}/describe/", {"toml": toml, "author": "Ben", "head": journal.head(craft)})
    assert "pmup.inlet" in response.content.decode()
    assert "Expected" in text(response)
    assert len(open_book(craft).versions) == 1


def test_two_people_describing_at_once_see_each_other(client: Client, craft: str) -> None:
    page = client.get(f"/a/{craft}/describe/")
    head, toml = hidden(page, "head"), open_book(craft).version.toml
    client.post(f"/a/{craft}/describe/", {"toml": toml, "author": "Ben", "why": "hers first", "head": head})
    second = client.post(f"/a/{craft}/describe/", {"toml": toml, "author": "Cleo", "why": "mine", "head": head})
    assert "Written meanwhile" in text(second)
    assert 'value="mine"' in second.content.decode()
    again = client.post(
        f"/a/{craft}/describe/", {"toml": toml, "author": "Cleo", "why": "mine", "head": hidden(second, "head")}
    )
    assert again.status_code == 302


def test_the_scope_names_path_and_reason(client: Client, craft: str, report: str) -> None:
    shown = text(client.get(f"/a/{craft}/reports/{report}/scope/"))
    assert "fit no new pump and no new indicator" in shown
    assert "Firewall hose" in shown
    assert "nobody has confirmed whether the pump sucks or blows" in shown


def test_an_event_is_entered_by_its_form(client: Client, craft: str, report: str) -> None:
    told = {"event": "1", "author": "Ada", "part": "pump", "kind": "running", "altitude": "5500", "ran_on": "18"}
    response = client.post(f"/a/{craft}/reports/{report}/scope/", told)
    assert response.status_code == 302
    entries = open_book(craft).of("shedding event")
    assert entries[-1].content["item"] == {"part": "pump", "kind": "running", "altitude": "5500 ft", "ran_on": "18 min"}


def test_turns_back_are_taken_by_the_form_and_nought_is_refused_at_its_field(
    client: Client, craft: str, report: str
) -> None:
    told = {"event": "1", "author": "Ada", "part": "pump", "kind": "turned backwards", "turns_back": "0.5"}
    assert client.post(f"/a/{craft}/reports/{report}/scope/", told).status_code == 302
    item = open_book(craft).of("shedding event")[-1].content["item"]
    assert item == {"part": "pump", "kind": "turned backwards", "turns_back": "0.5"}
    for wrong in ("0", "-1", "some"):
        refused = client.post(f"/a/{craft}/reports/{report}/scope/", told | {"turns_back": wrong})
        assert refused.status_code == 200
        assert "Expected" in text(refused) and f'value="{wrong}"' in refused.content.decode()
    assert len([e for e in open_book(craft).of("shedding event") if e.content["item"].get("turns_back")]) == 1


def test_a_height_left_empty_is_not_sea_level(client: Client, craft: str, report: str) -> None:
    """The page says which height it took and asks; the number that bounds is the one printed as 'at most'."""
    told = {"event": "1", "author": "Ada", "part": "pump", "kind": "stop"}
    assert client.post(f"/a/{craft}/reports/{report}/scope/", told).status_code == 302
    book = open_book(craft)
    scope = tracing.scope_of(book, book.report(report))
    assert scope is not None and scope.events[-1].altitude_m is None
    shown = text(client.get(f"/a/{craft}/reports/{report}/scope/"))
    assert "25,000 ft is taken" in shown and "at which pressure altitude" in shown
    assert f"{max(figure.length_high_m for figure in scope.reaches):.2f} m" in shown


def test_the_drawing_calls_shielded_only_what_a_wall_shields(client: Client, craft: str, report: str) -> None:
    """Central filter and filter tee: nobody looked at anything before them, and nothing leads there."""
    page = client.get(f"/a/{craft}/?show=contamination&report={report}").content.decode()
    assert "looked at, and not reached" not in page
    told = {"finding": "1", "f-author": "Ada", "f-part": "attitude_outlet_hose", "f-clean_from": "0.3"}
    assert client.post(f"/a/{craft}/reports/{report}/scope/", told).status_code == 302
    after = client.get(f"/a/{craft}/?show=contamination&report={report}").content.decode()
    assert re.search(r'class="part shielded"[^>]*aria-label="attitude indicator shielded', after)
    assert re.search(r'class="part not-reached"[^>]*aria-label="central filter not reached', after)


def test_a_plan_becomes_a_page_and_a_tick_stays(client: Client, craft: str, job: str) -> None:
    page = client.get(f"/a/{craft}/jobs/{job}/")
    assert "Make the aircraft safe" in text(page)
    task = work_job.job(open_book(craft), job).package.tasks[0].id
    step = {"what": "done", "task": task, "author": "Ada", "head": journal.head(craft)}
    assert client.post(f"/a/{craft}/jobs/{job}/step/", step).status_code == 302
    assert work_job.job(open_book(craft), job).log.done == (task,)
    step |= {"what": "not done", "head": journal.head(craft)}
    client.post(f"/a/{craft}/jobs/{job}/step/", step)
    assert work_job.job(open_book(craft), job).log.done == ()


def test_a_task_out_of_order_is_held_with_the_reason(client: Client, craft: str, job: str) -> None:
    last = work_job.job(open_book(craft), job).package.tasks[-1].id
    step = {"what": "done", "task": last, "author": "Ada", "head": journal.head(craft)}
    response = client.post(f"/a/{craft}/jobs/{job}/step/", step)
    assert response.status_code == 409
    assert "Next" in text(response)
    assert work_job.job(open_book(craft), job).log.done == ()


def test_counts_are_kept_and_a_difference_is_named(client: Client, craft: str, job: str) -> None:
    count = work_job.job(open_book(craft), job).package.counts[0]
    said = {"what": "counts", f"out-{count.id}": "4", f"in-{count.id}": "3", "author": "Ada", "part": "counts"}
    response = client.post(f"/a/{craft}/jobs/{job}/step/", said | {"head": journal.head(craft)})
    assert response["Location"].endswith("?part=counts")
    log = work_job.job(open_book(craft), job).log
    assert (log.counts_out[count.id], log.counts_in[count.id]) == (4, 3)
    assert "differs" in text(client.get(f"/a/{craft}/jobs/{job}/?part=counts"))


def test_a_fitting_turned_too_far_is_refused(client: Client, craft: str, job: str) -> None:
    fitting = work_job.job(open_book(craft), job).package.fittings[0].id
    said = {"what": "turns", "fitting": fitting, "turns": "1.5", "author": "Ada", "head": journal.head(craft)}
    assert client.post(f"/a/{craft}/jobs/{job}/step/", said).status_code == 400
    said["turns"] = "3/4"
    assert client.post(f"/a/{craft}/jobs/{job}/step/", said).status_code == 302
    assert work_job.job(open_book(craft), job).log.turns == {fitting: 0.75}


def test_two_people_on_one_job_do_not_stand_in_each_others_way(client: Client, craft: str, job: str) -> None:
    head = journal.head(craft)
    package = work_job.job(open_book(craft), job).package
    for name, line in zip(("Ada", "Ben"), package.hose_tags[:2], strict=True):
        said = {"what": "connected", "line": line.line, "start": line.ends[0], "end": line.ends[1]}
        response = client.post(f"/a/{craft}/jobs/{job}/step/", said | {"author": name, "head": head})
        assert response.status_code == 302
    same = {"what": "connected", "line": package.hose_tags[0].line, "start": "cabin", "end": "cabin"}
    clash = client.post(f"/a/{craft}/jobs/{job}/step/", same | {"author": "Cleo", "head": head})
    assert clash.status_code == 409
    assert "job step by Ada" in text(clash)


def test_a_step_taken_back_in_the_journal_no_longer_counts(client: Client, craft: str, job: str) -> None:
    task = work_job.job(open_book(craft), job).package.tasks[0].id
    work_job.do(craft, job, "done", {"task": task}, author="Ada", expected_head=journal.ANY_HEAD)
    digest = journal.head(craft)
    page = client.get(f"/a/{craft}/journal/{digest}/")
    told = {"reason": "wrong aircraft", "author": "Ben", "head": hidden(page, "head")}
    assert client.post(f"/a/{craft}/journal/{digest}/", told).status_code == 302
    assert work_job.job(open_book(craft), job).log.done == ()
    shown = text(client.get(f"/a/{craft}/journal/"))
    assert "corrected" in shown


def test_a_page_that_is_not_there_says_where_to_go(client: Client, craft: str) -> None:
    for address in ("/nowhere/", f"/a/{craft}/reports/r9/", "/a/no-such-aircraft/", f"/a/{craft}/jobs/ffff/"):
        response = client.get(address)
        assert response.status_code in (400, 404)
        assert "Next" in text(response)


def test_a_form_from_elsewhere_is_refused(home: Home, craft: str) -> None:
    strict = Client(enforce_csrf_checks=True)
    response = strict.post("/start/", {"name": "X", "author": "Eve"})
    assert response.status_code == 403
    assert "load the page again" in text(response)


def test_another_host_name_is_refused(client: Client) -> None:
    assert client.get("/", headers={"host": "elsewhere.example"}).status_code == 400


def test_every_page_carries_the_policy_that_nothing_comes_from_elsewhere(client: Client, craft: str) -> None:
    response = client.get(f"/a/{craft}/")
    assert "default-src 'self'" in response["Content-Security-Policy"]
    assert response["X-Frame-Options"] == "DENY"
    assert not re.search(r'(?:src|href)="(?:https?:)?//', response.content.decode())


def test_what_a_person_types_cannot_become_markup(client: Client, craft: str) -> None:
    name = "<script>alert(1)</script>"
    content = {"report": "r1", "title": name, "words": name, "when": ""}
    journal.append(craft, "report", content, author=name, at=AT, expected_head=journal.ANY_HEAD)
    for address in (f"/a/{craft}/reports/", f"/a/{craft}/reports/r1/", f"/a/{craft}/journal/"):
        assert "<script>alert" not in client.get(address).content.decode()


def test_the_name_is_remembered_on_this_telephone(client: Client) -> None:
    client.post("/who/", {"author": "Ada", "back": "//elsewhere.example/"})
    assert 'value="Ada"' in client.get("/start/").content.decode()


def test_a_report_with_its_symptoms_is_kept(client: Client, craft: str) -> None:
    told = {"author": "Ada", "words": "Lamp slow to go out.", "noticed": ["lamp_slow_to_go_out"], "altitude": "400"}
    response = client.post(f"/a/{craft}/reports/new/", told)
    assert response["Location"].endswith("/reports/r1/")
    shown = text(client.get(response["Location"]))
    assert "low-pressure lamp slow to go out" in shown
    assert "400 ft" in shown


def test_an_empty_report_is_refused(client: Client, craft: str) -> None:
    response = client.post(f"/a/{craft}/reports/new/", {"author": "Ada", "words": " "})
    assert "write what you saw" in text(response)
    assert open_book(craft).reports == ()


def test_a_sweep_is_entered_as_numbers_and_read_back_with_units(client: Client, craft: str, report: str) -> None:
    told = {"author": "Ada", "direction": "rising", "altitude": "400", "when": "2026-02-20", "lamp_rpm": "1400"}
    told |= {"rpm0": "700", "value0": "1.2", "rpm1": "1000", "value1": "2,3", "rpm2": "1200", "value2": ""}
    assert client.post(f"/a/{craft}/reports/{report}/readings/", told).status_code == 302
    book = open_book(craft)
    evidence = evidence_job.evidence_of(book, book.report(report))
    assert [(reading.engine_rpm, round(reading.value_pa / 3386.389, 2)) for reading in evidence.readings] == [
        (700.0, 1.2),
        (1000.0, 2.3),
    ]
    assert evidence.lamp_readings[0].engine_rpm == 1400.0
    assert evidence.readings[0].altitude_m == pytest.approx(400 * 0.3048)


def test_a_wrong_digit_is_shown_in_its_row_and_the_other_rows_stay(client: Client, craft: str, report: str) -> None:
    told = {"author": "Ada", "direction": "rising", "rpm1": "1000", "value1": "2.3", "rpm3": "1500", "value3": "4.o"}
    response = client.post(f"/a/{craft}/reports/{report}/readings/", told)
    body = response.content.decode()
    row = body[body.index('name="value3"') :][:600]
    assert "Expected" in row
    assert 'value="2.3"' in body
    assert 'value="4.o"' in body
    assert open_book(craft).report(report).evidence == ()


def test_a_check_result_is_kept_with_its_outcome(client: Client, craft: str, report: str) -> None:
    page = text(client.get(f"/a/{craft}/reports/{report}/checks/engine_off_gauge/"))
    assert "About" in page or "about 2 min" in page
    told = {"author": "Ada", "outcome": "on_stop"}
    assert client.post(f"/a/{craft}/reports/{report}/checks/engine_off_gauge/", told).status_code == 302
    assert "on its stop, fell within seconds" in text(client.get(f"/a/{craft}/reports/{report}/"))


@pytest.mark.parametrize(("engine", "kept"), [("", None), ("warm", True), ("cold", False)])
def test_a_sweep_says_whether_the_engine_was_warm(
    client: Client, craft: str, report: str, engine: str, kept: bool | None
) -> None:
    told = {"author": "Ada", "direction": "rising", "engine": engine, "rpm0": "1000", "value0": "3.1"}
    assert client.post(f"/a/{craft}/reports/{report}/readings/", told).status_code == 302
    book = open_book(craft)
    assert [reading.warm for reading in evidence_job.evidence_of(book, book.report(report)).readings] == [kept]
    shown = client.get(f"/a/{craft}/reports/{report}/").content.decode()
    assert ("engine warm" in shown, "engine cold" in shown) == (kept is True, kept is False)


def test_the_gauge_at_run_up_is_entered_as_one_reading(client: Client, craft: str, report: str) -> None:
    at = f"/a/{craft}/reports/{report}/checks/gauge_at_run_up/"
    run_up = f"{open_book(craft).description.engine.run_up_rpm.number:.0f}"
    page = client.get(at).content.decode()
    inputs = [tag for tag in re.findall(r"<input[^>]*>", page) if re.search(r'name="rpm\d', tag)]
    assert [re.findall(r'value="([^"]*)"', tag) for tag in inputs] == [[run_up], *[[]] * (len(inputs) - 1)]
    told = {"author": "Ada", "direction": "steady", "rpm0": run_up, "value0": "4.9"}
    assert client.post(at, told).status_code == 302
    book = open_book(craft)
    kept = evidence_job.evidence_of(book, book.report(report))
    assert [(f"{r.engine_rpm:.0f}", r.high, r.under) for r in kept.readings] == [(run_up, None, {})]
    assert not kept.checks


def test_a_cover_test_is_entered_as_two_readings(client: Client, craft: str, report: str) -> None:
    page = text(client.get(f"/a/{craft}/reports/{report}/checks/cover_test/"))
    assert "knee" in page
    told = {"author": "Ada", "before": "2.4", "covered": "3.7", "rpm": "1200"}
    assert client.post(f"/a/{craft}/reports/{report}/checks/cover_test/", told).status_code == 302
    book = open_book(craft)
    check = evidence_job.evidence_of(book, book.report(report)).checks[0]
    assert check.value == pytest.approx(1.3 * 3386.389)


def test_what_was_looked_for_and_absent_is_evidence_and_silence_is_not(client: Client, craft: str, report: str) -> None:
    told = {"author": "Ada", "oil_at_drain": "no", "soot_heavy": "yes", "note": "second look tomorrow"}
    assert client.post(f"/a/{craft}/reports/{report}/remarks/", told).status_code == 302
    book = open_book(craft)
    evidence = evidence_job.evidence_of(book, book.report(report))
    assert {(remark.symptom, remark.present) for remark in evidence.remarks} == {
        ("oil_at_drain", False),
        ("soot_heavy", True),
    }
    assert evidence.notes == ("second look tomorrow",)


def test_what_was_seen_on_a_part_says_on_which_and_how_much(client: Client, craft: str, report: str) -> None:
    told = {"author": "Ada", "hose_soft": "yes", "about": "firewall_hose"}
    assert client.post(f"/a/{craft}/reports/{report}/remarks/", told).status_code == 302
    told = {"author": "Ada", "ai_leans": "to the left", "about": "firewall_hose", "degree": "6"}
    assert client.post(f"/a/{craft}/reports/{report}/remarks/", told).status_code == 302
    book = open_book(craft)
    found = {remark.symptom: remark for remark in evidence_job.evidence_of(book, book.report(report)).remarks}
    assert found["hose_soft"].about == "firewall_hose"
    assert (found["ai_leans"].about, found["ai_leans"].degree, found["ai_leans"].manner) == ("", 6.0, "to the left")
    told = {"author": "Ada", "ai_leans": "yes", "hi_drifts": "yes", "degree": "6"}
    refused = text(client.post(f"/a/{craft}/reports/{report}/remarks/", told))
    assert "Expected one thing marked beside it, found 2" in refused


def test_a_check_told_of_is_kept_only_where_it_was_chosen(client: Client, craft: str, report: str) -> None:
    """With the grade of what is told unless raised; words mended after they were found lose no choice."""
    address = f"/a/{craft}/reports/{report}/remarks/"
    words = "Squeezed every hose, nothing. Swapped in another gyro, no change."
    page = text(client.get(address, {"words": words}))
    assert "sound (as told)" in page and "leave out" in page
    told = {"author": "Ada", "words": "mended", "found_for": words, "told_swap_indicator": "no_change"}
    refused = text(client.post(address, told))
    assert "Expected the instrument it was done on, found none" in refused, "two instruments: the person chooses"
    assert client.post(address, {**told, "told_swap_indicator_at": "heading"}).status_code == 302
    seen = {**told, "told_swap_indicator": "", "told_hose_squeeze": "soft_or_cracked", "told_hose_squeeze_grade": "3"}
    assert client.post(address, seen).status_code == 302
    book = open_book(craft)
    found = evidence_job.evidence_of(book, book.report(report)).checks
    assert {(one.check, one.outcome, one.place, one.grade, one.who) for one in found} == {
        ("swap_indicator", "no_change", "heading", 0, "Ada"),
        ("hose_squeeze", "soft_or_cracked", "", 3, "Ada"),
    }


def test_a_check_told_of_without_its_numbers_is_a_way_to_enter_them(client: Client, craft: str, report: str) -> None:
    address = f"/a/{craft}/reports/{report}/remarks/"
    words = "Put my finger over the regulator and it came right up; pressed to test the light, works"
    page = text(client.get(address, {"words": words}))
    assert "enter the gauge before and while covered" in page and "Without them it says nothing" in page
    other = text(client.get(address, {"words": "ran each pump by itself, the left one gives nothing"}))
    assert "run each pump alone" not in other, "there is one pump"
    told = {"author": "Ada", "words": words, "found_for": words, "told_cover_test": "1"}
    assert client.post(address, told).status_code == 302
    book = open_book(craft)
    assert evidence_job.evidence_of(book, book.report(report)).checks == ()


def test_dust_in_the_shops_report_is_on_the_list_without_being_entered_twice(
    client: Client, craft: str, report: str
) -> None:
    told = {"author": "Ada", "shop_found_dust_in_indicator": "yes", "about": "heading"}
    assert client.post(f"/a/{craft}/reports/{report}/remarks/", told).status_code == 302
    page = text(client.get(f"/a/{craft}/reports/{report}/scope/"))
    assert "Dust was found in the heading indicator" in page


def test_an_act_is_proved_both_ways_on_the_page_and_a_look_is_seen(client: Client, craft: str, report: str) -> None:
    """The tick beside an act is the both-ways one, that beside a look says it was seen; neither stands by the other."""
    act, look = (f"/a/{craft}/reports/{report}/checks/{check}/" for check in ("regulator_filter_off", "drain_look"))
    assert "Proved both ways" in text(client.get(act))
    assert "Seen or measured directly" not in text(client.get(act))
    assert "Proved both ways" not in text(client.get(look))
    told = {"author": "Ada", "outcome": "falls", "both_ways": "on"}
    assert client.post(act, told).status_code == 302
    assert client.post(look, {"author": "Ada", "outcome": "dry", "both_ways": "on"}).status_code == 302
    book = open_book(craft)
    found = {check.check: check for check in evidence_job.evidence_of(book, book.report(report)).checks}
    assert (found["regulator_filter_off"].both_ways, found["regulator_filter_off"].grade) == (True, 2)
    assert not found["drain_look"].both_ways


def test_earlier_work_is_kept(client: Client, craft: str, report: str) -> None:
    told = {"author": "Ada", "kinds_done": ["pump_changed", "no_line_cleaning_recorded"], "hours_ago": "27"}
    assert client.post(f"/a/{craft}/reports/{report}/events/", told).status_code == 302
    book = open_book(craft)
    events = evidence_job.evidence_of(book, book.report(report)).events
    assert {(event.kind, event.hours_ago) for event in events} == {
        ("pump_changed", 27.0),
        ("no_line_cleaning_recorded", 27.0),
    }


def test_earlier_work_says_which_instrument_it_was_or_that_nobody_knows(
    client: Client, craft: str, report: str
) -> None:
    address = f"/a/{craft}/reports/{report}/events/"
    page = text(client.get(address))
    assert "Which instrument was changed" in page
    assert "Which pump was changed" not in page, "there is one"
    told = {"author": "Ada", "kinds_done": ["gyro_changed", "panel_work"], "hours_ago": "3"}
    for about in ("heading", ""):
        assert client.post(address, {**told, "about_gyro_changed": about}).status_code == 302
    book = open_book(craft)
    items = [entry.content["item"] for entry in book.report(report).evidence if entry.kind == kinds.EVENT]
    assert [item.get("about") for item in items] == ["heading", None, None, None], (
        "nothing is kept of what is not known"
    )
    events = evidence_job.evidence_of(book, book.report(report)).events
    assert sorted(event.about for event in events) == ["", "", "", "heading"]
    listed = text(client.get(f"/a/{craft}/reports/{report}/"))
    assert "heading indicator, 3 h ago" in listed


def test_earlier_work_asks_which_hose_and_refuses_what_is_none_with_everything_kept(
    client: Client, craft: str, report: str
) -> None:
    address = f"/a/{craft}/reports/{report}/events/"
    assert "Which hose was changed" in text(client.get(address))
    told = {"author": "Ada", "kinds_done": ["hose_changed"], "hours_ago": "3", "note": "page 12"}
    refused = client.post(address, {**told, "about_hose_changed": "heading"})
    assert refused.status_code == 200
    page = text(refused)
    assert "firewall hose" in page
    assert "found “heading”. Choose one, or not known." in page
    assert 'value="page 12"' in refused.content.decode()
    assert 'value="hose_changed" checked' in refused.content.decode()
    assert client.post(address, {**told, "about_hose_changed": "firewall_hose"}).status_code == 302
    book = open_book(craft)
    events = evidence_job.evidence_of(book, book.report(report)).events
    assert [(event.kind, event.about) for event in events] == [("hose_changed", "firewall_hose")]


def test_what_was_seen_on_a_part_of_another_kind_is_refused_with_everything_kept(
    client: Client, craft: str, report: str
) -> None:
    address = f"/a/{craft}/reports/{report}/remarks/"
    told = {"author": "Ada", "coupling_parted": "yes", "about": "heading", "note": "seen with a torch"}
    refused = client.post(address, told)
    assert refused.status_code == 200
    page = text(refused)
    assert "Drive coupling found parted: expected a pump (pump), found “heading indicator”" in page
    assert "Choose one of these, or not said" in page
    assert "seen with a torch" in page
    assert '<option value="heading" selected>' in refused.content.decode()
    assert client.post(address, {**told, "about": "pump"}).status_code == 302


def test_an_instrument_chosen_without_its_tick_is_not_lost(client: Client, craft: str, report: str) -> None:
    address = f"/a/{craft}/reports/{report}/events/"
    told = {"author": "Ada", "kinds_done": ["panel_work"], "about_gyro_changed": "heading"}
    answer = client.post(address, told)
    assert answer.status_code == 200
    assert "an air-driven instrument changed or refitted” ticked with it" in text(answer)
    unknown = {**told, "kinds_done": ["gyro_changed"], "about_gyro_changed": "pump"}
    assert client.post(address, unknown).status_code == 200, "no instrument of this aircraft"
    book = open_book(craft)
    assert not [entry for entry in book.report(report).evidence if entry.kind == kinds.EVENT]


def test_which_of_two_pumps_was_changed_is_asked(client: Client, home: Home) -> None:
    twin = aircraft_job.keep(write_description(layouts.make("suction-twin-pumps")), author="Ada", at=AT)
    own = evidence_job.open_report(twin, "The gauge is low.", author="Ada", at=AT)
    address = f"/a/{twin}/reports/{own}/events/"
    assert "Which pump was changed" in text(client.get(address))
    told = {"author": "Ada", "kinds_done": ["pump_changed"], "about_pump_changed": "right_pump"}
    assert client.post(address, told).status_code == 302
    book = open_book(twin)
    assert [event.about for event in evidence_job.evidence_of(book, book.report(own)).events] == ["right_pump"]


def test_a_baseline_of_the_aircraft_is_evidence_in_every_report(client: Client, craft: str, report: str) -> None:
    told = {"author": "Ada", "direction": "rising", "rpm1": "1000", "value1": "3.2", "sound": "on"}
    assert client.post(f"/a/{craft}/readings/add/", told).status_code == 302
    book = open_book(craft)
    readings = evidence_job.evidence_of(book, book.report(report)).readings
    assert [reading.sound for reading in readings] == [True]


def test_what_others_kept_on_a_job_is_told_and_nothing_else(client: Client, craft: str, job: str) -> None:
    head = journal.head(craft)
    assert client.get(f"/a/{craft}/jobs/{job}/news/?head={head}").status_code == 204
    task = work_job.job(open_book(craft), job).package.tasks[0]
    work_job.do(craft, job, "done", {"task": task.id}, author="Ben", expected_head=journal.ANY_HEAD)
    told = client.get(f"/a/{craft}/jobs/{job}/news/?head={head}")
    assert f"Ben: {task.title} done" in text(told)


def test_who_is_working_is_said_on_the_job_page_and_leads_back_to_it(client: Client, craft: str, job: str) -> None:
    page = client.get(f"/a/{craft}/jobs/{job}/")
    response = client.post("/who/", {"author": "Ben", "back": hidden(page, "back")})
    assert response["Location"] == f"/a/{craft}/jobs/{job}/"
    assert 'value="Ben"' in client.get(response["Location"]).content.decode()


def test_back_leads_to_a_page_of_ours_only(client: Client, craft: str) -> None:
    ours = client.get(f"/a/{craft}/?rpm=fast", headers={"referer": f"http://testserver/a/{craft}/"})
    assert f'href="http://testserver/a/{craft}/"' in ours.content.decode()
    theirs = client.get(f"/a/{craft}/?rpm=fast", headers={"referer": "http://elsewhere.example/"})
    assert "elsewhere.example" not in theirs.content.decode()


@pytest.mark.parametrize("name", ["package", "hose-map", "tags"])
def test_what_goes_to_the_aircraft_prints(client: Client, craft: str, job: str, name: str) -> None:
    response = client.get(f"/a/{craft}/jobs/{job}/{name}.pdf")
    assert response.status_code == 200
    assert response["Content-Type"] == "application/pdf"
    assert response.content.startswith(b"%PDF")


def test_the_drawing_on_paper_stands_alone_in_black_and_white(craft: str, job: str) -> None:
    from vanewise.schematic.printing import scope_for_paper

    book = open_book(craft)
    svg = scope_for_paper(book.description, work_job.job(book, job).package.scope)
    root = ET.fromstring(svg)
    assert "var(" not in svg
    assert not list(root.iter("{http://www.w3.org/2000/svg}a"))
    colours = {colour.lower() for colour in re.findall(r"#[0-9a-fA-F]{6}", svg)}
    assert all(colour[1:3] == colour[3:5] == colour[5:7] for colour in colours)
    _, _, width, height = (float(number) for number in root.attrib["viewBox"].split())
    assert height / width <= 1.11


def test_what_is_to_be_found_out_before_another_pump_stands_on_the_page(client: Client, craft: str) -> None:
    seen = [{"symptom": symptom} for symptom in ("gauge_zero", "coupling_parted", "shop_found_dust_in_indicator")]
    report = evidence_job.open_report(craft, "Second pump dead", author="Ada", at=AT, symptoms=seen)
    done = [(kinds.EVENT, {"kind": kind}) for kind in ("pump_changed", "former_pump_short_life")]
    evidence_job.add(craft, report, done, author="Ada", at=AT)
    causes_job.request(craft, report, author="Ada", at=AT, refine=False)
    at = f"/a/{craft}/reports/{report}"
    told = text(client.get(f"{at}/causes/"))
    assert "Before another pump is fitted" in told and "Before another instrument is fitted" in told
    assert "Fit no other pump until what killed this one is found" in told
    assert "Open the removed pump: rotor, vanes laid out and counted" in told
    assert "white cloth (attitude indicator)" in told and "white cloth (heading indicator)" in told, (
        "each instrument by its name"
    )
    assert f"{at}/checks/instrument_inlet_look/?place=heading" in client.get(f"{at}/causes/").content.decode()
    listed = text(client.get(f"{at}/checks/"))
    assert listed.count("Before another") == 2
    one = client.get(f"{at}/checks/instrument_inlet_look/?place=heading").content.decode()
    assert re.search(r'<option value="heading"\s+selected', one), "the place is chosen already"
    assert "What it would tell" in one


def test_nothing_wrong_is_shown_as_no_finding_and_a_chance_stays_on_one_line(client: Client, craft: str) -> None:
    flickers = [{"symptom": "lamp_flickers_at_idle"}]
    report = evidence_job.open_report(craft, "Lamp flickers at idle.", author="Ada", symptoms=flickers, at=AT)
    causes_job.request(craft, report, author="Ada", refine=False, at=AT)
    page = client.get(f"/a/{craft}/reports/{report}/causes/")
    row = re.search(r'<li id="nothing_wrong">.*?</li>', page.content.decode(), re.DOTALL)
    assert row is not None and "no finding that it is fit to fly" in row[0] and "there at all" not in row[0]
    assert "no fault by what was told (about 1\N{NO-BREAK SPACE}in\N{NO-BREAK SPACE}" in html.unescape(
        page.content.decode()
    )
    assert "no finding that it is fit to fly" in text(client.get(f"/a/{craft}/reports/{report}/"))


def test_words_with_a_chance_in_them_are_escaped_as_before() -> None:
    told = "{% for item in items %}{{ item|unbroken }};{% endfor %}{{ items|join:'; '|unbroken }}"
    shown = engines["django"].from_string(told).render({"items": ["<b> 1 in 10", "bolted in 2024"]})
    kept = "&lt;b&gt; 1\N{NO-BREAK SPACE}in\N{NO-BREAK SPACE}10"
    assert shown == f"{kept};bolted in 2024;{kept}; bolted in 2024"


def test_the_short_answers_say_that_no_fault_told_of_is_no_finding(client: Client, craft: str) -> None:
    """The first answer as a piece of the page, and the few lines on the page of a report, which show no remarks."""
    told = [{"symptom": "lamp_flickers_at_idle"}]
    report = evidence_job.open_report(craft, "Lamp at idle", author="Ada", at=AT, symptoms=told)
    at = f"/a/{craft}/reports/{report}"
    causes_job.request(craft, report, author="Ada", at=AT, refine=False)
    for address in (f"{at}/causes/first/", f"{at}/", f"{at}/causes/"):
        assert "No fault by what was told: what was told also comes from a sound" in text(client.get(address)), address
