"""Every way a person can be told that something did not work.

The tree::

    VanewiseError
    |-- InputError      what was handed in cannot be used (command line exit code 2)
    |   `-- NotCovered  the aircraft or question is outside what this tool models
    |-- NoAnswer        the input is sound, but no answer could be had (exit code 3)
    `-- Locked          a gate or lock holds; a person may override with name and reason (exit code 2)

Each carries one or more :class:`Problem`, the four things a person needs: which part or field, what was
expected, what was found, what to do next. The command line and the web turn them into words in one place each.
"""

from __future__ import annotations

import copyreg
from collections.abc import Iterable
from typing import Any

import msgspec


class Problem(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that is wrong, in the four parts a person can act on."""

    where: str
    """The part or field. From a file or a form: its path first, then what people call it in brackets:
    ``lines[6].to (firewall hose, line 87)``."""
    expected: str
    found: str
    next_step: str

    @property
    def path(self) -> str:
        """The path alone, ``lines[6].to``: what a form maps to its field."""
        return self.where.split(" (", 1)[0]

    def __str__(self) -> str:
        expected, found, next_step = (_ended(text) for text in (self.expected, self.found, self.next_step))
        return f"{self.where}\n  Expected {expected}\n  Found: {found}\n  Next: {next_step}"


def in_file(path: str, problem: Problem) -> Problem:
    """The same problem with the file it is in before it, so that a person with three files open knows which."""
    return msgspec.structs.replace(problem, where=f"{path}: {problem.where}")


def _ended(text: str) -> str:
    """A sentence with its full stop, unless it ends in a mark of its own."""
    return text if text.endswith((".", "?", "!")) else f"{text}."


class VanewiseError(Exception):
    """Base of every error meant for a person."""

    def __init__(self, problems: Problem | Iterable[Problem]):
        self.problems: tuple[Problem, ...] = (problems,) if isinstance(problems, Problem) else tuple(problems)
        if not self.problems:
            raise ValueError("an error for a person needs at least one Problem")
        super().__init__("\n".join(str(problem) for problem in self.problems))

    def __reduce__(self) -> tuple[Any, ...]:
        """All it holds, not made anew from its text: it reaches a person whole out of another process too."""
        return copyreg.__newobj__, (type(self), *self.args), self.__dict__  # type: ignore[attr-defined]


class InputError(VanewiseError):
    """What was handed in cannot be used as it stands."""


class NotCovered(InputError):
    """Outside what this tool models, said politely: wet pumps, venturi systems, all-electric panels."""


class NoAnswer(VanewiseError):
    """The input is sound, but the computation has no answer that could be stood behind."""


class Locked(VanewiseError):
    """A gate or lock holds. Its problems say what is missing and who may override."""


def wrong(where: str, expected: str, found: object, next_step: str) -> InputError:
    """Short form for the commonest case: one problem with what was handed in."""
    return InputError(Problem(where=where, expected=expected, found=str(found), next_step=next_step))
