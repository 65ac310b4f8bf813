"""Curves people use: the margin map, what the pump works against, and where its air goes."""

from __future__ import annotations

from typing import Any, Final
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from vanewise.aircraft.description import AircraftDescription
from vanewise.jobs import curves as jobs
from vanewise.jobs import looking
from vanewise.jobs.casebook import Book, open_book
from vanewise.network.load import PumpLoad
from vanewise.network.margin import GyroMargin, MarginMap
from vanewise.quantities import M_PER_FT
from vanewise.web.margin_map import margin_svg
from vanewise.web.plots import LEAST_INHG, Axis, Curve, Plot, shown_plot, span
from vanewise.web.views.common import frame, page

WEAR_STEPS: Final = ("1", "1.5", "2", "3", "5", "8")
LOADING_STEPS: Final = ("1", "2", "5", "10", "20", "40")


def _now(request: HttpRequest) -> jobs.Now:
    return jobs.now_of(request.GET.get("wear", ""), request.GET.get("filter", ""))


def _now_words(now: jobs.Now, description: AircraftDescription) -> str:
    """How the system is taken to be, in words."""
    pump = "a sound pump" if now.wear == 1.0 else f"a pump that leaks inside {now.wear:g} times as much as a sound one"
    kind = "intake filter" if description.duty == "suction" else "inline filter"
    clean = f"a new {kind}" if now.loading == 1.0 else f"a {kind} of {now.loading:g} times the resistance of a new one"
    return f"{pump} and {clean}"


def _steps(request: HttpRequest, name: str, steps: tuple[str, ...], here: float) -> list[dict[str, Any]]:
    """Addresses of the same page with one number changed, for a telephone without scripts."""
    kept = {key: value for key, value in request.GET.items() if key != name and value}
    return [
        {"words": step, "address": "?" + urlencode({**kept, name: step}), "here": float(step) == here} for step in steps
    ]


def _frame(request: HttpRequest, book: Book, now: jobs.Now, curve: str) -> dict[str, Any]:
    return {
        "curve": curve,
        "now": now,
        "now_words": _now_words(now, book.description),
        "wear_steps": _steps(request, "wear", WEAR_STEPS, now.wear),
        "loading_steps": LOADING_STEPS,
        "filter_words": "Filter the gyros breathe through",
        "assumed": len(book.description.assumed()),
    }


def margin(request: HttpRequest, aircraft: str) -> HttpResponse:
    """Where each instrument gets enough, with wear as a slider; a script asks for the map alone."""
    book = open_book(aircraft)
    description = book.description
    now = _now(request)
    given = {key.removeprefix("need-"): value for key, value in request.GET.items() if key.startswith("need-")}
    needed = jobs.needs_given(description, given)
    data = looking.margin_at(book.version.toml, now, needed, 0.0)
    names = description.labels()
    speeds = {"run-up": description.engine.run_up_rpm.number, "cruise": description.engine.cruise_rpm.number}
    field_ft = description.field.elevation.number / M_PER_FT
    maps = [
        {
            "margin": one,
            "name": names[one.gyro],
            "restricted": description.part(one.gyro).kind == "turn indicator",
            "svg": margin_svg(
                data, one, names[one.gyro], [(rpm, words) for words, rpm in speeds.items()], field_ft, f"map{number}"
            ),
            "said": [(words, rpm, _ceiling_at(data, one, rpm)) for words, rpm in speeds.items()],
            "rows": [(rpm, jobs.ceiling_words(one, i, data.altitudes_ft)) for i, rpm in jobs.shown_speeds(data)],
            "given": dict(given).get(one.gyro, ""),
        }
        for number, one in enumerate(data.gyros)
    ]
    context = {**_frame(request, book, now, "margin"), "maps": maps, "data": data, "field_ft": field_ft}
    if "HX-Request" in request.headers:
        return render(request, "parts/margin_maps.html", {**frame(book, "system"), **context})
    return page(request, "margin.html", book, "system", context)


