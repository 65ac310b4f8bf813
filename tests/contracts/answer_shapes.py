"""Helpers, not a test: run a command, and hold what it printed against the published schema of the answers."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Mapping
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

import jsonschema
from click.testing import CliRunner, Result

from tools.reference.answers import answers_schema
from vanewise.cli import main

ROOT = Path(__file__).resolve().parents[2]


@cache
def published() -> Mapping[str, Any]:
    """The schema as the docs have it; test_reference_pages proves that the one on disk is this one."""
    return answers_schema()


def hold(title: str, data: Any) -> None:
    """Raise unless ``data`` is what the published schema says that command prints."""
    whole = published()
    wanted = next(entry for entry in whole["anyOf"] if entry["title"] == title)
    jsonschema.Draft202012Validator({"$ref": wanted["$ref"], "$defs": whole["$defs"]}).validate(data)


def run(*words: object) -> Result:
    """A command in this process."""
    return CliRunner().invoke(main, [str(word) for word in words])


def answer(command: str, *words: object) -> Any:
    """What ``vanewise COMMAND ... --json`` prints; it must end well and keep to its schema."""
    done = run(command, *words, "--json")
    assert done.exit_code == 0, done.output
    data = json.loads(done.stdout)
    hold(f"vanewise {command}", data)
    return data


def process(*words: object, folder: Path) -> subprocess.CompletedProcess[str]:
    """A command in a process of its own, in ``folder``."""
    return subprocess.run(
        [sys.executable, "-m", "vanewise", *(str(word) for word in words)],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src"), "PYTHONIOENCODING": "utf-8"},
    )


def example(name: str) -> Path:
    """The path of one of the demo's files."""
    return Path(str(resources.files("vanewise.demo").joinpath(name)))
