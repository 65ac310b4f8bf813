"""Where every part and line of the drawing goes. The layout engine is behind one function, :func:`place`."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final, Literal

import msgspec

from vanewise.aircraft.description import AircraftDescription, Part

#: Width and height of a part: symbol beside its words, or above them where many parts stand side by side.
WIDE, NARROW = (150.0, 66.0), (112.0, 110.0)
BAR = (112.0, 48.0)
AIR, NARROW_AIR = (92.0, 34.0), (62.0, 40.0)
PANEL = (92.0, 66.0)
#: A telephone is 390 pixels wide; the page keeps 16 on either side.
PHONE_WIDTH = 358.0
#: A drawing this much wider is shrunk to fit; its words stay above 11 pixels.
WIDEST = PHONE_WIDTH * 1.08

#: Ports that air leaves by in normal running, whatever the duty; the rest are taken as the line is written.
OUT_PORTS: Final = frozenset({"outlet", "clean"})
IN_PORTS: Final = frozenset({"inlet", "dirty", "supply"})
SURROUNDINGS: Final = ("cabin", "engine bay")


class Box(msgspec.Struct, frozen=True, kw_only=True):
    """Something drawn as a box. ``part`` is empty for the air around and for the panel's gauge and lamp."""

    id: str
    width: float
    height: float
    part: str = ""
    label: str = ""
    role: Literal["part", "air", "gauge", "lamp", "gauge and lamp"] = "part"


class Join(msgspec.Struct, frozen=True, kw_only=True):
    """A line between two boxes, in the direction air takes in normal running."""

    source: str
    target: str
    line: str = ""
    role: Literal["line", "opening", "tap"] = "line"
    reversed: bool = False
    """True when the description writes this line the other way round."""
    meaning: str = ""
    """What a dashed line is, where its ends do not say it."""


class Placed(msgspec.Struct, frozen=True, kw_only=True):
    """Centres of the boxes and corners of the lines, in drawing units; one unit is one CSS pixel at full size."""

    centres: dict[str, tuple[float, float]]
    routes: tuple[tuple[tuple[float, float], ...], ...]
    """One per join, in order, from border to border."""
    width: float
    height: float
    crossings: int


def graph_of(description: AircraftDescription, *, narrow: bool = False) -> tuple[tuple[Box, ...], tuple[Join, ...]]:
    """Boxes and joins of a description: parts with ports, lines, the air at every opening, gauge and lamp."""
    boxes = [_box(part, narrow) for part in description.parts if part.kind != "autopilot"]
    joins: list[Join] = []
    for line in description.lines:
        start, end = _box_at(line.start, line.id, boxes), _box_at(line.end, line.id, boxes)
        turned = _runs_backwards(line.start, line.end)
        source, target = (end, start) if turned else (start, end)
        joins.append(Join(source=source, target=target, line=line.id, reversed=turned))
    for part in description.parts:
        for port, air in part.open.items():
            width, height = NARROW_AIR if narrow else AIR
            box = Box(id=f"{part.id}.{port} air", width=width, height=height, label=f"{air} air", role="air")
            boxes.append(box)
            dumps = part.kind == "regulator" and description.duty == "pressure"
            source, target = (part.id, box.id) if port in OUT_PORTS or dumps else (box.id, part.id)
            joins.append(Join(source=source, target=target, role="opening"))
    _add_sense_lines(description, boxes, joins)
    _add_panel(description, boxes, joins)
    return tuple(boxes), tuple(joins)


def _add_sense_lines(description: AircraftDescription, boxes: Sequence[Box], joins: list[Join]) -> None:
    """From where a regulator senses to the regulator, dashed as ISO 1219-1 draws a pilot line; none at its own port."""
    known = {box.id: box for box in boxes}
    for regulator in description.parts_of("regulator"):
        part, _, port = regulator.senses.partition(".")
        if part in known and part != regulator.id:
            meaning = f"{regulator.label} senses at {known[part].label}, {port}"
            # With the air, so that it bends the drawing least.
            source, target = (part, regulator.id) if description.duty == "suction" else (regulator.id, part)
            joins.append(Join(source=source, target=target, role="tap", meaning=meaning))


def _add_panel(description: AircraftDescription, boxes: list[Box], joins: list[Join]) -> None:
    """The gauge and the lamp, with a dashed line to each part they are connected to; as one box where they share."""
    known = {box.id for box in boxes}
    gauge = (description.gauge.high, description.gauge.low)
    lamp = (description.lamp.high, description.lamp.low) if description.lamp else None
    shared = lamp == gauge
    panel: list[tuple[Literal["gauge", "lamp", "gauge and lamp"], tuple[str, str]]] = [
        ("gauge and lamp" if shared else "gauge", gauge)
    ]
    if lamp and not shared:
        panel.append(("lamp", lamp))
    for role, taps in panel:
        boxes.append(Box(id=f"panel {role}", width=PANEL[0], height=PANEL[1], label=f"panel {role}", role=role))
        tapped = dict.fromkeys(tap.partition(".")[0] for tap in taps)
        joins.extend(Join(source=f"panel {role}", target=part, role="tap") for part in tapped if part in known)


