"""Plots of what is watched: a figure over time, its two sums, wear ahead, lives."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from typing import Any

from vanewise.jobs.trends import Baseline, Line
from vanewise.watch.types import WearForecast
from vanewise.watch.wear_planning import WearBandPoint
from vanewise.web.plots import Axis, Band, Curve, Plot, Points, shown_plot, span
from vanewise.wording import capital

TWO_SD = 2.0


def date_axis(days: Sequence[datetime.date]) -> Axis:
    low, high = min(days).toordinal(), max(days).toordinal()
    room = max(20.0, (high - low) * 0.06)
    return Axis(label="Date", unit="", low=low - room, high=high + room, dates=True)


def over_time(line: Line, baselines: Sequence[Baseline], limits: Sequence[tuple[float, str]] = ()) -> dict[str, Any]:
    """One figure by date, with its baseline as a band, new baselines as upright lines, and the gauge's limits."""
    readings = sorted((r for r in line.source.series.readings if r.date), key=lambda r: (r.date, r.hours))
    days = [r.date for r in readings if r.date is not None]
    xs = tuple(float(day.toordinal()) for day in days)
    ys = tuple(r.value for r in readings)
    trend, what = line.trend, line.followed
    band = None
    if trend.baseline is not None and trend.baseline_sd is not None:
        since = [r for r in readings if r.hours >= (trend.baseline_from_hours or -math.inf)]
        ends = (float(since[0].date.toordinal()), float(since[-1].date.toordinal()) + 1.0)  # type: ignore[union-attr]
        low, high = trend.baseline - TWO_SD * trend.baseline_sd, trend.baseline + TWO_SD * trend.baseline_sd
        band = Band(x=ends, low=(low, low), high=(high, high), middle=(trend.baseline,) * 2, label="baseline")
    edges = [*ys, *(level for level, _ in limits), *((band.low[0], band.high[0]) if band else ())]
    bottom, top = span(edges, margin=0.15)
    plot = Plot(
        title=capital(what.name),
        x=date_axis(days),
        y=Axis(label=capital(what.name), unit=what.unit, low=bottom, high=top),
        band=band,
        points=(Points(x=xs, y=ys, label=what.name),),
        limits=tuple(limits),
        marks=tuple((float(b.date.toordinal()), "new baseline") for b in baselines if days[0] <= b.date <= days[-1]),
        digits=what.digits,
    )
    key = "Band: what the readings after the last work would lead to expect." if band else "Too few for a band yet."
    return shown_plot(plot, f"{key} A change speaks of {what.speaks_of}.")


def sums(line: Line) -> dict[str, Any] | None:
    """Both sums as shares of their alarm limits, by hours; None before there are any."""
    points = line.trend.sums
    if len(points) < 2:
        return None
    xs = tuple(point.hours for point in points)
    steps, creeps = tuple(p.step for p in points), tuple(p.creep for p in points)
    low, high = span([*steps, *creeps, -1.05, 1.05], margin=0.06)
    plot = Plot(
        title="How near an alarm",
        x=Axis(label="Hours of the aircraft", unit="h", low=xs[0], high=max(xs[-1], xs[0] + 1.0)),
        y=Axis(label="Share of the alarm limit", unit="1 is the alarm", low=low, high=high),
        curves=(Curve(x=xs, y=steps, label="step"), Curve(x=xs, y=creeps, label="creep", dashed=True)),
        limits=((1.0, "alarm, rising"), (-1.0, "alarm, falling")),
        digits=2,
    )
    return shown_plot(plot, "Step finds a jump; creep finds a slow change. Either beyond its line is an alarm.")


def stop_chances(forecast: WearForecast) -> dict[str, Any] | None:
    """The chance that the pump stops, and that it is worn past its limit, by its hours."""
    if len(forecast.curve) < 2:
        return None
    xs = tuple(forecast.hours_now + point.hours for point in forecast.curve)
    plot = Plot(
        title="Chance, by pump hours",
        x=Axis(label="Hours of this pump", unit="h", low=min(xs), high=max(xs)),
        y=Axis(label="Chance", unit="in 100", low=0.0, high=100.0),
        curves=(
            Curve(x=xs, y=tuple(100 * p.any_stop for p in forecast.curve), label="stops, any cause"),
            Curve(x=xs, y=tuple(100 * p.past_limit for p in forecast.curve), label="worn past limit", dashed=True),
        ),
        marks=((forecast.look_again_h, "look again by"),),
        digits=0,
    )
    return shown_plot(plot, "No reading predicts a sudden stop.")


def wear_ahead(
    forecast: WearForecast, band: Sequence[WearBandPoint], lengths: Sequence[tuple[float, float]]
) -> dict[str, Any]:
    """Wear with its 80 % band from now on, measured lengths before, the limit, and 'look again by'.

    ``lengths``: pump hours and share of the allowance worn, of each measured length.
    """
    xs = tuple(forecast.hours_now + point.hours for point in band)
    top = max(1.15, *(share for _, share in lengths), *(min(p.p90, 1.6) for p in band)) if band else 1.15
    plot = Plot(
        title="Wear of the shortest vane",
        x=Axis(label="Hours of this pump", unit="h", low=0.0, high=max(xs)),
        y=Axis(label="Share of the allowance worn", unit="1 is the limit", low=0.0, high=top),
        band=Band(
            x=xs,
            low=tuple(p.p10 for p in band),
            high=tuple(min(p.p90, top) for p in band),
            middle=tuple(min(p.p50, top) for p in band),
            label="wear",
        ),
        points=(Points(x=tuple(h for h, _ in lengths), y=tuple(s for _, s in lengths), label="measured"),)
        if lengths
        else (),
        limits=((1.0, "limit of the manual"),),
        marks=((forecast.look_again_h, "look again by"),),
        digits=2,
    )
    return shown_plot(plot, "Band: four of five pumps like this. Rings: lengths measured.")
