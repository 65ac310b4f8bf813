"""Gates: what is missing before a task may be done, and who passed one by name and with a reason.

A need is ``kind:what``: ``suspect:regulator``, ``task:filters``, ``documents:pump``, ``count:nuts``,
``connection:firewall_hose``, ``angle:pump.inlet``, ``turns:pump.inlet``, ``torque:pad nuts``, ``tags:all``,
``look:mount``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final

import msgspec

from vanewise.contamination.closure import open_suspects
from vanewise.errors import Locked, Problem
from vanewise.work.counts import count_problems
from vanewise.work.fittings import condition_problem, turn_problem
from vanewise.work.hose_map import line_problem, tag_problems
from vanewise.work.looks import unanswered
from vanewise.work.reports import report_problem
from vanewise.work.types import FittingRecord, Gate, JobLog, Override, PartDocument, WorkPackage

CERTIFICATED: Final = "the certificated person responsible for the work, by name and with a reason that is written down"


class GateState(msgspec.Struct, frozen=True, kw_only=True):
    """A gate now: what is missing, in words, and the override that passed it, if any."""

    gate: Gate
    missing: tuple[str, ...]
    override: Override | None = None

    @property
    def is_open(self) -> bool:
        return not self.missing or self.override is not None


def gate_states(package: WorkPackage, log: JobLog) -> tuple[GateState, ...]:
    """Every gate of the package, as the log stands."""
    return tuple(gate_state(package, log, gate) for gate in package.gates)


def gate_state(package: WorkPackage, log: JobLog, gate: Gate) -> GateState:
    """One gate, as the log stands."""
    missing = tuple(words for need in gate.needs if (words := missing_words(package, log, need)))
    override = next((entry for entry in log.overrides if entry.what == gate.id and _valid(entry)), None)
    return GateState(gate=gate, missing=missing, override=override if missing else None)


def _valid(override: Override) -> bool:
    return bool(override.name.strip()) and bool(override.reason.strip())


def missing_words(package: WorkPackage, log: JobLog, need: str) -> str:
    """What is missing of one need, in words; empty when it is met."""
    kind, _, what = need.partition(":")
    return _NEEDS[kind](package, log, what)


def _task(package: WorkPackage, log: JobLog, what: str) -> str:
    if what in log.done:
        return ""
    # A proof that was left out is not a proof: the gate stays shut.
    return f"not done: {package.task(what).title}"


def _suspect(package: WorkPackage, log: JobLog, what: str) -> str:
    if package.scope is None or what not in open_suspects(package.scope, log.closures):
        return ""
    suspect = package.scope.suspect(what)
    return f"open: {suspect.label} ({' or '.join(suspect.closures)})"


def _documents(package: WorkPackage, log: JobLog, what: str) -> str:
    document = log.documents.get(what)
    if document is None:
        return f"no document entered for the {_name(what)}"
    problems = document_problems(document)
    if any(note.part == what for note in package.shop_notes):
        unread = report_problem(document)
        problems = (*problems, *(() if unread is None else (unread,)))
    return f"document of the {_name(what)}: {problems[0].where}, {problems[0].found}" if problems else ""


def _count(package: WorkPackage, log: JobLog, what: str) -> str:
    counts = tuple(count for count in package.counts if count.id == what)
    problems = count_problems(counts, log.counts_out, log.counts_in)
    return f"{problems[0].where}: {problems[0].found}" if problems else ""


def _connection(package: WorkPackage, log: JobLog, what: str) -> str:
    tag = next(tag for tag in package.hose_tags if tag.line == what)
    ends = log.connections.get(what)
    if ends is None:
        return f"tag {tag.number}, {_name(what)}: connection not confirmed"
    seen = log.lines.get(what)
    replaced = any(closure.suspect == what and closure.how == "replaced" for closure in log.closures)
    if seen is not None and not replaced and (problem := line_problem(seen)):
        return f"tag {tag.number}, {_name(what)}: {problem.found}, {problem.next_step}"
    if set(ends) != set(tag.ends):
        return f"tag {tag.number}, {_name(what)}: connected to {' and '.join(ends)}, mapped {' and '.join(tag.ends)}"
    return ""


def _angle(package: WorkPackage, log: JobLog, what: str) -> str:
    record = log.fittings.get(what)
    return "" if record is not None and record.clock_deg is not None else f"fitting at {_name(what)}: angle not written"


def _turns(package: WorkPackage, log: JobLog, what: str) -> str:
    turns = log.turns.get(what)
    seen = log.fittings.get(what)
    rejected = None if seen is None else condition_problem(seen)
    if rejected is not None:
        return f"fitting at {_name(what)}: {rejected.found}, {rejected.next_step}"
    if turns is None:
        return f"fitting at {_name(what)}: turns past hand-tight not written"
    problem = turn_problem(seen or _record(package, what), turns)
    return f"fitting at {_name(what)}: {problem.found}, {problem.expected}" if problem else ""


def _record(package: WorkPackage, what: str) -> FittingRecord:
    return next(record for record in package.fittings if record.id == what)


def _torque(package: WorkPackage, log: JobLog, what: str) -> str:
    return "" if log.torques.get(what, "").strip() else f"torque of the {what} not written"


def _tags(package: WorkPackage, log: JobLog, what: str) -> str:
    problems = tag_problems(package.hose_tags, log.tags_hung)
    more = f" and {len(problems) - 1} more" if len(problems) > 1 else ""
    return f"{problems[0].where}: {problems[0].found}{more}" if problems else ""


def _look(package: WorkPackage, log: JobLog, what: str) -> str:
    lacking = unanswered(package, log, what)
    if not lacking:
        return ""
    look = next(look for look in package.looks if look.id == what)
    more = f", and {len(lacking) - 1} more" if len(lacking) > 1 else ""
    if what.startswith("seen:"):
        return f"stop and look, {package.task(look.task).title}: nobody's name yet"
    return f"{look.title}: {lacking[0]}{more}"


_NEEDS: Final[Mapping[str, Callable[[WorkPackage, JobLog, str], str]]] = MappingProxyType(
    {
        "task": _task,
        "suspect": _suspect,
        "documents": _documents,
        "count": _count,
        "connection": _connection,
        "angle": _angle,
        "turns": _turns,
        "torque": _torque,
        "tags": _tags,
        "look": _look,
    }
)


def _name(what: str) -> str:
    return what.replace(".", ", ").replace("_", " ")


def document_problems(document: PartDocument) -> tuple[Problem, ...]:
    """What a part's document lacks: serial that matches, status word, date, signature, reference, test figures."""
    part = _name(document.part)
    wanted = (
        (
            document.serial_on_part.strip() != "" and document.serial_on_part == document.serial_on_document,
            "serial number",
            "the same on the part and on its document",
            f"{document.serial_on_part or 'none'} against {document.serial_on_document or 'none'}",
        ),
        (bool(document.status.strip()), "status", "new, overhauled, inspected or repaired, as written", "none"),
        (document.dated is not None, "date", "a date on the document", "none"),
        (document.signed, "signature", "a signature on the document", "none seen"),
        (bool(document.reference.strip()), "reference", "number of the release, work order or report", "none"),
        (bool(document.test_figures.strip()), "test figures", "where its test figures are", "none"),
    )
    return tuple(
        Problem(
            where=f"{part}, {field}",
            expected=expected,
            found=found,
            next_step="ask the supplier before the part goes near the aircraft",
        )
        for is_right, field, expected, found in wanted
        if not is_right
    )


def holding(package: WorkPackage, log: JobLog, task_id: str) -> tuple[GateState, ...]:
    """The gates that hold a task now."""
    return tuple(state for state in gate_states(package, log) if task_id in state.gate.before and not state.is_open)


def require_open(package: WorkPackage, log: JobLog, task_id: str) -> None:
    """Raise :class:`Locked`, naming what is missing and who may override, when a gate holds the task."""
    problems = [
        Problem(
            where=f"{package.task(task_id).title}: {state.gate.title}",
            expected="; ".join(missing for missing in state.missing),
            found=f"{len(state.missing)} open",
            next_step=f"close them; or an override by {state.gate.override_by}",
        )
        for state in holding(package, log, task_id)
    ]
    if problems:
        raise Locked(problems)
