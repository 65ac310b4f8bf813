"""The system page (drawing and list), and the sweep."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal

from django.http import HttpRequest, HttpResponse

from vanewise.aircraft.description import AircraftDescription, Line, Part
from vanewise.aircraft.remarks import remarks
from vanewise.contamination import is_shielded
from vanewise.diagnosis.types import Cause
from vanewise.jobs import causes as causes_job
from vanewise.jobs import kinds, looking
from vanewise.jobs.casebook import Book, Report, item_of, open_book
from vanewise.jobs.evidence import baseline
from vanewise.jobs.tracing import scope_of
from vanewise.network.sweep import Sweep, SweepPoint, shape
from vanewise.quantities import M_PER_IN, PA_PER_INHG, shown, to_si
from vanewise.schematic import LineMark, PartMark, draw
from vanewise.store.journal import JournalEntry
from vanewise.web.plots import LEAST_INHG, Axis, Plot, Points, shown_plot, span
from vanewise.web.plots import Band as PlotBand
from vanewise.web.views.common import page
from vanewise.web.words import chance

SAME_RPM = 50.0
"""Readings within so many rpm of a predicted point stand in its row."""


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
    show = request.GET.get("show", "pressures")
    report = _report(book, request.GET.get("report", ""))
    if show == "causes":
        return _causes(request, book, report)
    if show == "contamination":
        return _contamination(request, book, report)
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
        "remarks": remarks(description),
        "show": "pressures",
    }
    return page(request, "system.html", book, "system", context)


def _report(book: Book, report_id: str) -> Report | None:
    """The report asked for, or the newest."""
    if report_id:
        return book.report(report_id)
    return book.reports[-1] if book.reports else None


def _in_a_box(words: str) -> tuple[str, ...]:
    """A chance in the lines of a part's box: 'more than 99 in 100' is wider than any box."""
    before, than, after = words.partition("than ")
    return (f"{before}than", after) if than else (words,)


def _causes(request: HttpRequest, book: Book, report: Report | None) -> HttpResponse:
    """The drawing with the chance that the source sits in each part."""
    description = book.description
    latest = causes_job.latest(book, report) if report else None
    places: dict[str, list[Cause]] = {}
    for cause in latest[0].causes if latest else ():
        if cause.part and cause.probability >= 0.01:
            places.setdefault(cause.part, []).append(cause)
    said = {}
    for place, causes in places.items():
        total = min(1.0, sum(cause.probability for cause in causes))
        said[place] = (chance(total), "; ".join(f"{cause.name}, {chance(cause.probability)}" for cause in causes))
    marks = {place: PartMark(text=_in_a_box(words), sign="cause", title=more) for place, (words, more) in said.items()}
    lines = {place: LineMark(sign="cause", title=more) for place, (_, more) in said.items()}
    drawing = draw(description, parts=marks, lines=lines)
    table = [
        Said(row.id, row.name, row.kind, row.number, row.note, said.get(row.id, ("", ""))[1])
        for row in plain_rows(description, drawing.numbers)
    ]
    elsewhere = [
        cause for cause in (latest[0].causes if latest else ()) if not cause.part and cause.probability >= 0.01
    ]
    context = {
        "drawing": drawing.svg,
        "rows": table,
        "show": "causes",
        "column": "What may sit there, and how likely as the source",
        "report": report,
        "answered": bool(latest),
        "elsewhere": elsewhere,
    }
    return page(request, "system.html", book, "system", context)


def _contamination(request: HttpRequest, book: Book, report: Report | None) -> HttpResponse:
    """The drawing with every suspect, what a wall shields, and what is not reached."""
    description = book.description
    scope = scope_of(book, report) if report else None
    marks: dict[str, PartMark] = {}
    lines: dict[str, LineMark] = {}
    said: dict[str, str] = {}
    if scope:
        for suspect in scope.suspects:
            said[suspect.id] = f"suspect: {suspect.reason}"
            marks[suspect.id] = PartMark(sign="suspect", title=suspect.reason)
            lines[suspect.id] = LineMark(sign="suspect", title=f"{suspect.label}, suspect: {suspect.reason}")
        for part, reason in scope.shielded:
            said[part] = reason if is_shielded(reason) else f"not reached: {reason}"
            marks[part] = PartMark(sign="shielded" if is_shielded(reason) else "not reached", title=reason)
        source = "the source of the debris"
        if scope.source not in scope.sources:
            source = "where the debris found can have come from"
        marks[scope.source] = PartMark(sign="source", title=source)
        said[scope.source] = source + (f"; {said[scope.source]}" if scope.source in said else "")
    drawing = draw(description, parts=marks, lines=lines)
    table = [
        Said(row.id, row.name, row.kind, row.number, row.note, said.get(row.id, ""))
        for row in plain_rows(description, drawing.numbers)
    ]
    context = {
        "drawing": drawing.svg,
        "rows": table,
        "show": "contamination",
        "column": "Reached by debris, and why",
        "report": report,
        "scope": scope,
    }
    return page(request, "system.html", book, "system", context)


@dataclass(frozen=True)
class Said:
    """One part or line in the list form of the other two drawings."""

    id: str
    name: str
    kind: str
    number: int | None
    note: str
    said: str


