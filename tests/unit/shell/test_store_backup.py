"""A backup is proved by restoring it."""

from __future__ import annotations

import json
import threading
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from vanewise.errors import InputError
from vanewise.store import backup, files, journal
from vanewise.store.home import Home
from vanewise.store.journal import ANY_HEAD

AT = "2026-03-01T10:00:00Z"


def fill(entries: int = 6) -> None:
    for number in range(entries):
        journal.append(
            f"a{number % 2}", "reading", {"value": f"{number} inHg"}, author="Ada", at=AT, expected_head=ANY_HEAD
        )
    files.keep(b"a photo", media_type="image/jpeg", at=AT)


def everything() -> tuple[object, ...]:
    return (
        tuple(journal.read("a0")),
        tuple(journal.read("a1")),
        journal.aircraft_rows(),
        tuple(sorted(path.read_bytes() for path in files.current_home().files.glob("??/*"))),
    )


def test_a_restored_home_is_the_same(home: Home, empty_again: Callable[[], None], tmp_path: Path) -> None:
    fill()
    before, heads = everything(), journal.verify().heads
    made = backup.backup(tmp_path / "b.zip", at=AT)
    assert (made.entries, made.files, made.heads) == (6, 1, heads)
    empty_again()
    assert everything() != before
    assert backup.restore(tmp_path / "b.zip") == backup.look(tmp_path / "b.zip")
    assert everything() == before
    assert journal.verify() == journal.verify()
    assert (journal.verify().problems, journal.verify().heads, files.verify()) == ((), heads, ())


def test_a_backup_taken_while_people_write_is_one_moment(
    home: Home, empty_again: Callable[[], None], tmp_path: Path
) -> None:
    from django.db import connections

    fill()
    stop = threading.Event()

    def write() -> None:
        number = 0
        while not stop.is_set():
            number += 1
            journal.append("a0", "reading", {"n": number}, author="Ben", at=AT, expected_head=ANY_HEAD)
        connections.close_all()

    writer = threading.Thread(target=write)
    writer.start()
    made = [backup.backup(tmp_path / f"{n}.zip", at=AT) for n in range(5)]
    stop.set()
    writer.join()
    kept = tuple(journal.read("a0"))
    for one in made:
        empty_again()
        backup.restore(one.path)
        restored = tuple(journal.read("a0"))
        assert restored == kept[: len(restored)]
        assert restored[-1].digest == one.heads["a0"]


def test_a_restore_into_a_home_with_entries_is_refused(home: Home, tmp_path: Path) -> None:
    fill()
    backup.backup(tmp_path / "b.zip", at=AT)
    with pytest.raises(InputError, match="empty home"):
        backup.restore(tmp_path / "b.zip")


def test_a_torn_backup_restores_nothing(home: Home, empty_again: Callable[[], None], tmp_path: Path) -> None:
    fill(40)
    whole = tmp_path / "b.zip"
    backup.backup(whole, at=AT)
    data = whole.read_bytes()
    empty_again()
    for cut in range(0, len(data), max(1, len(data) // 23)):
        torn = tmp_path / f"torn{cut}.zip"
        torn.write_bytes(data[:cut])
        with pytest.raises(InputError):
            backup.restore(torn)
        assert journal.verify().entries == 0


def test_a_backup_changed_by_hand_is_refused(home: Home, empty_again: Callable[[], None], tmp_path: Path) -> None:
    fill()
    backup.backup(tmp_path / "b.zip", at=AT)
    with zipfile.ZipFile(tmp_path / "b.zip") as old, zipfile.ZipFile(tmp_path / "changed.zip", "w") as new:
        for name in old.namelist():
            data = old.read(name)
            new.writestr(name, data.replace(b"4 inHg", b"5 inHg") if name == backup.JOURNAL else data)
    empty_again()
    with pytest.raises(InputError, match="it was changed"):
        backup.restore(tmp_path / "changed.zip")
    assert (journal.verify().entries, list(home.files.glob("??/*"))) == (0, [])


def test_a_name_in_use_is_never_written_over(home: Home, tmp_path: Path) -> None:
    (tmp_path / "b.zip").write_text("precious")
    with pytest.raises(InputError, match="name not in use"):
        backup.backup(tmp_path / "b.zip", at=AT)
    assert (tmp_path / "b.zip").read_text() == "precious"


def test_no_backup_is_made_of_a_torn_file(home: Home, tmp_path: Path) -> None:
    fill()
    kept = files.keep(b"a second photo", media_type="image/jpeg", at=AT)
    files.path_of(kept.digest).write_bytes(b"a sec")
    with pytest.raises(InputError, match="torn"):
        backup.backup(tmp_path / "b.zip", at=AT)
    assert list(tmp_path.glob("*")) == [] or not (tmp_path / "b.zip").exists()


def test_the_backup_can_be_read_without_this_program(home: Home, tmp_path: Path) -> None:
    fill()
    backup.backup(tmp_path / "b.zip", at=AT)
    with zipfile.ZipFile(tmp_path / "b.zip") as archive:
        names = set(archive.namelist())
        lines = [json.loads(line) for line in archive.read(backup.JOURNAL).splitlines()]
    from django.db import connection

    assert {backup.JOURNAL, backup.MANIFEST} < names
    assert (backup.DATABASE in names) == (connection.vendor == "sqlite")
    assert not any("secret" in name for name in names)
    assert [json.loads(line["text"])["content"]["value"] for line in lines] == [f"{n} inHg" for n in (0, 2, 4, 1, 3, 5)]
