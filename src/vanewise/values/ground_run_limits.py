"""What a gyro system is asked to show on the ground, where a text or the trade says so.

The aircraft's own manual overrides each. ``FAA Instrument Flying Handbook`` was read in quotation, not on its page.
"""

from __future__ import annotations

from typing import Final

from vanewise.provenance import COMMON_PRACTICE, Source, Value
from vanewise.quantities import PA_PER_INHG

_HANDBOOK: Final = Source("FAA Instrument Flying Handbook", "preflight of gyro instruments, as quoted in a text read")

ERECT_MINUTES: Final = Value(
    number=5.0,
    dimension="minutes",
    standing="published",
    source=_HANDBOOK,
    seen="allow 5 minutes after start for the attitude indicator to erect",
)
TAXI_TURN_DEG: Final = Value(
    number=5.0,
    dimension="angle",
    standing="published",
    source=_HANDBOOK,
    seen="horizon bar not more than 5 degrees out in taxi turns",
)
DRIFT_REST_DEG: Final = Value(
    number=3.0,
    dimension="angle",
    standing="common practice, no source",
    source=COMMON_PRACTICE,
    note="3 degrees in 15 minutes, here after the earth's share is taken out; no published source was found",
)
HYSTERESIS: Final = Value(
    number=0.2 * PA_PER_INHG,
    dimension="pressure",
    standing="common practice, no source",
    source=COMMON_PRACTICE,
    note="rising against falling at the same engine speed",
)
EARTH_RATE_DEG_H: Final = Value(
    number=15.0,
    dimension="ratio",
    standing="published",
    source=Source(
        "Flight Navigator Handbook", "apparent precession: 15 times the sine of the latitude, degrees an hour"
    ),
    seen="45 N: 10.61 deg/h; 30 N: 7.50 deg/h",
)
