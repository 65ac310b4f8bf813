"""The one page that runs the stages is what the jobs call: every stage through it, and one job keeps what it gives.

Read from the text of the modules, so that a job nobody calls is seen as well.
"""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "src" / "vanewise"
PIPELINE = PACKAGE / "pipeline.py"
SHELL = ("jobs", "web", "prints", "demo", "store", "cli.py")
COMPUTES = {"jobs/compute.py", "jobs/looking.py", "jobs/miswiring.py"}
"""Jobs from files or an aircraft to an answer; the other modules of ``jobs`` keep something."""
BEGIN_ALL = {"describe", "observe"}
"""Stages that every job begins with, because it is handed text."""
MAY_CALL = {
    ("jobs/casebook.py", "read_description"): "a kept description was checked before it was kept; it is only read",
}
"""(module, function of a stage) that is called past the pipeline, and why."""


def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def functions(path: Path) -> Iterator[ast.FunctionDef]:
    yield from (node for node in tree(path).body if isinstance(node, ast.FunctionDef))


STAGES = {function.name: function for function in functions(PIPELINE)}


def behind(stage: ast.FunctionDef) -> Iterator[tuple[str, str]]:
    """(module, function) of the core that a stage hands on to."""
    for node in ast.walk(stage):
        if isinstance(node, ast.ImportFrom) and node.module:
            yield from ((node.module, alias.name) for alias in node.names)


def shell_files() -> Iterator[Path]:
    for name in SHELL:
        place = PACKAGE / name
        yield from sorted(place.rglob("*.py")) if place.is_dir() else [place]


def callers() -> dict[str, set[tuple[str, str]]]:
    """Stage -> (module, function) of the shell that calls it through the pipeline."""
    found: dict[str, set[tuple[str, str]]] = defaultdict(set)
    for path in shell_files():
        for function in (node for node in ast.walk(tree(path)) if isinstance(node, ast.FunctionDef)):
            for node in ast.walk(function):
                if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "pipeline":
                    found[node.attr].add((path.relative_to(PACKAGE).as_posix(), function.name))
    return found


def test_the_stages_stand_in_their_order() -> None:
    """Each says its number in its first words; the seventh is the job's log and has no single function."""
    numbers = [
        int("".join(letter for letter in (ast.get_docstring(f) or "?")[:2] if letter.isdigit()))
        for f in STAGES.values()
    ]
    assert numbers == sorted(numbers)
    assert set(numbers) | {7} == set(range(1, 11))


def test_only_stages_are_called_there() -> None:
    assert set(callers()) <= set(STAGES)


@pytest.mark.parametrize("stage", STAGES)
def test_each_stage_is_run_by_jobs_and_kept_by_one(stage: str) -> None:
    """Jobs that compute may share a stage (a plan first asks for the causes); what is kept comes from one job only."""
    found = callers()[stage]
    assert found, "nobody runs this stage"
    assert all(module.startswith("jobs/") for module, _ in found), "only jobs run stages"
    keeping = {(module, name) for module, name in found if module not in COMPUTES}
    assert len(keeping) <= 1 or stage in BEGIN_ALL, keeping


def test_no_part_of_the_shell_goes_past_the_pipeline() -> None:
    stages = {pair for function in STAGES.values() for pair in behind(function)}
    names = {name for _, name in stages}
    past = []
    for path in shell_files():
        module = path.relative_to(PACKAGE).as_posix()
        called = {
            node.func.id
            for node in ast.walk(tree(path))
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        }
        for node in ast.walk(tree(path)):
            if not isinstance(node, ast.ImportFrom) or not (node.module or "").startswith("vanewise."):
                continue
            for alias in node.names:
                same = any(
                    alias.name == name and str(node.module).split(".")[1] == home.split(".")[1] for home, name in stages
                )
                if same and (alias.asname or alias.name) in called and (module, alias.name) not in MAY_CALL:
                    past.append(f"{module}: {node.module}.{alias.name}")
    assert names and past == []


def test_the_allowed_ways_past_it_are_still_gone() -> None:
    for module, name in MAY_CALL:
        assert name in (PACKAGE / module).read_text(encoding="utf-8"), "take it off the list"
