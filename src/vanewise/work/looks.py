"""What has to be looked at and written down at a step: short questions, each with what an answer must be.

A look belongs to a task and holds a gate until it is answered. A hold point is a look with one question: who saw it.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from typing import Final

from vanewise.work.job import Job
from vanewise.work.photos import FILTER_CUT, OLD_CORE, PIECES
from vanewise.work.types import Ask, JobLog, StepLook, Task, WorkPackage

AFTER_RUN: Final = ("ground-run", "after-run", "hot-repeat", "regulator-set", "oil-look", "record", "close-up")
"""Hold points that come with the run or after it hold the record, not the run."""


def looks_for(job: Job, tasks: Sequence[Task]) -> tuple[StepLook, ...]:
    """Every look of a package, in the order of its tasks."""
    ids = {task.id for task in tasks}
    found: list[StepLook] = []
    for task in tasks:
        found += _of_task(job, task, ids)
        if task.hold_point:
            found.append(
                StepLook(
                    id=f"seen:{task.id}",
                    title=task.hold_point,
                    task=task.id,
                    asks=(Ask(id="by", words="Seen by", kind="name"),),
                )
            )
    return tuple(found)


def _of_task(job: Job, task: Task, ids: set[str]) -> list[StepLook]:
    if task.id == "pump-look" and "pump-documents" in ids:
        return [_pieces(job)]
    if task.id == "pump-documents":
        return [_eligible(), _match()]
    if task.id == "pump-on":
        return [_mount()]
    if task.id == "filters":
        return [_old_filter()]
    takes = job.description.autopilot_takes_attitude in ("yes", "unknown")
    attitude = {f"{part.id}-on" for part in job.description.parts_of("attitude indicator")}
    if task.id in attitude and takes:
        return [_autopilot(task)]
    return []


def _pieces(job: Job) -> StepLook:
    foreign = (
        (
            Ask(
                id="foreign",
                words="Pieces that fit none of this pump's vanes: how many, and how they differ",
                kind="text",
            ),
        )
        if job.mode == "debris_left_in_lines"
        else ()
    )
    return StepLook(
        id="pieces",
        title="The old pump and every piece, laid out",
        task="pump-look",
        asks=(
            Ask(
                id="complete",
                words="The set is complete: every vane, every corner",
                kind="yes or why",
                if_not="what is missing, where it was searched (accessory case, pad, hoses, regulator), and by whom",
            ),
            *foreign,
            Ask(id="laid out", words=PIECES, kind="photo"),
            Ask(
                id="core",
                words="Old pump, coupling and every fragment are bagged, tagged and kept; no core goes back yet",
            ),
            Ask(id="core seen", words=OLD_CORE, kind="photo"),
        ),
        why="A missing corner is in a hose, in the regulator or in the engine; a warranty asks for the pieces.",
    )


def _eligible() -> StepLook:
    return StepLook(
        id="eligible",
        title="Before ordering: may this pump go on this aircraft",
        task="pump-documents",
        asks=(
            Ask(
                id="class", words="Class (small or large) and duty, as the aircraft's parts list names it", kind="text"
            ),
            Ask(
                id="ratio",
                words="Drive ratio of the pad, and the pump speed it gives at full engine speed",
                kind="text",
            ),
            Ask(
                id="basis",
                words="Approval basis: parts list, supplemental type certificate, or other, by number",
                kind="text",
            ),
            Ask(id="directives by", words="Directives searched by", kind="name"),
            Ask(id="directives on", words="Directives searched on", kind="day"),
            Ask(id="directives", words="Directives found, and what they ask for (none is an answer)", kind="text"),
        ),
        why="A pump that fits the studs may still be the wrong one.",
    )


def _match() -> StepLook:
    return StepLook(
        id="match",
        title="The pump in hand against the pad",
        task="pump-documents",
        asks=(
            Ask(
                id="rotation",
                words="Rotation, seen from the drive end of the pump",
                kind="same",
                pair=("marked on the pump", "needed by this pad"),
                choices=("clockwise", "counter-clockwise"),
            ),
            Ask(id="ports", words="Both ports stand where the hoses reach, and take these fittings"),
            Ask(id="coupling", words="It came with its own new coupling, and the coupling is whole"),
        ),
        why="Canted vanes run one way only: turned the other way they break.",
    )


def _mount() -> StepLook:
    return StepLook(
        id="mount",
        title="How the pump went on",
        task="pump-on",
        asks=(
            Ask(id="flange", words="Held by its mounting flange only, never by the body"),
            Ask(id="gasket", words="Kind of gasket, and which way round", kind="text"),
            Ask(id="drain", words="The open drain is the lowest; the others are closed where the pad has more"),
            Ask(id="seat", words="It seated by hand; the nuts did not draw it in"),
        ),
    )


def _old_filter() -> StepLook:
    return StepLook(
        id="old filter",
        title="The old filter, cut open",
        task="filters",
        asks=(
            Ask(id="cut", words=FILTER_CUT, kind="photo"),
            Ask(id="finding", words="On the media: carbon, tar, water, dust, or nothing", kind="text"),
        ),
        why="Carbon on the media tells that the pump has been shedding.",
    )


def _autopilot(task: Task) -> StepLook:
    return StepLook(
        id=f"autopilot match {task.id.removesuffix('-on')}",
        title="Autopilot: does this indicator still speak its language",
        task=task.id,
        asks=(
            Ask(
                id="pickoff",
                words="Version of the attitude pickoff",
                kind="same",
                pair=("on the indicator that came out", "on the one that goes in"),
            ),
            Ask(id="connector", words="Connector: same pins, seated, locked"),
            Ask(id="card", words="The autopilot's own ground test was done, and by which card", kind="text"),
        ),
        why="An indicator of another pickoff version flies the aircraft the wrong way, or not at all.",
    )


def unanswered(package: WorkPackage, log: JobLog, look_id: str) -> tuple[str, ...]:
    """What a look still lacks, in words. Nothing for a task that was left out."""
    look = next(look for look in package.looks if look.id == look_id)
    if look.task in log.left_out:
        return ()
    told: Mapping[str, str] = log.looks.get(look_id, {})
    return tuple(words for ask in look.asks if (words := _lacks(ask, told, log)))


def _lacks(ask: Ask, told: Mapping[str, str], log: JobLog) -> str:
    said = told.get(ask.id, "").strip()
    small = f"{ask.words[:1].lower()}{ask.words[1:]}"
    match ask.kind:
        case "photo":
            return "" if any(photo.about == ask.words for photo in log.photos) else f"no photograph: {small}"
        case "yes":
            return "" if said == "yes" else f"{'answered no' if said == 'no' else 'not answered'}: {small}"
        case "yes or why":
            why = told.get(f"{ask.id} why", "").strip()
            return "" if said == "yes" or (said == "no" and why) else f"{small}; if not, {ask.if_not}"
        case "same":
            one, other = said, told.get(f"{ask.id} other", "").strip()
            if not one or not other:
                return f"not written: {small}"
            return "" if one.casefold() == other.casefold() else f"{small}: {one} {ask.pair[0]}, {other} {ask.pair[1]}"
        case "day":
            return "" if _is_day(said) else f"no date: {small}"
        case _:
            return "" if said else f"not written: {small}"


def _is_day(text: str) -> bool:
    try:
        datetime.date.fromisoformat(text)
    except ValueError:
        return False
    return True


def holds_run(look: StepLook) -> bool:
    """Whether a look has to be answered before the engine runs, and not only before the record."""
    return look.task not in AFTER_RUN and look.id != "old filter"
