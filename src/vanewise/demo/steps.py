"""From the short story of a job to the entries a person would make one by one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from vanewise.work.looks import holds_run
from vanewise.work.types import WorkPackage


def entries(package: WorkPackage, steps: Sequence[Mapping[str, Any]]) -> Iterator[tuple[str, dict[str, Any]]]:
    """(what, particulars) for each step; 'as mapped' and lists stand for one entry each."""
    for step in steps:
        yield from _entries(package, step)


def _entries(package: WorkPackage, step: Mapping[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    rest = {key: value for key, value in step.items() if key != "do"}
    match step["do"]:
        case "done":
            for task in rest["tasks"]:
                yield "done", {"task": task}
        case "tags hung":
            hung = [[tag.number, end] for tag in package.hose_tags for end in tag.ends if "." in end]
            yield "tags hung", {"hung": hung}
        case "connected as mapped":
            for tag in package.hose_tags:
                yield "connected", {"line": tag.line, "start": tag.ends[0], "end": tag.ends[1]}
        case "count out" | "count in":
            side = step["do"].removeprefix("count ")
            for name, number in rest["counts"].items():
                yield "count", {"count": name, side: str(number)}
        case "looked":
            answers = {key: str(value) for key, value in rest["answers"].items()}
            yield "looked", {"look": rest["look"], "answers": answers}
        case "seen before the run" | "seen after the run":
            yield from _seen(package, str(rest["by"]), early=step["do"] == "seen before the run")
        case "closed":
            how = {key: rest[key] for key in ("how", "method", "proof")}
            for suspect in rest["suspects"]:
                yield "closed", {"suspect": suspect, **how, "by": "mechanic of the demo", "when": "2025-03-07"}
        case what:
            yield what, {key: value if isinstance(value, bool) else str(value) for key, value in rest.items()}


def _seen(package: WorkPackage, by: str, *, early: bool) -> Iterator[tuple[str, dict[str, Any]]]:
    """The hold points before or after the run, each with the name of who saw it."""
    for look in package.looks:
        if look.id.startswith("seen:") and holds_run(look) is early and look.task != "record":
            yield "looked", {"look": look.id, "answers": {"by": by}}
