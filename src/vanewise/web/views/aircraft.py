"""All aircraft, a first description, and describing one anew."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from vanewise.aircraft import layouts
from vanewise.aircraft.writing import write_description
from vanewise.errors import InputError
from vanewise.jobs import aircraft as jobs
from vanewise.jobs.casebook import open_book
from vanewise.store import journal
from vanewise.store.journal import HeadMoved
from vanewise.web.views.common import Kept, kept, page, said_wrong, start_values


def all_aircraft(request: HttpRequest) -> HttpResponse:
    rows = [
        {"id": row[0], "name": row[1], "invented": row[2], "entries": row[4], "last": row[5]}
        for row in journal.aircraft_rows()
    ]
    return render(request, "all_aircraft.html", {"rows": rows})


class DescriptionForm(Kept):
    toml = forms.CharField(
        label="Description",
        widget=forms.Textarea(attrs={"class": "code", "spellcheck": "false", "autocapitalize": "off"}),
        strip=False,
    )
    why = forms.CharField(
        label="What changed, or how it was found out",
        max_length=300,
        required=False,
        help_text="For example: inline filter added; hose measured.",
    )
    valid_from = forms.DateField(
        label="Holds from",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text="The day the system became so. Leave empty if it always was.",
    )


def start_from_layout(request: HttpRequest, layout: str) -> HttpResponse:
    text = write_description(layouts.make(layout))
    return _first(request, {"toml": text}, title=layouts.layouts()[layout].title)


def start_from_text(request: HttpRequest) -> HttpResponse:
    return _first(request, {}, title="From a description file")


def _first(request: HttpRequest, initial: dict[str, Any], title: str) -> HttpResponse:
    form = DescriptionForm(request.POST or None, initial={**initial, **start_values(request)})
    context: dict[str, Any] = {"form": form, "heading": title}
    if request.method == "POST" and form.is_valid():
        try:
            aircraft = jobs.keep(
                form.cleaned_data["toml"],
                author=form.cleaned_data["author"],
                why=form.cleaned_data["why"] or "first description",
                valid_from=_iso(form.cleaned_data["valid_from"]),
            )
        except InputError as error:
            context |= {"problems": error.problems}
        else:
            return kept(form, f"/a/{aircraft}/")
    return render(request, "describe.html", context)


def describe(request: HttpRequest, aircraft: str) -> HttpResponse:
    book = open_book(aircraft)
    form = DescriptionForm(request.POST or None, initial={"toml": book.version.toml, **start_values(request, book)})
    context: dict[str, Any] = {"form": form, "heading": "Describe it anew", "versions": book.versions[::-1]}
    if request.method == "POST" and form.is_valid():
        try:
            jobs.describe_again(
                aircraft,
                form.cleaned_data["toml"],
                author=form.cleaned_data["author"],
                why=form.cleaned_data["why"],
                valid_from=_iso(form.cleaned_data["valid_from"]),
                expected_head=form.cleaned_data["head"],
            )
        except HeadMoved as moved:
            context |= said_wrong(form, moved)
        except InputError as error:
            context |= {"problems": error.problems}
        else:
            return kept(form, f"/a/{aircraft}/")
    return page(request, "describe.html", book, "system", context)


def _iso(day: Any) -> str:
    return day.isoformat() if day else ""
