"""The same drawing for paper: one SVG that carries its own style, in black and white, without links."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Final

from vanewise.aircraft.description import AircraftDescription
from vanewise.contamination import Scope
from vanewise.schematic.drawing import LineMark, PartMark, draw

STYLE_FILE: Final = Path(__file__).resolve().parent.parent / "web" / "static" / "css" / "schematic.css"
INK: Final = {
    "--paper": "#ffffff",
    "--card": "#ffffff",
    "--ink": "#000000",
    "--ink-soft": "#333333",
    "--rule": "#777777",
    "--rust": "#000000",
    "--blue": "#000000",
    "--sans": "DejaVu Sans",
}
TALLEST: Final = 1.1
"""Height over width of a drawing that still fits a page under its heading; a taller one gets room at its sides."""
_BOX: Final = re.compile(r'viewBox="([-\d.]+) ([-\d.]+) ([\d.]+) ([\d.]+)"')
_WIDTH: Final = re.compile(r'(<svg[^>]*?) width="[^"]*" height="[^"]*"')


@cache
def _style() -> str:
    """The page's own rules with their values written out; those for pressing and hovering left away."""
    rules = STYLE_FILE.read_text(encoding="utf-8")
    for name, value in INK.items():
        rules = rules.replace(f"var({name})", value)
    kept = [line for line in rules.splitlines() if ":hover" not in line and ":focus" not in line and "{" in line]
    return "\n".join(kept).replace(".schematic ", "")


def for_paper(svg: str) -> str:
    """A drawing of :func:`draw` as a document of its own: style inside, links as plain groups."""
    plain = re.sub(r'<a (class="[^"]*")[^>]*?( transform="[^"]*")?>', r"<g \1\2>", svg).replace("</a>", "</g>")
    plain = re.sub(r"<title>.*?</title>", "", plain)
    plain = _BOX.sub(_roomy, _WIDTH.sub(r"\1", plain), count=1)
    return plain.replace("<defs>", f"<style>{_style()}</style><defs>", 1)


def _roomy(box: re.Match[str]) -> str:
    x, y, width, height = (float(number) for number in box.groups())
    wider = max(width, height / TALLEST)
    return f'viewBox="{x - (wider - width) / 2:g} {y:g} {wider:g} {height:g}"'


def scope_for_paper(description: AircraftDescription, scope: Scope | None) -> str:
    """The air system with what is on the list of suspects marked, for a work package's first pages."""
    parts: dict[str, PartMark] = {}
    lines: dict[str, LineMark] = {}
    for suspect in scope.suspects if scope else ():
        parts[suspect.id], lines[suspect.id] = PartMark(sign="suspect"), LineMark(sign="suspect")
    if scope:
        parts[scope.source] = PartMark(sign="source")
    return for_paper(draw(description, parts=parts, lines=lines).svg)
