"""The plan and what was done of it. A work package is frozen; a new finding makes a new one with a parent."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Literal

import msgspec

from vanewise.contamination.types import Closure, Scope
from vanewise.provenance import Value
from vanewise.work.photos import Mark, Photo

__all__ = [
    "Ask",
    "Closure",
    "Condition",
    "Count",
    "FittingRecord",
    "FollowUp",
    "Gate",
    "HoseTag",
    "JobLog",
    "LineCondition",
    "LineSeen",
    "Mark",
    "Override",
    "PartDocument",
    "Photo",
    "ShopNote",
    "StepLook",
    "Task",
    "TorqueLine",
    "Who",
    "WorkPackage",
]

Condition = Literal["not looked at", "sound", "rounded flats", "cracked", "port cracked"]
LineCondition = Literal[
    "not looked at", "sound", "hard", "cracked", "soft", "kinked", "liner loose", "oily", "dented or corroded"
]
Who = Literal["owner, where the local rules allow", "mechanic", "instrument shop"]


class Task(msgspec.Struct, frozen=True, kw_only=True):
    id: str
    title: str
    steps: tuple[str, ...]
    after: tuple[str, ...] = ()
    """Tasks that must be closed first."""
    who: Who = "mechanic"
    minutes: float = 0.0
    parts: tuple[str, ...] = ()
    consumables: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    """Shown at this step."""
    hold_point: str = ""
    """What must be seen before going on, and by whom."""
    closes: tuple[str, ...] = ()
    """Suspects this task can close."""
    renews: tuple[str, ...] = ()
    """Labels of filters that are new when it is done: each gets its tag with hours and date."""
    why: str = ""
    waiting_days: float = 0.0
    """Days a part is away (an instrument shop), beside the hands-on minutes."""
    only_if: str = ""
    """The finding without which this task is left out, in words; empty when it is always done."""


class Count(msgspec.Struct, frozen=True, kw_only=True):
    """Something counted out and back in. ``expected`` None means 'as found'."""

    id: str
    what: str
    expected: int | None


class HoseTag(msgspec.Struct, frozen=True, kw_only=True):
    """One line, two ends, the same number on both."""

    number: int
    line: str
    ends: tuple[str, str]
    bore: str
    length: str
    flow: str
    note: str = ""


class FittingRecord(msgspec.Struct, frozen=True, kw_only=True):
    """A fitting that keeps its orientation. Angles in degrees; zero and viewpoint are stated."""

    id: str
    port: str
    zero: str = "12 o'clock is the top of the pump as installed, looking at the port"
    clock_deg: float | None = None
    hand_tight_deg: float | None = None
    limit_turns: Value | None = None
    threads: str = ""
    """What is on the threads: ``dry``, or what the manual names."""
    condition: Condition = "not looked at"
    """A fitting with rounded flats or a crack is replaced, and so is a body with a cracked port."""


class LineSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A line as a person found it: how it runs, what holds it, what it is like. Texts as written."""

    line: str
    condition: LineCondition = "not looked at"
    routing: str = ""
    """The way it goes and what it passes: clips, firewall, bends, heat."""
    clamps: str = ""
    length: str = ""
    bore: str = ""
    marking: str = ""
    """What is printed on it: specification, lot, cure date."""
    replaced: bool = False


class TorqueLine(msgspec.Struct, frozen=True, kw_only=True):
    id: str
    what: str
    wanted: str
    """Text with source: a value from the aircraft's manual, or 'from the pump or engine maker's own sheet'."""
    adapter: str = ""
    setting: str = ""


class Gate(msgspec.Struct, frozen=True, kw_only=True):
    """Nothing passes until all ``needs`` are closed, or a named person overrides with a reason."""

    id: str
    title: str
    needs: tuple[str, ...]
    before: tuple[str, ...]
    """Tasks that it holds."""
    override_by: str


AskKind = Literal["yes", "yes or why", "text", "same", "name", "day", "photo"]


class Ask(msgspec.Struct, frozen=True, kw_only=True):
    """One question of a look. ``same``: two texts that must agree, ``pair`` says of what; ``photo``: a picture."""

    id: str
    words: str
    kind: AskKind = "yes"
    if_not: str = ""
    """What has to be written when the answer is no (``yes or why``)."""
    pair: tuple[str, str] = ("", "")
    choices: tuple[str, ...] = ()
    """The words to choose from, where there are no others."""


