"""Numbers remembered from the trade and not checked against a text. Each is to be overwritten from a data sheet."""

from __future__ import annotations

from typing import Final

from vanewise.provenance import MEMORY, Value
from vanewise.quantities import PA_PER_INHG

PUMP_DRIVE_RATIO: Final = Value(
    number=1.3,
    dimension="ratio",
    standing="from memory",
    source=MEMORY,
    spread=0.05,
    note="1.3 to 1.5 on most engines, the engine's data sheet decides",
)
LAMP_TRIP: Final = Value(
    number=3.5 * PA_PER_INHG,
    dimension="pressure",
    standing="from memory",
    source=MEMORY,
    spread=0.2 * PA_PER_INHG,
    spread_kind="absolute",
    note="about 3.0 to 3.5 inHg; the aircraft's own manual says",
)
