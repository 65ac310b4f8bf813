"""The system page (drawing and list), and the sweep."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django.http import HttpRequest, HttpResponse

from vanewise.aircraft.description import AircraftDescription, Line, Part
from vanewise.jobs import looking
from vanewise.jobs.casebook import open_book
from vanewise.network.sweep import SweepPoint
from vanewise.quantities import M_PER_IN, shown
from vanewise.web.schematic import LineMark, PartMark, draw
from vanewise.web.views.common import page


@dataclass(frozen=True)
class Row:
    """One part or line in the list form of the drawing."""

    id: str
    name: str
    kind: str
    number: int | None
    drop: str
    flow: str
    note: str


def system(request: HttpRequest, aircraft: str) -> HttpResponse:
    book = open_book(aircraft)
    description = book.description
    at = looking.conditions(description, request.GET.get("rpm", ""), request.GET.get("altitude", ""))
    point = looking.system_at(book.version.toml, at)
    marks, lines = pressure_marks(description, point)
    drawing = draw(description, parts=marks, lines=lines)
    context = {
        "drawing": drawing.svg,
        "rows": rows(description, point, dict(drawing.numbers)),
        "point": point,
        "at": at,
        "description": description,
        "assumed": len(description.assumed()),
        "show": "pressures",
    }
    return page(request, "system.html", book, "system", context)


def pressure_marks(
    description: AircraftDescription, point: SweepPoint
) -> tuple[dict[str, PartMark], dict[str, LineMark]]:
    """What the drawing says at each part and line: drop, load or flow, and the way the air goes."""
    seen = {part.id: part for part in point.parts}
    parts = {}
    for part in description.parts:
        text = _figures(part, seen.get(part.id), point)
        if text:
            parts[part.id] = PartMark(text=text, title=f"{part.label}: {', '.join(text)}")
    if point.gauge_inhg is not None:
        parts["panel gauge"] = PartMark(text=(f"{point.gauge_inhg:.1f} inHg",))
    lines = {}
    for line in description.lines:
        here = seen.get(line.id)
        flow = here.flow_cfm if here else None
        words = f"{line.label}" + (f", {abs(flow):.1f} cfm" if flow is not None else "")
        lines[line.id] = LineMark(flow=flow, title=words)
    return parts, lines


def _figures(part: Part, here: Any, point: SweepPoint) -> tuple[str, ...]:
    if part.id in point.drops_inhg:
        drop = f"{point.drops_inhg[part.id]:.1f} inHg"
        return (f"{drop}, {abs(here.flow_cfm):.1f} cfm",) if here and here.flow_cfm is not None else (drop,)
    if part.id in point.pump_load_inhg:
        load = f"{point.pump_load_inhg[part.id]:.1f} inHg load"
        return (load, f"{abs(here.flow_cfm):.1f} cfm") if here and here.flow_cfm is not None else (load,)
    if here is None or here.flow_cfm is None:
        return ()
    if part.kind == "regulator":
        return (f"{abs(here.flow_cfm):.1f} cfm",)
    if here.drop_inhg is None:
        return ()
    return (f"{abs(here.drop_inhg):.2f} inHg",)


def rows(description: AircraftDescription, point: SweepPoint, numbers: dict[str, int]) -> list[Row]:
    seen = {part.id: part for part in point.parts}
    out = []
    owners: list[Part | Line] = [*description.parts, *description.lines]
    for owner in owners:
        here = seen.get(owner.id)
        is_line = isinstance(owner, Line)
        drop = here.drop_inhg if here else None
        flow = here.flow_cfm if here else None
        out.append(
            Row(
                id=owner.id,
                name=owner.label,
                kind=owner.material if isinstance(owner, Line) else owner.kind,
                number=numbers.get(owner.id),
                drop="" if drop is None else f"{abs(drop):.2f} inHg",
                flow="" if flow is None else f"{abs(flow):.2f} cfm",
                note=_ends(description, owner) if isinstance(owner, Line) and is_line else "",
            )
        )
    return out


def _ends(description: AircraftDescription, line: Line) -> str:
    """From where to where, with bore and length."""
    labels = {part.id: part.label for part in description.parts}

    def end(port: str) -> str:
        part, _, name = port.partition(".")
        return f"{labels[part]}, {name.replace('_', ' ')}" if part in labels else port

    bore, length = line.values.get("bore"), line.values.get("length")
    size = [f"{inch_fraction(bore.number)} bore"] if bore else []
    size += [f"{length.number / M_PER_IN:.0f} in long"] if length else []
    return f"{end(line.start)} to {end(line.end)}" + (f"; {', '.join(size)}" if size else "")


def inch_fraction(length_m: float) -> str:
    """A bore as hoses are called: ``5/8 in``; in decimals where it is no sixteenth."""
    sixteenths = length_m / M_PER_IN * 16
    if abs(sixteenths - round(sixteenths)) > 0.02 or round(sixteenths) == 0:
        return shown(length_m, "length")
    return f"{Fraction(round(sixteenths), 16)} in"


def sweep(request: HttpRequest, aircraft: str) -> HttpResponse:
    book = open_book(aircraft)
    description = book.description
    at = looking.conditions(description, "", request.GET.get("altitude", ""))
    found = looking.sweep_of(book.version.toml, at.altitude_ft)
    return page(request, "sweep.html", book, "system", {"sweep": found, "at": at, "description": description})
