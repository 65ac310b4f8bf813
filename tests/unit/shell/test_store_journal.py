"""The journal: only grows, never forks, shows every change, and tells a person when the head has moved."""

from __future__ import annotations

import threading
from typing import Any

import pytest

from vanewise.errors import InputError
from vanewise.store import journal
from vanewise.store.home import Home
from vanewise.store.journal import ANY_HEAD, NO_HEAD, HeadMoved

AT = "2026-03-01T10:00:00Z"


def add(text: str = "4.9 inHg", *, aircraft: str = "a1", head: str = ANY_HEAD, **more: Any) -> journal.JournalEntry:
    return journal.append(
        aircraft, more.pop("kind", "reading"), {"value": text, **more}, author="Ada", at=AT, expected_head=head
    )


def write(sql: str, *values: Any) -> None:
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(sql, values)


def without_triggers(sql: str, *values: Any) -> None:
    """Change a row the way a person who owns the database could: put the triggers out of the way first."""
    from django.db import connection

    if connection.vendor == "postgresql":
        write("ALTER TABLE store_entry DISABLE TRIGGER USER")
    else:
        write("DROP TRIGGER store_entry_no_update")
        write("DROP TRIGGER store_entry_no_delete")
    write(sql, *values)


def test_entries_come_back_in_order_and_as_written(home: Home) -> None:
    written = [add(f"{n} inHg", note="naïve – ½ in") for n in range(5)]
    assert list(journal.read("a1")) == written
    assert [item.position for item in written] == [1, 2, 3, 4, 5]
    assert written[3].prev_digest == written[2].digest
    assert journal.head("a1") == written[-1].digest
    assert [item.content["value"] for item in journal.read("a1", after=written[2].digest)] == ["3 inHg", "4 inHg"]


def test_each_aircraft_has_its_own_chain(home: Home) -> None:
    add(aircraft="a1")
    second = add(aircraft="a2")
    assert second.prev_digest == NO_HEAD
    assert second.position == 1


def test_a_moved_head_shows_what_was_written_meanwhile_and_keeps_nothing(home: Home) -> None:
    seen = add("4.9 inHg")
    theirs = add("3.1 inHg", head=seen.digest)
    with pytest.raises(HeadMoved) as refused:
        add("5.0 inHg", head=seen.digest)
    assert refused.value.since == (theirs,)
    assert refused.value.head == theirs.digest
    assert "Ada" in refused.value.problems[0].found
    assert [item.content["value"] for item in journal.read("a1")] == ["4.9 inHg", "3.1 inHg"]


def test_what_was_written_meanwhile_to_something_else_does_not_stand_in_the_way(home: Home) -> None:
    seen = add(kind="tick", task="t1")
    add(kind="tick", task="t2", head=seen.digest)

    def same_task(task: str) -> Any:
        return lambda entry: entry.kind == "tick" and entry.content.get("task") == task

    mine = journal.append(
        "a1", "tick", {"task": "t3"}, author="Ben", at=AT, expected_head=seen.digest, clashes=same_task("t3")
    )
    assert mine.position == 3
    with pytest.raises(HeadMoved):
        journal.append(
            "a1", "tick", {"task": "t2"}, author="Ben", at=AT, expected_head=seen.digest, clashes=same_task("t2")
        )


def test_a_new_journal_is_refused_where_one_is_there(home: Home) -> None:
    add()
    with pytest.raises(HeadMoved):
        add(head=NO_HEAD)


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE store_entry SET author = 'Eve'",
        "DELETE FROM store_entry",
        "UPDATE store_storedfile SET size = 1",
        "DELETE FROM store_storedfile",
    ],
)
def test_the_database_itself_refuses_change(home: Home, sql: str) -> None:
    from django.db import DatabaseError

    from vanewise.store import files

    add()
    files.keep(b"photo", media_type="image/jpeg", at=AT)
    with pytest.raises(DatabaseError, match="only grows"):
        write(sql)


def test_emptying_the_journal_is_refused_too(home: Home) -> None:
    from django.db import DatabaseError, connection

    add()
    if connection.vendor != "postgresql":
        pytest.skip("only PostgreSQL can empty a table without touching a row")
    with pytest.raises(DatabaseError, match="only grows"):
        write("TRUNCATE store_entry")


def test_a_fork_is_impossible(home: Home) -> None:
    from django.db import IntegrityError

    from vanewise.store.models import Entry

    first = add()
    add("second")
    with pytest.raises(IntegrityError):
        Entry.objects.create(
            aircraft="a1",
            position=9,
            kind="reading",
            schema_version=1,
            text="{}",
            prev_digest=first.digest,
            digest="f" * 64,
            author="Eve",
            at=AT,
        )


