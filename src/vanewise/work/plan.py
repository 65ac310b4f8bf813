"""From a cause and a scope to a work package: ordered tasks, parts, counts, tags, torque, and the gates that hold.

Pure and deterministic: the same cause, scope and date give the same package and the same id. A package is frozen; a new
finding makes a new one that names this one as its parent.
"""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import msgspec

from vanewise.aircraft.description import AircraftDescription, digest
from vanewise.contamination.plumbing import plumbing, the
from vanewise.contamination.types import Scope
from vanewise.diagnosis.modes import MODES, NOTHING_WRONG
from vanewise.diagnosis.safety import DEAD, EACH_PUMP, IN_DOUBT, MAY_BLOW
from vanewise.diagnosis.types import Cause, Causes, NextCheck
from vanewise.diagnosis.words import BLOWN, NO_FAULT_NAMED
from vanewise.errors import wrong
from vanewise.provenance import Value
from vanewise.wording import capital, listed
from vanewise.work import fittings as fitting_rules
from vanewise.work.cautions import DEFERENCE, texts
from vanewise.work.closing import follow_ups
from vanewise.work.gating import gates_for
from vanewise.work.hose_map import hose_tags
from vanewise.work.instrument_tasks import shop_packing
from vanewise.work.job import Job
from vanewise.work.looks import looks_for
from vanewise.work.repairs import REPAIRS, rank
from vanewise.work.torque import Wrench, torque_line
from vanewise.work.types import Count, FittingRecord, ShopNote, Task, TorqueLine, WorkPackage

_SEEN_SHARE: Final = 1.0 / 3.0
"""Share of the likeliest cause's probability from which what was seen is planned for while nothing is decided
(judgement)."""


def plan(
    description: AircraftDescription,
    cause: str | Cause | Causes,
    scope: Scope | None,
    *,
    today: datetime.date,
    place: str = "",
    manual_values: Mapping[str, Value] | None = None,
    wrench: Wrench | None = None,
    report: Sequence[str] = (),
    parent: str = "",
    warnings: Sequence[str] = (),
) -> WorkPackage:
    """The work package for a cause.

    ``cause`` is a mode id (with ``place`` where it sits), one cause of an answer, or a whole answer: its leading cause,
    or only further checks while it is undecided. ``manual_values`` are the aircraft's own: ``pump.nut_torque`` and
    ``pump.nut_drag`` (torque), ``fitting.limit_turns`` (ratio). ``report`` is what was reported, in words: it goes with
    an instrument to the shop. ``warnings`` are remarks of the evidence that hold whatever the cause. Raises
    :class:`InputError` for an unknown mode or place.
    """
    mode, part, checks = _chosen(cause, place)
    if mode not in REPAIRS:
        raise wrong("cause", f"one of {', '.join(REPAIRS)}", f'"{mode}"', "choose a cause from the list of modes")
    graph = plumbing(description)
    _check_place(description, graph.elements, part)
    job = Job(
        description=description,
        plumbing=graph,
        mode=mode,
        mode_name=MODES[mode].name,
        place=part,
        scope=scope,
        tags=hose_tags(description),
        manual=manual_values or {},
    )
    tasks = _assemble(job, checks)
    package = _package(job, tasks, today, wrench, tuple(report), parent)
    package = msgspec.structs.replace(package, remarks=_unique((*package.remarks, *warnings)))
    return msgspec.structs.replace(package, id=package_id(package))


def package_id(package: WorkPackage) -> str:
    """Digest of the content of a package, its own id left out."""
    content = msgspec.json.encode(msgspec.structs.replace(package, id=""), order="sorted")
    return hashlib.sha256(content).hexdigest()


def _chosen(cause: str | Cause | Causes, place: str) -> tuple[str, str, tuple[NextCheck, ...]]:
    """Mode, part and, for an undecided answer, the checks that would decide it."""
    if isinstance(cause, str):
        return cause, place, ()
    if isinstance(cause, Cause):
        return cause.id, place or cause.part, ()
    seen = [entry for entry in cause.causes if entry.confirmed and _matters(entry, cause)]
    if cause.undecided and not seen:
        return "none_of_these", "", cause.next_checks
    leading = max(seen if cause.undecided else cause.causes, key=lambda entry: entry.probability)
    return leading.id, place or leading.part, ()


def _matters(seen: Cause, answer: Causes) -> bool:
    """True when what was seen is part of the trouble, as its source or as a victim: a dead pump is, whatever killed it.
    A mount's screw is loose on many a sound aircraft."""
    shares = (share for entry in answer.causes for share in entry.hypotheses if seen.id in share.modes)
    likeliest = max(entry.probability for entry in answer.causes)
    return sum(share.share for share in shares) >= _SEEN_SHARE * likeliest


