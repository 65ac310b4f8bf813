"""The causes of a report with their evidence, and what got dirty."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse

from vanewise.diagnosis.checks import ACCESS_MINUTES
from vanewise.diagnosis.modes import NO_THING, NONE_OF_THESE, NOTHING_WRONG
from vanewise.diagnosis.types import Cause, Causes, WouldRead
from vanewise.diagnosis.words import NO_FINDING
from vanewise.errors import InputError
from vanewise.jobs import causes as jobs
from vanewise.jobs import tracing
from vanewise.jobs.casebook import Book, open_book
from vanewise.store.journal import HeadMoved
from vanewise.web import choices, engine, plots
from vanewise.web.views.common import Kept, day_field, kept, number_field, page, said_wrong, start_values
from vanewise.web.views.reports import with_unit
from vanewise.wording import capital

SHOWN = 0.01
"""Causes less likely than this are folded away."""
MOST_WEIGHTS = 6
_LEAST_REPAIR = 0.05
_MOST_REPAIRS = 4
_NO_REPAIR = {mode.family: mode.name for mode in (NOTHING_WRONG, NONE_OF_THESE)}
"""Families that call for no repair, by the name that stands in the list of causes."""
_OVERLAY_KEY = "Rings: read. Band: 8 in 10 states with this cause, by a right gauge"


@dataclass(frozen=True)
class Weighed:
    """One piece of evidence beside a cause: which way it speaks, in words."""

    words: str
    way: str


@dataclass(frozen=True)
class CauseRow:
    """One cause as the page shows it."""

    cause: Cause
    part: str
    width: float
    present: float
    in_group: bool
    speaks: list[Weighed]
    rest: int
    a_thing: bool = True
    """Whether there is something that can be there: not so where nothing is wrong, or it is none of these."""
    plot: dict[str, Any] | None = None
    """Predicted against measured, where the gauge was read at two speeds or more on the ground."""


class CausesForm(Kept):
    opened = forms.MultipleChoiceField(
        label="Open already",
        required=False,
        choices=[(name, name) for name in ACCESS_MINUTES],
        widget=forms.CheckboxSelectMultiple,
    )


_TAPS = (("gauge", "gauge line"), ("lamp", "lamp switch line"))


def causes(request: HttpRequest, aircraft: str, report: str) -> HttpResponse:
    book = open_book(aircraft)
    found = book.report(report)
    earlier = {"opened": found.answers[-1].content.get("opened", [])} if found.answers else {}
    form = CausesForm(request.POST or None, initial={**start_values(request, book), **earlier})
    context: dict[str, Any] = {"form": form, "report": found}
    if request.method == "POST" and form.is_valid():
        try:
            jobs.request(aircraft, report, author=form.cleaned_data["author"], opened=form.cleaned_data["opened"])
        except (InputError, HeadMoved) as error:
            context |= said_wrong(form, error)
        else:
            return _arrived(request, kept(form, f"/a/{aircraft}/reports/{report}/causes/"))
    if request.method == "GET":
        engine.make_ready(aircraft, report)
    latest = jobs.latest(book, found)
    if latest:
        answer, entry = latest
        rows = cause_rows(book, answer)
        context |= {
            "answer": answer,
            "entry": entry,
            "current": jobs.is_current(book, found, entry),
            "rows": [row for row in rows if row.cause.probability >= SHOWN or row.in_group],
            "others": [row for row in rows if row.cause.probability < SHOWN and not row.in_group],
            "names": {cause.id: cause.name for cause in answer.causes},
            "level_chance": answer.levels.get(answer.level, 0.0),
            "repairs": likeliest_repairs(answer),
            "no_finding": NO_FINDING,
        }
    return page(request, "causes.html", book, "reports", context)


def _arrived(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """Where a script asked, it is told to go to the page; a browser follows the redirect by itself."""
    if "HX-Request" in request.headers:
        response.headers["HX-Redirect"] = response.headers["Location"]
        del response.headers["Location"]
        response.status_code = 204
    return response


def first(request: HttpRequest, aircraft: str, report: str) -> HttpResponse:
    """A piece of the causes page: the bank's answer at once. After a press of the button the refined one is asked for
    by the piece itself; without scripts nobody comes here."""
    book = open_book(aircraft)
    form = CausesForm(request.POST or None)
    refine = request.method == "POST"
    if refine and not form.is_valid():
        # The whole page knows how to say what is missing.
        response = causes(request, aircraft, report)
        response.headers["HX-Retarget"] = "body"
        return response
    try:
        answer = jobs.first(aircraft, report)
    except InputError as error:
        return page(request, "parts/first_causes.html", book, "reports", {"problems": error.problems})
    named = {cause.id for cause in answer.named}
    context = {
        "answer": answer,
        "rows": [row for row in cause_rows(book, answer) if row.cause.id in named],
        "refine": refine,
        "form": form,
        "report_id": report,
    }
    return page(request, "parts/first_causes.html", book, "reports", context)


def cause_rows(book: Book, answer: Causes) -> list[CauseRow]:
    labels = book.description.labels()
    rows = []
    for cause in sorted(answer.causes, key=lambda item: -item.probability):
        weights = sorted(cause.evidence, key=lambda item: -abs(item.log10_odds))
        speaking = [weight for weight in weights if weight.speaks != "neither"]
        rows.append(
            CauseRow(
                cause=cause,
                part=labels.get(cause.part, cause.part.replace("_", " ")),
                width=round(100 * cause.probability, 1),
                present=round(100 * max(cause.present, cause.probability), 1),
                in_group=cause.id in answer.group,
                speaks=[Weighed(words=weight.words, way=weight.speaks) for weight in speaking[:MOST_WEIGHTS]],
                rest=len(speaking) - len(speaking[:MOST_WEIGHTS]),
                a_thing=cause.id not in NO_THING,
                plot=overlay(cause),
            )
        )
    return rows


def likeliest_repairs(answer: Causes) -> list[tuple[str, float]]:
    """Families of causes that call for the same repair, the likeliest first."""
    named = [(_NO_REPAIR.get(name, name), chance) for name, chance in answer.repairs.items() if chance >= _LEAST_REPAIR]
    return sorted(named, key=lambda entry: -entry[1])[:_MOST_REPAIRS]


def overlay(cause: Cause) -> dict[str, Any] | None:
    """The readings over the curve that this cause predicts; those in the densest air, so the ground's."""
    densest = max((entry.density_kg_m3 for entry in cause.would_read), default=0.0)
    shown = [entry for entry in cause.would_read if entry.density_kg_m3 > densest - 0.02]
    band = _predicted(cause, shown)
    if band is None:
        return None
    read = plots.Points(
        x=tuple(entry.engine_rpm for entry in shown), y=tuple(entry.read_inhg for entry in shown), label="read"
    )
    low, high = plots.span((*band.low, *band.high, *read.y), floor=0.0, least=plots.LEAST_INHG)
    left, right = plots.span((*band.x, *read.x))
    plot = plots.Plot(
        title=f"{capital(cause.name)}: predicted against measured",
        x=plots.Axis(label="engine speed", unit="rpm", low=left, high=right),
        y=plots.Axis(label="panel gauge", unit="inHg", low=low, high=high),
        band=band,
        points=(read,),
    )
    return {**plots.shown_plot(plot, _OVERLAY_KEY), "touch": False}


