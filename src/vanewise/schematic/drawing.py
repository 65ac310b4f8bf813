"""The drawing itself, as one SVG with a link for every part and line. Works in black and white."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Mapping
from html import escape
from itertools import pairwise
from typing import Literal

import msgspec

from vanewise.aircraft.description import AircraftDescription
from vanewise.schematic.graph import AIR, NARROW, WIDE, Box, Join, Placed, lay_out
from vanewise.schematic.symbols import shape

MARGIN = 6.0
LARGEST = 1.35
"""On a wide screen the drawing is shown this much larger than drawn."""
WIDEST = 400.0
"""Up to this width a drawing shrinks to a telephone's and its letters stay readable; a wider one is moved sideways."""
LETTER = 6.4
"""Mean width of a letter of the labels, in drawing units."""
FIGURE_LETTER = 5.5
"""The same for figures with their units."""

Sign = Literal["", "source", "suspect", "shielded", "not reached", "closed", "cause"]
"""``shielded``: a wall before it was looked at and holds. ``not reached``: nothing leads there."""


class PartMark(msgspec.Struct, frozen=True, kw_only=True):
    """What is written at a part: up to two short lines of figures and a sign; ``title`` is read out after them."""

    text: tuple[str, ...] = ()
    sign: Sign = ""
    title: str = ""


class LineMark(msgspec.Struct, frozen=True, kw_only=True):
    """How a line is drawn: a suspect one is hatched; ``flow`` below zero turns its arrow against the written way."""

    sign: Sign = ""
    flow: float | None = None
    title: str = ""


class Drawing(msgspec.Struct, frozen=True, kw_only=True):
    svg: str
    width: float
    height: float
    numbers: Mapping[str, int]
    """The number drawn at each line, by line id."""


def draw(
    description: AircraftDescription,
    *,
    parts: Mapping[str, PartMark] = {},
    lines: Mapping[str, LineMark] = {},
    link: Callable[[str], str] = lambda owner: f"#{owner}",
    title: str = "",
) -> Drawing:
    """The schematic of ``description``. ``link`` gives the address of a part or line; a mark is looked up by its id."""
    boxes, joins, placed = lay_out(description)
    numbers = {line.id: index for index, line in enumerate(description.lines, start=1)}
    kinds = {part.id: part.kind for part in description.parts}
    labels = description.labels()
    tubes = {line.id for line in description.lines if line.material == "tube"}
    out = [_head(placed, title or f"Air system of {description.name}")]
    out += [_route(join, route, lines) for join, route in zip(joins, placed.routes, strict=True)]
    out += [
        _number(join, route, numbers, labels, tubes, lines, link)
        for join, route in zip(joins, placed.routes, strict=True)
        if join.line
    ]
    out += [_box(box, placed, kinds, parts, link) for box in boxes]
    out.append("</svg>")
    return Drawing(
        svg="".join(out), width=placed.width + 2 * MARGIN, height=placed.height + 2 * MARGIN, numbers=numbers
    )


def _head(placed: Placed, title: str) -> str:
    width, height = placed.width + 2 * MARGIN, placed.height + 2 * MARGIN
    return (
        f'<svg class="schematic{" wide" if width > WIDEST else ""}" role="group" aria-label="{escape(title)}" '
        f'xmlns="http://www.w3.org/2000/svg" '
        f'viewBox="{-MARGIN:g} {-MARGIN:g} {width:g} {height:g}" '
        f'width="{width * LARGEST:g}" height="{height * LARGEST:g}">'
        '<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<rect width="6" height="6" class="hatch-ground"/><path d="M0 0v6" class="hatch-line"/></pattern></defs>'
    )


def _route(join: Join, route: tuple[tuple[float, float], ...], marks: Mapping[str, LineMark]) -> str:
    mark = marks.get(join.line, LineMark())
    path = "M" + "L".join(f"{x:g} {y:g}" for x, y in route)
    sign = f" {_class(mark.sign)}" if mark.sign else ""
    told = f"<title>{escape(join.meaning)}</title>" if join.meaning else ""
    drawn = f'<path class="run {join.role}{sign}" d="{path}">{told}</path>'
    if mark.sign == "suspect":
        # A second, dotted stroke on top, so that a suspect line differs without colour.
        drawn += f'<path class="run-dots" d="{path}"/>'
    if join.role == "tap":
        return drawn
    return drawn + _arrow(join, route, mark)


