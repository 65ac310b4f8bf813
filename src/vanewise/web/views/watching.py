"""Readings over time, wear and 'look again by', and the list 'What next, by when, why'."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse

from vanewise.errors import InputError, VanewiseError
from vanewise.jobs import kinds
from vanewise.jobs import watch as jobs
from vanewise.jobs.casebook import Book, item_of, open_book
from vanewise.quantities import PA_PER_INHG, to_si
from vanewise.store.journal import HeadMoved
from vanewise.watch.types import WearForecast
from vanewise.web import choices
from vanewise.web.plots import Axis, Curve, Plot, Points, shown_plot, span
from vanewise.web.views.common import Kept, day_field, kept, number_field, page, said_wrong, start_values
from vanewise.web.views.reports import with_unit

SAME_RPM = 60.0


@dataclass(frozen=True)
class Past:
    """One reading of the panel gauge or the lamp, by date."""

    when: datetime.date
    rpm: float
    value_inhg: float | None
    words: str
    digest: str
    sound: bool


def past_readings(book: Book) -> list[Past]:
    """Every dated panel reading and lamp reading in normal running, oldest first."""
    found = []
    for entry in book.of(kinds.READING, kinds.LAMP):
        item = item_of(entry)
        if item.get("high") or item.get("under"):
            continue
        when = datetime.date.fromisoformat(str(item.get("when") or entry.at[:10]))
        rpm = to_si(str(item.get("rpm", "")), "rpm", "rpm")
        value = (
            to_si(str(item["reading"]), "pressure", "reading") / PA_PER_INHG if entry.kind == kinds.READING else None
        )
        words = f"{item.get('reading')}" if value is not None else "lamp"
        found.append(Past(when, rpm, value, words, entry.digest, bool(item.get("sound"))))
    return sorted(found, key=lambda past: (past.when, past.rpm))


def readings(request: HttpRequest, aircraft: str) -> HttpResponse:
    book = open_book(aircraft)
    past = past_readings(book)
    description = book.description
    plots = [plot for plot in (_lamp_plot(past), *_speed_plots(past, description)) if plot]
    context = {
        "past": past[::-1],
        "plots": [(f"plot{number}", plot) for number, plot in enumerate(plots)],
        "pumps": [_pump(book, pump.id, pump.label, number) for number, pump in enumerate(description.parts_of("pump"))],
    }
    return page(request, "readings.html", book, "readings", context)


def _dates(past: list[Past]) -> tuple[float, ...]:
    return tuple(float(reading.when.toordinal()) for reading in past)


def _date_axis(xs: tuple[float, ...]) -> Axis:
    low, high = min(xs), max(xs)
    room = max(20.0, (high - low) * 0.06)
    return Axis(label="Date", unit="", low=low - room, high=high + room, dates=True)


def _lamp_plot(past: list[Past]) -> dict[str, Any] | None:
    lamps = [reading for reading in past if reading.value_inhg is None]
    if len(lamps) < 2:
        return None
    ys = tuple(reading.rpm for reading in lamps)
    low, high = span(ys, margin=0.15)
    plot = Plot(
        title="Engine speed at which the lamp went out",
        x=_date_axis(_dates(lamps)),
        y=Axis(label="Lamp out", unit="rpm", low=low, high=high),
        points=(Points(x=_dates(lamps), y=ys, label="lamp out"),),
        digits=0,
    )
    return shown_plot(plot, "A rising lamp speed is the earliest sign: supply at low engine speed grows weak first.")


def _speed_plots(past: list[Past], description: Any) -> list[dict[str, Any]]:
    """The reading at 1,000 rpm, run-up and cruise over time, each where there are two dates of it."""
    engine = description.engine
    found = []
    for name, rpm in (
        ("1,000 rpm", 1000.0),
        ("run-up", engine.run_up_rpm.number),
        ("cruise", engine.cruise_rpm.number),
    ):
        there = [item for item in past if item.value_inhg is not None and abs(item.rpm - rpm) < SAME_RPM]
        if len({item.when for item in there}) < 2:
            continue
        ys = tuple(item.value_inhg or 0.0 for item in there)
        gauge = description.gauge
        limits = [
            (value.number / PA_PER_INHG, words)
            for value, words in (
                (gauge.band_low, "band on the gauge, low"),
                (gauge.band_high, "band on the gauge, high"),
            )
            if value is not None and rpm > 1100
        ]
        low, high = span([*ys, *(level for level, _ in limits)], floor=0.0, margin=0.15)
        plot = Plot(
            title=f"Gauge at {name}",
            x=_date_axis(_dates(there)),
            y=Axis(label="Gauge", unit="inHg", low=low, high=high),
            points=(Points(x=_dates(there), y=ys, label=f"at {name}"),),
            limits=tuple(limits),
        )
        found.append(
            shown_plot(plot, "A cruise reading within its band proves little by itself." if name == "cruise" else "")
        )
    return found


def _pump(book: Book, part: str, label: str, number: int) -> dict[str, Any]:
    """A pump with its looks and forecast; a forecast that cannot be made says why."""
    looks = [(entry, item_of(entry)) for entry in book.of(kinds.WEAR, part=part)]
    found: dict[str, Any] = {"id": part, "label": label, "looks": looks[::-1], "plot_id": f"wear{number}"}
    try:
        forecast = jobs.forecast(book, part)
    except VanewiseError as error:
        return {**found, "trouble": error.problems}
    if forecast is None:
        return found
    return {**found, "forecast": forecast, "plot": _wear_plot(forecast)}


def _wear_plot(forecast: WearForecast) -> dict[str, Any] | None:
    if len(forecast.curve) < 2:
        return None
    xs = tuple(forecast.hours_now + point.hours for point in forecast.curve)
    left, right = min(xs), max(xs)
    stops = tuple(100 * point.any_stop for point in forecast.curve)
    worn = tuple(100 * point.past_limit for point in forecast.curve)
    plot = Plot(
        title="Chance, by pump hours",
        x=Axis(label="Hours of this pump", unit="h", low=left, high=right),
        y=Axis(label="Chance", unit="in 100", low=0.0, high=100.0),
        curves=(
            Curve(x=xs, y=stops, label="stops, any cause"),
            Curve(x=xs, y=worn, label="worn past limit", dashed=True),
        ),
        marks=((forecast.look_again_h, "look again by"),),
        digits=0,
    )
    return shown_plot(plot, "No reading predicts a sudden stop.")


class WearForm(Kept):
    hours = number_field("Hours of this pump since new")
    kind = forms.ChoiceField(
        label="What was seen",
        required=False,
        choices=[
            ("", "nothing to enter, only about the port"),
            ("length", "a length was measured"),
            ("seen", "every vane's edge was seen"),
            ("not seen", "at least one edge was not seen"),
            ("within limit", "found within limit"),
            ("past limit", "found past limit"),
        ],
    )
    length = number_field("Shortest vane")
    date = day_field("On")
    seen_means = forms.ChoiceField(
        label="On this pump, an edge that is seen means",
        required=False,
        choices=[("", "not confirmed here"), ("good", "good: within limit"), ("bad", "bad: past limit")],
    )
    polarity_confirmed_by = forms.CharField(
        label="Confirmed against this pump's manual by", required=False, max_length=200
    )
    new_length = number_field("Length of a new vane, from the manual")
    minimum_length = number_field("Least length, from the manual")

    def item(self) -> dict[str, Any]:
        told = self.cleaned_data
        item: dict[str, Any] = {}
        if told["kind"]:
            item |= {"kind": told["kind"], "hours": with_unit(told["hours"], "h")}
            if told["kind"] == "length":
                item["length"] = with_unit(told["length"], "in")
            if told["date"]:
                item["date"] = told["date"].isoformat()
        for name in ("seen_means", "polarity_confirmed_by"):
            if told[name]:
                item[name] = told[name]
        for name in ("new_length", "minimum_length"):
            if told[name]:
                item[name] = with_unit(told[name], "in")
        return item


def wear(request: HttpRequest, aircraft: str, part: str) -> HttpResponse:
    book = open_book(aircraft)
    form = WearForm(request.POST or None, initial=start_values(request, book))
    label = choices.labels(book.description).get(part, part)
    context: dict[str, Any] = {"form": form, "part": part, "label": label}
    if request.method == "POST" and form.is_valid():
        try:
            jobs.add_wear(aircraft, part, form.item(), author=form.cleaned_data["author"])
        except (InputError, HeadMoved) as error:
            context |= said_wrong(form, error)
        else:
            return kept(form, f"/a/{aircraft}/readings/#wear")
    return page(request, "wear.html", book, "readings", context)


class MetersForm(Kept):
    tach = number_field("Tach time")
    hour_meter = number_field("Hour meter")
    date = day_field("Read on", required=True)


NATURES = [
    ("own", "our own rule"),
    ("custom", "custom of the trade"),
    ("maker", "the maker's advice"),
    ("regulation", "a regulation"),
    ("directive", "an airworthiness directive"),
    ("type design", "a limit of the type design"),
]


class LimitForm(Kept):
    item = forms.CharField(
        label="What", max_length=120, help_text="A part by its name, or a job, such as: look at the regulator foam."
    )
    nature = forms.ChoiceField(label="Who says so", choices=NATURES)
    source = forms.CharField(label="Where it is written", max_length=200, required=False)
    hours = number_field("Every so many hours")
    months = number_field("Every so many calendar months")
    condition = forms.CharField(label="Or on a condition, in words", required=False, max_length=200)
    counted_from = forms.ChoiceField(
        label="Counted from",
        choices=[
            ("done", "when it was last done"),
            ("fitted", "when a new one was fitted"),
            ("overhauled", "overhaul"),
        ],
    )
    why = forms.CharField(label="Why", required=False, max_length=200)


class DoneForm(Kept):
    item = forms.ChoiceField(label="What was done")
    date = day_field("On", required=True)
    tach = number_field("Tach time then")
    hour_meter = number_field("Hour meter then")


class PutOffForm(Kept):
    item = forms.ChoiceField(label="What is put off")
    name = forms.CharField(label="Who decides", max_length=200)
    reason = forms.CharField(label="Reason", max_length=300)
    until_date = day_field("Until")
    until_hours = number_field("Or until tach time")


def what_next(request: HttpRequest, aircraft: str) -> HttpResponse:
    book = open_book(aircraft)
    today = datetime.datetime.now(datetime.UTC).date()
    items = jobs.due(book, today)
    first = start_values(request, book)
    posted = request.POST.get("form", "")
    forms_by_name: dict[str, Kept] = {
        name: kind(request.POST if posted == name else None, initial=first, prefix=name)
        for name, kind in (("meters", MetersForm), ("limit", LimitForm), ("done", DoneForm), ("off", PutOffForm))
    }
    for name in ("done", "off"):
        field = forms_by_name[name].fields["item"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(item.item, item.item) for item in items]
    context: dict[str, Any] = {
        "items": items,
        "now": jobs.standing(book, today),
        "forms": forms_by_name,
        "posted": posted,
    }
    form = forms_by_name.get(posted)
    if request.method == "POST" and form is not None and form.is_valid():
        try:
            _keep(aircraft, posted, form.cleaned_data)
        except (InputError, HeadMoved) as error:
            context |= said_wrong(form, error)
        else:
            return kept(form, f"/a/{aircraft}/next/")
    return page(request, "next.html", book, "next", context)


def _keep(aircraft: str, name: str, told: dict[str, Any]) -> None:
    author = told["author"]
    if name == "meters":
        jobs.add_meters(
            aircraft,
            tach=with_unit(told["tach"], "h"),
            hour_meter=with_unit(told["hour_meter"], "h"),
            date=told["date"].isoformat(),
            author=author,
        )
    elif name == "limit":
        texts = ("item", "nature", "source", "months", "condition", "counted_from", "why")
        item = {key: told[key] for key in texts if told[key]}
        if told["hours"]:
            item["hours"] = with_unit(told["hours"], "h")
        jobs.add_limit(aircraft, item, author=author)
    elif name == "done":
        jobs.add_done(
            aircraft,
            told["item"],
            date=told["date"].isoformat(),
            tach=with_unit(told["tach"], "h"),
            hour_meter=with_unit(told["hour_meter"], "h"),
            by=author,
            author=author,
        )
    else:
        jobs.put_off(
            aircraft,
            told["item"],
            name=told["name"],
            reason=told["reason"],
            until_date=told["until_date"].isoformat() if told["until_date"] else "",
            until_hours=with_unit(told["until_hours"], "h"),
            author=author,
        )