def _ceiling_at(data: MarginMap, one: GyroMargin, rpm: float) -> str:
    """The ceiling at the speed of the map nearest to ``rpm``."""
    nearest = min(range(len(data.rpms)), key=lambda i: abs(data.rpms[i] - rpm))
    return jobs.ceiling_words(one, nearest, data.altitudes_ft)


def load(request: HttpRequest, aircraft: str) -> HttpResponse:
    """What the pump works against, beside what the gauge shows."""
    book = open_book(aircraft)
    description = book.description
    now = _now(request)
    at = looking.conditions(description, request.GET.get("rpm", ""), request.GET.get("altitude", ""))
    data = looking.load_at(book.version.toml, now, request.GET.get("pump", ""), at)
    names = description.labels()
    key = "Solid: the load, which no gauge in the panel shows. Dashed: what the gauge shows at the same time."
    heights = sorted({point.altitude_ft for point in data.points})
    context = {
        **_frame(request, book, now, "load"),
        "at": at,
        "data": data,
        "pump": names[data.pump],
        "pumps": [(part.id, part.label) for part in description.parts_of("pump")],
        "plot": shown_plot(_load_plot(data, names[data.pump]), key),
        "heights": heights,
        "rows": _load_rows(data, heights),
        "raisers": [(names[one.part], one) for one in data.raisers],
        "before": data.raisers[0],
    }
    return page(request, "load.html", book, "system", context)


def _load_plot(data: PumpLoad, pump: str) -> Plot:
    field = min(point.altitude_ft for point in data.points)
    here = [point for point in data.points if point.altitude_ft == field]
    curves = []
    for words, dashed, values in (
        ("load", False, [point.load_inhg[data.pump] for point in here]),
        ("gauge", True, [point.gauge_inhg for point in here]),
    ):
        solved = [(point.rpm, value) for point, value in zip(here, values, strict=True) if value is not None]
        curves.append(Curve(x=tuple(x for x, _ in solved), y=tuple(y for _, y in solved), label=words, dashed=dashed))
    low, high = span([y for curve in curves for y in curve.y], floor=0.0, least=LEAST_INHG)
    return Plot(
        title=f"What the {pump} works against at {field:,.0f} ft",
        x=Axis(label="Engine speed", unit="rpm", low=here[0].rpm, high=here[-1].rpm),
        y=Axis(label="Difference", unit="inHg", low=min(low, 0.0), high=high),
        curves=tuple(curves),
    )


def _load_rows(data: PumpLoad, heights: list[float]) -> list[dict[str, Any]]:
    """Every second engine speed: load and pressure ratio at each altitude."""
    rpms = sorted({point.rpm for point in data.points})[::2]
    at = {(point.rpm, point.altitude_ft): point for point in data.points}
    rows = []
    for rpm in rpms:
        points = [at[rpm, height] for height in heights]
        cells = [(point.load_inhg[data.pump], point.pressure_ratio[data.pump]) for point in points]
        rows.append({"rpm": rpm, "gauge": points[0].gauge_inhg, "cells": cells})
    return rows


def budget(request: HttpRequest, aircraft: str) -> HttpResponse:
    """Where the pump's air goes."""
    book = open_book(aircraft)
    description = book.description
    now = _now(request)
    at = looking.conditions(description, request.GET.get("rpm", ""), request.GET.get("altitude", ""))
    data = looking.budget_at(book.version.toml, now, at)
    names = description.labels()
    shares = [
        {"words": jobs.share_words(names, share), "share": share, "part": share.cfm / data.intake_cfm}
        for share in data.shares
    ]
    context = {
        **_frame(request, book, now, "budget"),
        "at": at,
        "data": data,
        "shares": shares,
        "bleed": sum(share.cfm for share in data.shares if share.use == "regulator"),
        "suction": description.duty == "suction",
        "autopilot": bool(description.parts_of("autopilot")),
        "pumps": len(description.parts_of("pump")),
    }
    return page(request, "budget.html", book, "system", context)
