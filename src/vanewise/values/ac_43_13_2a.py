"""FAA Advisory Circular 43.13-2A, chapter 11: the published figures for instrument air.

The circular is cancelled and is used here as a handbook of examples. Its table prints no spread: the spreads below
are a judgement on how far one instrument differs from the next.
"""

from __future__ import annotations

from typing import Final

from vanewise.provenance import Source, Value
from vanewise.quantities import M3S_PER_CFM, PA_PER_INHG

TABLE_11_1: Final = Source("AC 43.13-2A, chapter 11", "table 11.1")
TABLE_11_2: Final = Source("AC 43.13-2A, chapter 11", "table 11.2")
_SPREAD_NOTE: Final = "spread between instruments is a judgement, the table prints none"


def _flow(cfm: float, what: str) -> Value:
    return Value(
        number=cfm * M3S_PER_CFM,
        dimension="flow",
        standing="published",
        source=TABLE_11_1,
        spread=0.10,
        seen=f"{what}: {cfm:.2f} CFM at sea level",
        note=_SPREAD_NOTE,
    )


def _drop(inhg: float, what: str) -> Value:
    return Value(
        number=inhg * PA_PER_INHG,
        dimension="pressure",
        standing="published",
        source=TABLE_11_1,
        seen=f"{what}: differential drop {inhg:.2f} in. Hg",
        note="the condition at which the flow is stated, so it has no spread of its own",
    )


ATTITUDE_FLOW: Final = _flow(2.30, "bank and pitch indicator")
ATTITUDE_DROP: Final = _drop(4.00, "bank and pitch indicator")
HEADING_FLOW: Final = _flow(1.30, "directional gyro indicator")
HEADING_DROP: Final = _drop(4.00, "directional gyro indicator")
TURN_FLOW: Final = _flow(0.50, "turn and bank indicator")
TURN_DROP: Final = _drop(2.00, "turn and bank indicator")

ELBOW_LENGTH_OVER_BORE: Final = Value(
    number=0.62 * 12.0 / 0.416,
    dimension="ratio",
    standing="published",
    source=TABLE_11_2,
    spread=0.15,
    seen="one 90 degree elbow in 1/2 in OD x 0.042 in tube counts as 0.62 ft of straight tube",
    note="0.62 ft over the 0.416 in bore of that tube; the one row of the table that was read",
)
