"""Readings at run-up, over time and from a table; what next with its days, calendar and cards. Without scripts."""

from __future__ import annotations

import datetime
import html
import re
from typing import Any

import pytest
from django.test import Client, override_settings
from icalendar import Calendar

from vanewise.aircraft import layouts
from vanewise.aircraft.writing import write_description
from vanewise.jobs import aircraft as aircraft_job
from vanewise.jobs import due_limits, flying, kinds, meters, trends, watch, wear
from vanewise.jobs.calendars import calendar
from vanewise.jobs.casebook import open_book
from vanewise.store.home import Home
from vanewise.watch.due import when_words

AT = "2026-03-01T10:00:00Z"
TODAY = datetime.date(2026, 3, 1)


@pytest.fixture
def craft(home: Home) -> str:
    return aircraft_job.keep(write_description(layouts.make("suction-one-pump")), author="Ada", at=AT)


def text(response: Any) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


def run_up(client: Client, craft: str, **told: str) -> Any:
    return client.post(f"/a/{craft}/readings/run-up/", {"author": "Ada", "date": "2026-03-01", **told})


def test_a_run_up_reading_needs_four_figures_and_is_remembered(client: Client, craft: str) -> None:
    response = run_up(client, craft, gauge="4,9", rpm="1800", tach="3040.2", lamp_out="1080")
    assert response.status_code == 302
    book = open_book(craft)
    (reading,) = book.of(kinds.READING)
    assert reading.content["item"]["reading"] == "4.9 inHg" and reading.content["tach"] == "3040.2 h"
    assert len(book.of(kinds.LAMP)) == len(book.of(kinds.METERS)) == 1
    shown = text(client.get(f"/a/{craft}/readings/run-up/"))
    assert "Last time 4.9 inHg at 1800 rpm, 1 Mar 2026" in shown and "Lamp last out at 1080 rpm" in shown


def test_the_wrong_meter_is_caught_and_nothing_is_kept(client: Client, craft: str) -> None:
    meters.add_meters(craft, tach="3040.2 h", hour_meter="3610.0 h", date="2026-02-20", author="Ada", at=AT)
    before = open_book(craft).head
    response = run_up(client, craft, gauge="4.9", rpm="1800", tach="3612.4")
    assert response.status_code == 200
    assert "about what the hour meter showed" in text(response) and "It is right as written" in text(response)
    assert open_book(craft).head == before
    # A person who looked again may say so, and it is kept as written.
    sure = {"gauge": "4.9", "rpm": "1800", "tach": "3055.0", "sure": "on", "date": "2026-02-24"}
    assert run_up(client, craft, **sure).status_code == 302


def test_a_gap_and_an_odd_gauge_are_told_before_they_are_kept(client: Client, craft: str) -> None:
    assert run_up(client, craft, gauge="4.9", rpm="1800", tach="3040", date="2025-06-01").status_code == 302
    shown = text(run_up(client, craft, gauge="2.9", rpm="1800", tach="3120"))
    assert "none for 273 days and 80.0 h" in shown, "2025-06-01 to 2026-03-01"
    assert "something like the 4.9 inHg of last time" in shown


def test_a_figure_that_cannot_be_is_said_at_its_field(client: Client, craft: str) -> None:
    meters.add_meters(craft, tach="3040.2 h", hour_meter="", date="2026-02-20", author="Ada", at=AT)
    response = run_up(client, craft, gauge="4.9 furlongs", rpm="1800")
    assert response.status_code == 200 and "4.9 furlongs" in response.content.decode()
    back = run_up(client, craft, gauge="4.9", rpm="1800", tach="3000", sure="on")
    assert back.status_code == 200 and "at least 3,040.2 h" in text(back)


def lamp_card(craft: str) -> None:
    """Invented: nine looks at the lamp, the last three of them 300 rpm higher."""
    for number, rpm in enumerate((1070, 1080, 1065, 1075, 1070, 1080, 1370, 1380, 1375)):
        day = (datetime.date(2025, 1, 5) + datetime.timedelta(days=14 * number)).isoformat()
        meters.add_meters(craft, tach=f"{3000 + 5 * number}.0 h", hour_meter="", date=day, author="Ada", at=AT)
        item = {"rpm": f"{rpm} rpm", "when": day}
        from vanewise.jobs import evidence

        evidence.add(craft, "", [(kinds.LAMP, item)], author="Ada", at=AT)


