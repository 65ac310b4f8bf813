"""What the pages share: the frame of an aircraft, forms that lose nothing, and the writer's name."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render

from vanewise.errors import InputError, Problem
from vanewise.jobs.casebook import Book
from vanewise.store.journal import HeadMoved
from vanewise.web.guard import WHO_COOKIE

A_YEAR_S = 365 * 24 * 3600


def frame(book: Book, here: str) -> dict[str, Any]:
    """What the frame of an aircraft's page shows."""
    return {
        "craft": {
            "id": book.aircraft,
            "name": book.name,
            "invented": book.invented,
            "head": book.head,
            "broken": book.problems,
        },
        "here": here,
    }


def page(request: HttpRequest, template: str, book: Book, here: str, context: Mapping[str, Any]) -> HttpResponse:
    return render(request, template, {**frame(book, here), **context})


NUMBER = {"inputmode": "decimal", "autocomplete": "off"}


def number_field(label: str, help_text: str = "") -> forms.CharField:
    """A field for a number that may carry its own unit; a telephone shows its number keys."""
    return forms.CharField(
        label=label, required=False, max_length=40, help_text=help_text, widget=forms.TextInput(attrs=NUMBER)
    )


def day_field(label: str, *, required: bool = False) -> forms.DateField:
    return forms.DateField(label=label, required=required, widget=forms.DateInput(attrs={"type": "date"}))


class Kept(forms.Form):
    """A form whose answer is kept: it carries the writer's name and the head of the journal it was made for."""

    author = forms.CharField(
        label="Your name",
        max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "name", "autocapitalize": "words"}),
    )
    head = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)

    def add_problems(self, problems: Iterable[Problem], fields: Mapping[str, str] = {}) -> tuple[Problem, ...]:
        """Hang each problem on the field its path names: ``evidence: readings[0].reading`` on ``reading``.

        ``fields`` gives the field of a whole path or of its last name where that differs. Returns the problems that
        belong to no field, for the top of the page.
        """
        rest = []
        for problem in problems:
            words = problem.where.split(" ")
            paths = [word for word in (words[0], words[-1]) if not word.endswith(":")]
            names = [name for path in paths for name in (path, path.rsplit(".", 1)[-1].partition("[")[0])]
            name = next((fields.get(name, name) for name in names if fields.get(name, name) in self.fields), "")
            if name:
                self.add_error(name, f"Expected {problem.expected}. Found: {problem.found}. Next: {problem.next_step}.")
            else:
                rest.append(problem)
        return tuple(rest)


def today_utc() -> datetime.date:
    """Today, as the journal counts days."""
    return datetime.datetime.now(datetime.UTC).date()


def start_values(request: HttpRequest, book: Book | None = None) -> dict[str, str]:
    """The name this telephone wrote last, and the head the form is made for."""
    return {"author": request.COOKIES.get(WHO_COOKIE, ""), "head": book.head if book else ""}


def kept(form: Kept, address: str) -> HttpResponse:
    """Go on to ``address`` after an entry was kept, and remember the writer's name on this telephone."""
    response = HttpResponseRedirect(address)
    response.set_cookie(WHO_COOKIE, form.cleaned_data["author"], max_age=A_YEAR_S, samesite="Lax", httponly=True)
    return response


def said_wrong(form: Kept, error: InputError | HeadMoved, fields: Mapping[str, str] = {}) -> dict[str, Any]:
    """What a page shows when its form was refused: what was typed stays; a moved head is shown and taken over."""
    if isinstance(error, HeadMoved):
        # The person sees what was added; pressing again keeps theirs on top of it.
        data = form.data.copy()
        data["head"] = error.head
        form.data = data
        return {"problems": error.problems, "meanwhile": error.since}
    return {"problems": form.add_problems(error.problems, fields)}
