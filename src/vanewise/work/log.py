"""The job log: ticks and entries, each checked before it is taken. Pure: a log goes in, a new log comes out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar, get_args

import msgspec

from vanewise.contamination.closure import closure_problem
from vanewise.contamination.types import Closure
from vanewise.errors import InputError, Locked, Problem, wrong
from vanewise.work.cost import items as cost_items
from vanewise.work.cost import price_of
from vanewise.work.fittings import turn_problem
from vanewise.work.gates import require_open
from vanewise.work.photos import Mark, Photo, check_mark, check_photo, with_mark
from vanewise.work.reports import tells_of_dust
from vanewise.work.types import (
    FittingRecord,
    JobLog,
    LineCondition,
    LineSeen,
    Override,
    PartDocument,
    TorqueLine,
    WorkPackage,
)

T = TypeVar("T")


def start(package: WorkPackage) -> JobLog:
    """An empty log of a package."""
    return JobLog(package=package.id)


def carry_over(package: WorkPackage, old: WorkPackage, log: JobLog) -> JobLog:
    """The log of a package that takes the place of ``old``: everything written that still means the same in it.

    What was mapped, counted, photographed, found, received and closed stays. A task stays done only where it is the
    same task and all before it are done; an override was for the other package and is not carried.
    """
    _check(old, log)
    before = {task.id: task for task in old.tasks}
    same = [task for task in package.tasks if task.id in before and before[task.id].steps == task.steps]
    left_out = {task.id: log.left_out[task.id] for task in same if task.id in log.left_out and task.only_if}
    done: list[str] = []
    for task in same:
        if task.id in log.done and all(earlier in (*done, *left_out) for earlier in task.after):
            done.append(task.id)
    lines = {tag.line for tag in package.hose_tags}
    numbers = {tag.number: tag.ends for tag in package.hose_tags}
    fittings = {record.id for record in package.fittings}
    counts = {entry.id for entry in package.counts}
    torques = {entry.id for entry in package.torques}
    looks = {look.id for look in package.looks}
    suspects = set(package.suspects)
    return msgspec.structs.replace(
        log,
        package=package.id,
        done=tuple(done),
        left_out=left_out,
        overrides=(),
        counts_out=_only(log.counts_out, counts),
        counts_in=_only(log.counts_in, counts),
        closures=tuple(closure for closure in log.closures if closure.suspect in suspects),
        connections=_only(log.connections, lines),
        lines=_only(log.lines, lines),
        tags_hung=tuple((number, port) for number, port in log.tags_hung if port in numbers.get(number, ())),
        fittings=_only(log.fittings, fittings),
        turns=_only(log.turns, fittings),
        torques=_only(log.torques, torques),
        torque_lines=_only(log.torque_lines, torques),
        looks=_only(log.looks, looks),
        prices=_only(log.prices, set(cost_items(package))),
    )


def _only(entries: Mapping[str, T], known: set[str]) -> dict[str, T]:
    return {name: value for name, value in entries.items() if name in known}


def _check(package: WorkPackage, log: JobLog) -> None:
    if log.package != package.id:
        raise wrong(
            "job log",
            f"the log of package {package.id[:12]}",
            f"package {log.package[:12]}",
            "open the log of this package, or take the findings over into a new one",
        )


def tick(package: WorkPackage, log: JobLog, task_id: str) -> JobLog:
    """The log with a task done. Raises :class:`Locked` while what comes first, or a gate, holds it."""
    _check(package, log)
    _known(package, task_id)
    if task_id in log.done:
        return log
    finished = (*log.done, *log.left_out)
    waiting = [earlier for earlier in package.task(task_id).after if earlier not in finished]
    if waiting:
        raise Locked(
            Problem(
                where=package.task(task_id).title,
                expected="; ".join(package.task(earlier).title for earlier in waiting),
                found="not done yet",
                next_step="do these first, or tick them if they are done",
            )
        )
    require_open(package, log, task_id)
    return msgspec.structs.replace(log, done=(*log.done, task_id))


def untick(package: WorkPackage, log: JobLog, task_id: str) -> JobLog:
    """The log with a task open again, and every task that came after it."""
    _check(package, log)
    _known(package, task_id)
    gone = {task_id}
    for task in package.tasks:
        if gone & set(task.after):
            gone.add(task.id)
    return msgspec.structs.replace(log, done=tuple(done for done in log.done if done not in gone))


def leave_out(package: WorkPackage, log: JobLog, task_id: str, why: str) -> JobLog:
    """The log with a conditional task left out for a reason. Raises :class:`InputError` for one that is always done."""
    _check(package, log)
    _known(package, task_id)
    task = package.task(task_id)
    if not task.only_if or not why.strip():
        raise wrong(
            task.title,
            "a task that is done only if something is found, and the reason it is not needed",
            "a task that is always done" if not task.only_if else "no reason",
            "do the task, or write why it is not needed",
        )
    return msgspec.structs.replace(log, left_out={**log.left_out, task_id: why})


def _known(package: WorkPackage, task_id: str) -> None:
    if not any(task.id == task_id for task in package.tasks):
        raise wrong("task", "one of this package", f'"{task_id}"', "choose a task of the package")


def close_suspect(package: WorkPackage, log: JobLog, closure: Closure) -> JobLog:
    """The log with a suspect closed, when method, proof and name are there."""
    _check(package, log)
    if package.scope is None:
        raise wrong("suspect", "a package with a list of suspects", "none", "trace the debris first")
    problem = closure_problem(package.scope, closure)
    if problem is not None:
        raise InputError(problem)
    # It answers every event on the list it is closed against, whatever dates anybody wrote down.
    known = msgspec.structs.replace(closure, answers=package.scope.suspect(closure.suspect).events)
    return msgspec.structs.replace(log, closures=(*log.closures, known))


def count(
    package: WorkPackage, log: JobLog, counted_out: Mapping[str, int] = {}, counted_in: Mapping[str, int] = {}
) -> JobLog:
    """The log with counts added. Raises :class:`InputError` for an unknown count or a negative number."""
    _check(package, log)
    known = {entry.id for entry in package.counts}
    for name, number in (*counted_out.items(), *counted_in.items()):
        if name not in known or number < 0:
            raise wrong("count", f"0 or more of: {', '.join(sorted(known))}", f"{name} {number}", "count again")
    return msgspec.structs.replace(
        log, counts_out={**log.counts_out, **counted_out}, counts_in={**log.counts_in, **counted_in}
    )


def connect(package: WorkPackage, log: JobLog, line: str, ends: tuple[str, str]) -> JobLog:
    """The log with a line's two ends as found. A difference from the map is kept: the gate names it."""
    _check(package, log)
    if line not in {tag.line for tag in package.hose_tags}:
        raise wrong("line", "a line of the hose map", f'"{line}"', "choose one of the tagged lines")
    return msgspec.structs.replace(log, connections={**log.connections, line: ends})


