"""The values of the proof: what this aircraft should read today, what was read, and the verdict by point."""

from __future__ import annotations

from typing import Final, Literal

import msgspec

Verdict = Literal["pass", "fail", "not shown"]
KNEE_SHARE: Final = 0.88
"""A reading above this share of the plateau's counts as at the knee (judgement)."""


class TestPoint(msgspec.Struct, frozen=True, kw_only=True):
    """One engine speed of the ground run, with the band this aircraft should read there today (Pa)."""

    __test__ = False

    engine_rpm: float
    low_pa: float
    high_pa: float
    middle_pa: float
    note: str = ""
    exposes: tuple[str, ...] = ()
    """Causes, in words, that would put this reading outside its band."""


class GroundRunPlan(msgspec.Struct, frozen=True, kw_only=True):
    """What to read, and what this aircraft should read there today if it is sound."""

    points: tuple[TestPoint, ...]
    altitude_m: float
    temperature_k: float
    band_low_pa: float | None
    """The gauge's own band, as the aircraft's manual has it."""
    band_high_pa: float | None
    lamp_rpm_low: float | None
    lamp_rpm_high: float | None
    cautions: tuple[str, ...]
    basis: tuple[str, ...]
    latitude_deg: float | None = None
    cover_rpm: float | None = None
    """Where the cover test is done: the highest usual speed whose middle reading lies below the knee."""
    cover_below_pa: float | None = None
    """The test is done only while the gauge reads less than this."""
    lamp_exposes: tuple[str, ...] = ()
    plateau_rpm: float | None = None
    """From here on the gauge's own lower limit counts as well."""
    read_sd_pa: float = 0.0
    duty: str = "suction"
    gyros: tuple[str, ...] = ()
    has_autopilot: bool = False
    effective_rows: float = 0.0
    seed: int = 0
    hot: bool = False
    """A repeat of the sweep after the heat has soaked in: only the sweep is asked for."""


class GroundRunReading(msgspec.Struct, frozen=True, kw_only=True):
    """One thing read or seen in the run.

    ``what``: ``gauge`` (Pa, with ``engine_rpm`` and ``direction``), ``lamp out`` and ``lamp on`` (value in rpm),
    ``cover test`` (Pa with the intake covered, at ``engine_rpm``), ``erect`` (minutes), ``drift`` (degrees over
    ``minutes``, later minus earlier indication, at ``latitude_deg`` where it is not the home field's, moving east at
    ``eastward_knots`` on average), ``taxi turn`` (degrees), ``outlet``, ``drain``, ``autopilot``, ``disconnect``,
    ``standby``, ``cycle`` (``outcome`` in words, ``pass`` or ``fail``).
    """

    id: str
    what: str
    engine_rpm: float | None = None
    value: float | None = None
    outcome: str = ""
    direction: Literal["rising", "falling", "steady"] = "steady"
    minutes: float = 15.0
    latitude_deg: float | None = None
    eastward_knots: float = 0.0


class PointVerdict(msgspec.Struct, frozen=True, kw_only=True):
    what: str
    verdict: Verdict
    margin: str
    reading: str
    expected: str
    would_expose: str = ""


class GroundRunVerdict(msgspec.Struct, frozen=True, kw_only=True):
    """The whole run: fail when any point fails, not shown while any needed point is missing, else pass."""

    overall: Verdict
    points: tuple[PointVerdict, ...]
    remarks: tuple[str, ...]
