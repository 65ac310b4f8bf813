"""Wear, life and due items as values. Hours are float in statistics and integer centihours in due arithmetic."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Literal

import msgspec


class WearReading(msgspec.Struct, frozen=True, kw_only=True):
    """One look at the wear port: a length as wear fraction, or seen / not seen. ``hours`` since the pump was new."""

    hours: float
    kind: Literal["length", "seen", "not seen"]
    wear_fraction: float | None = None
    sd: float | None = None
    date: datetime.date | None = None


class WearForecast(msgspec.Struct, frozen=True, kw_only=True):
    hours_now: float
    hours_left: Mapping[str, float]
    """Keys p025, p10, p50, p90, p975."""
    prob_past_now: float
    look_again_h: float
    surprise: float | None
    """Predictive probability integral of the newest reading."""
    words: tuple[str, ...]
    assumptions: tuple[tuple[str, str, str], ...]
    """Name, value with unit, standing."""


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
