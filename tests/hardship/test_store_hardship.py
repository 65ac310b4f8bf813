"""Kill, full disk, torn files, flipped bytes: nothing acknowledged is lost, and nothing wrong goes unseen.

SIGKILL leaves the system's page cache standing, so this does not prove a power cut; for that the store asks SQLite for
``synchronous=FULL`` and flushes files and folders itself.
"""

from __future__ import annotations

import json
import random
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
KILLS = 60

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs fork, SIGKILL and resource limits")


def run(program: str, *arguments: object) -> Any:
    command = [sys.executable, str(HERE / program), *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=600, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


def nothing_lost(home: Path, acknowledged: list[str], *url: str) -> dict[str, Any]:
    found = run("store_look.py", home, *url)
    assert found["problems"] == []
    kept = {f"entry {digest}" for chain in found["entries"].values() for digest in chain}
    kept |= {f"file {digest}" for digest in found["files"]}
    assert set(acknowledged) <= kept
    return dict(found)


def kill_and_check(home: Path, kills: int, seed: int, *url: str) -> None:
    acknowledged = run("store_writer.py", home, kills, seed, 0, 8, *url)
    # If nothing had been written the test would prove nothing.
    assert len(acknowledged) > 2 * kills
    found = nothing_lost(home, acknowledged, *url)
    assert found["rebuilt"] == []


def test_sixty_kills_lose_no_acknowledged_entry(tmp_path: Path) -> None:
    kill_and_check(tmp_path / "home", KILLS, seed=1)


def test_a_full_disk_is_said_and_loses_nothing(tmp_path: Path) -> None:
    home = tmp_path / "home"
    answer = run("store_full_disk.py", home)
    assert len(answer["acknowledged"]) > 5
    assert len(answer["refusals"]) >= 2
    assert all("nothing was kept" in words for words in answer["refusals"])
    found = nothing_lost(home, answer["acknowledged"])
    assert found["files"] == []
    assert found["orphans"] == 0


@pytest.fixture
def written(tmp_path: Path) -> tuple[Path, list[str]]:
    """A home left by a killed writer, its last entries still in the write-ahead log."""
    home = tmp_path / "home"
    acknowledged = run("store_writer.py", home, 2, 5, 12, 16)
    return home, acknowledged


def test_a_log_torn_anywhere_leaves_a_whole_chain(written: tuple[Path, list[str]], tmp_path: Path) -> None:
    home, acknowledged = written
    log = home / "vanewise.sqlite3-wal"
    assert log.stat().st_size > 0
    order = [line.removeprefix("entry ") for line in acknowledged if line.startswith("entry ")]
    chance = random.Random(2)
    for number in range(4):
        torn = tmp_path / f"torn{number}"
        shutil.copytree(home, torn)
        (torn / "vanewise.sqlite3-shm").unlink(missing_ok=True)
        whole = (torn / log.name).read_bytes()
        (torn / log.name).write_bytes(whole[: chance.randrange(len(whole))])
        found = run("store_look.py", torn)
        assert found["problems"] == []
        for chain in found["entries"].values():
            # The tail may be gone, which only a lying disk can do; what is left is a chain from its start.
            assert [digest for digest in order if digest in set(chain)] == [d for d in chain if d in set(order)]


def test_a_flipped_byte_in_the_database_is_found(written: tuple[Path, list[str]]) -> None:
    home, _ = written
    database = home / "vanewise.sqlite3"
    with sqlite3.connect(database) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    data = bytearray(database.read_bytes())
    place = data.find(b"round 1, entry 1 ")
    assert place > 0
    data[place + 6] ^= 1
    database.write_bytes(data)
    found = run("store_look.py", home)
    assert any("byte of the text" in problem for problem in found["problems"])


def test_a_flipped_byte_in_a_photo_is_found(written: tuple[Path, list[str]]) -> None:
    home, _ = written
    photo = next(path for path in sorted((home / "files").glob("??/*")) if not path.name.startswith("."))
    data = bytearray(photo.read_bytes())
    data[len(data) // 2] ^= 1
    photo.write_bytes(data)
    found = run("store_look.py", home)
    assert any("torn or changed" in problem for problem in found["problems"])
