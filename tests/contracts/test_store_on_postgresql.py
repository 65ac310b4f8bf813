"""The store keeps the same promises on PostgreSQL: its own tests run again on a private server."""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

TESTS = Path(__file__).resolve().parent.parent
SHELL = TESTS / "unit" / "shell"


def load(path: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


server = load(SHELL / "private_postgres.py")

pytestmark = [
    pytest.mark.skipif(not server.can_run(), reason="PostgreSQL's own programs are not installed here"),
    pytest.mark.skipif(importlib.util.find_spec("psycopg") is None, reason="psycopg is not installed here"),
]


@pytest.fixture
def url(request: pytest.FixtureRequest) -> Iterator[str]:
    """Kill tests need a server that flushes to disk; making a database for each test is quick only without."""
    with server.private_postgres(durable=request.param) as address:
        yield address


@pytest.mark.parametrize("url", [False], indirect=True, ids=["quick"])
def test_the_store_tests_pass_on_postgresql(url: str) -> None:
    environment = {**os.environ, "VANEWISE_TEST_URL": url}
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-p", "no:xdist"]
    command += [str(path) for path in sorted(SHELL.glob("test_store_*.py"))]
    done = subprocess.run(command, capture_output=True, text=True, env=environment, cwd=TESTS.parent, check=False)
    assert done.returncode == 0, done.stdout[-4000:]
    assert " passed" in done.stdout


@pytest.mark.parametrize("url", [True], indirect=True, ids=["durable"])
def test_sixty_kills_lose_no_acknowledged_entry_on_postgresql(url: str, tmp_path: Path) -> None:
    hardship = load(TESTS / "hardship" / "test_store_hardship.py")
    hardship.kill_and_check(tmp_path / "home", hardship.KILLS, 3, url)