def _check_place(description: AircraftDescription, elements: Mapping[str, object], place: str) -> None:
    known = {part.id for part in description.parts} | set(elements) | {"gauge", "lamp", "autopilot"}
    if place and place not in known:
        raise wrong("place of the cause", f"one of {', '.join(sorted(known))}", f'"{place}"', "name a part or line")


def _assemble(job: Job, checks: tuple[NextCheck, ...]) -> tuple[Task, ...]:
    """Tasks of every block, each once, in an order that respects what comes first."""
    tasks: dict[str, Task] = {}
    for block in REPAIRS[job.mode]:
        for task in block(job):
            tasks.setdefault(task.id, task)
    ordered = sorted(tasks.values(), key=lambda task: rank(task.id))
    before_reconnecting = [task.id for task in ordered if rank(task.id) < rank("reconnect")]
    linked = [_link(task, set(tasks), before_reconnecting) for task in ordered]
    if checks:
        linked = _with_checks(linked, checks)
    return tuple(_topological(linked))


def _link(task: Task, present: set[str], before_reconnecting: list[str]) -> Task:
    """Drop what is not in this package; reconnecting waits for all that opens a line, the rest for opening up."""
    after = tuple(earlier for earlier in task.after if earlier in present)
    if task.id == "reconnect" or (
        task.id in ("ground-run", "leak-proof", "gauge-compare") and "reconnect" not in present
    ):
        after = tuple(before_reconnecting)
    elif task.id == "ground-run":
        after = tuple(earlier for earlier in ("count-in", "leak-proof", "gauge-compare") if earlier in present) or after
    elif task.id in ("close-up", "record") and "after-run" not in present:
        after = tuple(before_reconnecting)
    elif task.id == "record":
        after = (*after, *(late for late in _LATE if late in present))
    elif not after and task.id not in ("safe", "open-up"):
        after = ("open-up",)
    return msgspec.structs.replace(task, after=after)


_LATE = ("regulator-set", "oil-look", "hot-repeat", "standby-test", "cycle-test", "autopilot-test")
"""What comes between the run and the record, where it is in the package."""


def _with_checks(tasks: list[Task], checks: tuple[NextCheck, ...]) -> list[Task]:
    """The checks of an undecided answer, as tasks, in place of the general widening."""
    asked = [
        Task(
            id=f"check-{number}",
            title=capital(check.title),
            steps=(
                check.why,
                *((f"Needs: {'; '.join(check.preconditions)}",) if check.preconditions else ()),
                *((check.method,) if check.method else ()),
                *(f"If {cause}: {words}" for cause, words in check.predicted.items()),
            ),
            after=("open-up", *((f"check-{number - 1}",) if number > 1 else ())),
            minutes=check.minutes,
            cautions=check.cautions,
            why="Enter the result and ask again before the next one.",
        )
        for number, check in enumerate(checks, start=1)
    ]
    kept = [task for task in tasks if task.id != "widen"]
    position = next((i for i, task in enumerate(kept) if task.id == "close-up"), len(kept))
    last = (asked[-1].id,)
    kept = [msgspec.structs.replace(task, after=last) if task.id == "close-up" else task for task in kept]
    return [*kept[:position], *asked, *kept[position:]]


def _topological(tasks: list[Task]) -> Iterable[Task]:
    """In the given order as far as precedence allows. Precedence is acyclic by construction, and checked."""
    waiting, done = list(tasks), set[str]()
    while waiting:
        ready = next((task for task in waiting if set(task.after) <= done), None)
        if ready is None:
            raise AssertionError(f"tasks wait for each other: {[task.id for task in waiting]}")
        waiting.remove(ready)
        done.add(ready.id)
        yield ready


def _package(
    job: Job,
    tasks: tuple[Task, ...],
    today: datetime.date,
    wrench: Wrench | None,
    report: tuple[str, ...],
    parent: str,
) -> WorkPackage:
    ids = {task.id for task in tasks}
    mapped = job.tags if "tags" in ids else ()
    fittings = _fittings(job, ids)
    torques = _torques(job, ids, wrench)
    counts = _counts(ids)
    looks = looks_for(job, tasks)
    return WorkPackage(
        id="",
        parent=parent,
        aircraft=job.description.name,
        cause=job.mode,
        cause_name=job.mode_name,
        made_on=today,
        description_digest=digest(job.description),
        tasks=tasks,
        parts=_unique(part for task in tasks for part in task.parts),
        consumables=_unique(item for task in tasks for item in task.consumables),
        tools=_unique(tool for task in tasks for tool in task.tools),
        counts=counts,
        hose_tags=mapped,
        fittings=fittings,
        torques=torques,
        gates=gates_for(job, tasks, counts, fittings, torques, looks),
        suspects=tuple(suspect.id for suspect in job.suspects),
        remarks=_remarks(job),
        minutes=sum(task.minutes for task in tasks if not task.only_if),
        place=job.place,
        scope=job.scope,
        shop_notes=_shop_notes(job, ids, report),
        follow_ups=follow_ups(job) if "ground-run" in ids else (),
        waiting_days=max((task.waiting_days for task in tasks if not task.only_if), default=0.0),
        looks=looks,
    )


