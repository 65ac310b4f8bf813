"""What holds for every test: the marker of its folder, the hypothesis profile, one thread for the solver.

Also adds up the time of each folder at the end, so that the cost of a slow test is seen where it is paid.
"""

from __future__ import annotations

import json
import os
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

# Before numba is imported anywhere: with more workers than cores its threads would only get in each other's way.
os.environ.setdefault("NUMBA_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

TESTS = Path(__file__).resolve().parent
ROOT = TESTS.parent
FOLDERS = ("unit", "published", "laws", "contracts", "scenarios", "hardship", "old_files", "browser", "long")

# No deadline in either: a test's speed is a matter for benches/, and a busy machine must not fail a law.
_COMMON = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow], "print_blob": True}
settings.register_profile("check", derandomize=True, max_examples=60, **_COMMON)
settings.register_profile("long", derandomize=False, max_examples=2000, **_COMMON)
settings.load_profile("check")


def folder_of(path: Path) -> str | None:
    """The test folder that a file is in, or None outside them."""
    try:
        first = path.resolve().relative_to(TESTS).parts[0]
    except ValueError:
        return None
    return first if first in FOLDERS else None


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        folder = folder_of(item.path)
        if folder is not None:
            item.add_marker(getattr(pytest.mark, folder))


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Print the time spent in each folder (the sum over its tests, whichever worker ran them)."""
    seconds: dict[str, float] = defaultdict(float)
    for reports in terminalreporter.stats.values():
        for report in reports:
            if isinstance(report, pytest.TestReport):
                folder = folder_of(ROOT / report.nodeid.split("::")[0])
                seconds[folder or "elsewhere"] += report.duration
    if seconds:
        terminalreporter.section("seconds per folder")
        for folder, total in sorted(seconds.items(), key=lambda item: -item[1]):
            terminalreporter.write_line(f"{total:8.1f} s  tests/{folder}")


@pytest.fixture(scope="session")
def oracle() -> Callable[[str], Any]:
    """``oracle("isothermal_pipe")``: the cases of that name as the reference libraries answered them.

    Each case is a mapping with ``inputs``, ``answer``, and the set carries ``library``, ``version`` and ``unit``; see
    oracles/README.md. Where the answers have not been made the test is skipped, except in a check, where it fails.
    """
    path = ROOT / "build" / "oracles.json"
    answers = json.loads(path.read_text(encoding="utf-8")) if path.exists() else None

    def look_up(name: str) -> Any:
        if answers is None:
            words = f"{path.relative_to(ROOT)} is not there; make it with: python3 dev.py oracles"
            if os.environ.get("VANEWISE_CHECK"):
                pytest.fail(words)
            pytest.skip(words)
        if name not in answers["sets"]:
            pytest.fail(f"no oracle set {name!r}; there are {', '.join(sorted(answers['sets']))}")
        return answers["sets"][name]

    return look_up