def hang_tags(package: WorkPackage, log: JobLog, hung: tuple[tuple[int, str], ...]) -> JobLog:
    """The log with the tags as hung, each (number, port); what is wrong with them holds the gate."""
    _check(package, log)
    return msgspec.structs.replace(log, tags_hung=hung)


def record_fitting(package: WorkPackage, log: JobLog, record: FittingRecord) -> JobLog:
    """The log with a fitting's angles."""
    _check(package, log)
    _fitting(package, record.id)
    return msgspec.structs.replace(log, fittings={**log.fittings, record.id: record})


def turned(package: WorkPackage, log: JobLog, fitting: str, turns: float) -> JobLog:
    """The log with the turns past hand-tight. Raises :class:`InputError` over the limit, or when backed off."""
    _check(package, log)
    problem = turn_problem(log.fittings.get(fitting) or _fitting(package, fitting), turns)
    if problem is not None:
        raise InputError(problem)
    return msgspec.structs.replace(log, turns={**log.turns, fitting: turns})


def _fitting(package: WorkPackage, fitting: str) -> FittingRecord:
    for record in package.fittings:
        if record.id == fitting:
            return record
    known = ", ".join(record.id for record in package.fittings) or "none in this package"
    raise wrong("fitting", known, f'"{fitting}"', "choose a fitting of the package")


def torque(package: WorkPackage, log: JobLog, line: str, text: str) -> JobLog:
    """The log with a torque as applied: value, wrench and its calibration date, in words."""
    _check(package, log)
    if line not in {entry.id for entry in package.torques} or not text.strip():
        raise wrong("torque", "a line of the torque sheet and what was applied", f"{line}: {text}", "write both")
    return msgspec.structs.replace(log, torques={**log.torques, line: text})


def fill_in_torque(package: WorkPackage, log: JobLog, line: TorqueLine) -> JobLog:
    """The log with a line of the torque sheet filled in: the manual's value, the wrench, the adapter."""
    _check(package, log)
    if line.id not in {entry.id for entry in package.torques}:
        raise wrong("torque", "a line of the torque sheet", f'"{line.id}"', "choose one of the sheet")
    return msgspec.structs.replace(log, torque_lines={**log.torque_lines, line.id: line})