def _arrow(join: Join, route: tuple[tuple[float, float], ...], mark: LineMark) -> str:
    """An open triangle a little before the end of the line, the way the air goes."""
    forward = route
    against = mark.flow is not None and (mark.flow < 0) != join.reversed
    if against:
        forward = tuple(reversed(route))
    (x1, y1), (x2, y2) = forward[-2], forward[-1]
    length = max(abs(x2 - x1) + abs(y2 - y1), 1e-9)
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    tip = (x2 - ux * 1.5, y2 - uy * 1.5)
    back = (tip[0] - ux * 9, tip[1] - uy * 9)
    across = (-uy * 4.5, ux * 4.5)
    corners = (tip, (back[0] + across[0], back[1] + across[1]), (back[0] - across[0], back[1] - across[1]))
    points = " ".join(f"{x:g},{y:g}" for x, y in corners)
    still = " still" if mark.flow == 0 else ""
    return f'<polygon class="arrow{still}" points="{points}"/>'


def _number(
    join: Join,
    route: tuple[tuple[float, float], ...],
    numbers: Mapping[str, int],
    labels: Mapping[str, str],
    tubes: set[str],
    marks: Mapping[str, LineMark],
    link: Callable[[str], str],
) -> str:
    """The line's number in a ring (hose) or a square (tube), on its longest stretch clear of the arrow."""
    (x1, y1), (x2, y2) = max(
        pairwise(route), key=lambda ends: abs(ends[0][0] - ends[1][0]) + abs(ends[0][1] - ends[1][1])
    )
    last = (x2, y2) == route[-1]
    share = 0.34 if last else 0.5
    x, y = x1 + (x2 - x1) * share, y1 + (y2 - y1) * share
    mark = marks.get(join.line, LineMark())
    words = f"{numbers[join.line]}: {mark.title or labels[join.line]}"
    ring = '<rect x="-9" y="-9" width="18" height="18"/>' if join.line in tubes else '<circle r="9.5"/>'
    return (
        f'<a class="line-number {_class(mark.sign)}" href="{escape(link(join.line))}" aria-label="{escape(words)}" '
        f'transform="translate({x:g} {y:g})">'
        f'<circle r="16" class="touch"/>{ring}<text y="4">{numbers[join.line]}</text></a>'
    )


def _box(
    box: Box,
    placed: Placed,
    kinds: Mapping[str, str],
    marks: Mapping[str, PartMark],
    link: Callable[[str], str],
) -> str:
    x, y = placed.centres[box.id]
    place = f'transform="translate({x:g} {y:g})"'
    if box.role == "air":
        rows = _rows(box.label, 9.0) if box.width < AIR[0] else [box.label]
        first = 4 - 8 * (len(rows) - 1)
        texts = (f'<text class="air" {place} y="{first + 16 * n}">{escape(row)}</text>' for n, row in enumerate(rows))
        return "".join(texts)
    if not box.part:
        return _panel(box, place, marks.get("panel gauge", PartMark()))
    kind, mark = kinds[box.part], marks.get(box.part, PartMark())
    seen = [box.label, *mark.text[: 1 if kind == "manifold" else 2], _SIGNS[mark.sign]]
    words = " ".join(text for text in seen if text) + (f": {mark.title}" if mark.title else "")
    body = _bar(box, mark) if kind == "manifold" else _part(box, kind, mark)
    return (
        f'<a class="part {_class(mark.sign)}" href="{escape(link(box.part))}" aria-label="{escape(words)}" {place}>'
        f'<rect class="frame" x="{-box.width / 2:g}" y="{-box.height / 2:g}" width="{box.width:g}" '
        f'height="{box.height:g}" rx="3"/>{body} {_sign(box, mark)}</a>'
    )


