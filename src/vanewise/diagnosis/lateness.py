"""How late in its run of the engine a reading was taken, as far as the evidence tells.

What goes with warmth (ice in a line, water in a low loop) is all there at the start of a run and may be gone at its
end. Few write down the minute; but speeds are read on the way up before they are read on the way down, and cruise comes
after the run-up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from vanewise.diagnosis.types import Reading

UNKNOWN: Final = 0.5
"""A reading alone on the ground: somewhere in its run."""
WARMED: Final = 3.0
"""A reading of a warm engine, where others are said to be of a cold one: some run lengths after that one began, when
what goes with warmth has gone (judgement)."""
_ALOFT_M: Final = 150.0
"""So far above the field a reading is of a flight, with taxi, run-up and climb behind it."""


def occasion_of(reading: Reading) -> str:
    """Readings of one person, day and flight are of one occasion."""
    return f"{reading.when or ''}, {reading.flight}, {reading.who}"


def lateness(readings: Sequence[Reading], field_m: float) -> Mapping[str, float]:
    """Reading id -> 0 at the start of its run to 1 at the end; :data:`UNKNOWN` for one alone.

    Readings of one occasion are taken in the order cold before warm, rising before falling, each by engine speed.
    Where some of today's readings are of a cold engine, those of a warm one are :data:`WARMED`. A baseline read cold
    says nothing of today's.
    """
    told_cold = any(reading.warm is False and not reading.sound for reading in readings)
    runs: dict[tuple[str, str, bool, bool], list[Reading]] = {}
    for reading in readings:
        warmed = told_cold and bool(reading.warm)
        runs.setdefault((reading.instrument, occasion_of(reading), reading.sound, warmed), []).append(reading)
    found: dict[str, float] = {}
    for (*_, warmed), run in runs.items():
        order = sorted({_order(reading) for reading in run})
        for reading in run:
            if warmed:
                found[reading.id] = WARMED
            elif reading.altitude_m is not None and reading.altitude_m > field_m + _ALOFT_M:
                found[reading.id] = 1.0
            elif len(order) > 1:
                found[reading.id] = order.index(_order(reading)) / (len(order) - 1)
            else:
                found[reading.id] = 0.0 if reading.warm is False else UNKNOWN
    return found


def _order(reading: Reading) -> tuple[bool, bool, float]:
    falling = reading.direction == "falling"
    return bool(reading.warm), falling, -reading.engine_rpm if falling else reading.engine_rpm
