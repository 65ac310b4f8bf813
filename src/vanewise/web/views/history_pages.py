"""The history of an aircraft, for its owner and for a buyer; component cards; a history taken in from elsewhere."""

from __future__ import annotations

from typing import Any, Final

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render

from vanewise.errors import InputError, wrong
from vanewise.jobs import components as component_jobs
from vanewise.jobs import histories, kinds, trends
from vanewise.jobs.casebook import open_book
from vanewise.jobs.rules import rules
from vanewise.jobs.watch import due
from vanewise.jobs.work import jobs_of
from vanewise.store import journal
from vanewise.store.journal import HeadMoved
from vanewise.web.views.common import Kept, day_field, kept, number_field, page, said_wrong, start_values, today_utc
from vanewise.web.views.reports import with_unit

A_PAGE: Final = 60
LARGEST: Final = 30_000_000
MEDIA: Final = {"json": "application/json", "csv": "text/csv; charset=utf-8", "pdf": "application/pdf"}


def history(request: HttpRequest, aircraft: str) -> HttpResponse:
    book = open_book(aircraft)
    today = today_utc()
    found = histories.history(aircraft)
    number = request.GET.get("page", "1")
    here = max(int(number), 1) if number.isdigit() and len(number) < 7 else 1
    newest = found.told[::-1]
    context = {
        "found": found,
        "rows": newest[(here - 1) * A_PAGE : here * A_PAGE],
        "before": here - 1,
        "after": here + 1 if len(newest) > here * A_PAGE else 0,
        "versions": book.versions[::-1],
        "assumed": len(book.description.assumed()),
        "reports": book.reports,
        "jobs": jobs_of(book),
        "changed": [line for line in trends.lines(book, today) if line.trend.state == "changed"],
        "items": due(book, today)[:6],
        "put_off": book.of(kinds.PUT_OFF),
        "rules": rules(),
    }
    return page(request, "history.html", book, "journal", context)


def history_file(request: HttpRequest, aircraft: str, form: str) -> HttpResponse:
    book = open_book(aircraft)
    made = histories.file(book, form, dated=today_utc(), page=request.GET.get("page", "letter"))
    name = f"history-{aircraft}.{form}"
    how = "inline" if form == "pdf" else "attachment"
    return HttpResponse(
        made,
        content_type=MEDIA[form],
        headers={"Content-Disposition": f'{how}; filename="{name}"'},
    )


class TakeInForm(forms.Form):
    file = forms.FileField(label="The history")


def take_in(request: HttpRequest) -> HttpResponse:
    form = TakeInForm(request.POST or None, request.FILES or None)
    context: dict[str, Any] = {"form": form}
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        try:
            if file.size > LARGEST:
                raise wrong("history", "at most 30 million bytes", f"{file.size:,}", "use the command line for it")
            try:
                text = file.read().decode("utf-8-sig")
            except UnicodeDecodeError:
                raise wrong("history", "a text in UTF-8", "another encoding", "export it again") from None
            aircraft, _ = histories.take_in(text, "history")
        except InputError as error:
            context["problems"] = error.problems
        else:
            return HttpResponseRedirect(f"/a/{aircraft}/history/")
    return render(request, "take_in.html", context)


class ComponentForm(Kept):
    serial = forms.CharField(label="Serial number, as on its plate", max_length=60)
    part = forms.CharField(label="What it is", max_length=80, required=False)
    kind = forms.ChoiceField(label="What happened", choices=[(word, word) for word in component_jobs.WHAT])
    date = day_field("On", required=True)
    tach = number_field("Tach time of the aircraft then")
    since_new = number_field("Its time since new, as its document says")
    note = forms.CharField(label="Why, or from which document", max_length=200, required=False)

    def item(self) -> dict[str, str]:
        told = self.cleaned_data
        item = {name: str(told[name]).strip() for name in ("serial", "part", "kind", "note")}
        item["date"] = told["date"].isoformat()
        for name in ("tach", "since_new"):
            item[name] = with_unit(told[name], "h") if told[name] else ""
        return item


def components(request: HttpRequest, aircraft: str) -> HttpResponse:
    book = open_book(aircraft)
    form = ComponentForm(request.POST or None, initial=start_values(request, book))
    context: dict[str, Any] = {"form": form}
    if request.method == "POST" and form.is_valid():
        try:
            component_jobs.add(aircraft, form.item(), author=form.cleaned_data["author"])
        except (InputError, HeadMoved) as error:
            context |= said_wrong(form, error)
        else:
            return kept(form, request.path)
    context["cards"] = component_jobs.cards(book)
    context["names"] = {row[0]: row[1] for row in journal.aircraft_rows()}
    return page(request, "components.html", book, "journal", context)


def removed_tag(request: HttpRequest, aircraft: str) -> HttpResponse:
    from vanewise.prints import SHEETS, tags_pdf
    from vanewise.web.views.prints_pages import _pdf

    book = open_book(aircraft)
    serial = request.GET.get("serial", "")
    sheet = request.GET.get("sheet", next(iter(SHEETS)))
    tag = component_jobs.tag_of_removed(book, serial)
    return _pdf(tags_pdf([tag], dated=today_utc(), sheet=sheet), "removed-part-tag")
