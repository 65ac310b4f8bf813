"""How much of the debris that enters a part stays there. Judgement of the authors, used only to sort a list.

Nobody has published figures for carbon in these systems. Dust is what a pump sheds all the time, chips are pieces of a
vane.
"""

from __future__ import annotations

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


FILTER: Final[dict[str, Value]] = {
    "intact, dust": _share(0.98, "dust in a sound element"),
    "intact, chips": _share(0.999, "chips in a sound element"),
    "unknown, dust": _share(0.90, "dust, nobody has looked"),
    "unknown, chips": _share(0.97, "chips, nobody has looked"),
    "breached, dust": _share(0.30, "dust past a bad seal"),
    "breached, chips": _share(0.60, "chips past a bad seal"),
    "reversed, dust": _share(0.30, "dust, element the wrong way round"),
    "reversed, chips": _share(0.70, "chips, the wrong way round"),
    "absent, dust": _share(0.0, "no element"),
    "absent, chips": _share(0.0, "no element"),
}
"""By state found and size: share that stays."""

OTHER: Final[dict[str, Value]] = {
    "hose, dust": _share(0.02, "dust film in a hose"),
    "hose, chips": _share(0.20, "chips at the low bend"),
    "tube, dust": _share(0.01, "dust film in a tube"),
    "tube, chips": _share(0.15, "chips at a bend"),
    "regulator, dust": _share(0.05, "dust on a seat"),
    "regulator, chips": _share(0.20, "chips in a chamber"),
    "manifold, dust": _share(0.02, "dust in a block"),
    "manifold, chips": _share(0.10, "chips in a block"),
    "check valve, dust": _share(0.02, "dust on a flap"),
    "check valve, chips": _share(0.20, "chips at a flap"),
    "restrictor, dust": _share(0.05, "dust at a restriction"),
    "restrictor, chips": _share(0.80, "chips at a restriction"),
    "attitude indicator, dust": _share(0.30, "dust in a case"),
    "attitude indicator, chips": _share(0.90, "chips in a case"),
    "heading indicator, dust": _share(0.30, "dust in a case"),
    "heading indicator, chips": _share(0.90, "chips in a case"),
    "turn indicator, dust": _share(0.30, "dust in a case"),
    "turn indicator, chips": _share(0.90, "chips in a case"),
    "pump, dust": _share(0.05, "dust through a pump"),
    "pump, chips": _share(0.90, "chips in a pump"),
}
"""By kind of part and size: share that stays."""