def test_a_change_over_time_is_told_with_hours_and_a_new_baseline_ends_it(client: Client, craft: str) -> None:
    lamp_card(craft)
    (line,) = trends.lines(open_book(craft), TODAY)
    assert line.trend.state == "changed" and line.trend.since_hours == 3030.0
    shown = text(client.get(f"/a/{craft}/readings/"))
    assert "Something has changed" in shown and "Engine speed at lamp out" in shown
    page = text(client.get(f"/a/{craft}/readings/over-time/lamp_out/"))
    assert "in at most 1 in 20 spells of 100 readings" in page and "Trends miss sudden failures" in page
    told = {"form": "baseline", "b-author": "Ada", "b-when": "2025-03-30", "b-tach": "3029", "b-why": "pump changed"}
    assert client.post(f"/a/{craft}/readings/over-time/lamp_out/", told).status_code == 302
    (after,) = trends.lines(open_book(craft), TODAY)
    assert after.trend.state == "too few" and "3 more readings" in after.trend.words[0]


def test_the_gauge_card_takes_the_gauge_out_of_a_reading(craft: str) -> None:
    trends.compare_gauge(craft, shown="5.0 inHg", true="4.6 inHg", author="Ada")
    from vanewise.jobs import evidence

    item = {"reading": "5.0 inHg", "rpm": "1800 rpm", "when": "2026-01-05"}
    evidence.add(craft, "", [(kinds.READING, item)], author="Ada", at=AT)
    (line,) = [line for line in trends.lines(open_book(craft), TODAY) if line.key == "run_up"]
    assert line.newest[1] == pytest.approx(4.6, abs=1e-6)


TABLE = "Day;Vac;RPM;Tach\n05.01.2026;4,9;1800;3.010,5\n12.01.2026;4,8;1800;3.014,0\n19.01.2026;bad;1800;3.016,0\n"


def test_a_table_is_mapped_once_kept_once_and_remembered(client: Client, craft: str) -> None:
    address = f"/a/{craft}/readings/table/"
    first = client.post(address, {"step": "table", "text": TABLE, "separator": ";"})
    assert "Vac" in text(first) and "What does each column hold?" in text(first)
    columns = {"holds0": "date", "holds1": "gauge", "unit1": "inHg", "holds2": "engine rpm", "unit2": "rpm"}
    columns |= {"holds3": "tach", "separator": ";", "decimal": ",", "date_style": "31.03.2025", "author": "Ada"}
    looked = client.post(address, {"step": "look", "text": TABLE, **columns})
    assert "2 rows can be read; 4 entries are new" in text(looked) and "line 4, Vac" in text(looked)
    assert client.post(address, {"step": "keep", "text": TABLE, **columns}).status_code == 302
    book = open_book(craft)
    assert [entry.content["item"]["reading"] for entry in book.of(kinds.READING)] == ["4.9 inHg", "4.8 inHg"]
    assert client.post(address, {"step": "keep", "text": TABLE, **columns}).status_code == 302
    assert open_book(craft).head == book.head, "the same table again adds nothing"
    again = client.post(address, {"step": "table", "text": TABLE, "separator": ";"}).content.decode()
    assert '<option value="gauge" selected' in again


def fill(craft: str) -> None:
    meters.add_meters(craft, tach="3000.0 h", hour_meter="", date="2026-02-28", author="Ada", at=AT)
    flying.say_flying(craft, "120 h", author="Ada", at=AT)
    for item, hours, months in (("filter", "500 h", ""), ("foam", "100 h", ""), ("second look", "25 h", "")):
        due_limits.add_limit(
            craft, {"item": item, "nature": "own", "hours": hours, "months": months}, author="Ada", at=AT
        )
        due_limits.add_done(craft, item, date="2026-02-28", tach="3000.0 h", author="Ada", at=AT)
    due_limits.add_limit(craft, {"item": "walk-round", "nature": "custom", "months": "6"}, author="Ada", at=AT)
    due_limits.add_done(craft, "walk-round", date="2026-02-28", author="Ada", at=AT)


def test_hours_and_days_stand_in_one_order(client: Client, craft: str) -> None:
    """At 10 h a month 25 h come in May, six months end with August, 100 h about the new year, 500 h in years."""
    fill(craft)
    items = watch.due(open_book(craft), TODAY)
    assert [item.item for item in items] == ["second look", "walk-round", "foam", "filter"]
    assert items[1].due_date == datetime.date(2026, 8, 31)
    assert re.fullmatch(r"by 3,025\.0 h \(tach\), about \w+ to \w+ 2026", when_words(items[0]))
    shown = text(client.get(f"/a/{craft}/next/"))
    assert "By 3,025.0 h (tach)" in shown
    assert "about 120 h a year, by its owner's word" in shown


def test_a_wear_look_stands_on_the_list_with_its_reason(craft: str) -> None:
    fill(craft)
    look = {"kind": "length", "hours": "300 h", "length": "0.62 in", "new_length": "0.75 in"}
    wear.add_wear(craft, "pump", {**look, "minimum_length": "0.5 in"}, author="Ada", at=AT)
    (item,) = [item for item in watch.due(open_book(craft), TODAY) if item.item.startswith("look at the wear port")]
    answer = wear.forecast(open_book(craft), "pump", TODAY)
    assert answer is not None and item.due_centihours is not None
    assert item.due_centihours == 300_000 + round(100 * answer.look_again_in_h)
    assert "unseen comes to 1 in" in item.why


