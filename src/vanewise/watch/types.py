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


class Limit(msgspec.Struct, frozen=True, kw_only=True):
    """One limit on one item. Only regulation, directive or type design may read as mandatory."""

    item: str
    nature: Literal["regulation", "directive", "type design", "maker", "custom", "own"]
    source: str
    hours_centi: int | None = None
    calendar_months: int | None = None
    counted_from: str = "fitted"
    condition: str = ""
    meter: Literal["tach", "hour meter"] = "tach"


class DueItem(msgspec.Struct, frozen=True, kw_only=True):
    item: str
    due_centihours: int | None
    due_date: datetime.date | None
    by: Literal["hours", "calendar", "condition"]
    why: str
    nature: str
    mandatory: bool
    left: str
    state: Literal["later", "soon", "due", "overdue", "condition", "unknown"]


class Watch(msgspec.Struct, frozen=True, kw_only=True):
    forecasts: tuple[tuple[str, WearForecast], ...]
    due: tuple[DueItem, ...]
    remarks: tuple[str, ...]
