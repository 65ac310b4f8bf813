"""The ground run, read on a telephone beside a running engine, and the record that follows it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any, Final

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.views.decorators.http import require_POST

from vanewise.aircraft.fitted import fitted_besides
from vanewise.errors import InputError, Locked, VanewiseError
from vanewise.groundrun.types import GroundRunPlan, PointVerdict, TestPoint
from vanewise.jobs import groundrun as jobs
from vanewise.jobs import records
from vanewise.jobs.casebook import Book, item_of, open_book
from vanewise.jobs.rules import rules
from vanewise.jobs.work import job as job_of
from vanewise.quantities import PA_PER_INHG, to_si
from vanewise.store.journal import HeadMoved
from vanewise.web.guard import WHO_COOKIE, trouble_page
from vanewise.web.plots import LEAST_INHG, Axis, Band, Plot, Points, shown_plot, span
from vanewise.web.views.common import Kept, day_field, kept, number_field, page, said_wrong, start_values
from vanewise.web.views.reports import with_unit

KEY: Final = "Shaded: predicted, with its middle. Dots: read rising. Rings: falling. Dashed: the band on the gauge."
SIGHTS: Final = (
    ("outlet", "Outlet", "no soot, free"),
    ("drain", "Drain", "dry"),
    ("autopilot", "Autopilot ground test", "as its manual says"),
    ("disconnect", "Every way to disconnect it", "works"),
    ("standby", "Standby source by itself", "carries the instruments"),
    ("cycle", "Boots or door seal, cycled twice", "the gauge dips and comes back within seconds"),
)
FITTED: Final = {"standby": ("standby source",), "cycle": ("de-ice boots", "door seal")}
"""Sights that are asked for only where such a thing is fitted."""
FIRST_RUN: Final = ("autopilot", "disconnect", "standby", "cycle")
"""Sights of a first run; a hot repeat asks for the sweep alone."""
MEASURED: Final = (
    ("lamp out", "Lamp out, rising", "rpm"),
    ("lamp on", "Lamp on, falling", "rpm"),
    ("erect", "Attitude erect after", "min"),
    ("taxi turn", "Horizon bar tips in taxi turns", "deg"),
    ("drift", "Heading drift, later less earlier", "deg"),
)


class PredictForm(Kept):
    altitude = number_field("Pressure altitude of the field today", "Empty: the home field's elevation.")
    temperature = number_field("Outside temperature", "Empty: standard for that altitude.")
    gauge_proved = number_field(
        "Panel gauge compared with a calibrated one, agrees within", "Empty: nobody compared it, and the band is wider."
    )
    changed = forms.MultipleChoiceField(
        label="Another one since the baseline",
        required=False,
        choices=[("pump", "the pump"), ("setting", "the regulator's setting")],
        widget=forms.CheckboxSelectMultiple,
    )


def ground_runs(request: HttpRequest, aircraft: str, key: str = "") -> HttpResponse:
    book = open_book(aircraft)
    found = job_of(book, key) if key else None
    package = found.package.id if found else ""
    form = PredictForm(request.POST or None, initial=start_values(request, book))
    context: dict[str, Any] = {
        "form": form,
        "job": found,
        "runs": [run for run in jobs.runs(book) if not package or run.package == package][::-1],
    }
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        try:
            run = jobs.predict(
                aircraft,
                author=told["author"],
                package=package,
                altitude=with_unit(told["altitude"], "ft"),
                temperature=with_unit(told["temperature"], "C"),
                gauge_proved=with_unit(told["gauge_proved"], "inHg"),
                changed=told["changed"],
            )
        except (InputError, HeadMoved) as error:
            context |= said_wrong(form, error)
        else:
            return kept(form, f"/a/{aircraft}/runs/{run}/")
    return page(request, "ground_runs.html", book, "jobs", context)


@dataclass(frozen=True)
class PointRow:
    """One engine speed of the run as the page shows it."""

    point: TestPoint
    low: str
    high: str
    rising: str
    falling: str
    verdicts: list[PointVerdict]
    rpm: str


def ground_run(request: HttpRequest, aircraft: str, run: str) -> HttpResponse:
    book = open_book(aircraft)
    found = jobs.run(book, run)
    context: dict[str, Any] = {"run": found, "plan": found.plan}
    if request.method == "POST":
        author = request.POST.get("author") or request.COOKIES.get(WHO_COOKIE, "")
        try:
            jobs.read_off(aircraft, run, items_of(request, found), author=author)
        except VanewiseError as error:
            context |= {"problems": error.problems, "typed": request.POST}
        else:
            response = HttpResponseRedirect(f"/a/{aircraft}/runs/{run}/")
            response.set_cookie(WHO_COOKIE, author, max_age=365 * 86400, samesite="Lax", httponly=True)
            return response
    verdict = jobs.verdict(found)
    plot = run_plot(found)
    seen = {str(item_of(entry).get("what")): item_of(entry) for entry in found.readings}
    also = fitted_besides(book.description)
    sights = [
        (what, label, good, seen.get(what, {}))
        for what, label, good in SIGHTS
        if what in seen
        or (
            not (found.hot_of and what in FIRST_RUN)
            and (what not in FITTED or any(item in also for item in FITTED[what]))
        )
    ]
    drift = seen.get("drift", {})
    context |= {
        "verdict": verdict,
        "rows": point_rows(found, context.get("typed", {})),
        "measured": []
        if found.hot_of
        else [(what, label, unit, _shown(seen.get(what), context, what)) for what, label, unit in MEASURED],
        "sights": sights,
        "latitude": _number(drift.get("latitude", "")),
        "eastward": _number(drift.get("eastward", "")),
        "cold": _cold(book, found),
        "first": jobs.run(book, found.hot_of) if found.hot_of else None,
        "hot": next((one for one in jobs.runs(book) if one.hot_of == found.id), None),
        "cover": seen.get("cover test", {}),
        "drift_minutes": drift.get("minutes", "15 min"),
        "plot": shown_plot(
            plot,
            "Shaded: predicted, with its middle. Dots: read rising. Rings: falling. Dashed: the band on the gauge.",
        ),
        "kept": found.kept_verdict,
        "job": job_of(book, found.package[:12]) if found.package else None,
    }
    return page(request, "ground_run.html", book, "jobs", context)


def _shown(item: Any, context: dict[str, Any], what: str) -> str:
    typed = context.get("typed")
    return str(typed.get(f"m-{what}", "")) if typed else _number((item or {}).get("value", ""))


def _number(text: Any) -> str:
    return str(text).split(" ")[0]


def _cold(book: Book, found: jobs.Run) -> dict[str, str]:
    """Engine speed -> what the first sweep read there, rising, for a page that shows its hot repeat."""
    if not found.hot_of:
        return {}
    return {
        str(item["rpm"]): _number(item["value"])
        for entry in jobs.run(book, found.hot_of).readings
        if (item := item_of(entry)).get("what") == "gauge" and item.get("direction") == "rising"
    }


def point_rows(found: jobs.Run, typed: Any) -> list[PointRow]:
    read = {
        (str(item["rpm"]), str(item["direction"])): str(item["value"])
        for entry in found.readings
        if (item := item_of(entry)).get("what") == "gauge"
    }
    rows = []
    for number, point in enumerate(found.plan.points):
        rpm = f"{point.engine_rpm:.0f} rpm"
        values = {
            way: str(typed.get(f"{way}-{number}", "")) if typed else _number(read.get((rpm, way), ""))
            for way in jobs.BY_DIRECTION
        }
        rows.append(
            PointRow(
                point=point,
                low=f"{point.low_pa / PA_PER_INHG:.1f}",
                high=f"{point.high_pa / PA_PER_INHG:.1f}",
                rising=values["rising"],
                falling=values["falling"],
                verdicts=[],
                rpm=rpm,
            )
        )
    return rows


def items_of(request: HttpRequest, found: jobs.Run) -> list[dict[str, Any]]:
    """What the form says that differs from what is kept."""
    kept_items = [dict(item_of(entry)) for entry in found.readings]
    items: list[dict[str, Any]] = []
    for number, point in enumerate(found.plan.points):
        for way in jobs.BY_DIRECTION:
            value = request.POST.get(f"{way}-{number}", "").strip()
            if value:
                rpm = f"{point.engine_rpm:.0f} rpm"
                items.append({"what": "gauge", "rpm": rpm, "direction": way, "value": with_unit(value, "inHg")})
    for what, _, unit in MEASURED:
        value = request.POST.get(f"m-{what}", "").strip()
        if value:
            item = {"what": what, "value": with_unit(value, unit)}
            if what == "drift":
                item["minutes"] = with_unit(request.POST.get("drift-minutes", "15"), "min")
                for name, unit in (("latitude", "deg"), ("eastward", "kt")):
                    if told := request.POST.get(f"drift-{name}", "").strip():
                        item[name] = with_unit(told, unit)
            items.append(item)
    cover = request.POST.get("m-cover", "").strip()
    if cover and found.plan.cover_rpm:
        rpm = f"{found.plan.cover_rpm:.0f} rpm"
        items.append({"what": "cover test", "rpm": rpm, "value": with_unit(cover, "inHg")})
    for what, _, _ in SIGHTS:
        outcome = request.POST.get(f"s-{what}", "").strip()
        if outcome:
            note = request.POST.get(f"n-{what}", "").strip()
            items.append({"what": what, "outcome": f"{outcome}: {note}" if note else outcome})
    return [item for item in items if item not in kept_items]


def run_plot(found: jobs.Run) -> Plot:
    """Predicted band against what was read, over engine speed."""
    plan: GroundRunPlan = found.plan
    rpm = tuple(point.engine_rpm for point in plan.points)
    names = ("low_pa", "high_pa", "middle_pa")
    low, high, middle = (tuple(getattr(point, name) / PA_PER_INHG for point in plan.points) for name in names)
    points = []
    for way in jobs.BY_DIRECTION:
        read = [item for item in jobs.reading_values(found) if item.what == "gauge" and item.direction == way]
        if read:
            xs = tuple(item.engine_rpm or 0.0 for item in read)
            ys_read = tuple((item.value or 0.0) / PA_PER_INHG for item in read)
            points.append(Points(x=xs, y=ys_read, label=f"read, {way}", mark="dot" if way == "rising" else "ring"))
    bounds = ((plan.band_low_pa, "band on the gauge, low"), (plan.band_high_pa, "band on the gauge, high"))
    limits = [(value / PA_PER_INHG, words) for value, words in bounds if value is not None]
    ys = [*low, *high, *(y for group in points for y in group.y), *(level for level, _ in limits)]
    bottom, top = span(ys, floor=0.0, least=LEAST_INHG)
    left, right = span(rpm)
    return Plot(
        title="What this aircraft should read today, and what was read",
        x=Axis(label="Engine speed", unit="rpm", low=left, high=right),
        y=Axis(label="Gauge", unit="inHg", low=bottom, high=top),
        band=Band(x=rpm, low=low, high=high, middle=middle, label="predicted"),
        points=tuple(points),
        limits=tuple(limits),
    )


def one_number(request: HttpRequest, aircraft: str, run: str) -> HttpResponse:
    """One engine speed at a time, large, for the person beside the running engine: rising, then falling."""
    book = open_book(aircraft)
    found = jobs.run(book, run)
    order = [(number, "rising") for number in range(len(found.plan.points))]
    order += [(number, "falling") for number in reversed(range(len(found.plan.points)))]
    rows = point_rows(found, {})
    at = request.GET.get("at", "")
    done = {f"{way}-{number}" for number, way in order if getattr(rows[number], way)}
    keys = [f"{way}-{number}" for number, way in order]
    here = keys.index(at) if at in keys else next((i for i, key in enumerate(keys) if key not in done), 0)
    number, way = order[here]
    following = keys[here + 1] if here + 1 < len(keys) else ""
    address = f"/a/{aircraft}/runs/{run}/"
    context: dict[str, Any] = {
        "run": found,
        "row": rows[number],
        "way": way,
        "value": getattr(rows[number], way),
        "name": keys[here],
        "place": here + 1,
        "of": len(keys),
        "next": f"{address}one/?at={following}" if following else address,
        "before": f"{address}one/?at={keys[here - 1]}" if here else "",
        "back_to": address,
    }
    if request.method == "POST":
        author = request.POST.get("author") or request.COOKIES.get(WHO_COOKIE, "")
        try:
            jobs.read_off(aircraft, run, items_of(request, found), author=author)
        except VanewiseError as error:
            context |= {"problems": error.problems, "value": request.POST.get(keys[here], "")}
        else:
            over = _over(request.POST.get(keys[here], ""), found.plan.points[number])
            response = HttpResponseRedirect(f"{address}one/?at={keys[here]}&over=1" if over else context["next"])
            response.set_cookie(WHO_COOKIE, author, max_age=365 * 86400, samesite="Lax", httponly=True)
            return response
    context["over"] = "over" in request.GET
    return page(request, "one_number.html", book, "jobs", context)


def _over(text: str, point: TestPoint) -> bool:
    """Whether a reading that was just kept lies above its band: the engine stops before the next one."""
    try:
        return to_si(with_unit(text, "inHg"), "pressure", "reading") > point.high_pa
    except InputError:
        return False


@require_POST
def hot(request: HttpRequest, aircraft: str, run: str) -> HttpResponse:
    """Begin the hot repeat of a run."""
    author = request.POST.get("author") or request.COOKIES.get(WHO_COOKIE, "")
    try:
        name = jobs.repeat_hot(aircraft, run, author=author)
    except VanewiseError as error:
        return trouble_page(request, error)
    return HttpResponseRedirect(f"/a/{aircraft}/runs/{name}/")


@require_POST
def settle(request: HttpRequest, aircraft: str, run: str) -> HttpResponse:
    """Keep the verdict as it stands, or the passed run as the new baseline."""
    author = request.POST.get("author") or request.COOKIES.get(WHO_COOKIE, "")
    try:
        if request.POST.get("what") == "baseline":
            today = datetime.datetime.now(datetime.UTC).date().isoformat()
            jobs.keep_baseline(aircraft, run, author=author, when=today)
        else:
            jobs.keep_verdict(aircraft, run, author=author)
    except VanewiseError as error:
        return trouble_page(request, error)
    return HttpResponseRedirect(f"/a/{aircraft}/runs/{run}/")


class RecordForm(Kept):
    completed_on = day_field("Work completed on")
    tach = number_field("Tach time")
    hour_meter = number_field("Hour meter")
    total = number_field("Total time in service")
    added = forms.CharField(
        label="Anything to add, one paragraph a line",
        required=False,
        max_length=8000,
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    override_name = forms.CharField(label="Name of the person who passes it", required=False, max_length=200)
    override_reason = forms.CharField(label="Reason", required=False, max_length=500)


def record(request: HttpRequest, aircraft: str, key: str) -> HttpResponse:
    book = open_book(aircraft)
    found = job_of(book, key)
    form = RecordForm(request.POST or None, initial=start_values(request, book))
    today = datetime.datetime.now(datetime.UTC).date()
    context: dict[str, Any] = {
        "form": form,
        "job": found,
        "drafts": records.records_of(book, found.package.id)[::-1],
        "missing": records.what_is_missing(book, found, today),
        "rules": rules(),
    }
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        try:
            records.keep_draft(
                aircraft,
                key,
                author=told["author"],
                completed_on=told["completed_on"].isoformat() if told["completed_on"] else "",
                tach=with_unit(told["tach"], "h"),
                hour_meter=with_unit(told["hour_meter"], "h"),
                total=with_unit(told["total"], "h"),
                override_name=told["override_name"],
                override_reason=told["override_reason"],
                added=told["added"],
            )
        except HeadMoved as moved:
            context |= said_wrong(form, moved)
        except Locked as locked:
            context |= {"problems": locked.problems}
        except InputError as error:
            context |= said_wrong(form, error)
        else:
            return kept(form, f"/a/{aircraft}/jobs/{key}/record/")
    return page(request, "record.html", book, "jobs", context)
