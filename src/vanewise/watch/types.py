"""Wear, life and due items as values. Hours are float in statistics and integer centihours in due arithmetic."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Literal

import msgspec


class WearReading(msgspec.Struct, frozen=True, kw_only=True):
    """One look at the wear of a pump. ``hours`` since the pump was new.

    ``length``: a measured vane, as the share of the allowance worn away (of the shortest vane). ``seen`` and
    ``not seen``: the vane's edge at the wear port, any vane that differs from the others counting as the worst.
    ``within limit`` and ``past limit``: what an inspection or a teardown found. ``worn out``: the limit was reached
    at these very hours.
    """

    hours: float
    kind: Literal["length", "seen", "not seen", "within limit", "past limit", "worn out"]
    wear_fraction: float | None = None
    sd: float | None = None
    date: datetime.date | None = None


class StopChance(msgspec.Struct, frozen=True, kw_only=True):
    """Chances within ``hours`` from now: of passing the wear limit, and of the pump stopping, by cause and from any."""

    name: str
    hours: float
    past_limit: float
    stop_by_wear: float
    sudden_stop: float
    any_stop: float


class ReadingWorth(msgspec.Struct, frozen=True, kw_only=True):
    """Width of the 80 % interval of hours left, now and (expected) after one length reading taken now."""

    width_now_h: float
    width_after_h: float


class CurvePoint(msgspec.Struct, frozen=True, kw_only=True):
    """One point of the plot: chances by so many hours from now."""

    hours: float
    past_limit: float
    any_stop: float


class WearForecast(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of one pump's wear and what may stop it. Hours at its present duty."""

    hours_now: float
    hours_left: Mapping[str, float]
    """Hours from now to the wear limit; keys p025, p10, p50, p90, p975. 0 where the limit may be passed already."""
    prob_past_now: float
    look_again_h: float
    """Hours since the pump was new by which to look again; equal to ``hours_now`` where the look is due now."""
    surprise: float | None
    """Predictive probability integral of the newest reading."""
    words: tuple[str, ...]
    assumptions: tuple[tuple[str, str, str], ...]
    """Name, value with unit, standing."""
    look_again_in_h: float = 0.0
    look_again_risk: float = 0.0
    """Chance that the limit is passed unseen between now and that look, given that it is not passed now."""
    chances: tuple[StopChance, ...] = ()
    """For the next flight, until the next annual, and for the hours asked."""
    worth: ReadingWorth | None = None
    curve: tuple[CurvePoint, ...] = ()
    log_evidence: float = 0.0
    remarks: tuple[str, ...] = ()


Nature = Literal["regulation", "directive", "type design", "maker", "custom", "own"]
MeterKind = Literal["tach", "hour meter"]
DueState = Literal["later", "soon", "due", "overdue", "condition", "unknown"]


class Overrun(msgspec.Struct, frozen=True, kw_only=True):
    """How far a limit on hours may be exceeded, when, and by which text. The excess counts in the next interval."""

    centihours: int
    when: str
    source: str


class Limit(msgspec.Struct, frozen=True, kw_only=True):
    """One limit on one item. Only regulation, directive or type design may read as mandatory."""

    item: str
    nature: Nature
    source: str
    hours_centi: int | None = None
    calendar_months: int | None = None
    counted_from: Literal["done", "fitted", "overhauled", "manufactured"] = "done"
    """What starts the count: the work itself (or fitting, or overhaul), a new part, an overhaul, or the making."""
    condition: str = ""
    meter: MeterKind = "tach"
    calendar_rule: Literal["end of month", "same day"] = "end of month"
    calendar_days: int | None = None
    cycles: int | None = None
    first_hours_centi: int | None = None
    """Hours of the first interval where it differs from the later ones."""
    late: Literal["from done", "excess counts", "window"] = "from done"
    """Where the next interval starts: at the work; at the due point if late; at the due point within a window."""
    overrun: Overrun | None = None
    window_centihours: int = 0
    window_days: int = 0
    soon_centihours: int = 1000
    soon_days: int = 30
    why: str = ""
    """What it is for, in words."""

    @property
    def is_mandatory(self) -> bool:
        return self.nature in ("regulation", "directive", "type design")


class Work(msgspec.Struct, frozen=True, kw_only=True):
    """Work done on an item, with the aircraft's totals then (meter replacements already counted in)."""

    item: str
    kind: Literal["done", "fitted", "overhauled", "manufactured"]
    date: datetime.date | None = None
    tach_centihours: int | None = None
    hour_meter_centihours: int | None = None
    cycles: int | None = None
    by: str = ""
    reference: str = ""


class PutOff(msgspec.Struct, frozen=True, kw_only=True):
    """A decision, with a name, to do something later than its limit says."""

    item: str
    name: str
    reason: str
    decided_on: datetime.date
    until_centihours: int | None = None
    until_date: datetime.date | None = None


class DueItem(msgspec.Struct, frozen=True, kw_only=True):
    """One line of 'What next, by when, why'. Both clocks are kept; ``by`` names the one that comes first."""

    item: str
    due_centihours: int | None
    due_date: datetime.date | None
    by: Literal["hours", "calendar", "condition", "cycles"]
    why: str
    nature: str
    mandatory: bool
    left: str
    state: DueState
    source: str = ""
    meter: MeterKind = "tach"
    due_cycles: int | None = None
    expected_from: datetime.date | None = None
    expected_to: datetime.date | None = None
    """Dates between which 8 of 10 spells of flying like this reach the hours."""
    note: str = ""
    """What may be done beyond the limit, or who put it off and why."""


class Watch(msgspec.Struct, frozen=True, kw_only=True):
    forecasts: tuple[tuple[str, WearForecast], ...]
    due: tuple[DueItem, ...]
    remarks: tuple[str, ...]
