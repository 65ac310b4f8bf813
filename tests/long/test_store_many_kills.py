"""A thousand kills: the same as in tests/hardship, often enough to meet the rare moments."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

HARDSHIP = Path(__file__).resolve().parent.parent / "hardship" / "test_store_hardship.py"


@pytest.mark.skipif(sys.platform == "win32", reason="needs fork and SIGKILL")
@pytest.mark.parametrize("seed", range(10))
def test_a_thousand_kills_lose_no_acknowledged_entry(tmp_path: Path, seed: int) -> None:
    spec = importlib.util.spec_from_file_location("store_hardship", HARDSHIP)
    assert spec is not None
    assert spec.loader is not None
    hardship = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(hardship)
    hardship.kill_and_check(tmp_path / "home", 100, seed + 100)
