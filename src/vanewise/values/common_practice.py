"""Custom of the trade without a source that could be named."""

from __future__ import annotations

from typing import Final

from vanewise.provenance import COMMON_PRACTICE, Value
from vanewise.quantities import PA_PER_INHG

REGULATOR_SETTING: Final = Value(
    number=5.0 * PA_PER_INHG,
    dimension="pressure",
    standing="common practice, no source",
    source=COMMON_PRACTICE,
    spread=0.15 * PA_PER_INHG,
    spread_kind="absolute",
    note="the aircraft's own manual says",
)
REGULATOR_SET_AT_RPM: Final = Value(
    number=2400.0,
    dimension="rpm",
    standing="common practice, no source",
    source=COMMON_PRACTICE,
    spread=100.0,
    spread_kind="absolute",
    note="cruise, with warm oil",
)