def _predicted(cause: Cause, shown: Sequence[WouldRead]) -> plots.Band | None:
    """The whole curve where the answer has it; else, in a first answer, the speeds that were read."""
    curve = cause.would_sweep
    label = "8 in 10 states with this cause"
    if curve is not None:
        return plots.Band(
            x=curve.engine_rpm, low=curve.low_inhg, high=curve.high_inhg, middle=curve.middle_inhg, label=label
        )
    if len({entry.engine_rpm for entry in shown}) < 2:
        return None
    return plots.Band(
        x=tuple(entry.engine_rpm for entry in shown),
        low=tuple(entry.low_inhg for entry in shown),
        high=tuple(entry.high_inhg for entry in shown),
        middle=tuple(entry.middle_inhg for entry in shown),
        label=label,
    )


class EventForm(Kept):
    part = forms.ChoiceField(label="What released debris")
    kind = forms.ChoiceField(
        label="In which event",
        choices=[
            ("stop", "it stopped or broke"),
            ("running", "it shed while running"),
            ("cross-feed", "another source ran while it was dead"),
            ("turned backwards", "the propeller was turned backwards"),
            ("maintenance", "something was left in at work"),
        ],
    )
    altitude = number_field("Pressure altitude then")
    suction = number_field("Gauge just before")
    ran_on = number_field("Engine ran on after the stop for")
    turns_back = number_field("Propeller turned backwards by")
    other_source_used = forms.ChoiceField(
        label="Was another source used", required=False, choices=[("", "don't know"), ("yes", "yes"), ("no", "no")]
    )
    fragments_complete = forms.ChoiceField(
        label="Were all fragments found", required=False, choices=[("", "don't know"), ("yes", "yes"), ("no", "no")]
    )
    when = day_field("When")

    def __init__(self, book: Book, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        part = self.fields["part"]
        assert isinstance(part, forms.ChoiceField)
        pumps = [(pump.id, pump.label) for pump in book.description.parts_of("pump")]
        part.choices = [*pumps, *(item for item in choices.owners(book.description) if item not in pumps)]

    def item(self) -> dict[str, Any]:
        told = self.cleaned_data
        item: dict[str, Any] = {"part": told["part"], "kind": told["kind"]}
        for name, unit in (("altitude", "ft"), ("suction", "inHg"), ("ran_on", "min"), ("turns_back", "")):
            if told[name]:
                item[name] = with_unit(told[name], unit).strip()
        for name in ("other_source_used", "fragments_complete"):
            if told[name]:
                item[name] = told[name]
        if told["when"]:
            item["when"] = told["when"].isoformat()
        return item


class FindingForm(Kept):
    part = forms.ChoiceField(label="Filter, valve or line looked at")
    state = forms.ChoiceField(
        label="Found",
        required=False,
        choices=[
            ("", "choose"),
            ("intact", "intact"),
            ("breached", "breached, burst or a seal passed"),
            ("absent", "not there"),
            ("reversed", "the wrong way round"),
            ("unknown", "could not be seen"),
        ],
    )
    right_way_round = forms.ChoiceField(
        label="The right way round", required=False, choices=[("", "not looked"), ("yes", "yes"), ("no", "no")]
    )
    clean_from = number_field("For a line: white cloth clean from the dirty end on after")
    proof = forms.CharField(label="Seen how", required=False, max_length=300)
    when = day_field("Looked at on")
    as_it_was = forms.ChoiceField(
        label="The one on at the event, and nothing run through it since",
        required=False,
        choices=[("", "don't know"), ("yes", "yes"), ("no", "no")],
    )

    def __init__(self, book: Book, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        part = self.fields["part"]
        assert isinstance(part, forms.ChoiceField)
        part.choices = choices.owners(book.description)
        self.lines = {line.id for line in book.description.lines}

    def item(self) -> dict[str, Any]:
        told = self.cleaned_data
        seen = {"as_it_was": told["as_it_was"], "when": told["when"].isoformat() if told["when"] else ""}
        kept = {key: text for key, text in seen.items() if text}
        if told["part"] in self.lines:
            clean = with_unit(told["clean_from"], "m")
            return {"line": told["part"], "clean_from": clean, "proof": told["proof"], "by": told["author"]} | kept
        item = {"part": told["part"], "state": told["state"], "note": told["proof"]} | kept
        return item | ({"right_way_round": told["right_way_round"]} if told["right_way_round"] else {})


def scope(request: HttpRequest, aircraft: str, report: str) -> HttpResponse:
    book = open_book(aircraft)
    found = book.report(report)
    first = start_values(request, book)
    event = EventForm(book, request.POST if "event" in request.POST else None, initial=first)
    finding = FindingForm(book, request.POST if "finding" in request.POST else None, initial=first, prefix="f")
    context: dict[str, Any] = {"report": found, "event": event, "finding": finding}
    for form, act in ((event, tracing.add_event), (finding, tracing.add_finding)):
        if request.method == "POST" and form.is_bound and form.is_valid():
            try:
                act(aircraft, report, form.item(), author=form.cleaned_data["author"])
            except InputError as error:
                context |= said_wrong(form, error)
            else:
                return kept(form, f"/a/{aircraft}/reports/{report}/scope/")
    labels = book.description.labels()
    taps = {f"{what}.{side}": f"{words}, {side} side" for what, words in _TAPS for side in ("high", "low")}
    traced = tracing.scope_of(book, found)
    known = dict(traced.labels) if traced else {}
    asked = () if traced else tracing.asked_of(book, found)
    context |= {"scope": traced, "asked": asked, "labels": {**taps, **labels, **known}, "duty": book.description}
    return page(request, "scope.html", book, "reports", context)