def _box(part: Part, narrow: bool) -> Box:
    width, height = BAR if part.kind == "manifold" else NARROW if narrow else WIDE
    return Box(id=part.id, width=width, height=height, part=part.id, label=part.label)


def _box_at(port: str, line_id: str, boxes: list[Box]) -> str:
    """The box of a line's end; an end in the open gets a box of its own."""
    if port in SURROUNDINGS:
        box = Box(id=f"{line_id} air", width=AIR[0], height=AIR[1], label=f"to {port}", role="air")
        boxes.append(box)
        return box.id
    return port.partition(".")[0]


def _runs_backwards(start: str, end: str) -> bool:
    """True when the line is written against the flow its ports stand for."""
    first, last = start.partition(".")[2], end.partition(".")[2]
    return first in IN_PORTS or last in OUT_PORTS


def lay_out(description: AircraftDescription) -> tuple[tuple[Box, ...], tuple[Join, ...], Placed]:
    """The drawing's graph and its places: with wide parts where that fits a telephone, else with narrow ones."""
    boxes, joins = graph_of(description, narrow=False)
    placed = place(boxes, joins)
    if placed.width > WIDEST:
        boxes, joins = graph_of(description, narrow=True)
        placed = place(boxes, joins)
    return boxes, joins, placed


def place(boxes: Sequence[Box], joins: Sequence[Join]) -> Placed:
    """Lay the boxes out top to bottom with right-angled lines, none of which passes through a box.

    The engine reports a line through a box or two boxes overlapping itself; then the gaps are widened and it is laid
    out again. Raises RuntimeError when that does not help after four tries (not met in any generated graph).
    """
    import graphlay

    for gap in (1.0, 1.6, 2.4, 4.0):
        graph = graphlay.Graph()
        for box in boxes:
            graph.node(box.id, width=box.width, height=box.height)
        for join in joins:
            # A dashed tap may bend so that the air's own way stays straight.
            graph.edge(join.source, join.target, weight=0.2 if join.role == "tap" else 1.0)
        spacing = {
            "layer_gap": 42.0 * gap,
            "node_gap": 14.0 * gap,
            "dummy_gap": 14.0 * gap,
            "port_gap": 18.0,
            "edge_label_margin": 0.0,
            "isolated_gap": 14.0 * gap,
        }
        laid = graphlay.layout(
            graph, options={"direction": "topbottom", "spacing": spacing, "coords": {"branch_style": "symmetric"}}
        )
        metrics = laid.metrics()
        placed = _placed(boxes, laid, int(metrics["crossings"]))
        if not metrics["node_overlaps"] and not metrics["node_edge_hits"] and not lines_through_boxes(placed, boxes):
            return placed
    raise RuntimeError("no layout without a line through a box")


def _placed(boxes: Sequence[Box], laid: object, crossings: int) -> Placed:
    """The engine's answer moved so that the drawing starts at 0, 0."""
    nodes, edges = laid.nodes, laid.edges  # type: ignore[attr-defined]
    corners = [(point["x"], point["y"]) for edge in edges for point in edge["points"]]
    for node in nodes:
        half_w, half_h = node["size"]["width"] / 2, node["size"]["height"] / 2
        x, y = node["center"]["x"], node["center"]["y"]
        corners += [(x - half_w, y - half_h), (x + half_w, y + half_h)]
    left, top = min(x for x, _ in corners), min(y for _, y in corners)
    return Placed(
        centres={
            box.id: (round(node["center"]["x"] - left, 2), round(node["center"]["y"] - top, 2))
            for box, node in zip(boxes, nodes, strict=True)
        },
        routes=tuple(
            tuple((round(point["x"] - left, 2), round(point["y"] - top, 2)) for point in edge["points"])
            for edge in edges
        ),
        width=max(x for x, _ in corners) - left,
        height=max(y for _, y in corners) - top,
        crossings=crossings,
    )


def lines_through_boxes(placed: Placed, boxes: Sequence[Box]) -> tuple[tuple[int, str], ...]:
    """Which lines (by index) pass through the inside of which boxes. A line may touch the border of its own ends."""
    found = []
    for index, route in enumerate(placed.routes):
        for box in boxes:
            x, y = placed.centres[box.id]
            left, right = x - box.width / 2 + 1, x + box.width / 2 - 1
            top, bottom = y - box.height / 2 + 1, y + box.height / 2 - 1
            for (x1, y1), (x2, y2) in pairwise(route):
                if max(x1, x2) > left and min(x1, x2) < right and max(y1, y2) > top and min(y1, y2) < bottom:
                    found.append((index, box.id))
                    break
    return tuple(found)
