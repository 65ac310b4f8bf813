"""Earlier work: what was done to the system and what happened to the aircraft, and to which part."""

from __future__ import annotations

from types import MappingProxyType
from typing import Any, Final

from django import forms
from django.http import HttpRequest, HttpResponse

from vanewise.diagnosis.parts_named import OF_EVENT, of_kinds
from vanewise.diagnosis.vocabulary import EVENTS
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, open_book
from vanewise.web.views.common import Kept, day_field, number_field, page, start_values
from vanewise.web.views.reports import keep_items, with_unit
from vanewise.wording import listed

_ASKED_WHICH: Final = MappingProxyType(
    {
        "gyro_changed": "instrument",
        "pump_changed": "pump",
        "hose_changed": "hose",
        "regulator_changed": "regulator",
        "intake_filter_changed": "intake filter",
        "inlet_filter_changed": "inlet filter",
    }
)
"""Work of which it is asked which part it was, where the aircraft has several: event -> word for the part."""


class EventsForm(Kept):
    kinds_done = forms.MultipleChoiceField(required=False, choices=[(word.id, word.words) for word in EVENTS.values()])
    hours_ago = number_field("About how many flight hours ago", "The same for all that are ticked; enter others apart.")
    when = day_field("On which day")
    note = forms.CharField(label="From which record, which page", required=False, max_length=300)

    def __init__(self, book: Book, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        labels = book.description.labels()
        self.about: dict[str, str] = {}
        for kind, word in _ASKED_WHICH.items():
            parts = [(part, labels[part]) for part in of_kinds(book.description, OF_EVENT[kind])]
            if len(parts) > 1:
                self.about[kind] = f"about_{kind}"
                names = listed([label for _, label in parts], "or").replace("%", "%%")
                self.fields[f"about_{kind}"] = forms.ChoiceField(
                    label=f"Which {word} was changed",
                    required=False,
                    choices=[("", "not known"), *parts],
                    error_messages={
                        "invalid_choice": f"Expected {names}, found “%(value)s”. Choose one, or not known."
                    },
                )

    def clean(self) -> dict[str, Any]:
        told = super().clean() or self.cleaned_data
        for kind, name in self.about.items():
            if told.get(name) and kind not in told.get("kinds_done", ()):
                words = EVENTS[kind].words
                self.add_error(
                    name, f"Expected “{words}” ticked with it, found it not ticked. Tick it, or choose not known."
                )
        return told

    def which(self) -> list[forms.BoundField]:
        """The fields that ask which part it was, where the aircraft has several."""
        return [self[name] for name in self.about.values()]

    def _about(self, kind: str) -> dict[str, str]:
        part = self.cleaned_data[self.about[kind]] if kind in self.about else ""
        return {"about": part} if part else {}

    def items(self) -> list[tuple[str, dict[str, Any]]]:
        told = self.cleaned_data
        shared: dict[str, Any] = {}
        if told["hours_ago"]:
            shared["hours_ago"] = with_unit(told["hours_ago"], "h")
        if told["when"]:
            shared["when"] = told["when"].isoformat()
        if told["note"]:
            shared["note"] = told["note"]
        return [(kinds.EVENT, {**shared, "kind": kind, **self._about(kind)}) for kind in told["kinds_done"]]


def add_events(request: HttpRequest, aircraft: str, report: str) -> HttpResponse:
    book = open_book(aircraft)
    found = book.report(report)
    form = EventsForm(book, request.POST or None, initial=start_values(request, book))
    context: dict[str, Any] = {
        "form": form,
        "report": found,
        "events": EVENTS.values(),
        "ticked": form["kinds_done"].value() or [],
    }
    if request.method == "POST" and form.is_valid():
        response = keep_items(request, book, report, form, form.items(), context)
        if response is not None:
            return response
    return page(request, "add_events.html", book, "reports", context)
