"""The list 'What next, by when, why': limits, what was done, what was put off, calendar, cards."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from vanewise.errors import InputError, wrong
from vanewise.jobs import due_limits, due_list, kinds, meters
from vanewise.jobs import flying as flying_job
from vanewise.jobs import watch as jobs
from vanewise.jobs.calendars import calendar, feed_token, is_feed_token
from vanewise.jobs.casebook import Book, open_book
from vanewise.store.journal import HeadMoved
from vanewise.watch.customary import CARDS, cards_for
from vanewise.web.timeline import timeline
from vanewise.web.views.common import Kept, day_field, kept, number_field, page, said_wrong, start_values, today_utc
from vanewise.web.views.reports import with_unit
from vanewise.web.views.trouble import not_found


class FlyingForm(Kept):
    hours_a_year = number_field("Hours it flies in a year, about")


class OfferedForm(Kept):
    taken = forms.MultipleChoiceField(label="Start from", widget=forms.CheckboxSelectMultiple)


class ReplacedForm(Kept):
    which = forms.ChoiceField(label="Which meter", choices=[("tach", "tach time"), ("hour_meter", "hour meter")])
    date = day_field("Replaced on", required=True)
    old = number_field("The old one showed last")
    new = number_field("The new one showed first")


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


FORMS: dict[str, type[Kept]] = {
    "meters": MetersForm,
    "limit": LimitForm,
    "done": DoneForm,
    "off": PutOffForm,
    "flying": FlyingForm,
    "offered": OfferedForm,
    "replaced": ReplacedForm,
}


def what_next(request: HttpRequest, aircraft: str) -> HttpResponse:
    book = open_book(aircraft)
    today = today_utc()
    items = jobs.due(book, today)
    offered = due_limits.offered_limits(book)
    habit = flying_job.flying(book, today)
    first = {**start_values(request, book), "hours_a_year": habit.stated, "date": today.isoformat()}
    posted = request.POST.get("form", "")
    forms_by_name = {
        name: kind(request.POST if posted == name else None, initial=first, prefix=name) for name, kind in FORMS.items()
    }
    names = [(item.item, item.item) for item in items]
    _choose(forms_by_name["done"], "item", names)
    _choose(forms_by_name["off"], "item", names)
    _choose(forms_by_name["offered"], "taken", [(limit.item, _offer(limit)) for limit in offered])
    context: dict[str, Any] = {
        "items": items,
        "now": meters.standing(book, today),
        "forms": forms_by_name,
        "posted": posted,
        "offered": offered,
        "flying": habit,
        "timeline": timeline(items, today),
        "decisions": book.of(kinds.PUT_OFF)[::-1],
        "cards": cards_for(book.description),
        "feed": f"/a/{aircraft}/calendar/{feed_token(aircraft, settings.SECRET_KEY)}.ics",
        "here_address": request.build_absolute_uri("/")[:-1],
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


A_PAGE = 40


def all_next(request: HttpRequest) -> HttpResponse:
    """What next over all aircraft, those first whose next item comes first."""
    number = request.GET.get("page", "1")
    here = max(int(number), 1) if number.isdigit() and len(number) < 7 else 1
    found = due_list.listed(today_utc(), start=(here - 1) * A_PAGE, count=A_PAGE + 1)
    context = {
        "rows": [(one, one.items[:3], len(one.items) - 3) for one in found[:A_PAGE]],
        "before": here - 1,
        "after": here + 1 if len(found) > A_PAGE else 0,
    }
    return render(request, "all_next.html", context)


def _choose(form: Kept, name: str, options: list[tuple[str, str]]) -> None:
    field = form.fields[name]
    assert isinstance(field, forms.ChoiceField)
    field.choices = options


def _offer(limit: Any) -> str:
    """An offered limit in a line: what, how often, whose word."""
    parts = []
    if limit.hours_centi:
        parts.append(f"{limit.hours_centi / 100:,g} h")
    if limit.calendar_months:
        parts.append(f"{limit.calendar_months} months")
    often = f"every {' or '.join(parts)}" if parts else f"on condition: {limit.condition}"
    return f"{limit.item}, {often} ({'regulation' if limit.is_mandatory else 'common practice'})"


def card(request: HttpRequest, aircraft: str, card: str) -> HttpResponse:
    from vanewise.prints import card_pdf
    from vanewise.web.views.prints_pages import _paper, _pdf

    book = open_book(aircraft)
    if card not in CARDS:
        raise wrong("card", " or ".join(CARDS), f'"{card}"', "choose one of these")
    return _pdf(card_pdf(CARDS[card], aircraft=book.name, dated=today_utc(), page=_paper(request)), card)


def calendar_file(request: HttpRequest, aircraft: str) -> HttpResponse:
    return _calendar(open_book(aircraft), "attachment")


def calendar_feed(request: HttpRequest, aircraft: str, token: str) -> HttpResponse:
    """The same calendar for a client that comes back for it; whoever has no token learns nothing, not even that."""
    if not is_feed_token(aircraft, token, settings.SECRET_KEY):
        return not_found(request, Exception())
    return _calendar(open_book(aircraft), "inline")


def _calendar(book: Book, how: str) -> HttpResponse:
    return HttpResponse(
        calendar(book, today_utc()),
        content_type="text/calendar; charset=utf-8",
        headers={"Content-Disposition": f'{how}; filename="what-next-{book.aircraft}.ics"'},
    )


def _keep(aircraft: str, name: str, told: dict[str, Any]) -> None:
    author = told["author"]
    if name == "meters":
        meters.add_meters(
            aircraft,
            tach=with_unit(told["tach"], "h"),
            hour_meter=with_unit(told["hour_meter"], "h"),
            date=told["date"].isoformat(),
            author=author,
        )
    elif name == "flying":
        flying_job.say_flying(aircraft, with_unit(told["hours_a_year"], "h"), author=author)
    elif name == "offered":
        due_limits.take_offered(aircraft, told["taken"], author=author)
    elif name == "replaced":
        meters.replace_meter(
            aircraft,
            which=told["which"],
            date=told["date"].isoformat(),
            old=with_unit(told["old"], "h"),
            new=with_unit(told["new"], "h"),
            author=author,
        )
    elif name == "limit":
        texts = ("item", "nature", "source", "months", "condition", "counted_from", "why")
        item = {key: told[key] for key in texts if told[key]}
        if told["hours"]:
            item["hours"] = with_unit(told["hours"], "h")
        due_limits.add_limit(aircraft, item, author=author)
    elif name == "done":
        due_limits.add_done(
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
