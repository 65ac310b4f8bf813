"""On which line of a TOML text a path stands, so that a message can say so. A rough scan: no line, no harm."""

from __future__ import annotations

import re
from collections.abc import Mapping

import msgspec

from vanewise.errors import Problem

_HEADING = re.compile(r"^\s*(\[\[|\[)\s*([A-Za-z0-9_.\-]+)\s*\]")
_KEY = re.compile(r"^\s*([A-Za-z0-9_.\-]+)\s*=")


def line_numbers(toml_text: str) -> Mapping[str, int]:
    """Path, such as ``lines[6].bore`` or ``gauge.high``, to the line it stands on, counted from 1."""
    found: dict[str, int] = {}
    counts: dict[str, int] = {}
    here = ""
    for number, line in enumerate(toml_text.split("\n"), 1):
        heading = _HEADING.match(line)
        if heading is not None:
            root, _, rest = heading[2].partition(".")
            if heading[1] == "[[" and not rest:
                counts[root] = counts.get(root, -1) + 1
            here = (f"{root}[{counts[root]}]" if root in counts else root) + (f".{rest}" if rest else "")
            found.setdefault(here, number)
            continue
        key = _KEY.match(line)
        if key is not None:
            found.setdefault(f"{here}.{key[1]}" if here else key[1], number)
    return found


def with_line(problem: Problem, numbers: Mapping[str, int]) -> Problem:
    """The problem with the line of its path, or of the nearest heading above it, added to where."""
    path = problem.path
    while path and path not in numbers:
        path = path.rpartition(".")[0]
    if not path:
        return problem
    line = f"line {numbers[path]}"
    where = f"{problem.where[:-1]}, {line})" if problem.where.endswith(")") else f"{problem.where} ({line})"
    return msgspec.structs.replace(problem, where=where)
