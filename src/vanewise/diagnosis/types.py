"""What we really know (evidence), and what it may mean (causes)."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from typing import Final, Literal

import msgspec

from vanewise.diagnosis.words import NO_FAULT_NAMED

Grade = Literal[0, 1, 2, 3]
"""3 direct sight or measurement of the fault; 2 removed and gone, restored and back; 1 pattern; 0 report only."""

WORTH_NAMING: Final = 0.05
"""Probability from which a cause is named where nothing is decided; the rest are counted (judgement)."""


class Reading(msgspec.Struct, frozen=True, kw_only=True):
    """One gauge reading. Differences in Pa, positive as the gauge shows them."""

    id: str
    value_pa: float
    engine_rpm: float
    instrument: str = "panel gauge"
    high: str | None = None
    """Point the instrument is connected to, ``part.port`` or ``cabin``; None means the panel gauge's own."""
    low: str | None = None
    altitude_m: float | None = None
    temperature_k: float | None = None
    direction: Literal["rising", "falling", "steady", "unknown"] = "unknown"
    warm: bool | None = None
    under: Mapping[str, float] = {}
    """Test condition as states: ``{"regulator.covered": 1}``, ``{"heading.capped": 1}``."""
    sd_pa: float | None = None
    when: datetime.date | None = None
    who: str = ""
    flight: str = ""
    sound: bool = False
    """True for an earlier reading taken while the system was believed sound (the baseline)."""
    sister: str = ""
    """Name of another aircraft of the same layout that it was read on, while that one was believed sound."""


class LampReading(msgspec.Struct, frozen=True, kw_only=True):
    """The engine speed at which the lamp went out (rising) or came on (falling)."""

    id: str
    engine_rpm: float
    direction: Literal["rising", "falling"] = "rising"
    altitude_m: float | None = None
    sd_rpm: float | None = None
    when: datetime.date | None = None
    who: str = ""
    sound: bool = False


class Remark(msgspec.Struct, frozen=True, kw_only=True):
    """A symptom noticed, or looked for and not found. 'Not mentioned' is simply not here."""

    id: str
    symptom: str
    present: bool = True
    about: str = ""
    """The instrument or part it is about, by id."""
    degree: float | None = None
    manner: str = ""
    """Which way it showed, one of the symptom's own words (``to the left``)."""
    when: datetime.date | None = None
    who: str = ""
    flight: str = ""
    minutes_after: float | None = None
    """Minutes after a sudden stop at which it was noticed: gyros coast, and a steady model says nothing there."""
    note: str = ""


class Event(msgspec.Struct, frozen=True, kw_only=True):
    """Something done to the aircraft, or that happened to it, which changes what is likely."""

    id: str
    kind: str
    """One of the context words, such as ``pump_changed`` or ``no_line_cleaning_recorded``."""
    about: str = ""
    """The part it was done to, or that it happened to, by id; empty where nobody knows which."""
    when: datetime.date | None = None
    hours_ago: float | None = None
    note: str = ""


class CheckResult(msgspec.Struct, frozen=True, kw_only=True):
    """A check done, with its outcome (a word of that check) or a measured value (SI)."""

    id: str
    check: str
    outcome: str = ""
    value: float | None = None
    place: str = ""
    engine_rpm: float | None = None
    altitude_m: float | None = None
    temperature_k: float | None = None
    grade: Grade = 1
    under: Mapping[str, float] = {}
    """Test states, as for a reading: ``{"regulator.blanked": 1}``."""
    suction_pa: float | None = None
    """Suction of a workshop source, Pa."""
    sd: float | None = None
    """Standard deviation of ``value``, where better known than the check's own."""
    both_ways: bool = False
    """The fault was removed and went, restored and came back (grade 2): allowed for harmless acts only."""
    when: datetime.date | None = None
    who: str = ""
    note: str = ""


class Evidence(msgspec.Struct, frozen=True, kw_only=True):
    """All that is known about one report, in no particular order. Identity of each item is its ``id``."""

    readings: tuple[Reading, ...] = ()
    lamp_readings: tuple[LampReading, ...] = ()
    remarks: tuple[Remark, ...] = ()
    events: tuple[Event, ...] = ()
    checks: tuple[CheckResult, ...] = ()
    notes: tuple[str, ...] = ()
    altitude_m: float | None = None
    temperature_k: float | None = None


class HypothesisShare(msgspec.Struct, frozen=True, kw_only=True):
    id: str
    share: float
    modes: tuple[str, ...]
    """Modes in causal order; the first is the source."""
    effective_rows: float
    log_evidence_se: float
    words: str = ""
    """How source and victims hang together."""


class EvidenceWeight(msgspec.Struct, frozen=True, kw_only=True):
    id: str
    log10_odds: float
    """Change of this cause's log10 odds that this item alone makes (against leaving it out)."""
    words: str
    speaks: Literal["for", "against", "neither"]


class WouldRead(msgspec.Struct, frozen=True, kw_only=True):
    """One reading of the panel gauge beside what a cause says a right gauge would have read there."""

    id: str
    engine_rpm: float
    density_kg_m3: float
    """Of the air outside, where it was taken."""
    read_inhg: float
    low_inhg: float
    middle_inhg: float
    high_inhg: float


class WouldSweep(msgspec.Struct, frozen=True, kw_only=True):
    """The panel gauge over engine speed as a cause says a right gauge would show it, in the air of the readings."""

    density_kg_m3: float
    """Of the air outside the curve was worked out for."""
    engine_rpm: tuple[float, ...]
    low_inhg: tuple[float, ...]
    middle_inhg: tuple[float, ...]
    high_inhg: tuple[float, ...]


