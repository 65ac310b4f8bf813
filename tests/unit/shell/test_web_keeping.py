"""Lives and replacement, component cards, histories out and in, and the due list of a whole home. Without scripts."""

from __future__ import annotations

import datetime
import html
import io
import json
import math
import re
from collections.abc import Callable
from typing import Any

import jsonschema
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from pypdf import PdfReader

from tests.published.test_life_data_sets import FANS
from vanewise.aircraft import layouts
from vanewise.aircraft.writing import write_description
from vanewise.errors import InputError
from vanewise.jobs import aircraft as aircraft_job
from vanewise.jobs import components, due_limits, due_list, histories, lives, meters, watch, wear
from vanewise.jobs.casebook import open_book
from vanewise.record.history import history_schema
from vanewise.store import chains, due_rows, journal
from vanewise.store.home import Home
from vanewise.watch.wear_priors import DEFAULT_PRIORS

AT = "2026-03-01T10:00:00Z"
TODAY = datetime.date(2026, 3, 1)


def described(name: str = "suction-one-pump") -> str:
    return aircraft_job.keep(write_description(layouts.make(name)), author="Ada", at=AT)


@pytest.fixture
def craft(home: Home) -> str:
    return described()


def text(response: Any) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


def test_a_flat_hazard_gives_no_age_to_replace_at(client: Client, craft: str) -> None:
    """Generator fans (tests/published holds the set): the shape's interval holds 1, so no age may follow."""
    for lived, ended in zip(FANS.lower, FANS.upper, strict=True):
        item = {"kind": "filter", "lived_to": f"{lived:.0f} h"}
        if math.isfinite(ended):
            item |= {"ended_by": f"{ended:.0f} h", "cause": "blocked"}
        lives.add(craft, item, author="Ada", at=AT)
    lives.keep_costs(craft, "filter", {"planned": "100", "unplanned": "5000"}, author="Ada", at=AT)
    found = lives.lives(open_book(craft), "filter")
    assert found.by_age is not None and found.by_age.kind == "no wear-out age" and found.by_age.hours is None
    shown = text(client.get(f"/a/{craft}/lives/filter/"))
    assert "show no wear-out age" in shown and "these lives do not show it" in shown


def test_lives_of_every_kind_of_knowledge_are_taken_and_told(client: Client, craft: str) -> None:
    address = f"/a/{craft}/lives/coupling/"
    ends = [("610", "610"), ("580", "580"), ("640", "660"), ("600", "600"), ("590", "590"), ("400", ""), ("0", "700")]
    for lived, ended in ends:
        told = {"form": "life", "l-author": "Ada", "l-lived_to": lived, "l-ended_by": ended}
        assert client.post(address, {**told, "l-cause": "sheared" if ended else ""}).status_code == 302
    late = {"form": "life", "l-author": "Ada", "l-lived_to": "650", "l-watched_from": "300"}
    assert client.post(address, late).status_code == 302
    money = {"form": "costs", "c-author": "Ada", "c-planned": "200", "c-unplanned": "4000"}
    assert client.post(address, money).status_code == 302
    found = lives.lives(open_book(craft), "coupling")
    assert found.model.wears_out and found.by_age is not None
    assert found.by_age.hours is not None and found.by_age.hours < 580, "before the first of them ended"
    assert "is cheapest" in text(client.get(address))
    wrong = client.post(address, {**late, "l-lived_to": "100"})
    assert wrong.status_code == 200 and "watched from no later" in text(wrong)


def test_own_sudden_stops_move_the_headline(craft: str) -> None:
    """The starting 2 stops in 2,800 h with 3 own in 900 h: 5 in 3,700 h, by hand."""
    for hours in (200, 300, 400):
        item = {"kind": "pump", "lived_to": f"{hours} h", "ended_by": f"{hours} h", "cause": "sudden stop"}
        lives.add(craft, item, author="Ada", at=AT)
    own = wear.priors(open_book(craft), "pump")
    assert (own.sudden_events.number, own.sudden_hours.number) == (5.0, 3700.0)
    assert DEFAULT_PRIORS.sudden_events.number == 2.0


