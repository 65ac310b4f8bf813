"""A thousand kills a database: the same as in tests/hardship, often enough to meet the rare moments."""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

TESTS = Path(__file__).resolve().parent.parent

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs fork and SIGKILL")


def load(path: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


hardship = load(TESTS / "hardship" / "test_store_hardship.py")
server = load(TESTS / "unit" / "shell" / "private_postgres.py")


@pytest.fixture
def url() -> Iterator[str]:
    """A server of its own for each hundred: it flushes to disk, as one that may be killed beside must."""
    with server.private_postgres(durable=True) as address:
        yield address


@pytest.mark.parametrize("seed", range(10))
def test_a_thousand_kills_lose_no_acknowledged_entry(tmp_path: Path, seed: int) -> None:
    hardship.kill_and_check(tmp_path / "home", 100, seed + 100)


@pytest.mark.skipif(not server.can_run(), reason="PostgreSQL's own programs are not installed here")
@pytest.mark.parametrize("seed", range(10))
def test_a_thousand_kills_lose_no_acknowledged_entry_on_postgresql(tmp_path: Path, url: str, seed: int) -> None:
    hardship.kill_and_check(tmp_path / "home", 100, seed + 100, url)
