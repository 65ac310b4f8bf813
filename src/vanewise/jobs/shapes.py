"""What ``--json`` prints, as types: the reference page, the JSON Schema and the tests are made from these.

Answers that a stage gives as they are (``trace``, ``diagnose``, ``wear``) have their types in that stage's folder.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping

import msgspec

from vanewise.aircraft.description import Duty
from vanewise.aircraft.layouts import LayoutInfo
from vanewise.diagnosis.modes.base import Level, Shedding
from vanewise.errors import Problem
from vanewise.groundrun import GroundRunPlan, GroundRunVerdict
from vanewise.network.band import Band
from vanewise.network.sweep import Sweep
from vanewise.provenance import Standing
from vanewise.record.components import ComponentCard
from vanewise.watch.trend import Trend
from vanewise.watch.types import DueItem


class Layouts(msgspec.Struct, frozen=True, kw_only=True):
    """The ready-made layouts."""

    layouts: tuple[LayoutInfo, ...]


class Assumption(msgspec.Struct, frozen=True, kw_only=True):
    """A number that nobody of this aircraft gave or measured."""

    where: str
    """``part.field``, ``line.field`` or ``section.field``."""
    value: str
    """The number with its unit, as people read it."""
    standing: Standing
    source: str


class Checked(msgspec.Struct, frozen=True, kw_only=True):
    """A description that is sound, and how much of it is still assumed."""

    name: str
    duty: Duty
    duty_confirmed: bool
    parts: int
    """How many parts it has."""
    lines: int
    """How many lines it has."""
    assumed: tuple[Assumption, ...]
    remarks: tuple[Problem, ...]
    """Not wrong, but worth a look, in the four parts of an error."""


class Begun(msgspec.Struct, frozen=True, kw_only=True):
    """What was written from the ten questions, and what it rests on."""

    name: str
    duty: Duty
    assumed: tuple[tuple[int, str, str, str], ...]
    """Number of the question, what was asked, what is taken, source."""
    remarks: tuple[Problem, ...]
    lamp_out_rpm: float | None
    last_work: str


class Swept(Sweep, frozen=True, kw_only=True):
    """The sweep; with ``--band`` also the band that the assumed numbers leave open."""

    band: Band | None = None
    remarks: tuple[str, ...] = ()
    """What is fitted but not computed."""


class Mode(msgspec.Struct, frozen=True, kw_only=True):
    """One failure mode."""

    id: str
    name: str
    meaning: str
    level: Level
    """How far an answer may go before it names a part."""
    duties: tuple[Duty, ...]
    changes_network: bool
    """False where no pressure or flow changes: a bearing, an autopilot, a gauge."""
    rate_per_1000_h: float
    """Reports per 1000 h before any evidence: judgement, relative to each other."""
    rate_standing: Standing
    severity: str
    """What its severity measures; empty where it has none."""
    confirms: tuple[str, ...]
    """Checks that can show it, cheapest first."""
    refutes: tuple[str, ...]
    sheds: Shedding | None
    """What it lets loose, and in which events."""
    source: str


class Modes(msgspec.Struct, frozen=True, kw_only=True):
    """The failure modes, in the order every answer adds them up."""

    modes: tuple[Mode, ...]


class Proved(msgspec.Struct, frozen=True, kw_only=True):
    """What this aircraft should read today if it is sound, and what the readings say."""

    plan: GroundRunPlan
    verdict: GroundRunVerdict


class DueAircraft(msgspec.Struct, frozen=True, kw_only=True):
    """What comes next for one aircraft, the first first."""

    aircraft: str
    """Its id in this home."""
    name: str
    items: tuple[DueItem, ...]


class Due(msgspec.Struct, frozen=True, kw_only=True):
    """What next, by when, why: for every aircraft of a home."""

    due: tuple[DueAircraft, ...]


class Verified(msgspec.Struct, frozen=True, kw_only=True):
    """What the check of a home found. With ``problems`` the exit code is 2: nothing is mended by itself."""

    aircraft: int
    """How many aircraft are kept."""
    entries: int
    """How many journal entries were read."""
    heads: Mapping[str, str]
    """Digest of the newest entry, by aircraft: the one that is printed on the paper record."""
    problems: tuple[Problem, ...]
    """Chains and files that do not hold."""
    rebuilt: tuple[str, ...]
    """Aircraft whose tables differed from the journal and were written anew."""
    orphans_removed: int
    """Files of an interrupted writing that no entry names."""


class BackedUp(msgspec.Struct, frozen=True, kw_only=True):
    """A backup that was written, or restored and proved whole."""

    path: str
    entries: int
    """How many journal entries it holds."""
    files: int
    """How many kept files it holds."""
    heads: Mapping[str, str]
    """Digest of the newest entry, by aircraft."""


class KeptEntries(msgspec.Struct, frozen=True, kw_only=True):
    """What was kept."""

    aircraft: str
    """Its id in this home."""
    kinds: tuple[str, ...]
    """Kind of each entry, in order."""
    head: str
    """Digest of the newest entry."""


class FollowedFigure(msgspec.Struct, frozen=True, kw_only=True):
    """One figure over time, and what it says."""

    figure: str
    unit: str
    readings: int
    """How many readings of it are kept."""
    newest: float
    """The newest value, in the figure's unit, brought to the reference day."""
    newest_on: datetime.date | None
    speaks_of: str
    """What a change of it speaks of."""
    trend: Trend


