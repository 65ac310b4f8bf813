"""How a suspect leaves the list: a state machine of two states, and the proof each way of closing asks for."""

from __future__ import annotations

import datetime
from collections.abc import Iterable

import msgspec

from vanewise.contamination.types import Closure, Scope, Suspect
from vanewise.errors import Problem


class SuspectState(msgspec.Struct, frozen=True, kw_only=True):
    """One suspect now: open, or closed by what; a closure older than a later event no longer counts."""

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
    """The state of every suspect. The last valid closure counts; an event dated after it reopens."""
    valid: dict[str, Closure] = {}
    for closure in closures:
        if closure_problem(scope, closure) is None:
            held = valid.get(closure.suspect)
            if held is None or _date(closure) >= _date(held):
                valid[closure.suspect] = closure
    return tuple(_state(scope, suspect, valid.get(suspect.id)) for suspect in scope.suspects)


def open_suspects(scope: Scope, closures: Iterable[Closure]) -> tuple[str, ...]:
    """Ids still open, nearest to the source first."""
    return tuple(state.id for state in suspect_states(scope, closures) if state.is_open)


def _state(scope: Scope, suspect: Suspect, closure: Closure | None) -> SuspectState:
    if closure is None:
        return SuspectState(id=suspect.id, label=suspect.label, is_open=True)
    later = [
        event
        for event in scope.events
        if (event.id or f"{event.kind} at {event.part}") in suspect.events
        and event.when is not None
        and closure.when is not None
        and event.when > closure.when
    ]
    if later:
        newest = max(later, key=lambda event: event.when or datetime.date.min)
        return SuspectState(
            id=suspect.id,
            label=suspect.label,
            is_open=True,
            closure=closure,
            reopened_by=f"{newest.kind} of {newest.part} on {newest.when}",
        )
    return SuspectState(id=suspect.id, label=suspect.label, is_open=False, closure=closure)


def _date(closure: Closure) -> datetime.date:
    return closure.when or datetime.date.min