def test_own_assumptions_take_the_place_of_the_starting_ones(client: Client, craft: str) -> None:
    look = {"kind": "length", "hours": "300 h", "length": "0.62 in", "new_length": "0.75 in"}
    wear.add_wear(craft, "pump", {**look, "minimum_length": "0.5 in"}, author="Ada", at=AT)
    before = wear.forecast(open_book(craft), "pump", TODAY)
    address = f"/a/{craft}/readings/wear/pump/ahead/"
    refused = client.post(address, {"author": "Ada", "median_life": "400"})
    assert "where the number comes from" in text(refused)
    kept = client.post(address, {"author": "Ada", "median_life": "400", "median_life_source": "our last four pumps"})
    assert kept.status_code == 302
    after = wear.forecast(open_book(craft), "pump", TODAY)
    assert before is not None and after is not None
    assert after.hours_left["p50"] < before.hours_left["p50"]
    assert "as entered: our last four pumps" in text(client.get(address))


def test_the_calendar_reads_back_as_real_clients_read_it(client: Client, craft: str) -> None:
    fill(craft)
    body = client.get(f"/a/{craft}/next/calendar.ics")
    assert body["Content-Type"].startswith("text/calendar")
    assert len(Calendar.from_ical(body.content).walk("VEVENT")) == 4
    content = calendar(open_book(craft), TODAY)
    events = Calendar.from_ical(content).walk("VEVENT")
    assert len(events) == 4 and len({str(event["uid"]) for event in events}) == 4
    by_name = {str(event["summary"]).split(": ")[1]: event for event in events}
    fixed = by_name["walk-round"]
    assert fixed["dtstart"].dt == datetime.date(2026, 8, 31) and str(fixed["status"]) == "CONFIRMED"
    assert str(by_name["second look"]["status"]) == "TENTATIVE"
    assert "3,025.0 h (tach), about" in str(by_name["second look"]["description"])
    assert max(len(line) for line in content.splitlines()) <= 75, "RFC 5545, 3.1: octets of a line"
    assert calendar(open_book(craft), TODAY) == content, "the same list, the same bytes"


def test_the_feed_is_behind_an_address_that_only_its_page_tells(client: Client, craft: str) -> None:
    fill(craft)
    shown = client.get(f"/a/{craft}/next/").content.decode()
    found = re.search(rf"/a/{craft}/calendar/[0-9a-f]{{40}}\.ics", shown)
    assert found is not None
    assert client.get(found[0]).status_code == 200
    assert client.get(f"/a/{craft}/calendar/{'0' * 40}.ics").status_code == 404
    with override_settings(VANEWISE_SIGN_IN=True):
        assert client.get(found[0]).status_code == 200, "a calendar client cannot sign in"
        assert client.get(f"/a/{craft}/calendar/{'0' * 40}.ics").status_code == 404
        assert client.get(f"/a/{craft}/next/calendar.ics").status_code == 401


def test_customary_limits_and_the_rules_are_offered_and_taken(client: Client, craft: str) -> None:
    told = {"form": "offered", "offered-author": "Ada", "offered-taken": ["annual inspection", "regulator filter"]}
    assert client.post(f"/a/{craft}/next/", told).status_code == 302
    kept = {limit.item: limit for limit, _ in due_limits.limits(open_book(craft))}
    assert kept["annual inspection"].is_mandatory and kept["annual inspection"].calendar_months == 12
    assert kept["regulator filter"].hours_centi == 10_000 and kept["regulator filter"].nature == "custom"
    assert "annual inspection" not in {limit.item for limit in due_limits.offered_limits(open_book(craft))}


def test_a_replaced_meter_goes_on_counting(client: Client, craft: str) -> None:
    meters.add_meters(craft, tach="3040.2 h", hour_meter="", date="2026-02-20", author="Ada", at=AT)
    told = {"form": "replaced", "replaced-author": "Ada", "replaced-which": "tach", "replaced-date": "2026-02-21"}
    assert (
        client.post(f"/a/{craft}/next/", {**told, "replaced-old": "3041.0", "replaced-new": "0.0"}).status_code == 302
    )
    meters.add_meters(craft, tach="2.5 h", hour_meter="", date="2026-02-24", author="Ada", at=AT)
    assert meters.standing(open_book(craft), TODAY).tach_centihours == 304_350


@pytest.mark.parametrize("card", ["walk-round", "after-storage", "standby-test"])
def test_a_card_is_one_page(client: Client, craft: str, card: str) -> None:
    import io

    from pypdf import PdfReader

    body = client.get(f"/a/{craft}/next/cards/{card}.pdf?page=a4")
    assert len(PdfReader(io.BytesIO(body.content)).pages) == 1
