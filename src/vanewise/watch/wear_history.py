"""All that is known of one pump."""

from __future__ import annotations

import msgspec

from vanewise.watch.types import WearReading
from vanewise.watch.wear_rates import Conditions, RateEvent, Span


class PumpHistory(msgspec.Struct, frozen=True, kw_only=True):
    """All that is known of one pump. Hours count from when this pump was new (or last overhauled with new vanes)."""

    hours_now: float
    conditions: Conditions
    readings: tuple[WearReading, ...] = ()
    earlier: tuple[Span, ...] = ()
    """Conditions that no longer hold, oldest first."""
    events: tuple[RateEvent, ...] = ()
    seen_means: str | None = None
    """``good`` or ``bad``: what it means at this pump's wear port that the vane's edge is seen. From its manual."""
    polarity_confirmed_by: str = ""
    """Name of the person who confirmed ``seen_means`` against the manual of this pump."""
    port_wear_fraction: float | None = None
    """Share of the allowance worn away when the edge comes to the hole; 1.0 where that is the limit itself."""
    running: bool = True
    entry_hours: float | None = None
    """Hours at which this pump came under watch, where its earlier life is unknown (late entry)."""
