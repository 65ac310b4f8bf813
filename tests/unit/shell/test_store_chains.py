"""Whole chains in and out, and the read model of the due list, in SQLite and PostgreSQL alike."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from vanewise.errors import InputError
from vanewise.record.chain import chain
from vanewise.store import chains, due_rows, journal
from vanewise.store.home import Home

AT = "2026-03-01T10:00:00Z"


def add(words: str, aircraft: str = "club-1") -> journal.JournalEntry:
    return journal.append(aircraft, "note", {"words": words}, author="Ada", at=AT, expected_head=journal.ANY_HEAD)


def test_a_chain_is_taken_in_and_goes_on(home: Home, empty_again: Callable[[], None]) -> None:
    add("one")
    add("two")
    short = chains.links("club-1")
    add("three")
    whole = chains.links("club-1")
    empty_again()
    assert chains.take_in(short) == ("club-1", 2)
    assert chains.take_in(whole) == ("club-1", 1), "only what is new"
    assert chains.links("club-1") == whole and journal.head("club-1") == whole[-1].digest
    assert journal.verify().problems == () and journal.verify().rebuilt == ()
    assert add("four").prev_digest == whole[-1].digest


def test_a_chain_that_does_not_hold_leaves_nothing(home: Home, empty_again: Callable[[], None]) -> None:
    add("one")
    add("two")
    links = chains.links("club-1")
    empty_again()
    with pytest.raises(InputError, match="the digest before it"):
        chains.take_in(links[1:])
    other = chain([links[0].text, links[1].text.replace("club-1", "club-2")])
    with pytest.raises(InputError, match="one aircraft"):
        chains.take_in(other)
    assert journal.aircraft_rows() == ()


def test_entries_of_a_kind_over_all_aircraft_stand_as_corrected(home: Home) -> None:
    first = add("one")
    add("two", "club-2")
    journal.correct(first.digest, {"words": "uno"}, reason="slip", author="Ada", at=AT, expected_head=first.digest)
    assert [(e.aircraft, e.content["words"]) for e in chains.of_kinds("note")] == [("club-1", "uno"), ("club-2", "two")]
    assert chains.of_kinds("meters") == ()


def test_rows_of_the_due_list_are_behind_until_written(home: Home) -> None:
    add("one")
    add("two", "club-2")
    assert list(due_rows.behind()) == ["club-1", "club-2"]
    due_rows.write("club-1", journal.head("club-1"), "2026-05-01", "{}")
    due_rows.write("club-2", journal.head("club-2"), "", "")
    assert list(due_rows.behind()) == []
    assert [(key, day) for key, _, day, _ in due_rows.first(0, 9)] == [
        ("club-1", "2026-05-01"),
        ("club-2", due_rows.FAR),
    ]
    add("three")
    assert list(due_rows.behind()) == ["club-1"]
    due_rows.write("gone", "x", "", "")
    due_rows.drop_orphans()
    assert due_rows.read("gone") is None and due_rows.read("club-2") is not None
