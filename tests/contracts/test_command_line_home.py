"""Commands on a home folder: what is due, verify, backup, restore. Each in a process of its own, as a person runs them.

Django holds one set of settings for the life of a process, so two homes cannot be opened in one.
"""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

import pytest

from tests.contracts.answer_shapes import example, hold, process

SEED = """
import sys
from pathlib import Path
from vanewise.jobs import aircraft, due_limits
from vanewise.jobs.kept import open_home
open_home(Path("home"))
who = aircraft.keep(Path(sys.argv[1]).read_text(encoding="utf-8"), author="Ada", at="2025-02-22T10:00:00Z")
item = {"item": "central filter", "nature": "own", "source": "the club's list", "hours": "500 h", "months": "12",
        "counted_from": "done", "why": "it cleans the air of both gyros"}
due_limits.add_limit(who, item, author="Ada", at="2025-02-22T10:01:00Z")
due_limits.add_done(who, "central filter", date="2025-02-22", tach="2983.9 h", author="Ada", at="2025-02-22T10:02:00Z")
"""
ENTRIES = 3


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a home of one aircraft, one limit, and one thing done."""
    folder = tmp_path_factory.mktemp("kept")
    done = subprocess.run(
        [sys.executable, "-c", SEED, str(example("d1_club_aircraft.toml"))],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return folder


def told(command: str, *words: object, folder: Path, code: int = 0) -> Any:
    done = process(command, *words, "--json", folder=folder)
    assert done.returncode == code, done.stderr
    data = json.loads(done.stdout)
    hold(f"vanewise {command}", data)
    return data


def test_due(kept: Path) -> None:
    """Twelve months from 2025-02-22 end with February 2026; 500 h from 2,983.9 h are 3,483.9 h."""
    (one,) = told("due", "home", folder=kept)["due"]
    (item,) = [item for item in one["items"] if item["item"] == "central filter"]
    assert item["due_date"] == "2026-02-28" and item["due_centihours"] == 348390
    assert item["mandatory"] is False and item["source"] == "the club's list"
    words = process("due", "home", folder=kept)
    assert "central filter" in words.stdout and "it cleans the air of both gyros" in words.stdout


def test_verify(kept: Path) -> None:
    found = told("verify", "home", folder=kept)
    assert (found["aircraft"], found["entries"], found["problems"]) == (1, ENTRIES, [])
    assert all(len(head) == 64 for head in found["heads"].values()), "SHA-256 in hexadecimal"


def test_backup_and_restore_give_the_same_heads(kept: Path) -> None:
    made = told("backup", "home", "kept.zip", folder=kept)
    assert made["entries"] == ENTRIES
    with zipfile.ZipFile(kept / "kept.zip") as archive:
        assert archive.testzip() is None
    back = told("restore", "kept.zip", "again", folder=kept)
    assert back["heads"] == made["heads"] == told("verify", "again", folder=kept)["heads"]
    again = process("backup", "home", "kept.zip", folder=kept)
    assert again.returncode == 2 and "name not in use" in again.stderr
    full = process("restore", "kept.zip", "again", folder=kept)
    assert full.returncode == 2 and "empty home" in full.stderr


def test_a_chain_that_was_tampered_with_is_told(kept: Path, tmp_path: Path) -> None:
    """The triggers that forbid changes are taken out first, as someone who tampers would."""
    assert process("backup", "home", tmp_path / "kept.zip", folder=kept).returncode == 0
    assert process("restore", "kept.zip", "home", folder=tmp_path).returncode == 0
    with sqlite3.connect(tmp_path / "home" / "vanewise.sqlite3") as database:
        for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            database.execute(f'DROP TRIGGER "{name}"')
        database.execute("UPDATE store_entry SET text = replace(text, 'central filter', 'another filter')")
    database.close()
    found = told("verify", "home", folder=tmp_path, code=2)
    assert found["problems"]
    words = process("verify", "home", folder=tmp_path)
    assert words.returncode == 2 and "Expected" in words.stdout


def test_something_that_is_no_backup(kept: Path, tmp_path: Path) -> None:
    (tmp_path / "no.zip").write_text("not a zip", encoding="utf-8")
    done = process("restore", "no.zip", "new", "--json", folder=tmp_path)
    assert done.returncode == 2
    hold("any command that gave no answer", json.loads(done.stdout))
