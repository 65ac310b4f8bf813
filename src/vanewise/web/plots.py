"""Plots drawn on the server as SVG: whole without scripts, in print and in black and white.

The same figures go to the page as data, from which a script may draw a plot to touch in its place; a table of the
values always stands beside. Measured points are rings or dots, the prediction a band with its middle, limits dashed.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from html import escape
from typing import Any, Final, Literal

import msgspec

WIDTH, HEIGHT = 520.0, 340.0
LEFT, RIGHT, TOP, BOTTOM = 62.0, 16.0, 16.0, 52.0


class Axis(msgspec.Struct, frozen=True, kw_only=True):
    label: str
    unit: str
    low: float
    high: float
    dates: bool = False
    """True when the values are days (proleptic ordinals)."""


class Band(msgspec.Struct, frozen=True, kw_only=True):
    """A predicted band over ``x``; ``middle`` may be left out."""

    x: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    middle: tuple[float, ...] = ()
    label: str = "predicted"


class Points(msgspec.Struct, frozen=True, kw_only=True):
    x: tuple[float, ...]
    y: tuple[float, ...]
    label: str = "measured"
    mark: Literal["ring", "dot"] = "ring"


class Curve(msgspec.Struct, frozen=True, kw_only=True):
    x: tuple[float, ...]
    y: tuple[float, ...]
    label: str
    dashed: bool = False


class Plot(msgspec.Struct, frozen=True, kw_only=True):
    """One plot. ``limits`` are level lines, each with its words."""

    title: str
    x: Axis
    y: Axis
    band: Band | None = None
    curves: tuple[Curve, ...] = ()
    points: tuple[Points, ...] = ()
    limits: tuple[tuple[float, str], ...] = ()
    marks: tuple[tuple[float, str], ...] = ()
    """Upright lines at an x, each with its words."""
    digits: int = 1


LEAST_INHG: Final = 1.0
"""Least range of pressure that a plot shows: a dead supply is a line at nothing and no mountain of rounding."""


def ticks(low: float, high: float, most: int = 7) -> list[float]:
    """Round numbers from low to high, at most ``most`` of them."""
    span = max(high - low, 1e-9)
    raw = span / most
    power = 10 ** math.floor(math.log10(raw))
    step = next(power * factor for factor in (1, 2, 2.5, 5, 10) if power * factor >= raw)
    first = math.ceil(low / step - 1e-9)
    return [step * number for number in range(first, math.floor(high / step + 1e-9) + 1)]


def span(
    values: Sequence[float], *, floor: float | None = None, margin: float = 0.06, least: float = 0.0
) -> tuple[float, float]:
    """Low and high of some values with a margin, never below ``floor``, and at least ``least`` apart before it."""
    finite = [value for value in values if math.isfinite(value)] or [0.0, 1.0]
    low, high = min(finite), max(finite)
    high = max(high, low + least)
    room = (high - low or abs(high) or 1.0) * margin
    return (low - room if floor is None else max(floor, low - room)), high + room


def svg(plot: Plot) -> str:
    """The plot as one SVG with its title for screen readers."""
    frame = _Frame(plot)
    box = f"0 0 {WIDTH:g} {HEIGHT:g}"
    head = f'<svg viewBox="{box}" role="img" aria-label="{escape(plot.title)}" xmlns="http://www.w3.org/2000/svg">'
    out = [head, *_grid(plot, frame)]
    if plot.band:
        out += _band(plot.band, frame)
    for number, curve in enumerate(plot.curves):
        out.append(f'<path class="{"limit" if curve.dashed else "middle"}" d="{frame.path(curve.x, curve.y)}"/>')
        out.append(_words_at_end(frame, curve.x[-1], curve.y[-1], curve.label, below=number > 0))
    for level, words in plot.limits:
        if plot.y.low <= level <= plot.y.high:
            y = frame.y(level)
            out.append(f'<path class="limit" d="M{LEFT:g} {y:.1f}H{WIDTH - RIGHT:g}"/>')
            out.append(f'<text x="{LEFT + 6:g}" y="{y - 4:.1f}">{escape(words)}</text>')
    for place, words in plot.marks:
        if plot.x.low <= place <= plot.x.high:
            x = frame.x(place)
            end = x > WIDTH * 0.6
            out.append(f'<path class="limit" d="M{x:.1f} {TOP:g}V{HEIGHT - BOTTOM:g}"/>')
            out.append(
                f'<text x="{x + (-6 if end else 6):.1f}" y="{TOP + 12:g}" text-anchor="{"end" if end else "start"}">'
                f"{escape(words)}</text>"
            )
    for points in plot.points:
        for x, y in zip(points.x, points.y, strict=True):
            a, b = frame.x(x), frame.y(y)
            out.append(f'<circle class="point {points.mark}" cx="{a:.1f}" cy="{b:.1f}" r="5.5"/>')
    out.append("</svg>")
    return "".join(out)


class _Frame:
    """From numbers to places in the drawing."""

    def __init__(self, plot: Plot) -> None:
        self._x, self._y = plot.x, plot.y

    def x(self, value: float) -> float:
        return LEFT + (value - self._x.low) / (self._x.high - self._x.low) * (WIDTH - LEFT - RIGHT)

    def y(self, value: float) -> float:
        inside = min(max(value, self._y.low), self._y.high)
        return HEIGHT - BOTTOM - (inside - self._y.low) / (self._y.high - self._y.low) * (HEIGHT - TOP - BOTTOM)

    def path(self, x: Sequence[float], y: Sequence[float]) -> str:
        return "M" + "L".join(f"{self.x(a):.1f} {self.y(b):.1f}" for a, b in zip(x, y, strict=True))


def _grid(plot: Plot, frame: _Frame) -> list[str]:
    out = []
    for value in ticks(plot.y.low, plot.y.high, 6):
        y = frame.y(value)
        out.append(f'<path class="grid" d="M{LEFT:g} {y:.1f}H{WIDTH - RIGHT:g}"/>')
        out.append(f'<text x="{LEFT - 8:g}" y="{y + 4.5:.1f}" text-anchor="end">{value:g}</text>')
    for value, words in _upright(plot.x):
        x = frame.x(value)
        out.append(f'<path class="grid" d="M{x:.1f} {TOP:g}V{HEIGHT - BOTTOM:g}"/>')
        # A number at the right edge would be cut in the middle.
        last = x > WIDTH - RIGHT - 4.0 * len(words)
        out.append(
            f'<text x="{WIDTH - 2 if last else x:.1f}" y="{HEIGHT - BOTTOM + 18:g}" '
            f'text-anchor="{"end" if last else "middle"}">{words}</text>'
        )
    out.append(f'<path class="axis" d="M{LEFT:g} {TOP:g}V{HEIGHT - BOTTOM:g}H{WIDTH - RIGHT:g}"/>')
    middle = (LEFT + WIDTH - RIGHT) / 2
    out.append(
        f'<text x="{middle:g}" y="{HEIGHT - 10:g}" text-anchor="middle">{escape(plot.x.label)} '
        + (f"({escape(plot.x.unit)})</text>" if plot.x.unit else "</text>")
    )
    upright = (TOP + HEIGHT - BOTTOM) / 2
    out.append(
        f'<text transform="translate(16 {upright:g}) rotate(-90)" text-anchor="middle">{escape(plot.y.label)} '
        f"({escape(plot.y.unit)})</text>"
    )
    return out


def _upright(axis: Axis) -> list[tuple[float, str]]:
    """Places and words along the x axis; months where it counts days."""
    if not axis.dates:
        return [(value, f"{value:,g}") for value in ticks(axis.low, axis.high, 7)]
    first, last = datetime.date.fromordinal(int(axis.low)), datetime.date.fromordinal(int(axis.high))
    months = (last.year - first.year) * 12 + last.month - first.month
    step = next((step for step in (1, 2, 3, 6, 12, 24, 60) if months / step <= 6), 120)
    found = []
    for number in range(months + 1):
        year, month = divmod(first.year * 12 + first.month - 1 + number, 12)
        day = datetime.date(year, month + 1, 1)
        if (year * 12 + month) % step == 0 and axis.low <= day.toordinal() <= axis.high:
            found.append((float(day.toordinal()), f"{day:%b %Y}"))
    return found or [(axis.low + (axis.high - axis.low) / 2, f"{first.day} {first:%b %Y}")]


def _band(band: Band, frame: _Frame) -> list[str]:
    there = frame.path(band.x, band.high)
    back = frame.path(band.x[::-1], band.low[::-1]).replace("M", "L", 1)
    out = [f'<path class="band" d="{there}{back}Z"/>']
    out += [f'<path class="band-edge" d="{frame.path(band.x, edge)}"/>' for edge in (band.low, band.high)]
    if band.middle:
        out.append(f'<path class="middle" d="{frame.path(band.x, band.middle)}"/>')
    return out


def _words_at_end(frame: _Frame, x: float, y: float, words: str, *, below: bool = False) -> str:
    """Words over the end of a curve; under it for a second one, which may run close by."""
    at = frame.y(y) + (20 if below else -7)
    return f'<text x="{frame.x(x) - 4:.1f}" y="{at:.1f}" text-anchor="end">{escape(words)}</text>'


def shown_plot(plot: Plot, key: str) -> dict[str, Any]:
    """What a template shows: the drawing, its data, its title and the key; one with marks stays as drawn."""
    return {"title": plot.title, "key": key, "svg": svg(plot), "data": data(plot), "touch": not plot.marks}


def data(plot: Plot) -> dict[str, Any]:
    """The same plot for the script: one x column, and one column for each series with gaps where it has no value."""
    xs = sorted(
        {x for source in (*([plot.band] if plot.band else []), *plot.curves, *plot.points) for x in source.x}
        | ({plot.x.low, plot.x.high} if plot.limits else set())
    )
    # Scripts count time in seconds since 1970.
    shown = [(x - datetime.date(1970, 1, 1).toordinal()) * 86400.0 for x in xs] if plot.x.dates else xs
    columns: list[list[float | None]] = [list(shown)]
    series: list[dict[str, Any]] = []

    def add(x: Sequence[float], y: Sequence[float], **how: Any) -> None:
        known = dict(zip(x, y, strict=True))
        columns.append([known.get(place) for place in xs])
        series.append(how)

    shaded = None
    if plot.band:
        add(plot.band.x, plot.band.high, label=f"{plot.band.label}, high", stroke="blue", width=1)
        add(plot.band.x, plot.band.low, label=f"{plot.band.label}, low", stroke="blue", width=1)
        shaded = [1, 2]
        if plot.band.middle:
            add(plot.band.x, plot.band.middle, label=f"{plot.band.label}, middle", stroke="blue")
    for curve in plot.curves:
        add(curve.x, curve.y, label=curve.label, stroke="ink", dash=[7, 4] if curve.dashed else None)
    for level, words in plot.limits:
        add(xs, [level] * len(xs), label=words, stroke="ink", width=1, dash=[7, 4])
    for points in plot.points:
        add(points.x, points.y, label=points.label, stroke="rust", points=points.mark)
    return {
        "x": plot.x.label,
        "xunit": plot.x.unit,
        "dates": plot.x.dates,
        "y": plot.y.label,
        "yunit": plot.y.unit,
        "digits": plot.digits,
        "range": [plot.y.low, plot.y.high],
        "band": shaded,
        "series": series,
        "data": columns,
    }