class StepLook(msgspec.Struct, frozen=True, kw_only=True):
    """Something looked at and written down at a task; a gate asks for it."""

    id: str
    title: str
    task: str
    asks: tuple[Ask, ...]
    why: str = ""


class FollowUp(msgspec.Struct, frozen=True, kw_only=True):
    """A look after the job, by hours flown since (tach)."""

    after_hours: float
    what: str


class ShopNote(msgspec.Struct, frozen=True, kw_only=True):
    """What goes in the box with an instrument: it changes the work on the bench."""

    part: str
    label: str
    symptoms: tuple[str, ...]
    contamination: str
    ask_for: tuple[str, ...]
    packing: tuple[str, ...]


class WorkPackage(msgspec.Struct, frozen=True, kw_only=True):
    id: str
    """Digest of the content."""
    parent: str
    aircraft: str
    cause: str
    cause_name: str
    made_on: datetime.date
    description_digest: str
    tasks: tuple[Task, ...]
    parts: tuple[str, ...]
    consumables: tuple[str, ...]
    tools: tuple[str, ...]
    counts: tuple[Count, ...]
    hose_tags: tuple[HoseTag, ...]
    fittings: tuple[FittingRecord, ...]
    torques: tuple[TorqueLine, ...]
    gates: tuple[Gate, ...]
    suspects: tuple[str, ...]
    remarks: tuple[str, ...]
    minutes: float
    place: str = ""
    """The part the cause sits in, by id."""
    scope: Scope | None = None
    shop_notes: tuple[ShopNote, ...] = ()
    follow_ups: tuple[FollowUp, ...] = ()
    waiting_days: float = 0.0
    looks: tuple[StepLook, ...] = ()

    def task(self, task_id: str) -> Task:
        """The task of that id. Raises KeyError when there is none."""
        for task in self.tasks:
            if task.id == task_id:
                return task
        raise KeyError(task_id)


class PartDocument(msgspec.Struct, frozen=True, kw_only=True):
    """What a part's document says, as read by the person who received it."""

    part: str
    serial_on_part: str
    serial_on_document: str
    status: str
    """New, overhauled, inspected, repaired: as written."""
    dated: datetime.date | None = None
    signed: bool = False
    reference: str = ""
    """Number of the release, work order or report."""
    test_figures: str = ""
    """Where the test figures are, for a pump or an instrument."""
    report: str = ""
    """What an instrument shop wrote that it found inside, in its own words."""
    report_read_by: str = ""


class Override(msgspec.Struct, frozen=True, kw_only=True):
    what: str
    name: str
    reason: str


class JobLog(msgspec.Struct, frozen=True, kw_only=True):
    """What was captured and done against one package."""

    package: str
    done: tuple[str, ...] = ()
    counts_out: Mapping[str, int] = {}
    counts_in: Mapping[str, int] = {}
    closures: tuple[Closure, ...] = ()
    findings: tuple[str, ...] = ()
    connections: Mapping[str, tuple[str, str]] = {}
    """Line id -> the two ends as found connected after reassembly."""
    fittings: Mapping[str, FittingRecord] = {}
    turns: Mapping[str, float] = {}
    """Fitting id -> turns past hand-tight."""
    fitted_parts: Mapping[str, str] = {}
    """Part id -> identity and document reference as entered."""
    torques: Mapping[str, str] = {}
    torque_lines: Mapping[str, TorqueLine] = {}
    """Lines of the torque sheet filled in from the own manual, with the wrench and adapter in hand."""
    documents: Mapping[str, PartDocument] = {}
    left_out: Mapping[str, str] = {}
    """Task id -> why a task that is done only if something is found was left out."""
    tags_hung: tuple[tuple[int, str], ...] = ()
    """Tag number and port, one entry per tag hung."""
    overrides: tuple[Override, ...] = ()
    looks: Mapping[str, Mapping[str, str]] = {}
    """Look id -> answers by question; ``by`` of a look is who gave them."""
    lines: Mapping[str, LineSeen] = {}
    prices: Mapping[str, str] = {}
    """What a part, a consumable or an hour of work costs, as typed."""
    photos: tuple[Photo, ...] = ()
    marks: tuple[Mark, ...] = ()