def with_torques(package: WorkPackage, log: JobLog) -> WorkPackage:
    """The package with its torque sheet as filled in from the own manual, for printing; its number stays."""
    return msgspec.structs.replace(
        package, torques=tuple(log.torque_lines.get(line.id, line) for line in package.torques)
    )


def receive(package: WorkPackage, log: JobLog, document: PartDocument) -> JobLog:
    """The log with a part's document as read. What it lacks is kept and holds the gate.

    A shop's report that tells of dust inside goes into the findings: it reopens the search for its source.
    """
    _check(package, log)
    identity = f"{document.serial_on_part}, {document.status}, {document.reference}"
    findings = log.findings
    if tells_of_dust(document.report):
        part = document.part.replace("_", " ")
        findings = (
            *findings,
            f"report on the {part} tells of dust inside ({document.report}): its source is still open",
        )
    return msgspec.structs.replace(
        log,
        documents={**log.documents, document.part: document},
        fitted_parts={**log.fitted_parts, document.part: identity},
        findings=findings,
    )


def note(package: WorkPackage, log: JobLog, finding: str) -> JobLog:
    """The log with something found, in words."""
    _check(package, log)
    return msgspec.structs.replace(log, findings=(*log.findings, finding))


def override(package: WorkPackage, log: JobLog, entry: Override) -> JobLog:
    """The log with a gate passed by a named person for a reason. Raises :class:`InputError` without either."""
    _check(package, log)
    gates = [gate.id for gate in package.gates]
    if entry.what not in gates or not entry.name.strip() or not entry.reason.strip():
        raise wrong(
            "override",
            f"one of the gates {', '.join(gates)}, a name and a reason",
            f"{entry.what or 'no gate'}, {entry.name or 'no name'}, {entry.reason or 'no reason'}",
            "write all three; it goes into the record",
        )
    return msgspec.structs.replace(log, overrides=(*log.overrides, entry))


def photograph(package: WorkPackage, log: JobLog, photo: Photo) -> JobLog:
    """The log with a picture; the same one again, of the same thing, changes nothing."""
    _check(package, log)
    check_photo(photo)
    if any((old.id, old.about, old.moment) == (photo.id, photo.about, photo.moment) for old in log.photos):
        return log
    return msgspec.structs.replace(log, photos=(*log.photos, photo))


def mark_photo(package: WorkPackage, log: JobLog, mark: Mark) -> JobLog:
    """The log with a point marked on a picture. Raises :class:`InputError` for a picture that is not in it."""
    _check(package, log)
    check_mark(mark)
    if not any(photo.id == mark.photo for photo in log.photos):
        raise wrong("mark", "a picture of this job", mark.photo, "choose one of its pictures")
    return msgspec.structs.replace(log, marks=with_mark(log.marks, mark))


def answer_look(package: WorkPackage, log: JobLog, look_id: str, answers: Mapping[str, str]) -> JobLog:
    """The log with a look answered; a later answer to the same question counts. Raises InputError for an unknown one.

    An answer that holds the gate (a no, two that differ) is kept all the same: it is what was seen.
    """
    _check(package, log)
    look = next((look for look in package.looks if look.id == look_id), None)
    if look is None:
        raise wrong("look", "one of this package", f'"{look_id}"', "choose one that stands at a task")
    known = {name for ask in look.asks for name in (ask.id, f"{ask.id} why", f"{ask.id} other")}
    unknown = sorted(answers.keys() - known)
    if unknown:
        raise wrong(look.title, f"answers to {', '.join(sorted(known))}", unknown[0], "answer what is asked")
    before = log.looks.get(look_id, {})
    return msgspec.structs.replace(log, looks={**log.looks, look_id: {**before, **answers}})


def give_price(package: WorkPackage, log: JobLog, item: str, price: str) -> JobLog:
    """The log with the price of a part, a consumable or an hour of work; an empty one takes it back."""
    _check(package, log)
    if item not in cost_items(package):
        raise wrong("price", "a part or consumable of this package, or an hour of work", f'"{item}"', "choose one")
    if price.strip():
        price_of(price)
    return msgspec.structs.replace(log, prices={**log.prices, item: price.strip()})


def see_line(package: WorkPackage, log: JobLog, seen: LineSeen) -> JobLog:
    """The log with a line as found; a later look counts. Raises InputError for an unknown line or condition."""
    _check(package, log)
    if seen.line not in {tag.line for tag in package.hose_tags}:
        raise wrong("line", "a line of the hose map", f'"{seen.line}"', "choose one of the tagged lines")
    if seen.condition not in get_args(LineCondition):
        raise wrong("condition", ", ".join(get_args(LineCondition)), f'"{seen.condition}"', "choose what you see")
    return msgspec.structs.replace(log, lines={**log.lines, seen.line: seen})
