"""How a suspect leaves the list: a state machine of two states, and the proof each way of closing asks for."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence

import msgspec

from vanewise.contamination.types import Closure, Scope, SheddingEvent, Suspect
from vanewise.errors import Problem


class SuspectState(msgspec.Struct, frozen=True, kw_only=True):
    """One suspect now: open, or closed by what; a closure that a later event may have undone no longer counts."""

    id: str
    label: str
    is_open: bool
    closure: Closure | None = None
    reopened_by: str = ""


def closure_problem(scope: Scope, closure: Closure) -> Problem | None:
    """Why a closure cannot be taken as entered; None when it can."""
    if closure.suspect not in scope.suspect_ids:
        return Problem(
            where="suspect",
            expected=f"one on the list: {', '.join(scope.suspect_ids)}",
            found=f'"{closure.suspect}"',
            next_step="close parts of this list only; a part found by other means belongs in the findings",
        )
    suspect = scope.suspect(closure.suspect)
    if closure.how not in suspect.closures:
        return Problem(
            where=suspect.label,
            expected=" or ".join(suspect.closures),
            found=closure.how,
            next_step=suspect.proof[0],
        )
    for field, text in (("method", closure.method), ("proof", closure.proof), ("by", closure.by)):
        if not text.strip():
            return Problem(
                where=f"{suspect.label}, {field}",
                expected=_WANTED[field],
                found="nothing",
                next_step="write it down, or leave the part open",
            )
    return None


_WANTED = {
    "method": "how it was done, or which part went on",
    "proof": "what was seen that proves it: cloth, borescope photograph, report number, document",
    "by": "who did it",
}


def suspect_states(scope: Scope, closures: Iterable[Closure]) -> tuple[SuspectState, ...]:
    """The state of every suspect. One is closed when some valid closure holds against every event that reaches it.

    A closure holds against an event dated before it, and against one that was on the list it was closed against and
    is not dated after it. In doubt it does not: without a date, or on the same day, the event counts as after.
    """
    valid: dict[str, list[Closure]] = {}
    for closure in closures:
        if closure_problem(scope, closure) is None:
            valid.setdefault(closure.suspect, []).append(closure)
    return tuple(_state(scope, suspect, valid.get(suspect.id, ())) for suspect in scope.suspects)


def open_suspects(scope: Scope, closures: Iterable[Closure]) -> tuple[str, ...]:
    """Ids still open, nearest to the source first."""
    return tuple(state.id for state in suspect_states(scope, closures) if state.is_open)


def _state(scope: Scope, suspect: Suspect, closures: Sequence[Closure]) -> SuspectState:
    if not closures:
        return SuspectState(id=suspect.id, label=suspect.label, is_open=True)
    events = [event for event in scope.events if event.name in suspect.events]
    latest = max(closures, key=_order)
    against = [(closure, [event for event in events if not _holds(closure, event)]) for closure in closures]
    holding = [closure for closure, later in against if not later]
    if holding:
        closed_by = max(holding, key=_order)
        return SuspectState(id=suspect.id, label=suspect.label, is_open=False, closure=closed_by)
    later = next(later for closure, later in against if closure is latest)
    newest = max(later, key=lambda event: (event.when or event.known_by or datetime.date.max, event.name))
    return SuspectState(
        id=suspect.id, label=suspect.label, is_open=True, closure=latest, reopened_by=_why(scope, newest, latest)
    )


def _holds(closure: Closure, event: SheddingEvent) -> bool:
    """Whether the closure is surely of after the event, or was made against a list that held it."""
    if closure.when is not None and event.when is not None and closure.when != event.when:
        return closure.when > event.when
    if closure.when is not None and event.when is None and event.known_by is not None:
        if closure.when > event.known_by:
            return True
        if event.because and closure.when < event.known_by:
            # Debris was still found after it was closed.
            return False
    return event.name in closure.answers


def _why(scope: Scope, event: SheddingEvent, closure: Closure) -> str:
    """The event that reopens, and why it counts as after the closure."""
    part = scope.labels.get(event.part, event.part)
    said = f"{event.kind} of {part}" if not event.because else f"{event.kind} of {part}, told by {event.because}"
    day = event.when or event.known_by
    known = f"on {day}" if event.when else f"known by {day}" if day else ""
    if closure.when is None:
        return f"{said}{f' {known}' if known else ''}; the closing has no date: the event counts as after it"
    if event.when is not None:
        same = ", the day it was closed: counted as after" if event.when == closure.when else ""
        return f"{said} on {event.when}{same}"
    return f"{said}, {known + ', ' if known else ''}no date of its own: counted as after"


def _order(closure: Closure) -> tuple[datetime.date, tuple[str, ...], str]:
    return closure.when or datetime.date.min, closure.answers, closure.proof
