"""The core imports no shell, and reads no clock, file, network, environment or hidden randomness.

Two independent looks: at the text of every core module, and at a real run of the stages in a process of its own,
with an audit hook on everything that is opened and a profile hook on everything the core calls.
"""

from __future__ import annotations

import ast
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "vanewise"

CORE = (
    "aircraft",
    "network",
    "diagnosis",
    "contamination",
    "work",
    "groundrun",
    "record",
    "watch",
    "study",
    "values",
    "chances",
    "quantities",
    "errors",
    "provenance",
    "pipeline",
    "wording",
)
SHELL = {"jobs", "store", "web", "prints", "schematic", "cli", "cli_curves", "cli_kept", "demo"}

CACHE_SETUP = PACKAGE / "network" / "numba_cache.py"
"""The one module of the core that may touch environment and disk: it tells numba where to keep compiled code."""

OUTSIDE = {
    "asyncio",
    "django",
    "fileinput",
    "glob",
    "http",
    "multiprocessing",
    "os",
    "pathlib",
    "random",
    "secrets",
    "shutil",
    "socket",
    "sqlite3",
    "subprocess",
    "tempfile",
    "time",
    "urllib",
    "uuid",
}
"""Modules that reach clock, disk, network, environment or randomness."""

CALLS = {"now", "today", "utcnow", "getenv", "FileIO", "open_code", "open"}
"""Methods and functions of modules that do; ``io`` itself also holds text in memory, which is no fault."""
BUILTINS = {"open", "input", "print", "breakpoint"}
SEEDED = {"default_rng", "SeedSequence", "Generator", "PCG64", "Philox", "BitGenerator"}
"""What numpy.random may be used for: generators that are given their seed."""


def core_files() -> Iterator[Path]:
    for name in CORE:
        folder, file = PACKAGE / name, PACKAGE / f"{name}.py"
        if folder.is_dir():
            yield from sorted(folder.rglob("*.py"))
        elif file.exists():
            yield file


def imported(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or ""
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def dotted(node: ast.expr) -> str:
    if isinstance(node, ast.Attribute):
        return f"{dotted(node.value)}.{node.attr}"
    return node.id if isinstance(node, ast.Name) else ""


def wrong_calls(tree: ast.AST) -> Iterator[str]:
    """Calls in a module that would read a clock, a file or unseeded randomness."""
    mains = {id(inner) for node in ast.walk(tree) if is_main_block(node) for inner in ast.walk(node)}
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        name = dotted(node.func)
        parts = name.split(".")
        if (name in BUILTINS and id(node) not in mains) or (len(parts) > 1 and parts[-1] in CALLS):
            yield f"line {node.lineno}: {name}()"
        elif "random" in parts[:-1] and parts[0] in {"np", "numpy", "random"} and parts[-1] not in SEEDED:
            yield f"line {node.lineno}: {name}() draws from a generator that nobody seeded"
        elif parts[-1] in {"default_rng", "Sobol", "LatinHypercube", "Halton", "PCG64", "SeedSequence"} and unseeded(
            node
        ):
            yield f"line {node.lineno}: {name}() without a seed"


def unseeded(call: ast.Call) -> bool:
    """Whether a generator is made without a seed. Sobol and its like take a dimension first, so only a name counts."""
    named = any(word.arg in {"seed", "rng", "entropy"} for word in call.keywords)
    takes_dimension = dotted(call.func).split(".")[-1] in {"Sobol", "LatinHypercube", "Halton"}
    plain = any(word.arg == "scramble" and getattr(word.value, "value", None) is False for word in call.keywords)
    return not named and not plain and (takes_dimension or not call.args)


def is_main_block(node: ast.AST) -> bool:
    """``if __name__ == "__main__":`` is a program of its own, not part of the core that others call."""
    return isinstance(node, ast.If) and "__main__" in ast.dump(node.test)


FILES = tuple(core_files())


def test_every_part_of_the_core_is_looked_at():
    missing = [name for name in CORE if not (PACKAGE / name).is_dir() and not (PACKAGE / f"{name}.py").exists()]
    assert missing == []
    assert len(FILES) > len(CORE)


def test_nothing_in_the_package_is_neither_core_nor_shell():
    known = {*CORE, *SHELL, "__init__", "__main__", "py.typed", "__pycache__"}
    assert {path.stem if path.suffix == ".py" else path.name for path in PACKAGE.iterdir()} <= known


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(PACKAGE)))
def test_a_core_module_imports_no_shell_and_nothing_that_reaches_out(file: Path):
    tree = ast.parse(file.read_text(encoding="utf-8"))
    for name in imported(tree):
        parts = name.split(".")
        assert not (parts[0] == "vanewise" and len(parts) > 1 and parts[1] in SHELL), f"imports {name}"
        assert parts[0] not in OUTSIDE or file == CACHE_SETUP, f"imports {name}"
    assert list(wrong_calls(tree)) == []


