"""Lives of parts and when replacing them pays, by the owner's own costs."""

from __future__ import annotations

import datetime
from typing import Any

import numpy as np
from django import forms
from django.http import HttpRequest, HttpResponse

from vanewise.errors import InputError
from vanewise.jobs import lives as jobs
from vanewise.jobs.casebook import open_book
from vanewise.store.journal import HeadMoved
from vanewise.watch.kaplan_meier import SurvivalSteps, kaplan_meier
from vanewise.watch.life import survival_band
from vanewise.watch.lifetimes import of_cause
from vanewise.web.plots import Axis, Band, Curve, Plot, shown_plot
from vanewise.web.views.common import Kept, kept, number_field, page, said_wrong, start_values
from vanewise.web.views.reports import with_unit


def lives(request: HttpRequest, aircraft: str) -> HttpResponse:
    book = open_book(aircraft)
    rows = [(kind, name, jobs.lives(book, kind)) for kind, name in jobs.KINDS.items()]
    return page(request, "lives.html", book, "readings", {"rows": rows})


class LifeForm(Kept):
    unit = forms.CharField(label="Which one, such as its serial number", max_length=80, required=False)
    lived_to = number_field("Hours up to which it is known to have lived")
    ended_by = number_field(
        "Hours by which it had ended",
        "Empty while it runs or came off sound; the same as above where the hour is known; more where a later look "
        "found it ended.",
    )
    cause = forms.CharField(
        label="What ended it", max_length=60, required=False, help_text="For example: wear, sudden stop, oil."
    )
    watched_from = number_field("Hours it already had when you came to know it")

    def item(self, kind: str) -> dict[str, str]:
        told = self.cleaned_data
        item = {"kind": kind, "unit": told["unit"].strip(), "cause": told["cause"].strip()}
        for name in ("lived_to", "ended_by", "watched_from"):
            item[name] = with_unit(told[name], "h") if told[name] else ""
        return item


class CostsForm(Kept):
    planned = number_field("Replacing it at a time of your choosing costs")
    unplanned = number_field("Replacing it after it stopped, wherever that is, costs")
    in_cloud = number_field("Share of stops that would come in cloud, 0 to 1")
    no_standby = number_field("Chance that no working standby takes over, 0 to 1")
    loss_given_those = number_field("Chance that the flight is lost then, 0 to 1")
    loss = number_field("What that loss is to you, in the same money")
    one_in = number_field("Never more than 1 in this many of a stop on the next flight in cloud")

    def values(self) -> dict[str, str]:
        names = ("planned", "unplanned", "in_cloud", "no_standby", "loss_given_those", "loss", "one_in")
        return {name: self.cleaned_data[name].strip().replace(" ", "") for name in names}


def life(request: HttpRequest, aircraft: str, kind: str) -> HttpResponse:
    book = open_book(aircraft)
    today = datetime.datetime.now(datetime.UTC).date()
    found = jobs.lives(book, kind)
    _, _, said = jobs.costs_of(book, kind)
    posted = request.POST.get("form", "")
    first = start_values(request, book)
    entry = LifeForm(request.POST if posted == "life" else None, initial=first, prefix="l")
    costs = CostsForm(request.POST if posted == "costs" else None, initial={**first, **said}, prefix="c")
    context: dict[str, Any] = {"found": found, "name": jobs.KINDS[kind], "entry": entry, "costs": costs}
    form: Kept = entry if posted == "life" else costs
    if request.method == "POST" and form.is_valid():
        author = form.cleaned_data["author"]
        try:
            if isinstance(form, LifeForm):
                jobs.add(aircraft, form.item(kind), author=author)
            else:
                jobs.keep_costs(aircraft, kind, costs.values(), author=author)
        except (InputError, HeadMoved) as error:
            context |= said_wrong(form, error)
        else:
            return kept(form, request.path)
    context |= {"posted": posted, "plot": _plot(found) if found.records else None}
    if kind == "pump":
        context["pumps"] = [
            (pump.label, jobs.this_pump(book, pump.id, found, today)) for pump in book.description.parts_of("pump")
        ]
    return page(request, "life.html", book, "readings", context)


def _plot(found: jobs.Lives) -> dict[str, Any]:
    """Chance that a new one lives so long, with its spread, and the step curve of the lives themselves."""
    lives_seen = of_cause(found.records)
    reach = max(float(lives_seen.lower.max()) * 1.4, 200.0)
    hours = np.linspace(0.0, reach, 61)
    low, high = survival_band(found.model, hours)
    xs = tuple(float(h) for h in hours)
    curves: tuple[Curve, ...] = ()
    exact = np.isfinite(lives_seen.upper)
    if bool(np.all(lives_seen.upper[exact] == lives_seen.lower[exact])) and exact.any():
        curves = (_steps(kaplan_meier(lives_seen), reach),)
    plot = Plot(
        title="Chance that a new one lives so long",
        x=Axis(label="Hours since new", unit="h", low=0.0, high=reach),
        y=Axis(label="Still going", unit="in 100", low=0.0, high=100.0),
        band=Band(
            x=xs,
            low=tuple(100 * float(v) for v in low),
            high=tuple(100 * float(v) for v in high),
            middle=tuple(100 * float(v) for v in found.model.survival(hours)),
            label="as far as these lives tell",
        ),
        curves=curves,
        digits=0,
    )
    return shown_plot(plot, "Band: what these lives leave open, in four of five cases. Dashed: the lives themselves.")


def _steps(found: SurvivalSteps, reach: float) -> Curve:
    """The share that lived to each age, as the steps it is."""
    xs, ys = [0.0], [100.0]
    for hour, share in zip(found.hours, found.surviving, strict=True):
        xs += [float(hour), float(hour) + 1e-6]
        ys += [ys[-1], 100 * float(share)]
    return Curve(x=(*xs, reach), y=(*ys, ys[-1]), label="lives as they were", dashed=True)
