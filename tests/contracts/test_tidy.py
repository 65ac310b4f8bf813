"""Facts about the tree as a whole that no single module can see."""

from __future__ import annotations

import ast
import re
import subprocess
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "vanewise"
LONGEST_MODULE = 600

LEFTOVERS = re.compile(r"\b(?:" + "|".join(word.replace(":", "") for word in ("T:ODO", "F:IXME", "X:XX")) + r")\b")
HOMES = ("work", "root", "home", "Users")
MACHINE_PATHS = re.compile(rf"(?<![\w>}}.])/(?:{'|'.join(HOMES)})/")
"""Both are put together from pieces, so that this file does not find itself."""

NOT_OURS = ("static/vendor/", "tests/browser/vendor/", "prints/fonts/")

ENTRIES = {"vanewise", "vanewise.__main__", "vanewise.store.making_migrations"}
"""What is started from outside: the console script, ``python -m``, and Django when a maintainer writes migrations."""
BY_NAME = re.compile(r"\.(?:migrations|templatetags|management|apps)(?:\.|$)")
"""What Django finds by its place."""


def tracked() -> list[Path]:
    done = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        check=False,
    )
    if done.returncode != 0:
        pytest.skip("not a git tree, so there is no list of the project's own files")
    names = [name for name in done.stdout.decode().split("\0") if name]
    return [ROOT / name for name in names if not any(part in name for part in NOT_OURS) and (ROOT / name).is_file()]


def texts() -> Iterator[tuple[str, str]]:
    for path in tracked():
        try:
            yield str(path.relative_to(ROOT)), path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue


@pytest.mark.parametrize("pattern", [LEFTOVERS, MACHINE_PATHS], ids=["leftover markers", "paths of one machine"])
def test_no_file_holds(pattern: re.Pattern[str]):
    found = [
        f"{name}:{number}: {line.strip()[:80]}"
        for name, text in texts()
        for number, line in enumerate(text.splitlines(), 1)
        if pattern.search(line)
    ]
    assert found == []


def modules() -> dict[str, Path]:
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def mentioned(path: Path) -> Iterator[str]:
    """Modules that a file imports, or names in a text as Django's settings do."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value.startswith("vanewise."):
            yield node.value
            yield node.value.rpartition(".")[0]
        elif path.name == "urls.py" and isinstance(node, ast.Call) and getattr(node.func, "id", "") == "_page":
            # The addresses name their pages as "module.function" and import them when first asked for.
            yield f"vanewise.web.views.{ast.literal_eval(node.args[0]).partition('.')[0]}"


def test_every_module_is_used_by_another():
    """A module that only its tests import is dead."""
    every = modules()
    used = {name for module, path in every.items() for name in mentioned(path) if name != module}
    starts = {name for path in (ROOT / "tools").rglob("*.py") for name in mentioned(path)}
    dead = [
        name
        for name, path in every.items()
        if name not in used | starts | ENTRIES and not BY_NAME.search(name) and path.name != "__init__.py"
    ]
    assert dead == []


def test_every_module_says_what_it_is_for():
    silent = [
        name
        for name, path in modules().items()
        if (text := path.read_text(encoding="utf-8")).strip() and not ast.get_docstring(ast.parse(text))
    ]
    assert [name for name in silent if not BY_NAME.search(name)] == []


def test_no_module_has_outgrown_one_sitting():
    long = {
        name: lines
        for name, path in modules().items()
        if (lines := len(path.read_text(encoding="utf-8").splitlines())) > LONGEST_MODULE
    }
    assert long == {}


def test_every_test_has_its_folder_and_its_own_name():
    files = list((ROOT / "tests").rglob("test_*.py"))
    twice = [name for name, count in Counter(path.name for path in files).items() if count > 1]
    assert twice == [], "pytest's importlib mode needs every test file to have a name of its own"
    assert [path.name for path in files if path.parent == ROOT / "tests"] == []


def test_the_makefile_only_passes_on():
    lines = [line for line in (ROOT / "Makefile").read_text(encoding="utf-8").splitlines() if line.startswith("\t")]
    assert lines == ["\t@$(PYTHON) dev.py $@"]


def test_ci_runs_the_check_that_everyone_runs():
    lines = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("#!") and lines[-1] == "exec make check </dev/null"