def test_other_pumps_of_the_home_tell_something_of_this_one(client: Client, craft: str) -> None:
    """Two pumps in the same duty that wore out early make hours left shorter; they do not stand for its own looks."""
    length = {"kind": "length", "new_length": "0.75 in", "minimum_length": "0.5 in"}
    wear.add_wear(craft, "pump", {**length, "hours": "100 h", "length": "0.73 in"}, author="Ada", at=AT)
    for _ in range(2):
        other = described()
        wear.add_wear(other, "pump", {**length, "hours": "300 h", "length": "0.51 in"}, author="Ada", at=AT)
    book = open_book(craft)
    alone, among = (wear.forecast(book, "pump", TODAY, with_others=way) for way in (False, True))
    assert alone is not None and among is not None
    assert among.hours_left["p50"] < alone.hours_left["p50"]
    assert "2 other pumps of this home" in text(client.get(f"/a/{craft}/readings/wear/pump/ahead/"))


def test_a_cap_overrides_every_cost(client: Client, craft: str) -> None:
    look = {"kind": "length", "hours": "300 h", "length": "0.62 in", "new_length": "0.75 in"}
    wear.add_wear(craft, "pump", {**look, "minimum_length": "0.5 in"}, author="Ada", at=AT)
    lives.keep_costs(craft, "pump", {"planned": "9000", "unplanned": "9001", "one_in": "5000"}, author="Ada", at=AT)
    shown = text(client.get(f"/a/{craft}/lives/pump/"))
    assert "accepted is 1 in 5,000" in shown and "Replace it before flight in cloud, whatever it costs" in shown


def test_a_component_keeps_its_time_across_aircraft(client: Client, craft: str) -> None:
    """380.5 h in one aircraft and 100.25 h in the other are 480.75 h since new, by hand."""
    other = described("pressure-one-pump")
    post = f"/a/{craft}/components/"
    steps = [
        (craft, {"kind": "made", "date": "2020-01-10"}),
        (craft, {"kind": "fitted", "date": "2020-06-20", "tach": "2100"}),
        (craft, {"kind": "removed", "date": "2023-03-01", "tach": "2480.5", "note": "aircraft laid up"}),
        (other, {"kind": "fitted", "date": "2023-04-01", "tach": "900"}),
    ]
    for where, told in steps:
        form = {"author": "Ada", "serial": "S-17", "part": "pump", **told}
        assert client.post(f"/a/{where}/components/", form).status_code == 302
    meters.add_meters(other, tach="1000.25 h", hour_meter="", date="2026-02-20", author="Ada", at=AT)
    (card,) = components.cards(open_book(craft))
    assert card.since_new_centihours == 48_075 and card.aircraft == other
    (same,) = components.cards(open_book(other))
    assert same == card
    assert "480.75 h" in text(client.get(post))
    refused = client.post(post, {"author": "Ada", "serial": "S-17", "kind": "removed", "date": "2026-01-01"})
    assert "a part without its story is waste" in text(refused)


def test_a_part_that_came_off_gets_its_tag(client: Client, craft: str) -> None:
    for told in ({"kind": "fitted", "date": "2020-06-20", "tach": "2100 h"},
                 {"kind": "removed", "date": "2023-03-01", "tach": "2480.5 h", "note": "rotor broken"}):  # fmt: skip
        components.add(craft, {"serial": "S-18", "part": "pump", **told}, author="Ada", at=AT)
    body = client.get(f"/a/{craft}/components/tag.pdf?serial=S-18").content
    words = PdfReader(io.BytesIO(body)).pages[0].extract_text()
    assert "rotor broken" in words and "S-18" in words
    with pytest.raises(InputError, match="choose one from its list"):
        components.tag_of_removed(open_book(craft), "S-99")


def filled(craft: str) -> None:
    meters.add_meters(craft, tach="3000.0 h", hour_meter="", date="2026-02-28", author="Ada", at=AT)
    due_limits.add_limit(craft, {"item": "foam", "nature": "own", "hours": "100 h"}, author="Ada", at=AT)
    entry = due_limits.add_done(craft, "foam", date="2026-02-28", tach="3000.0 h", author="Ada", at=AT)
    journal.correct(
        entry.digest,
        {**entry.content, "tach": "2990.0 h"},
        reason="read wrongly",
        author="Bert",
        at=AT,
        expected_head=journal.ANY_HEAD,
    )


