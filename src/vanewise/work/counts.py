"""Counts out and in: nothing is left behind in the engine, in a hose or under the panel."""

from __future__ import annotations

from collections.abc import Mapping

from vanewise.errors import Problem
from vanewise.work.types import Count


def count_problems(
    counts: tuple[Count, ...], counted_out: Mapping[str, int], counted_in: Mapping[str, int]
) -> tuple[Problem, ...]:
    """Every count that is not closed: not counted, not what was expected, or not the same in as out."""
    problems: list[Problem] = []
    for count in counts:
        out, back = counted_out.get(count.id), counted_in.get(count.id)
        if out is None:
            problems.append(_problem(count, "a count on removal", "none written down", "count what came off"))
            continue
        if count.expected is not None and out != count.expected:
            problems.append(
                _problem(count, f"{count.expected} on removal", str(out), "find the missing one before going on")
            )
        if back is None:
            problems.append(_problem(count, f"{out} back in or accounted for", "none written down", "count them in"))
        elif back != out:
            problems.append(
                _problem(count, f"{out} back in or accounted for", str(back), _MISSING if back < out else _TOO_MANY)
            )
    return tuple(problems)


_MISSING = "stop: find it before anything turns, and look in the accessory case and under the pad"
_TOO_MANY = "count again: more came back than went out"


def _problem(count: Count, expected: str, found: str, next_step: str) -> Problem:
    return Problem(where=f"count of {count.what}", expected=expected, found=found, next_step=next_step)
