"""The values of the trace: what was shed, what was found at the walls, what debris can have reached and why.

Scope is set logic, not probability: a part is suspect when some event gives a path to it that no logged finding has
cut. Amounts only sort the list.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Literal

import msgspec

EventKind = Literal["running", "stop", "cross-feed", "turned backwards", "maintenance"]
BarrierState = Literal["intact", "breached", "absent", "reversed", "unknown"]
ClosureKind = Literal["replaced", "cleaned and inspected", "back from instrument shop"]


class BarrierFinding(msgspec.Struct, frozen=True, kw_only=True, tag_field="finding", tag="barrier"):
    """What was found at a barrier. Only 'intact', seen, right way round and present cuts a path."""

    part: str
    state: BarrierState
    right_way_round: bool | None = None
    """Needed for an inline filter or a check valve; a cartridge that fits one way only needs no answer."""
    note: str = ""
    when: datetime.date | None = None
    as_it_was: bool | None = None
    """True: the element seen is the one that was on at the event. None: nobody said."""


class FrontFinding(msgspec.Struct, frozen=True, kw_only=True, tag_field="finding", tag="front"):
    """Where the traces end inside a line: a clean white cloth from ``clean_from_m`` on, and who saw it.

    The line itself stays suspect; what lies beyond it is shielded by sight. ``clean_from_m`` is measured from the end
    nearer to the debris.
    """

    line: str
    clean_from_m: float
    proof: str
    by: str = ""
    when: datetime.date | None = None
    as_it_was: bool | None = None
    """True: the line that was on at the event, and no air drawn through it since. None: nobody said."""


Finding = BarrierFinding | FrontFinding


class Change(msgspec.Struct, frozen=True, kw_only=True):
    """Something replaced, cleaned or run since, so that a later look at it says little of what happened before."""

    words: str
    """What was done, as a sentence goes on: ``hoses were changed``."""
    kinds: tuple[str, ...] = ()
    """Kinds of element it made others of (``hose``, ``inline filter``); empty where ``part`` says which one."""
    part: str = ""
    when: datetime.date | None = None
    runs_through: bool = False
    """True when it only means that air was drawn through every line again, which sweeps a line and renews no part."""


class SheddingEvent(msgspec.Struct, frozen=True, kw_only=True):
    """Debris released at ``part`` in one event, at an operating state."""

    part: str
    kind: EventKind
    altitude_m: float | None = None
    """Pressure altitude [m]; None when nobody has said, and then a stop is taken to have been high up."""
    engine_rpm: float | None = None
    id: str = ""
    suction_pa: float | None = None
    """Difference (positive, Pa) at the moment of a stop, where read; else the solution or the setting is used."""
    turns_back: float | None = None
    """Propeller turns backwards, over 0; None when nobody knows, and then no volume bounds the reach. At a stop: the
    turns back after it, where there were any."""
    when: datetime.date | None = None
    ran_on_minutes: float | None = None
    """How long the engine ran after the pump stopped; None when nobody was asked."""
    other_source_used: bool | None = None
    """Whether another source drew while the pump stood still; None counts as yes where another one is described."""
    fragments_complete: bool | None = None
    because: str = ""
    """What was found, where nobody reported the event and it follows from a find; empty where it was reported."""
    found_here: bool = False
    """True when debris was seen at ``part``, wherever it came from."""
    known_by: datetime.date | None = None
    """The day it was entered or its trace was found: it happened no later. For an event without a date of its own."""

    @property
    def name(self) -> str:
        """Its id, or what stands for one."""
        return self.id or f"{self.kind} at {self.part}"


class Closure(msgspec.Struct, frozen=True, kw_only=True):
    """How a suspect left the list."""

    suspect: str
    how: ClosureKind
    method: str
    proof: str
    by: str
    when: datetime.date | None = None
    answers: tuple[str, ...] = ()
    """Events, by id, that had put it on the list it was closed against."""


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
    kind: str = ""
    """Kind of the part; ``hose``, ``tube`` or ``tap line`` for a line."""
    closures: tuple[ClosureKind, ...] = ()
    """The ways it may be closed, the usual one first."""
    only_upper_bound: bool = False
    """True when only the upper bound of the back-fill gets there, not the middle estimate."""
    events: tuple[str, ...] = ()
    """Every event, by id, that gives a path."""
    share: float | None = None
    """Share of the dust that running flow carries here, from the solved flows; only to see where most of it goes."""


class Look(msgspec.Struct, frozen=True, kw_only=True):
    """A finding worth making, because it would take parts off the list."""

    what: str
    at: tuple[str, ...]
    """The barriers or lines it is made at; more than one means all of them together."""
    clears: tuple[str, ...]


class Reach(msgspec.Struct, frozen=True, kw_only=True):
    """How far air that came back through a stopped pump can have carried debris (suction duty).

    ``refill_m3`` is ``V d / Pa``; lengths are that volume in the bore of the line at the pump. ``low`` and ``high`` are
    the upper bound with the volume of the system 30 % smaller and larger; ``estimate_m`` counts only the share of the
    refill that came through the pump and not through the gyros.
    """

    event: str
    line: str
    volume_m3: float
    suction_pa: float
    ambient_pa: float
    refill_m3: float
    length_m: float
    length_low_m: float
    length_high_m: float
    estimate_m: float
    share_through_pump: float


class Scope(msgspec.Struct, frozen=True, kw_only=True):
    """What to clean, open, replace or leave, each with its reason."""

    source: str
    events: tuple[SheddingEvent, ...]
    suspects: tuple[Suspect, ...]
    shielded: tuple[tuple[str, str], ...]
    """Parts not reached, each with the reason."""
    reach_upper_m: float | None
    """The furthest that stops and turns back carried debris, in the bore at the pump, the volume 30 % out: what decides
    the list (suction duty). Nothing where there is no such event, or where nothing bounds it."""
    reach_estimate_m: float | None
    """The middle estimate of the longest stop; only to sort by."""
    questions: tuple[str, ...]
    """What to ask or look at next because it changes the scope."""
    remarks: tuple[str, ...]
    reaches: tuple[Reach, ...] = ()
    looks: tuple[Look, ...] = ()
    findings: tuple[Finding, ...] = ()
    labels: Mapping[str, str] = {}
    """Every part, line and tap line by id, in words: for the parts that are not on the list as well."""

    @property
    def sources(self) -> frozenset[str]:
        """Parts that shed by a report, or in which it was seen; not those that a find only points to."""
        return frozenset(event.part for event in self.events if event.found_here or not event.because)

    @property
    def suspect_ids(self) -> tuple[str, ...]:
        return tuple(suspect.id for suspect in self.suspects)

    def suspect(self, suspect_id: str) -> Suspect:
        """The suspect of that id. Raises KeyError when it is not on the list."""
        for suspect in self.suspects:
            if suspect.id == suspect_id:
                return suspect
        raise KeyError(suspect_id)
