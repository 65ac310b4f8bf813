"""FAA Advisory Circular 43.13-1B, chapter 7: torque of nuts where nothing else is specified.

In-lb, oil-free cadmium-plated threads. A pump's or engine's own sheet overrides every row here.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

import msgspec

from vanewise.provenance import Source

TABLE_7_1: Final = Source("AC 43.13-1B, chapter 7", "table 7-1")
DRAG_RULE: Final = Source("AC 43.13-1B, chapter 7", "paragraph 7-40")

NutKind = Literal["tension", "shear"]


class TorqueRow(msgspec.Struct, frozen=True, kw_only=True):
    """Recommended range and highest allowed torque of one thread and kind of nut, in-lb. None: not printed there."""

    thread: str
    kind: NutKind
    low: float
    high: float
    highest: float | None


def _rows(
    thread: str,
    tension: tuple[float, float],
    shear: tuple[float, float],
    most: tuple[float, float] | None,
) -> tuple[TorqueRow, TorqueRow]:
    return (
        TorqueRow(thread=thread, kind="tension", low=tension[0], high=tension[1], highest=most[0] if most else None),
        TorqueRow(thread=thread, kind="shear", low=shear[0], high=shear[1], highest=most[1] if most else None),
    )


_TABLE: Final = (
    *_rows("8-36", (12, 15), (7, 9), (20, 12)),
    *_rows("10-32", (20, 25), (12, 15), (40, 25)),
    *_rows("1/4-28", (50, 70), (30, 40), (100, 60)),
    *_rows("5/16-24", (100, 140), (60, 85), (225, 140)),
    *_rows("3/8-24", (160, 190), (95, 110), (390, 240)),
    *_rows("7/16-20", (450, 500), (270, 300), (840, 500)),
    *_rows("1/2-20", (480, 690), (290, 410), (1100, 660)),
    *_rows("9/16-18", (800, 1000), (480, 600), (1600, 960)),
    *_rows("5/8-18", (1100, 1300), (600, 780), (2400, 1400)),
    *_rows("8-32", (12, 15), (7, 9), None),
    *_rows("10-24", (20, 25), (12, 15), (35, 21)),
    *_rows("1/4-20", (40, 50), (25, 30), (75, 45)),
    *_rows("5/16-18", (80, 90), (48, 55), (160, 100)),
    *_rows("3/8-16", (160, 185), (95, 100), (275, 170)),
)

ROWS: Final[Mapping[tuple[str, str], TorqueRow]] = MappingProxyType({(row.thread, row.kind): row for row in _TABLE})
"""By thread and kind of nut."""
