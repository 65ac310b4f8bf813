"""Numbers of the flow laws that are not the aircraft's own: friction, filters, pump passages, air temperatures."""

from __future__ import annotations

from typing import Final

from vanewise.provenance import JUDGEMENT, Source, Value

LAMINAR_TO_RE: Final = Value(
    number=2100.0,
    dimension="ratio",
    standing="common practice, no source",
    source=Source("text-book value of pipe flow"),
    note="laminar friction 64/Re up to here",
)
TURBULENT_FROM_KARMAN: Final = Value(
    number=800.0,
    dimension="ratio",
    standing="judgement",
    source=JUDGEMENT,
    note="Colebrook from here (Re about 4000 in a smooth tube); a straight link in between, so that flow always rises "
    "with the drop",
)
FRICTION_FLOOR: Final = Value(
    number=0.012,
    dimension="ratio",
    standing="judgement",
    source=JUDGEMENT,
    note="no line here has less friction; bounds how far the acceleration term may grow before the line would choke",
)
LARGEST_RELATIVE_ROUGHNESS: Final = Value(
    number=0.05,
    dimension="ratio",
    standing="common practice, no source",
    source=Source("usual range of the Colebrook formula"),
)
FILTER_LAMINAR_SHARE: Final = Value(
    number=0.5,
    dimension="ratio",
    standing="judgement",
    source=JUDGEMENT,
    spread=0.3,
    spread_kind="absolute",
    note="share of a filter's drop at its reference flow that is laminar (paper), the rest being its ports",
)
FILTER_MISSING_SHARE: Final = Value(
    number=0.05,
    dimension="ratio",
    standing="judgement",
    source=JUDGEMENT,
    note="resistance of the empty housing against the new element",
)
REGULATOR_FILTER_FLOW: Final = Value(
    number=0.0023597, dimension="flow", standing="judgement", source=JUDGEMENT, note="5 cfm"
)
REGULATOR_FILTER_DROP: Final = Value(
    number=170.0,
    dimension="pressure",
    standing="judgement",
    source=JUDGEMENT,
    spread=0.4,
    note="0.05 inHg through clean foam at that flow",
)
PUMP_OUTLET_AREA: Final = Value(
    number=120e-6,
    dimension="area",
    standing="judgement",
    source=JUDGEMENT,
    spread=0.3,
    note="outlet elbow of a 1/2 to 5/8 in fitting as an ideal jet",
)
AIR_HEAT_RATIO: Final = Value(
    number=1.4,
    dimension="ratio",
    standing="published",
    source=Source("isentropic flow of a perfect gas", "ratio of heat capacities of air"),
    note="temperature over pressure by T2/T1 = (p2/p1)^((k - 1)/k)",
)
PUMP_EFFICIENCY: Final = Value(
    number=0.6,
    dimension="ratio",
    standing="judgement",
    source=JUDGEMENT,
    spread=0.15,
    note="isentropic, of the air delivered: at the pressure ratio of a working system it leaves some 40 K hotter",
)
HOTTEST_DELIVERY_RATIO: Final = Value(
    number=2.0,
    dimension="ratio",
    standing="judgement",
    source=JUDGEMENT,
    note="of temperatures (K), outlet to inlet: with its outlet all but shut a dry pump does not live to be hotter",
)
OPEN_END_AREA_SHARE: Final = Value(
    number=0.8,
    dimension="ratio",
    standing="judgement",
    source=JUDGEMENT,
    spread=0.1,
    note="an open fitting or hose end as a share of its bore area",
)
CABIN_NOT_BELOW: Final = Value(
    number=288.15,
    dimension="K",
    standing="judgement",
    source=JUDGEMENT,
    spread=5.0,
    spread_kind="absolute",
    note="the cabin is as warm as outside, but heated to at least 15 C",
)
CHECK_VALVE_CRACKING_SHARE: Final = Value(
    number=0.2,
    dimension="ratio",
    standing="judgement",
    source=JUDGEMENT,
    spread=0.1,
    spread_kind="absolute",
    note="a flapper leaves its seat at this share of the difference that opens it fully",
)
