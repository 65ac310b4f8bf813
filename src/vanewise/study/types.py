"""What a study asks: one aircraft, what is varied and how, and what is to be told of the outcome.

All numbers are SI (a state in the unit of its table). A study is data through and through: it can be written down,
sent to another machine, and gives the same answer there.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

import msgspec

from vanewise.aircraft.description import AircraftDescription
from vanewise.quantities import M3S_PER_CFM, PA_PER_INHG

DrawKind = Literal["uniform", "log uniform", "normal", "lognormal", "one of"]
Told = Literal["gauge", "lamp", "drops", "pump load", "flows"]
TOLD: Final[tuple[Told, ...]] = ("gauge", "lamp", "drops", "pump load", "flows")

RPM, ALTITUDE, TEMPERATURE, WARMER = "rpm", "altitude", "temperature", "warmer"
OPERATING: Final = (RPM, ALTITUDE, TEMPERATURE, WARMER)
"""Keys that say where and how fast, not what the system is: engine speed [rpm], pressure altitude [m], outside air [K],
and by how much the day is warmer than the standard one [K]."""

CHUNK: Final = 10_000
"""Scenarios worked out at a time, about: what memory holds, and what one worker is given."""
FURTHEST_SD: Final = 4.0
"""A normal or lognormal draw goes no further from its middle, in standard deviations: so its ends are known before."""

Unit = Literal["inHg", "cfm", "share"]
WIDTHS: Final[Mapping[Unit, float]] = MappingProxyType(
    {"inHg": 0.005 * PA_PER_INHG, "cfm": 0.005 * M3S_PER_CFM, "share": 1.0}
)
"""Width of the bins that outcomes are counted in, SI: quantiles are as fine as that."""
UNIT_SI: Final[Mapping[Unit, float]] = MappingProxyType({"inHg": PA_PER_INHG, "cfm": M3S_PER_CFM, "share": 1.0})


class Draw(msgspec.Struct, frozen=True, kw_only=True):
    """How one number is drawn.

    ``uniform`` and ``log uniform`` between ``low`` and ``high``; ``normal`` about ``middle`` with standard deviation
    ``spread``; ``lognormal`` about the median ``middle`` with ``spread`` of the logarithm, both cut off at ``low`` and
    ``high``; ``one of`` the ``values`` with their ``weights``. With ``chance`` below 1 it is drawn that often, and
    ``otherwise`` the rest of the time.
    """

    kind: DrawKind
    low: float = 0.0
    high: float = 0.0
    middle: float = 0.0
    spread: float = 0.0
    values: tuple[float, ...] = ()
    weights: tuple[float, ...] = ()
    chance: float = 1.0
    otherwise: float = 0.0

    @property
    def ends(self) -> tuple[float, float]:
        """The least and the largest number that can come out."""
        ends = (min(self.values), max(self.values)) if self.kind == "one of" else (self.low, self.high)
        return ends if self.chance >= 1.0 else (min(ends[0], self.otherwise), max(ends[1], self.otherwise))


class Varied(msgspec.Struct, frozen=True, kw_only=True):
    """A number drawn anew for every system; ``key`` as in a batch (``pump.slip``) or one of :data:`OPERATING`."""

    key: str
    draw: Draw


class Axis(msgspec.Struct, frozen=True, kw_only=True):
    """A number of which every value is tried with every system."""

    key: str
    values: tuple[float, ...]


class Study(msgspec.Struct, frozen=True, kw_only=True):
    """``draws`` systems, each at every point of the grid that the ``axes`` span. Axes of operating points come last."""

    title: str
    description: AircraftDescription
    seed: int
    draws: int
    axes: tuple[Axis, ...] = ()
    varied: tuple[Varied, ...] = ()
    unknowns: bool = False
    """Also draw every uncertain number of the description by its own spread, and the gauge's errors."""
    set_anew: bool = True
    """The regulator's spring is set on each system, sound and with its own numbers; else as on the one described."""
    told: tuple[Told, ...] = ("gauge", "drops", "pump load")
    by: tuple[str, ...] = ()
    """Keys of axes: outcomes are counted apart for each value of these."""
    needed_pa: float | None = None
    """What an instrument needs: drops below are counted."""
    rows: bool = False
    """Keep what came out of every single scenario."""

    @property
    def points(self) -> int:
        return math.prod(len(axis.values) for axis in self.axes)

    @property
    def count(self) -> int:
        """Scenarios."""
        return self.draws * self.points

    @property
    def operating_points(self) -> int:
        return math.prod(len(axis.values) for axis in self.axes if axis.key in OPERATING)

    @property
    def groups(self) -> int:
        return math.prod(len(axis.values) for axis in self.axes if axis.key in self.by)

    @property
    def chunk_size(self) -> int:
        """Scenarios in a chunk: whole systems at all operating points where that is possible."""
        each = self.operating_points
        return CHUNK if each > CHUNK else CHUNK // each * each

    @property
    def chunks(self) -> int:
        return -(-self.count // self.chunk_size)


def canonical(study: Study) -> bytes:
    """The study as one JSON text: the same bytes for equal studies. :func:`from_canonical` reads it back exactly."""
    return msgspec.json.encode(msgspec.json.decode(msgspec.json.encode(study), type=Study), order="sorted")


def from_canonical(text: bytes) -> Study:
    return msgspec.json.decode(text, type=Study)


def digest(study: Study) -> str:
    """SHA-256 of the canonical text, in hexadecimal."""
    return hashlib.sha256(canonical(study)).hexdigest()