@pytest.mark.parametrize(
    "text",
    [
        "import datetime\nx = datetime.date.today()",
        "from datetime import datetime\nx = datetime.now()",
        "import numpy as np\nx = np.random.normal()",
        "import numpy as np\nx = np.random.default_rng()",
        "from scipy.stats import qmc\nx = qmc.Sobol(3, scramble=True)",
        "x = open('values.toml')",
        "import io\nx = io.open('values.toml')",
    ],
)
def test_the_look_at_the_text_can_fail(text: str):
    assert list(wrong_calls(ast.parse(text)))


@pytest.mark.parametrize(
    "text",
    [
        "import numpy as np\nx = np.random.default_rng(seed)",
        "from scipy.stats import qmc\nx = qmc.Sobol(3, rng=seed)",
        "import datetime\nx = datetime.date(2024, 2, 29)",
        "import io\nx = io.StringIO('text')",
    ],
)
def test_seeded_and_given_things_are_no_fault(text: str):
    assert list(wrong_calls(ast.parse(text))) == []


def run_watched(hash_seed: str, *words: str) -> dict:
    """The stages in a process of its own under both hooks; what they opened and called, and a digest of the answers."""
    done = subprocess.run(
        [sys.executable, str(Path(__file__).with_name("watched_core.py")), *words],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
        env={**os.environ, "PYTHONHASHSEED": hash_seed, "NUMBA_NUM_THREADS": "1"},
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


@pytest.fixture(scope="module")
def watched() -> dict:
    return run_watched("1")


def test_a_run_of_the_core_loads_no_shell(watched: dict):
    loaded = {name.split(".")[1] for name in watched["modules"] if name.startswith("vanewise.")}
    assert loaded & SHELL == set()
    assert "django" not in watched["modules"]


def test_a_run_of_the_core_opens_nothing_but_code(watched: dict):
    assert watched["opened"] == []


def test_a_run_of_the_core_calls_no_clock_and_no_hidden_randomness(watched: dict):
    assert watched["called"] == []


def test_a_run_of_the_core_really_ran(watched: dict):
    assert watched["stages"] == watched["expected"]


def test_two_processes_give_the_same_answers(watched: dict):
    """Sets iterate by a hash that differs between processes; randomness would too. Neither may reach an answer."""
    again = run_watched("2", "--without-hooks")
    assert again["stages"] == watched["expected"]
    assert again["answers"] == watched["answers"]


def test_the_hooks_can_see(tmp_path: Path):
    """The same watcher over a core that does what it must not."""
    done = subprocess.run(
        [sys.executable, str(Path(__file__).with_name("watched_core.py")), "--prove-the-hooks"],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
    )
    assert done.returncode == 0, done.stderr
    seen = json.loads(done.stdout.splitlines()[-1])
    assert any("notes.txt" in line for line in seen["opened"])
    assert any("socket" in line for line in seen["opened"])
    for name in ("time", "today", "random", "urandom"):
        assert any(name in line for line in seen["called"]), (name, seen["called"])
