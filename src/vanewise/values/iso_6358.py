"""ISO 6358: how a pneumatic passage is described by a sonic conductance and a critical pressure ratio."""

from __future__ import annotations

from typing import Final

from vanewise.provenance import JUDGEMENT, Source, Value

FLOW_FORMULA: Final = Source("ISO 6358", "flow-rate characteristics of components using compressible fluids")

#: The critical ratio of an ideal nozzle in air is (2/(k+1))^(k/(k-1)) with k = 1.4.
IDEAL_NOZZLE_CRITICAL_RATIO: Final = Value(
    number=0.5282817877,
    dimension="ratio",
    standing="published",
    source=Source("isentropic flow of a perfect gas", "critical pressure ratio for k = 1.4"),
    note="with this b the ISO 6358 ellipse is within 0.3 % of the isentropic nozzle",
)

#: Mass flow of a choked ideal nozzle is K p0 A / sqrt(T0), with
#: K = sqrt(k/R) (2/(k+1))^((k+1)/(2(k-1))) for k = 1.4 and R = 287.05287.
CHOKED_FLOW_CONSTANT: Final = Value(
    number=0.04041469,
    dimension="s K^0.5/m",
    standing="published",
    source=Source("isentropic flow of a perfect gas", "choked mass flow, air"),
)

REFERENCE_DENSITY: Final = Value(
    number=1.185,
    dimension="kg/m3",
    standing="published",
    source=FLOW_FORMULA,
    note="reference atmosphere: 20 C, 100 kPa, 65 % relative humidity",
)
REFERENCE_TEMPERATURE: Final = Value(
    number=293.15, dimension="K", standing="published", source=FLOW_FORMULA, note="reference atmosphere: 20 C"
)

LINEAR_CORE_RATIO: Final = Value(
    number=0.999,
    dimension="ratio",
    standing="judgement",
    source=JUDGEMENT,
    note="above this pressure ratio flow is taken linear in the drop (100 Pa at sea level), as a laminar core; it "
    "keeps the slope finite at zero flow",
)