@pytest.mark.parametrize("form", ["json", "csv"])
def test_a_history_goes_out_and_comes_in_without_loss(
    client: Client, craft: str, form: str, empty_again: Callable[[], None]
) -> None:
    filled(craft)
    chain, head = chains.links(craft), open_book(craft).head
    out = client.get(f"/a/{craft}/history/{form}/").content
    if form == "json":
        jsonschema.validate(json.loads(out), history_schema())
    empty_again()
    file = SimpleUploadedFile(f"history.{form}", out)
    taken = client.post("/take-in/", {"file": file})
    assert taken.status_code == 302 and taken["Location"] == f"/a/{craft}/history/"
    assert chains.links(craft) == chain and open_book(craft).head == head
    assert journal.verify().problems == ()
    assert histories.take_in(out.decode("utf-8-sig"), "again") == (craft, 0), "the same again adds nothing"
    due_limits.add_limit(craft, {"item": "clamps", "nature": "own", "months": "12"}, author="Ada", at=AT)
    assert histories.take_in(out.decode("utf-8-sig"), "older") == (craft, 0), "an older one takes nothing away"


def test_histories_that_part_are_refused(client: Client, craft: str, empty_again: Callable[[], None]) -> None:
    first = client.get(f"/a/{craft}/history/json/").content.decode()
    due_limits.add_limit(craft, {"item": "one", "nature": "own", "months": "12"}, author="Ada", at=AT)
    mine = client.get(f"/a/{craft}/history/json/").content.decode()
    empty_again()
    histories.take_in(first, "first")
    due_limits.add_limit(craft, {"item": "another", "nature": "own", "months": "12"}, author="Bert", at=AT)
    with pytest.raises(InputError, match="the two histories part there"):
        histories.take_in(mine, "mine")
    spoilt = mine.replace('\\"one\\"', '\\"two\\"')
    assert spoilt != mine
    refused = client.post("/take-in/", {"file": SimpleUploadedFile("h.json", spoilt.encode())})
    assert refused.status_code == 200 and "compare it with the paper record" in text(refused)


def test_the_history_page_tells_a_buyer_and_prints(client: Client, craft: str) -> None:
    filled(craft)
    shown = text(client.get(f"/a/{craft}/history/"))
    assert "the chain holds" in shown and "Corrected by Bert" in shown and "read wrongly" in shown
    assert "goes with it" in shown and "not checked by a local person" in shown
    words = "".join(
        p.extract_text() for p in PdfReader(io.BytesIO(client.get(f"/a/{craft}/history/pdf/").content)).pages
    )
    assert "Corrected by Bert" in words and open_book(craft).head[:8] in words


def test_a_broken_chain_is_told_on_every_page_of_its_aircraft(client: Client, craft: str) -> None:
    filled(craft)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("ALTER TABLE store_entry DISABLE TRIGGER ALL")
        else:
            cursor.execute("DROP TRIGGER store_entry_no_update")
        cursor.execute("UPDATE store_entry SET text = replace(text, 'foam', 'soap') WHERE position = 3")
    from vanewise.jobs import casebook

    casebook._books.clear()
    assert "The chain of this journal does not hold" in text(client.get(f"/a/{craft}/next/"))


def test_the_list_of_all_aircraft_follows_each_journal(client: Client, craft: str) -> None:
    filled(craft)
    other = described("pressure-one-pump")
    due_limits.add_limit(other, {"item": "annual inspection", "nature": "own", "months": "12"}, author="Ada", at=AT)
    due_limits.add_done(other, "annual inspection", date="2025-02-10", author="Ada", at=AT)
    found = due_list.listed(TODAY)
    assert [one.aircraft for one in found] == [other, craft], "what is overdue comes first"
    assert found[1].items == watch.due(open_book(craft), TODAY), "the read model says what the journal says"
    assert due_list.bring_up_to_date(TODAY) == 0, "nothing is worked out twice"
    due_limits.add_done(other, "annual inspection", date="2026-02-20", author="Ada", at=AT)
    assert list(due_rows.behind()) == [other]
    assert [one.aircraft for one in due_list.listed(TODAY)] == [craft, other]
    shown = text(client.get("/what-next/"))
    assert shown.index("Suction, one pump") < shown.index("Pressure, one pump")
