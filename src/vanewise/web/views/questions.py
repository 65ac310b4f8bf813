"""The ten questions as one form. Every answer may be "don't know"; what is then taken stands beside it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Final

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from vanewise.aircraft import layouts
from vanewise.aircraft.questions import DONT_KNOW, QUESTIONS, AnswerSpec, Question
from vanewise.errors import InputError
from vanewise.jobs import aircraft as jobs
from vanewise.web.views.common import Kept, kept, said_wrong, start_values
from vanewise.wording import capital

_BARE_NUMBER: Final = re.compile(r"^[+-]?\d+([.,]\d+)?$")


def start(request: HttpRequest) -> HttpResponse:
    form = QuestionsForm(request.POST or None, initial=start_values(request))
    context: dict[str, Any] = {"form": form, "layouts": layouts.layouts().values()}
    if request.method == "POST" and form.is_valid():
        try:
            aircraft = jobs.keep_from_answers(
                form.answers(), form.cleaned_data["name"], author=form.cleaned_data["author"]
            )
        except InputError as error:
            context |= said_wrong(form, error)
        else:
            return kept(form, f"/a/{aircraft}/")
    context["asked"] = [Asked(question, form) for question in QUESTIONS]
    return render(request, "start.html", context, status=400 if form.errors or context.get("problems") else 200)


@dataclass(frozen=True)
class Asked:
    """One question with its fields, for the template."""

    question: Question
    form: forms.Form

    @property
    def rows(self) -> list[dict[str, Any]]:
        return [
            {
                "field": self.form[spec.id],
                "unit": _unit(spec),
                "spec": spec,
                "when_id": spec.asked_when[0] if spec.asked_when else "",
                "when_words": "|".join(spec.asked_when[1]) if spec.asked_when else "",
            }
            for spec in self.question.answers
        ]

    @property
    def wrong(self) -> bool:
        return any(self.form[spec.id].errors for spec in self.question.answers)


class QuestionsForm(Kept):
    """One field for each answer, made from the questions themselves."""

    name = forms.CharField(label="What the aircraft is called", max_length=80, initial="My aircraft")

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        for question in QUESTIONS:
            for spec in question.answers:
                self.fields[spec.id] = _field(spec)

    def answers(self) -> dict[str, object]:
        """What was answered, by id; a bare number gets the unit that stands beside its field."""
        out: dict[str, object] = {}
        for question in QUESTIONS:
            for spec in question.answers:
                given = str(self.cleaned_data.get(spec.id) or "").strip()
                if given:
                    out[spec.id] = f"{given.replace(',', '.')} {_unit(spec)}".strip() if _is_bare(given) else given
        return out


def _is_bare(text: str) -> bool:
    return bool(_BARE_NUMBER.match(text))


def _unit(spec: AnswerSpec) -> str:
    return spec.unit if spec.kind == "quantity" else "h" if spec.kind == "hours" else ""


def _field(spec: AnswerSpec) -> forms.Field:
    label = capital(spec.label)
    taken = f"{DONT_KNOW} (taken: {spec.assumed})" if spec.assumed else DONT_KNOW
    if spec.kind == "choice":
        choices = [("", capital(taken)), *spec.choices.items()]
        return forms.ChoiceField(label=label, choices=choices, required=False)
    source = f" ({spec.source})" if spec.source else ""
    help_text = f"Empty: {spec.assumed}{source}." if spec.assumed else ""
    if spec.kind == "date":
        widget: forms.Widget = forms.DateInput(attrs={"type": "date"})
    elif spec.kind == "text":
        widget = forms.Textarea(attrs={"rows": 3})
    else:
        widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
    return forms.CharField(label=label, required=False, help_text=help_text, widget=widget, max_length=400)
