"""Wear of the pumps: looks at the wear port, the forecast with its assumptions, and when to look again."""

from __future__ import annotations

import datetime
from typing import Any, get_args

import numpy as np
from django import forms
from django.http import HttpRequest, HttpResponse

from vanewise.errors import InputError, VanewiseError
from vanewise.jobs import kinds
from vanewise.jobs import wear as jobs
from vanewise.jobs.casebook import Book, item_of, open_book
from vanewise.jobs.flying import flying
from vanewise.provenance import Value
from vanewise.store.journal import HeadMoved
from vanewise.watch.wear_priors import DEFAULT_PRIORS, EventKind, WearPriors, as_text
from vanewise.web import trend_plots
from vanewise.web.views.common import Kept, day_field, kept, number_field, page, said_wrong, start_values
from vanewise.web.views.reports import with_unit


def pump_cards(book: Book, today: datetime.date) -> list[dict[str, Any]]:
    """Each pump with its forecast in words; a forecast that cannot be made says why."""
    return [
        _card(book, pump.id, pump.label, number, today) for number, pump in enumerate(book.description.parts_of("pump"))
    ]


def _card(
    book: Book, part: str, label: str, number: int, today: datetime.date, *, with_others: bool = False
) -> dict[str, Any]:
    looks = [(entry, item_of(entry)) for entry in book.of(kinds.WEAR, part=part)]
    found: dict[str, Any] = {"id": part, "label": label, "looks": looks[::-1], "plot_id": f"wear{number}"}
    try:
        forecast = jobs.forecast(book, part, today, with_others=with_others)
    except VanewiseError as error:
        return {**found, "trouble": error.problems}
    if forecast is None:
        return found
    habit = flying(book, today)
    return {
        **found,
        "forecast": forecast,
        "headline": next((row for row in forecast.chances if row.name == "before the next annual"), None),
        "again": jobs.look_again(forecast, habit, today),
        "plot": trend_plots.stop_chances(forecast),
        "flying": habit.words,
    }


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
    port_wear_fraction = number_field(
        "Share of the allowance worn when the edge comes to the port",
        "From the manual; 1 where the hole marks the limit itself.",
    )
    event = forms.ChoiceField(
        label="Or something that changes how fast it wears",
        required=False,
        choices=[("", "nothing of the kind"), *((kind, kind) for kind in get_args(EventKind))],
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
        if told["event"]:
            item |= {"event": told["event"], "hours": with_unit(told["hours"], "h")}
        for name in ("seen_means", "polarity_confirmed_by", "port_wear_fraction"):
            if told[name]:
                item[name] = told[name]
        for name in ("new_length", "minimum_length"):
            if told[name]:
                item[name] = with_unit(told[name], "in")
        return item


def wear(request: HttpRequest, aircraft: str, part: str) -> HttpResponse:
    book = open_book(aircraft)
    hours = jobs.pump_hours(book, part)
    first = {**start_values(request, book), "hours": f"{hours / 100:.1f}" if hours is not None else ""}
    form = WearForm(request.POST or None, initial=first)
    label = book.description.labels().get(part, part)
    context: dict[str, Any] = {"form": form, "part": part, "label": label}
    if request.method == "POST" and form.is_valid():
        try:
            jobs.add_wear(aircraft, part, form.item(), author=form.cleaned_data["author"])
        except (InputError, HeadMoved) as error:
            context |= said_wrong(form, error)
        else:
            return kept(form, f"/a/{aircraft}/readings/#wear")
    return page(request, "wear.html", book, "readings", context)


class AssumptionsForm(Kept):
    """Every starting number of the forecast; what is left empty stays as it was."""

    def __init__(self, now: WearPriors, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self._now = dict(now.values())
        for name, value in DEFAULT_PRIORS.values():
            self.fields[name] = number_field(f"{name.replace('_', ' ')}: {value.note or 'starting value'}")
            self.fields[f"{name}_source"] = forms.CharField(
                label=f"Where that {name.replace('_', ' ')} comes from", required=False, max_length=200
            )

    @property
    def rows(self) -> list[tuple[Any, Any, str, str]]:
        return [
            (self[name], self[f"{name}_source"], as_text(value), _standing(value)) for name, value in self._now.items()
        ]

    def values(self) -> dict[str, dict[str, str]]:
        told = self.cleaned_data
        return {
            name: {"number": told[name].strip(), "source": told[f"{name}_source"]}
            for name, _ in DEFAULT_PRIORS.values()
            if told[name].strip()
        }


def _standing(value: Value) -> str:
    """How a number is known, and where it comes from where that says more."""
    source = str(value.source)
    return value.standing if source.startswith(value.standing) else f"{value.standing}: {source}"


def _initial(book: Book, part: str) -> dict[str, str]:
    entry = book.answer(kinds.ASSUMPTIONS, part=part)
    found: dict[str, str] = {}
    for name, said in (entry.content["values"] if entry else {}).items():
        found[name], found[f"{name}_source"] = said.get("number", ""), said.get("source", "")
    return found


def ahead(request: HttpRequest, aircraft: str, part: str) -> HttpResponse:
    """What may stop a pump and when, with the band of wear ahead, and every assumption behind it, to be edited."""
    book = open_book(aircraft)
    jobs.check_pump(book, part)
    today = datetime.datetime.now(datetime.UTC).date()
    first = {**start_values(request, book), **_initial(book, part)}
    form = AssumptionsForm(jobs.priors(book, part), request.POST or None, initial=first)
    label = book.description.labels().get(part, part)
    context: dict[str, Any] = {"form": form, "part": part, "label": label}
    if request.method == "POST" and form.is_valid():
        try:
            jobs.keep_assumptions(aircraft, part, form.values(), author=form.cleaned_data["author"])
        except (InputError, HeadMoved) as error:
            context |= said_wrong(form, error)
        else:
            return kept(form, request.path)
    context["pump"] = _card(book, part, label, 0, today, with_others=True)
    context["others"] = len(jobs.other_pumps(book, part, today))
    answer = context["pump"].get("forecast")
    if answer is not None:
        reach = max(answer.hours_left["p90"] * 1.15, 100.0)
        band = jobs.band(book, part, [float(h) for h in np.linspace(0.0, reach, 25)], today)
        context["band"] = trend_plots.wear_ahead(answer, band, jobs.lengths(book, part, today))
        context["at"] = band[::6]
    return page(request, "wear_ahead.html", book, "readings", context)
