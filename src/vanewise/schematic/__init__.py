"""The system as a drawing: parts as shapes after ISO 1219-1, lines as they run, air going down the page.

The shapes follow the standard's idea; conformity with it is not claimed. Public: :func:`draw`, :class:`PartMark`,
:class:`LineMark`.
"""

from vanewise.schematic.drawing import Drawing, LineMark, PartMark, draw
from vanewise.schematic.graph import Box, Join, Placed, graph_of, place

__all__ = ["Box", "Drawing", "Join", "LineMark", "PartMark", "Placed", "draw", "graph_of", "place"]
