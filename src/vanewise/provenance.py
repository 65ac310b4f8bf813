"""Where a number comes from, beside the number."""

from __future__ import annotations

from typing import Literal

import msgspec

Standing = Literal[
    "published",
    "measured",
    "own manual",
    "as entered",
    "common practice, no source",
    "from memory",
    "judgement",
    "assumed",
]
"""``as entered``: the aircraft's own people gave the number without saying how they know it."""


class Source(msgspec.Struct, frozen=True):
    """A publication a reader can look up: title or number, and the table, page or section in it."""

    publication: str
    where: str = ""

    def __str__(self) -> str:
        return f"{self.publication}, {self.where}" if self.where else self.publication


COMMON_PRACTICE = Source("common practice, no source")
MEMORY = Source("from memory, not checked against a text")
JUDGEMENT = Source("judgement of the authors")
ASSUMED = Source("assumed")


class Value(msgspec.Struct, frozen=True, kw_only=True):
    """A number with its unit, spread and source. ``number`` is SI; ``spread`` is one standard deviation.

    ``spread_kind``: ``relative`` means a standard deviation of the logarithm, ``absolute`` is in the number's unit.
    """

    number: float
    dimension: str
    standing: Standing
    source: Source
    spread: float = 0.0
    spread_kind: Literal["relative", "absolute"] = "relative"
    seen: str = ""
    note: str = ""

    @property
    def is_assumed(self) -> bool:
        """True unless the aircraft's own people gave or measured it."""
        return self.standing not in ("measured", "own manual", "as entered")
