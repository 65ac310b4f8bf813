"""How a set of cases is written down, and how all of them are asked."""

from __future__ import annotations

import importlib
import importlib.metadata
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

Case = tuple[Mapping[str, Any], Mapping[str, Any]]
"""Inputs and answer: plain numbers, lists and text, SI, the unit in the name."""


@dataclass(frozen=True)
class OracleSet:
    name: str
    library: str
    """Name of the package whose answer it is, as installed; several are joined by a comma."""
    about: str
    cases: Callable[[], Iterator[Case]]


SETS: dict[str, OracleSet] = {}


def oracle_set(name: str, *, library: str, about: str) -> Callable[[Callable[[], Iterator[Case]]], OracleSet]:
    """Register a generator of cases under a name that tests ask for."""

    def register(cases: Callable[[], Iterator[Case]]) -> OracleSet:
        if name in SETS:
            raise ValueError(f"two oracle sets are called {name!r}")
        SETS[name] = OracleSet(name, library, about, cases)
        return SETS[name]

    return register


def answers() -> dict[str, Any]:
    """Ask every set of every ``case_*.py`` beside this file."""
    for file in sorted(Path(__file__).parent.glob("case_*.py")):
        importlib.import_module(f"oracles.{file.stem}")
    return {
        "sets": {
            one.name: {
                "library": ", ".join(f"{part} {importlib.metadata.version(part)}" for part in one.library.split(", ")),
                "about": one.about,
                "cases": [{"inputs": dict(inputs), "answer": dict(answer)} for inputs, answer in one.cases()],
            }
            for one in sorted(SETS.values(), key=lambda one: one.name)
        }
    }
