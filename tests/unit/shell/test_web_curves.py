"""Curves and what-ifs on pages: what a script asks for, and what is refused with four parts."""

from __future__ import annotations

import pytest
from django.test import Client

from vanewise.aircraft.layouts import make
from vanewise.aircraft.writing import write_description
from vanewise.jobs import aircraft
from vanewise.store.home import Home


@pytest.fixture
def craft(home: Home) -> str:
    return aircraft.keep(write_description(make("suction-own-filters")), author="Ada")


def test_a_moved_slider_is_answered_by_the_maps_alone(craft: str, client: Client) -> None:
    whole = client.get(f"/a/{craft}/margin/?wear=3").content.decode()
    maps = client.get(f"/a/{craft}/margin/?wear=3", headers={"HX-Request": "true"}).content.decode()
    assert "<html" in whole and "<html" not in maps
    assert maps.count("<svg") == 3 and "leaks inside 3 times as much" in maps
    assert "Its need is an example" in maps and "no margin to show" in maps
    given = client.get(f"/a/{craft}/margin/?need-attitude=4.6").content.decode()
    assert "as you gave it" in given


def test_a_standby_is_offered_only_where_one_can_be_added(craft: str, client: Client) -> None:
    assert "add:standby pump" in client.get(f"/a/{craft}/changed/").content.decode()
    twin = aircraft.keep(write_description(make("pressure-twin-pumps")), author="Ada")
    assert "add:" not in client.get(f"/a/{twin}/changed/").content.decode()


@pytest.mark.parametrize(
    "address",
    [
        "margin/?wear=99",
        "margin/?wear=worn",
        "margin/?need-attitude=90",
        "load/?pump=none",
        "budget/?rpm=fast",
        "changed/?change=off:compass",
        "changed/?change=paint",
        "swapped/?one=attitude.inlet&other=attitude.inlet",
        "swapped/?rpm0=2400&reading0=90",
    ],
)
def test_what_is_wrong_is_refused_and_says_what_next(craft: str, client: Client, address: str) -> None:
    answer = client.get(f"/a/{craft}/{address}")
    assert answer.status_code == 400
    told = answer.content.decode()
    assert all(f"<dt>{word}</dt>" in told for word in ("Expected", "Found", "Next"))