def plain_rows(description: AircraftDescription, numbers: Mapping[str, int]) -> list[Row]:
    """Every part and line without figures."""
    parts = [Row(part.id, part.label, part.kind, None, "", "", "") for part in description.parts]
    lines = [
        Row(line.id, line.label, line.material, numbers.get(line.id), "", "", _ends(description, line))
        for line in description.lines
    ]
    return [*parts, *lines]


def pressure_marks(
    description: AircraftDescription, point: SweepPoint
) -> tuple[dict[str, PartMark], dict[str, LineMark]]:
    """What the drawing says at each part and line: drop, load or flow, and the way the air goes."""
    seen = {part.id: part for part in point.parts}
    parts = {}
    for part in description.parts:
        text = _figures(part, seen.get(part.id), point)
        if text:
            parts[part.id] = PartMark(text=text)
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
    labels = description.labels()

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
    """Predicted band against what was read, with what would narrow the band most."""
    book = open_book(aircraft)
    description = book.description
    at = looking.conditions(description, "", request.GET.get("altitude", ""))
    found = looking.band_of(book.version.toml, at.altitude_ft)
    measured = read_so_far(book)
    bands = [(found, "")]
    if found.other_connection:
        bands = [(found, "gauge across an instrument"), (found.other_connection, "gauge against the cabin")]
    plots = []
    for number, (band, words) in enumerate(bands):
        plot = band_plot(description, band, measured, words)
        read = {"ring": "Rings", "dot": "Dots"}
        marks = " ".join(f"{read[group.mark]}: {group.label}." for group in measured)
        key = f"Shaded: 4 of 5 aircraft known as well as this one. {marks} Dashed: the band on the gauge."
        plots.append({"id": f"sweep{number}", "plot": shown_plot(plot, key), "rows": band_rows(band, measured)})
    context = {
        "plots": plots,
        "at": at,
        "band": found,
        "measured": measured,
        "shapes": _shapes(looking.sweep_at(book.version.toml, at.altitude_ft), measured),
        "lamp_out": looking.sweep_at(book.version.toml, at.altitude_ft).lamp_out_rpm,
    }
    return page(request, "sweep.html", book, "system", context)


def _shapes(predicted: Sweep, measured: list[Points]) -> list[dict[str, Any]]:
    """Reading at 1000 rpm, knee, plateau and slope: of the sound system, and of every sweep with enough readings."""
    found = [{"words": "sound, as described", "r1000": predicted.r1000_inhg, "shape": predicted.shape}]
    for group in measured:
        pairs = sorted(zip(group.x, group.y, strict=True))
        fitted = shape([x for x, _ in pairs], [y for _, y in pairs])
        near = [y for x, y in pairs if abs(x - 1000.0) < SAME_RPM]
        if fitted or near:
            found.append({"words": group.label, "r1000": near[0] if near else None, "shape": fitted})
    return found


def read_so_far(book: Book) -> list[Points]:
    """Panel readings in normal running: the baseline, and those of the newest report."""
    groups: list[tuple[str, Literal["ring", "dot"], tuple[JournalEntry, ...]]] = []
    groups.append(("believed sound", "ring", baseline(book)))
    if book.reports:
        newest = book.reports[-1]
        groups.append((f"report {newest.id}", "dot", newest.evidence))
    found = []
    for words, mark, entries in groups:
        items = [item_of(entry) for entry in entries if entry.kind == kinds.READING]
        plain = [item for item in items if not (item.get("high") or item.get("under"))]
        if plain:
            xs = tuple(to_si(str(item["rpm"]), "rpm", "rpm") for item in plain)
            ys = tuple(to_si(str(item["reading"]), "pressure", "reading") / PA_PER_INHG for item in plain)
            found.append(Points(x=xs, y=ys, label=words, mark=mark))
    return found


def band_plot(description: AircraftDescription, found: looking.Band, measured: list[Points], words: str) -> Plot:
    rpm = tuple(point.engine_rpm for point in found.points)
    low = tuple(point.low_pa / PA_PER_INHG for point in found.points)
    high = tuple(point.high_pa / PA_PER_INHG for point in found.points)
    gauge = description.gauge
    bounds = ((gauge.band_low, "band on the gauge, low"), (gauge.band_high, "band on the gauge, high"))
    limits = tuple((value.number / PA_PER_INHG, text) for value, text in bounds if value)
    ys = [*low, *high, *(level for level, _ in limits), *(y for group in measured for y in group.y)]
    bottom, top = span(ys, floor=0.0, least=LEAST_INHG)
    left, right = span([*rpm, *(x for group in measured for x in group.x)])
    return Plot(
        title="What the sound system would read" + (f", {words}" if words else ""),
        x=Axis(label="Engine speed", unit="rpm", low=left, high=right),
        y=Axis(label="Gauge", unit="inHg", low=bottom, high=top),
        band=PlotBand(
            x=rpm,
            low=low,
            high=high,
            middle=tuple(point.middle_pa / PA_PER_INHG for point in found.points),
            label="predicted",
        ),
        points=tuple(measured),
        limits=limits,
    )


def band_rows(found: looking.Band, measured: list[Points]) -> list[dict[str, Any]]:
    """The same as a table: each engine speed with its band, and what was read there."""
    rows = []
    for point in found.points:
        read = [
            (group.label, y)
            for group in measured
            for x, y in zip(group.x, group.y, strict=True)
            if abs(x - point.engine_rpm) < SAME_RPM
        ]
        rows.append({"point": point, "read": read})
    return rows
