"""FAA handbooks for pilots and mechanics, as quoted in texts that were read; the handbook pages were not seen."""

from __future__ import annotations

from typing import Final

from vanewise.provenance import Source, Value
from vanewise.quantities import PA_PER_INHG

AIRFRAME_HANDBOOK: Final = Source("FAA airframe handbook, instrument systems", "as quoted in a text that was read")


def _band(inhg: float) -> Value:
    return Value(
        number=inhg * PA_PER_INHG,
        dimension="pressure",
        standing="published",
        source=AIRFRAME_HANDBOOK,
        spread=0.2 * PA_PER_INHG,
        spread_kind="absolute",
        seen="usual operating band 4.5 to 5.5 in. Hg",
        note="the arc on the gauge's face comes first",
    )


GAUGE_BAND_LOW: Final = _band(4.5)
GAUGE_BAND_HIGH: Final = _band(5.5)
