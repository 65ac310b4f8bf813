"""Work this aircraft's own jobs hold that a report does not know of: a note with what to enter.

It is not entered by itself: only the person knows whether what the job says is what is fitted now, and the evidence
of a report stays what people entered.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, Report, item_of

TASKS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {"pump_changed": ("pump-documents", "pump-on"), "regulator_changed": ("regulator-exchange",)}
)
"""Event -> tasks of one job that together make it: a pump with documents of its own that was fitted is another pump."""


@dataclass(frozen=True, slots=True)
class Unsaid:
    """A change that a job holds and the report does not."""

    event: str
    date: str
    """Year-month-day."""
    job: str
    """The job's key, as its address names it."""


def unsaid(book: Book, report: Report) -> tuple[Unsaid, ...]:
    """Changes by this aircraft's earlier jobs, up to the day of the report, that its evidence does not name."""
    day = str(report.entry.content.get("when") or report.entry.at)[:10]
    named = {str(item_of(entry).get("kind")) for entry in report.evidence if entry.kind == kinds.EVENT}
    found: list[Unsaid] = []
    for package in book.of(kinds.PACKAGE):
        key = str(package.content["package"])
        done = _done(book, key)
        for event, tasks in TASKS.items():
            if event in named or package.content.get("report") == report.id or not all(task in done for task in tasks):
                continue
            date = max(done[task] for task in tasks)
            if date <= day:
                found.append(Unsaid(event, date, key[:12]))
    return tuple(found)


def _done(book: Book, package: str) -> dict[str, str]:
    """Task -> the day it was ticked, for tasks that stand as done."""
    found: dict[str, str] = {}
    for step in book.of(kinds.STEP, package=package):
        task = str(step.content.get("task", ""))
        if step.content.get("what") == "done":
            found[task] = step.at[:10]
        elif step.content.get("what") == "not done":
            found.pop(task, None)
    return found