class Cause(msgspec.Struct, frozen=True, kw_only=True):
    id: str
    name: str
    part: str
    """The part it sits in, by id; empty for 'none of these'."""
    probability: float
    """That it is the source; sums to 1 over causes with ``none_of_these``."""
    present: float
    """That it is there at all, as source, victim or second fault; does not sum to 1."""
    hypotheses: tuple[HypothesisShare, ...]
    evidence: tuple[EvidenceWeight, ...]
    effective_rows: float
    log_evidence_se: float
    count_is_rough: bool
    confirmed: bool = False
    confirmed_by: str = ""
    would_read: tuple[WouldRead, ...] = ()
    """For the leading causes: predicted beside measured, by its likeliest hypothesis."""
    would_sweep: WouldSweep | None = None
    """For the leading causes of a refined answer: the whole curve between and beyond the speeds that were read."""


class NextCheck(msgspec.Struct, frozen=True, kw_only=True):
    id: str
    name: str
    minutes: float
    expected_bits: float
    bits_se: float
    why: str
    who: str
    cautions: tuple[str, ...]
    preconditions: tuple[str, ...] = ()
    predicted: Mapping[str, str] = {}
    """What each leading cause says the check would show."""
    place: str = ""
    """Instrument or port it is done at, by id."""
    at: str = ""
    """The same as the description calls it; empty where it is done at one place only."""
    code: str = ""
    """Its code in the trade notes."""
    access_minutes: float = 0.0
    """Minutes to get at it besides ``minutes``, shared by every check that needs the same access."""
    access: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    method: str = ""
    then: tuple[str, ...] = ()
    """What to do after each of its outcomes, as far as that can be said now."""
    bits_with_next: float | None = None
    """Expected information of it and the best check after it, of those that do not stand above it."""
    would_change: tuple[str, ...] = ()
    """Outcomes after which another repair would lead, the likeliest first."""

    @property
    def title(self) -> str:
        """Its name with the place it is done at: the same check at two instruments is two checks."""
        return f"{self.name} ({self.at})" if self.at else self.name


class BeforeAnother(msgspec.Struct, frozen=True, kw_only=True):
    """What is to be found out before another part of the same kind is fitted, however plain it is which part goes."""

    id: Literal["instrument", "pump"]
    heading: str
    why: str
    caution: str
    checks: tuple[NextCheck, ...] = ()
    """What can still be looked at, most told of the source for its minutes first, whatever it says of the repair.
    ``expected_bits`` are of which cause it is."""


def worth_naming(group: Sequence[Cause]) -> tuple[Cause, ...]:
    """Of a group of causes, likeliest first, those named one by one: from 1 in 20 on, two at the least, and all where
    only one would be left to count."""
    likely = max(2, sum(cause.probability >= WORTH_NAMING for cause in group))
    return tuple(group) if len(group) == likely + 1 else tuple(group[:likely])


class Causes(msgspec.Struct, frozen=True, kw_only=True):
    """The answer, its doubt and what to do next."""

    causes: tuple[Cause, ...]
    undecided: bool
    group: tuple[str, ...]
    next_checks: tuple[NextCheck, ...]
    remarks: tuple[str, ...]
    """In words: remaining ambiguity, contradictions, 'the setting was changed: the plateau cannot be trusted'."""
    refined: bool
    engine: Literal["kernel", "numpy"]
    rows_per_hypothesis: int
    rests_on_priors: bool
    sources: tuple[str, ...]
    description_digest: str
    seed: int
    level: str = ""
    """How far the evidence goes before it names a part: supply dead, supply weak, supply high, one instrument,
    indication, no fault told of; empty when even that is open."""
    level_note: str = ""
    """What the level does not end: an instrument that dirt has reached is a victim until its source is found."""
    levels: Mapping[str, float] = {}
    """Probability of each level; sums to 1."""
    prior_order: tuple[str, ...] = ()
    """First three causes before any reading, to be compared with those after."""
    capped: tuple[str, ...] = ()
    """Groups of reports whose say was held to thirty to one."""
    repairs: Mapping[str, float] = {}
    """Probability of each family of causes that call for the same repair; sums to 1."""
    stop: str = ""
    """Why to stop asking: enough to act, or nothing left that would tell; empty while a check is worth its minutes."""
    changes_mind: tuple[str, ...] = ()
    """What would change the answer: outcomes of possible checks after which another repair would lead."""
    contradictory: tuple[str, ...] = ()
    """By id: readings that none of the leading causes explains, and results of one check that cannot both be so."""
    before_another: tuple[BeforeAnother, ...] = ()
    """What is to be found out before another instrument or another pump is fitted."""
    left_out: Mapping[str, str] = {}
    """By id, with why: what is of a part that was changed since, and was not laid on the part fitted now."""
    cautions: tuple[str, ...] = ()
    """What must not wait for the answer: the first of ``remarks``, once more by themselves."""

    @property
    def other_remarks(self) -> tuple[str, ...]:
        """The remarks besides the cautions."""
        return tuple(remark for remark in self.remarks if remark not in self.cautions)

    @property
    def named(self) -> tuple[Cause, ...]:
        """The causes of the group that are named one by one, likeliest first."""
        return worth_naming([cause for cause in self.causes if cause.id in self.group])

    @property
    def no_finding(self) -> str:
        """What stands wherever no fault by what was told is among the causes named; else empty."""
        return NO_FAULT_NAMED if any(cause.id == "nothing_wrong" for cause in self.named) else ""

    @property
    def counted(self) -> tuple[Cause, ...]:
        """The rest of the group, which is counted."""
        named = {cause.id for cause in self.named}
        return tuple(cause for cause in self.causes if cause.id in self.group and cause.id not in named)

    @property
    def counted_chance(self) -> float:
        """Probability that one of those counted is the source."""
        return sum(cause.probability for cause in self.counted)