def _unique(items: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(items))


def _counts(ids: set[str]) -> tuple[Count, ...]:
    counts = []
    if "pump-off" in ids:
        counts += [
            Count(id="pad nuts", what="pad nuts", expected=4),
            Count(id="plain washers", what="plain washers of the pad", expected=None),
            Count(id="lock washers", what="lock washers of the pad", expected=None),
        ]
    if "pump-look" in ids and "pump-documents" in ids:
        counts.append(Count(id="vanes", what="vanes and pieces laid out", expected=None))
    if "tags" in ids:
        counts += [
            Count(id="caps", what="caps and plugs on open ports", expected=None),
            Count(id="rags", what="rags and cloths", expected=None),
            Count(id="tools", what="tools at the aircraft", expected=None),
        ]
    return tuple(counts)


def _fittings(job: Job, ids: set[str]) -> tuple[FittingRecord, ...]:
    limit = job.manual.get("fitting.limit_turns")
    ports: list[tuple[str, str]] = []
    if "pump-off" in ids:
        ports += [(f"{job.pump.id}.{port}", f"{job.pump.id}.{port}") for port in ("inlet", "outlet")]
    if "regulator-exchange" in ids:
        regulator = job.place or job.description.parts_of("regulator")[0].id
        ports += [(f"{regulator}.{port}", f"{regulator}.{port}") for port in ("gyro_side", "pump_side")]
    connected = {end for line in job.description.lines for end in (line.start, line.end)}
    return fitting_rules.records(tuple(entry for entry in ports if entry[1] in connected), limit)


def _torques(job: Job, ids: set[str], wrench: Wrench | None) -> tuple[TorqueLine, ...]:
    if "pump-on" not in ids:
        return ()
    drag = job.manual.get("pump.nut_drag")
    return (
        torque_line(
            "pad nuts",
            f"four pad nuts of {the(job.pump.label)}, diagonal, two or three passes",
            job.manual.get("pump.nut_torque"),
            wrench,
            None if drag is None else drag.number,
        ),
    )


def _remarks(job: Job) -> tuple[str, ...]:
    remarks = [DEFERENCE]
    if job.mode == NOTHING_WRONG.id:
        remarks.append(NO_FAULT_NAMED)
    if job.scope is None and MODES[job.mode].sheds is not None:
        remarks.append(
            f"{capital(job.mode_name)} sheds debris and no trace was made: trace it before parts are ordered."
        )
    if job.suspects:
        remarks += texts("suspects open")
        remarks += job.scope.remarks if job.scope is not None else ()
    if job.mode in ("coupling_sheared", "worn_vanes", "debris_left_in_lines", "oil_in_pump", "pump_overheated"):
        remarks += texts("dead pump")
    if job.mode == DEAD and len(job.description.parts_of("pump")) > 1:
        remarks.append(EACH_PUMP)
    if job.mode in MAY_BLOW:
        remarks.append(BLOWN)
    if job.mode in (*IN_DOUBT, "autopilot_itself"):
        remarks += texts("suspect indicator", "autopilot")
    if not job.description.duty_confirmed:
        remarks.append(f"The duty ({job.description.duty}) is assumed and not confirmed: look before anything else.")
    cured = tuple(line.label for line in job.description.lines if line.material == "hose" and line.cured is None)
    if cured and job.tags:
        remarks.append(f"No cure date known for {listed(cured)}: read it off the hose and write it on the map.")
    remarks += texts("trend")
    return _unique(remarks)


def _shop_notes(job: Job, ids: set[str], report: tuple[str, ...]) -> tuple[ShopNote, ...]:
    notes = []
    for gyro in job.gyros:
        if f"{gyro.id}-out" not in ids:
            continue
        suspect = job.scope.suspect(gyro.id) if job.scope is not None and job.is_suspect(gyro.id) else None
        notes.append(
            ShopNote(
                part=gyro.id,
                label=gyro.label,
                symptoms=report or ("________________",),
                contamination=(
                    f"{suspect.reason}. Found at the port: ________________"
                    if suspect is not None
                    else "none traced to it. Found at the port: ________________"
                ),
                ask_for=(
                    "what was found inside, with photographs: grey or black dust, where",
                    "erection time, drift, air use at its stated drop, case leak",
                    "work done, parts replaced, approval reference",
                ),
                packing=shop_packing(),
            )
        )
    return tuple(notes)
