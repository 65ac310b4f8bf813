"""What got dirty, what is shielded, what proves it clean: set logic over the plumbing as a directed graph."""

from __future__ import annotations

from typing import Literal

import msgspec

EventKind = Literal["running", "stop", "cross-feed", "turned backwards", "maintenance"]
BarrierState = Literal["intact", "breached", "absent", "reversed", "unknown"]


class BarrierFinding(msgspec.Struct, frozen=True, kw_only=True):
    """What was found at a barrier. Only 'intact', seen, right way round and present cuts a path."""

    part: str
    state: BarrierState
    right_way_round: bool | None = None
    note: str = ""


class SheddingEvent(msgspec.Struct, frozen=True, kw_only=True):
    """Debris released at ``part`` in one event, at an operating state."""

    part: str
    kind: EventKind
    altitude_m: float = 0.0
    engine_rpm: float | None = None
    id: str = ""


class Suspect(msgspec.Struct, frozen=True, kw_only=True):
    """A part or line that debris can have reached, with the shortest path and the reason in words."""

    id: str
    label: str
    event: EventKind
    path: tuple[str, ...]
    reason: str
    distance_m: float
    clears: tuple[str, ...]
    """Findings that would clear it ('look at the inline filter's downstream face')."""
    proof: tuple[str, ...]
    """How it can be closed: replaced, cleaned by a method and inspected, back from an instrument shop."""


class Scope(msgspec.Struct, frozen=True, kw_only=True):
    source: str
    events: tuple[SheddingEvent, ...]
    suspects: tuple[Suspect, ...]
    shielded: tuple[tuple[str, str], ...]
    """Parts not reached, each with the reason."""
    reach_upper_m: float | None
    reach_estimate_m: float | None
    questions: tuple[str, ...]
    """What to ask or look at next because it changes the scope."""
    remarks: tuple[str, ...]
