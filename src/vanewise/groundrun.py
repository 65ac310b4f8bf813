"""Did it work, and by what margin: the predicted band of this aircraft at each test point, and the verdict."""

from __future__ import annotations

from typing import Literal

import msgspec


class TestPoint(msgspec.Struct, frozen=True, kw_only=True):
    """One engine speed of the ground run, with the band this aircraft should read there today (Pa)."""

    __test__ = False

    engine_rpm: float
    low_pa: float
    high_pa: float
    middle_pa: float
    note: str = ""


class GroundRunPlan(msgspec.Struct, frozen=True, kw_only=True):
    points: tuple[TestPoint, ...]
    altitude_m: float
    temperature_k: float
    band_low_pa: float | None
    band_high_pa: float | None
    lamp_rpm_low: float | None
    lamp_rpm_high: float | None
    cautions: tuple[str, ...]
    basis: tuple[str, ...]


class GroundRunReading(msgspec.Struct, frozen=True, kw_only=True):
    id: str
    what: str
    """``gauge``, ``lamp out``, ``lamp on``, ``erect minutes``, ``drift 15 min``, ``autopilot test`` ..."""
    engine_rpm: float | None = None
    value: float | None = None
    outcome: str = ""
    direction: Literal["rising", "falling", "steady"] = "steady"


class PointVerdict(msgspec.Struct, frozen=True, kw_only=True):
    what: str
    verdict: Literal["pass", "fail", "not shown"]
    margin: str
    reading: str
    expected: str
    would_expose: str = ""


class GroundRunVerdict(msgspec.Struct, frozen=True, kw_only=True):
    overall: Literal["pass", "fail", "not shown"]
    points: tuple[PointVerdict, ...]
    remarks: tuple[str, ...]
