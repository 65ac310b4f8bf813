"""Air volumes remembered from the trade and not checked against a text.

They are used only for the reach of the air that comes back through a stopped pump, where 30 % either way is assumed.
A part's own ``case_volume`` in the description comes first.
"""

from __future__ import annotations

from typing import Final

from vanewise.provenance import MEMORY, Value
from vanewise.quantities import M_PER_IN


def _volume(litres: float, note: str) -> Value:
    return Value(number=litres * 1e-3, dimension="volume", standing="from memory", source=MEMORY, spread=0.3, note=note)


GYRO_CASE: Final = _volume(0.7, "air inside one instrument case; remembered as 0.5 to 1.5 L each")
REGULATOR_CHAMBER: Final = _volume(0.05, "chamber of a suction regulator")
MANIFOLD: Final = _volume(0.02, "a tee block")
CHECK_VALVE: Final = _volume(0.01, "a check valve body")
FILTER_BODY: Final = _volume(0.15, "a filter housing")

TAP_LINE_LENGTH: Final = Value(
    number=1.0,
    dimension="length",
    standing="from memory",
    source=MEMORY,
    spread=0.3,
    note="gauge or lamp line, whose length no description asks for",
)
TAP_LINE_BORE: Final = Value(
    number=0.25 * M_PER_IN,
    dimension="length",
    standing="from memory",
    source=MEMORY,
    spread=0.1,
    note="gauge and other small lines are remembered as 1/4 in",
)
