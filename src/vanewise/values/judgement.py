"""Judgements of the authors: where nothing published was found. Each is an example, wide, and to be replaced.

The pump and regulator numbers were chosen together so that the ready-made layouts give the shape of a sweep that the
trade describes: about 3 inHg at 1000 rpm, a knee near 1300 rpm, a plateau sloping by about half an inch to 2400 rpm.
"""

from __future__ import annotations

from typing import Final, Literal

from vanewise.provenance import JUDGEMENT, Value
from vanewise.quantities import to_si


def _judged(
    text: str,
    dimension: str,
    spread: float,
    note: str,
    spread_kind: Literal["relative", "absolute"] = "relative",
) -> Value:
    return Value(
        number=to_si(text, dimension, note),
        dimension=dimension,
        standing="judgement",
        source=JUDGEMENT,
        spread=spread,
        spread_kind=spread_kind,
        note=note,
    )


PUMP_DISPLACEMENT: Final = _judged(
    "5.7 in3",
    "volume",
    0.18,
    "small dry pump; the trade remembers 4 to 6 cubic inches a turn, and what lies evenly between them is off"
    " this by so much (root of the mean square of the logarithm)",
)
PUMP_VOLUMETRIC_EFFICIENCY: Final = _judged("0.95", "ratio", 0.03, "leakage is counted apart")
PUMP_SLIP_AREA: Final = _judged(
    "1.35 mm2",
    "area",
    0.30,
    "chosen with the displacement, so that a sound small system reads about 3 inHg at 1000 rpm",
)

REGULATOR_DROOP: Final = _judged("3.0 inHg", "pressure", 0.25, "sets how much the plateau slopes")
REGULATOR_FLOW_AREA: Final = _judged("60 mm2", "area", 0.25, "chosen with the droop")

INTAKE_FILTER_FLOW: Final = _judged("4.1 cfm", "flow", 0.0, "the air of attitude, heading and turn together")
INTAKE_FILTER_DROP: Final = _judged("0.2 inHg", "pressure", 0.40, "a new pleated cartridge")
INLINE_FILTER_FLOW: Final = _judged("4.1 cfm", "flow", 0.0, "the air of attitude, heading and turn together")
INLINE_FILTER_DROP: Final = _judged("0.3 inHg", "pressure", 0.40, "a new inline cartridge")
INLET_FILTER_FLOW: Final = _judged("9.0 cfm", "flow", 0.0, "about the air a small pump takes in cruise")
INLET_FILTER_DROP: Final = _judged("0.2 inHg", "pressure", 0.40, "a new foam or paper pump inlet filter")

CHECK_VALVE_FLOW_AREA: Final = _judged("100 mm2", "area", 0.25, "passage of an open flapper in a 1/2 to 5/8 in line")
CHECK_VALVE_OPENING: Final = _judged("0.1 inHg", "pressure", 0.40, "a rubber flapper")
RESTRICTOR_AREA: Final = _judged(
    "2.0 mm2", "area", 0.15, "leaves about 2 inHg of a 5 inHg supply at a turn indicator that uses 0.50 cfm"
)

STANDBY_PUMP_FLOW: Final = _judged(
    "5.0 cfm", "flow", 0.20, "a dry pump on a motor, sized to drive two gyros and no more"
)
STANDBY_PUMP_SLIP_AREA: Final = _judged("0.8 mm2", "area", 0.30, "chosen with its flow")
INTAKE_PRESSURE: Final = _judged(
    "18.0 inHg", "pressure", 3.0, "an engine throttled back for the standby source; read yours", "absolute"
)
INTAKE_SOURCE_AREA: Final = _judged("40 mm2", "area", 0.30, "passage of a selector and its 3/8 in line")
BOOTS_FLOW_AREA: Final = _judged("8.0 mm2", "area", 0.40, "what a set of boots takes while it fills")
DOOR_SEAL_LEAKAGE: Final = _judged("0.3 mm2", "area", 0.50, "what a sound seal leaks when it is full")
BOOTS_RELIEF_SETTING: Final = _judged("18 psi", "pressure", 0.08, "boots are of the 15 to 20 psi class, from memory")
BOOTS_RELIEF_BAND: Final = _judged("2.0 psi", "pressure", 0.30, "from just open to full lift")
BOOTS_RELIEF_AREA: Final = _judged("60 mm2", "area", 0.30, "passes a small pump's whole flow")
BOOTS_VALVE_AREA: Final = _judged("120 mm2", "area", 0.30, "passage overboard while the boots rest")

LINE_LENGTH: Final = _judged("0.6 m", "length", 0.30, "a hose behind the panel; measure yours")
LINE_BORE: Final = _judged("3/8 in", "length", 0.05, "the usual instrument hose")
LINE_ELBOWS: Final = _judged("1", "ratio", 0.7, "count yours, elbow fittings included", "absolute")
LINE_ROUGHNESS: Final = _judged("0.0015 mm", "length", 0.70, "drawn tube or smooth hose liner")

GAUGE_BIAS_SD: Final = _judged("0.15 inHg", "pressure", 0.0, "a panel gauge that nobody has compared")
GAUGE_SCALE_SD: Final = _judged("0.02", "ratio", 0.0, "a panel gauge that nobody has compared")
GAUGE_FAR_OFF_SHARE: Final = _judged("0.1", "ratio", 0.5, "panel gauges nobody has compared that are off by far more")
GAUGE_FAR_OFF_SD: Final = _judged("0.5 inHg", "pressure", 0.3, "how far those are off")
GAUGE_READ_SD: Final = _judged("0.06 inHg", "pressure", 0.0, "a small dial read in a shaking panel")

IDLE_RPM: Final = _judged("700 rpm", "rpm", 50.0, "an example", "absolute")
RUN_UP_RPM: Final = _judged("1800 rpm", "rpm", 50.0, "an example", "absolute")
CRUISE_RPM: Final = _judged("2400 rpm", "rpm", 50.0, "an example", "absolute")
MAX_RPM: Final = _judged("2700 rpm", "rpm", 50.0, "an example", "absolute")
FIELD_ELEVATION: Final = _judged("500 ft", "altitude", 150.0, "an example", "absolute")

HIGHEST_STOP: Final = _judged(
    "25000 ft",
    "altitude",
    0.0,
    "height a pump is taken to have stopped at while nobody has said: few piston aircraft with a dry pump fly higher,"
    " and the reach of the back-fill grows with height",
)