class Followed(msgspec.Struct, frozen=True, kw_only=True):
    """Every figure of an aircraft that is followed over time."""

    aircraft: str
    figures: tuple[FollowedFigure, ...]


class TableRead(msgspec.Struct, frozen=True, kw_only=True):
    """What came of a table of readings."""

    aircraft: str
    rows: int
    """Rows that could be read."""
    kept: int
    """Entries that were new."""
    known: int
    """Entries that were there already."""
    problems: tuple[Problem, ...]
    """Rows that could not be read, or that contradict others."""
    remarks: tuple[str, ...]


class WrittenFiles(msgspec.Struct, frozen=True, kw_only=True):
    """Files that were written from what is kept."""

    aircraft: str
    head: str
    """Digest of the newest entry they stand on."""
    files: tuple[str, ...]


class TakenIn(msgspec.Struct, frozen=True, kw_only=True):
    """A history that was taken into a home."""

    aircraft: str
    name: str
    added: int
    """Entries that were new here."""
    head: str


class CauseTold(msgspec.Struct, frozen=True, kw_only=True):
    """One cause that ended lives."""

    cause: str
    ends: int
    model: str
    wears_out: bool
    """True only where the lives show that older ones end sooner."""


class LivesTold(msgspec.Struct, frozen=True, kw_only=True):
    """What the lives of a kind of part say."""

    kind: str
    lives: int
    wears_out: bool
    causes: tuple[CauseTold, ...]
    replace_at_hours: float | None
    """Age at which replacing is cheapest by the owner's costs; None without costs or where no age follows."""
    words: tuple[str, ...]


class ComponentCards(msgspec.Struct, frozen=True, kw_only=True):
    """The card of every component that is or was in an aircraft."""

    aircraft: str
    cards: tuple[ComponentCard, ...]


class Conclusion(msgspec.Struct, frozen=True, kw_only=True):
    """What the causes of one report came to."""

    evidence: str
    """The file the report's evidence is in."""
    undecided: bool
    group: tuple[str, ...]
    """The smallest set of causes that shares nine tenths."""


class Played(msgspec.Struct, frozen=True, kw_only=True):
    """The demo's case, and what it came to; only the first three where it had been played before."""

    home: str
    """Where it is kept."""
    played: bool
    """False where the case was there already."""
    aircraft: str
    """Its id in that home."""
    causes: tuple[Conclusion, ...] = ()
    suspects: tuple[str, ...] = ()
    """Parts and lines the debris can have reached."""
    package: str = ""
    """Id of the work package."""
    first_run: str = ""
    """Verdict of the first ground run."""
    second_run: str = ""
    due: tuple[str, ...] = ()
    """What comes next, the first first."""
    files: tuple[str, ...] = ()
    """What was written beside the home."""


class Refusal(msgspec.Struct, frozen=True, kw_only=True):
    """What every command prints instead of an answer: exit code 2 for wrong input, 3 where no answer could be had."""

    error: str
    """``wrong input`` or ``no answer``."""
    problems: tuple[Problem, ...]
