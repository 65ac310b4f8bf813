"""What a job hands back to a person: data for a machine, words for a terminal, and files to be kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from vanewise.errors import NoAnswer, VanewiseError


class Answer(msgspec.Struct, frozen=True, kw_only=True):
    """``data`` is what ``--json`` prints; ``words`` what a person reads; ``files`` name -> bytes to be written."""

    data: Any
    words: str
    files: Mapping[str, bytes] = {}

    def text(self) -> str:
        return self.words


def rounded(value: Any, digits: int = 6) -> Any:
    """The same data with every float at ``digits`` significant digits, so that JSON is stable across machines."""
    if isinstance(value, float):
        return float(f"{value:.{digits}g}")
    if isinstance(value, dict):
        return {key: rounded(item, digits) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [rounded(item, digits) for item in value]
    return value


def to_json(answer: Answer) -> str:
    """The answer's data as indented JSON, floats at six significant digits."""
    plain = rounded(msgspec.to_builtins(answer.data))
    return msgspec.json.format(msgspec.json.encode(plain), indent=2).decode()


def error_json(error: VanewiseError) -> str:
    """One shape for every error: ``{"error": kind, "problems": [{where, expected, found, next_step}]}``."""
    kind = "no answer" if isinstance(error, NoAnswer) else "wrong input"
    body = {"error": kind, "problems": [msgspec.to_builtins(problem) for problem in error.problems]}
    return msgspec.json.format(msgspec.json.encode(body), indent=2).decode()
