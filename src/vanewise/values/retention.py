"""How much of the debris that enters a part stays there. Judgement of the authors, used only to sort a list.

Nobody has published figures for carbon in these systems. Dust is what a pump sheds all the time, chips are pieces of a
vane.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from vanewise.provenance import JUDGEMENT, Value


def _share(number: float, note: str) -> Value:
    return Value(
        number=number,
        dimension="ratio",
        standing="judgement",
        source=JUDGEMENT,
        spread=0.5,
        note=f"sorting only: {note}",
    )


FILTER: Final[Mapping[str, tuple[Value, Value]]] = MappingProxyType(
    {
        "intact": (_share(0.98, "dust in a sound element"), _share(0.999, "chips in a sound element")),
        "unknown": (_share(0.90, "dust, nobody has looked"), _share(0.97, "chips, nobody has looked")),
        "breached": (_share(0.30, "dust past a bad seal"), _share(0.60, "chips past a bad seal")),
        "reversed": (_share(0.30, "dust, element the wrong way round"), _share(0.70, "chips, the wrong way round")),
        "absent": (_share(0.0, "no element"), _share(0.0, "no element")),
    }
)
"""By state found: share of dust and of chips that stays."""

OTHER: Final[Mapping[str, tuple[Value, Value]]] = MappingProxyType(
    {
        "hose": (_share(0.02, "dust film in a hose"), _share(0.20, "chips at the low bend")),
        "tube": (_share(0.01, "dust film in a tube"), _share(0.15, "chips at a bend")),
        "regulator": (_share(0.05, "dust on a seat"), _share(0.20, "chips in a chamber")),
        "manifold": (_share(0.02, "dust in a block"), _share(0.10, "chips in a block")),
        "check valve": (_share(0.02, "dust on a flap"), _share(0.20, "chips at a flap")),
        "restrictor": (_share(0.05, "dust at a restriction"), _share(0.80, "chips at a restriction")),
        "attitude indicator": (_share(0.30, "dust in a case"), _share(0.90, "chips in a case")),
        "heading indicator": (_share(0.30, "dust in a case"), _share(0.90, "chips in a case")),
        "turn indicator": (_share(0.30, "dust in a case"), _share(0.90, "chips in a case")),
        "pump": (_share(0.05, "dust through a pump"), _share(0.90, "chips in a pump")),
    }
)
"""By kind of part: share of dust and of chips that stays."""