@pytest.mark.parametrize(
    ("sql", "found"),
    [
        ("UPDATE store_entry SET text = replace(text, '4.9', '5.9') WHERE position = 2", "byte of the text"),
        ("UPDATE store_entry SET author = 'Eve' WHERE position = 2", "another kind, author"),
        ("DELETE FROM store_entry WHERE position = 2", "an entry is missing"),
        ("UPDATE store_entry SET text = 'torn' WHERE position = 2", "cannot be read"),
    ],
)
def test_verify_finds_every_kind_of_change(home: Home, sql: str, found: str) -> None:
    for _ in range(3):
        add()
    without_triggers(sql)
    checked = journal.verify()
    assert any(found in problem.found for problem in checked.problems), checked.problems
    assert all(problem.next_step for problem in checked.problems)


def test_verify_rebuilds_a_read_model_from_the_journal(home: Home) -> None:
    from vanewise.store.models import AircraftRow

    journal.append("a1", "description", {"name": "Four-seat tourer"}, author="Ada", at=AT, expected_head=NO_HEAD)
    last = add()
    before = journal.aircraft_rows()
    AircraftRow.objects.filter(aircraft="a1").update(name="wrong", head="0" * 64, length=7)
    AircraftRow.objects.create(aircraft="ghost", name="ghost", head="", length=0, last_at=AT)
    looked = journal.verify(repair=False)
    assert set(looked.rebuilt) == {"a1", "ghost"}
    assert journal.aircraft_rows() != before
    checked = journal.verify()
    assert checked.problems == ()
    assert checked.heads == {"a1": last.digest}
    assert journal.aircraft_rows() == before
    assert journal.verify().rebuilt == ()


def test_verify_does_not_paint_over_a_broken_chain(home: Home) -> None:
    from vanewise.store.models import AircraftRow

    add()
    add()
    AircraftRow.objects.update(length=7)
    without_triggers("UPDATE store_entry SET text = replace(text, '4.9', '5.9') WHERE position = 1")
    journal.verify()
    assert AircraftRow.objects.get().length == 7


def test_a_correction_replaces_and_keeps_both(home: Home) -> None:
    wrong_one = add("9.4 inHg")
    other = add("3.2 inHg")
    correction = journal.correct(
        wrong_one.digest, {"value": "4.9 inHg"}, reason="digits swapped", author="Ben", at=AT, expected_head=ANY_HEAD
    )
    entries = tuple(journal.read("a1"))
    assert entries == (wrong_one, other, correction)
    assert [item.content["value"] for item in journal.standing(entries)] == ["4.9 inHg", "3.2 inHg"]
    assert correction.content["reason"] == "digits swapped"


def test_a_correction_without_content_withdraws(home: Home) -> None:
    gone = add("9.4 inHg")
    journal.correct(gone.digest, None, reason="another aircraft", author="Ben", at=AT, expected_head=ANY_HEAD)
    assert journal.standing(journal.read("a1")) == ()


def test_a_thing_is_corrected_once_and_with_a_reason(home: Home) -> None:
    entry = add("9.4 inHg")
    with pytest.raises(InputError, match="reason"):
        journal.correct(entry.digest, None, reason=" ", author="Ben", at=AT, expected_head=ANY_HEAD)
    journal.correct(entry.digest, None, reason="twice", author="Ben", at=AT, expected_head=ANY_HEAD)
    with pytest.raises(HeadMoved, match="corrected"):
        journal.correct(entry.digest, None, reason="twice", author="Ben", at=AT, expected_head=ANY_HEAD)


def test_a_correction_renames_the_aircraft_in_the_list(home: Home) -> None:
    entry = journal.append("a1", "description", {"name": "Tourr"}, author="Ada", at=AT, expected_head=NO_HEAD)
    journal.correct(entry.digest, {"name": "Tourer"}, reason="spelling", author="Ada", at=AT, expected_head=ANY_HEAD)
    assert journal.aircraft_rows()[0][1] == "Tourer"
    assert journal.verify().rebuilt == ()


@pytest.mark.parametrize("content", [{"value": "nul \0 inside"}, {"value": 4.9}])
def test_what_a_database_would_store_differently_is_refused_at_the_edge(home: Home, content: dict[str, Any]) -> None:
    with pytest.raises(InputError):
        journal.append("a1", "reading", content, author="Ada", at=AT, expected_head=ANY_HEAD)
    assert journal.head("a1") == NO_HEAD


def test_nobody_writes_without_a_name(home: Home) -> None:
    with pytest.raises(InputError, match="name"):
        journal.append("a1", "reading", {}, author="  ", at=AT, expected_head=ANY_HEAD)


def test_many_people_writing_at_once_make_one_whole_chain(home: Home) -> None:
    from django.db import connections

    failures: list[Exception] = []

    def person(name: int) -> None:
        try:
            for n in range(10):
                add(f"{name}.{n}")
        except Exception as error:  # noqa: BLE001 - a thread's failure must reach the test
            failures.append(error)
        finally:
            connections.close_all()

    people = [threading.Thread(target=person, args=(n,)) for n in range(8)]
    for thread in people:
        thread.start()
    for thread in people:
        thread.join()
    assert failures == []
    checked = journal.verify()
    assert (checked.entries, checked.problems, checked.rebuilt) == (80, (), ())
    mine = [item.content["value"] for item in journal.read("a1") if str(item.content["value"]).startswith("3.")]
    assert mine == [f"3.{n}" for n in range(10)]