def _part(box: Box, kind: str, mark: PartMark) -> str:
    if (box.width, box.height) == NARROW:
        rows = _rows(box.label, (box.width - 8) / LETTER)
        figures = _figures(mark, (box.width - 8) / FIGURE_LETTER)
        return f'<g class="shape" transform="translate(0 -30)">{shape(kind)}</g>' + _words(
            0, 4, rows, figures, "middle"
        )
    rows = _rows(box.label, (WIDE[0] - 54) / LETTER)
    figures = _figures(mark, (WIDE[0] - 54) / FIGURE_LETTER)
    top = -6.5 * (len(rows) + len(figures) - 1) + 4
    return f'<g class="shape" transform="translate({-box.width / 2 + 28:g} 0)">{shape(kind)}</g>' + _words(
        -box.width / 2 + 52, top, rows, figures, "start"
    )


def _bar(box: Box, mark: PartMark) -> str:
    figures = list(mark.text[:1])
    # The sign sits on the top edge; a bar is low, so that its label gives way downwards.
    lower = 5 if _SIGNS.get(mark.sign) else 0
    line = f'<g class="shape" transform="translate(0 {lower})">{shape("manifold")}</g>'
    label = _words(0, -8 + lower, [box.label], [], "middle")
    return line + label + " " + _words(0, 17 + lower / 2, [], figures, "middle")


def _panel(box: Box, place: str, mark: PartMark) -> str:
    shapes = '<g class="shape" transform="translate(0 -12)">' + shape("gauge") + "</g>"
    if box.role == "lamp":
        shapes = '<g class="shape" transform="translate(0 -12)">' + shape("lamp") + "</g>"
    elif box.role == "gauge and lamp":
        shapes = (
            '<g class="shape" transform="translate(-20 -12)">' + shape("gauge") + "</g>"
            '<g class="shape" transform="translate(18 -12)">' + shape("lamp") + "</g>"
        )
    words = mark.text[0] if mark.text and box.role != "lamp" else box.label.removeprefix("panel ")
    return (
        f'<g class="panel" {place}>{shapes}<text class="figure" y="24" text-anchor="middle">{escape(words)}</text></g>'
    )


def _rows(label: str, letters: float) -> list[str]:
    """The label on at most two lines."""
    return textwrap.wrap(label, max(8, int(letters)), max_lines=2, placeholder="…") or [""]


def _figures(mark: PartMark, letters: float) -> list[str]:
    """What is told of a part, on at most two lines: two figures, or one long one wrapped."""
    return [row for text in mark.text[:2] for row in _rows(text, letters)][:2]


def _words(x: float, y: float, rows: list[str], figures: list[str], anchor: str) -> str:
    out = []
    for kind, texts in (("label", rows), ("figure", figures)):
        for text in texts:
            out.append(f'<text class="{kind}" x="{x:g}" y="{y:g}" text-anchor="{anchor}">{escape(text)}</text>')
            y += 13.5
    # The space keeps the words apart for whoever reads the drawing aloud.
    return " ".join(out)


_SIGNS: Mapping[str, str] = {
    "source": "source",
    "suspect": "suspect",
    "shielded": "shielded",
    "not reached": "not reached",
    "closed": "closed",
    "cause": "",
    "": "",
}


def _class(sign: Sign) -> str:
    """A sign as one class of the style sheet."""
    return sign.replace(" ", "-")


def _sign(box: Box, mark: PartMark) -> str:
    """A word on the frame's top left, clear of where lines come in, so that nothing hangs on colour."""
    word = _SIGNS[mark.sign]
    if not word:
        return ""
    width = len(word) * LETTER + 10
    x, y = -box.width / 2 - 4, -box.height / 2
    return (
        f'<g class="sign" transform="translate({x:g} {y:g})"><rect y="-8" width="{width:g}" height="16" rx="2"/>'
        f'<text x="{width / 2:g}" y="4" text-anchor="middle">{word}</text></g>'
    )
