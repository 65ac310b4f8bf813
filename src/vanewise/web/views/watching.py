"""Readings over time: what is followed, what has changed, where a new baseline starts."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse

from vanewise.errors import InputError
from vanewise.jobs import kinds, trends
from vanewise.jobs.casebook import Book, item_of, open_book
from vanewise.quantities import PA_PER_INHG, to_si
from vanewise.store.journal import HeadMoved
from vanewise.web import trend_plots
from vanewise.web.views.common import Kept, day_field, kept, number_field, page, said_wrong, start_values, today_utc
from vanewise.web.views.reports import with_unit
from vanewise.web.views.wearing import pump_cards


@dataclass(frozen=True)
class Past:
    """One reading of the panel gauge or the lamp, or a figure that was timed, by date."""

    when: datetime.date
    rpm: float | None
    words: str
    digest: str
    sound: bool


TIMED_WORDS = {"erection": "erect after", "drift": "heading drift", "wander": "needle wander"}


def past_readings(book: Book) -> list[Past]:
    """Every dated panel reading, lamp reading and timed figure in normal running, newest first."""
    found = []
    for entry in book.of(kinds.READING, kinds.LAMP, kinds.FIGURE):
        item = item_of(entry)
        if item.get("high") or item.get("under") or item.get("sister"):
            continue
        rpm = to_si(str(item["rpm"]), "rpm", "rpm") if item.get("rpm") else None
        words = str(item.get("reading") or "lamp")
        if entry.kind == kinds.FIGURE:
            words = f"{TIMED_WORDS[str(item['what'])]} {item['value']}"
        found.append(Past(trends.day_said(entry), rpm, words, entry.digest, bool(item.get("sound"))))
    return sorted(found, key=lambda past: (past.when, past.rpm or 0.0), reverse=True)


def readings(request: HttpRequest, aircraft: str) -> HttpResponse:
    book = open_book(aircraft)
    today = today_utc()
    lines = trends.lines(book, today)
    changed = [line for line in lines if line.trend.state == "changed"]
    context = {
        "kept": request.GET.get("kept"),
        "lines": sorted(lines, key=lambda line: line.trend.state != "changed"),
        "changed": changed,
        "plots": _plots(book, lines, today),
        "past": past_readings(book),
        "pumps": pump_cards(book, today),
    }
    return page(request, "readings.html", book, "readings", context)


def _plots(book: Book, lines: tuple[trends.Line, ...], today: datetime.date) -> list[tuple[str, dict[str, Any]]]:
    """The first two figures that have two days of it, those that changed first."""
    baselines = trends.baselines(book, trends.Clock(book, today))
    wanted = [line for line in lines if len({r.date for r in line.source.series.readings}) > 1]
    wanted.sort(key=lambda line: line.trend.state != "changed")
    return [
        (f"plot{number}", trend_plots.over_time(line, baselines, _limits(book, line.key)))
        for number, line in enumerate(wanted[:2])
    ]


def _limits(book: Book, key: str) -> list[tuple[float, str]]:
    """The band on the gauge, for a figure that is a reading above the knee."""
    if key not in ("plateau", "run_up"):
        return []
    gauge = book.description.gauge
    pairs = ((gauge.band_low, "band on the gauge, low"), (gauge.band_high, "band on the gauge, high"))
    return [(value.number / PA_PER_INHG, words) for value, words in pairs if value is not None]


class BaselineForm(Kept):
    when = day_field("Work done on", required=True)
    tach = number_field("Tach time then")
    why = forms.CharField(label="What was done", max_length=200)


class CompareForm(Kept):
    shown = number_field("The panel gauge showed")
    true = number_field("The calibrated gauge showed")


def figure(request: HttpRequest, aircraft: str, key: str) -> HttpResponse:
    book = open_book(aircraft)
    today = today_utc()
    line = trends.line(book, key, today)
    baselines = trends.baselines(book, trends.Clock(book, today))
    first = start_values(request, book)
    posted = request.POST.get("form", "")
    baseline = BaselineForm(request.POST if posted == "baseline" else None, initial=first, prefix="b")
    compare = CompareForm(request.POST if posted == "compare" else None, initial=first, prefix="c")
    context: dict[str, Any] = {
        "line": line,
        "plot": trend_plots.over_time(line, baselines, _limits(book, key)),
        "sums": trend_plots.sums(line),
        "values": sorted(line.source.series.readings, key=lambda r: r.hours, reverse=True),
        "baselines": baselines,
        "baseline": baseline,
        "compare": compare,
        "gauge": line.followed.unit == "inHg",
        "posted": posted,
    }
    form: Kept = baseline if posted == "baseline" else compare
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        try:
            if posted == "baseline":
                trends.start_baseline(
                    aircraft,
                    when=told["when"].isoformat(),
                    why=told["why"],
                    tach=with_unit(told["tach"], "h"),
                    author=told["author"],
                )
            else:
                shown, true = with_unit(told["shown"], "inHg"), with_unit(told["true"], "inHg")
                trends.compare_gauge(aircraft, shown=shown, true=true, author=told["author"])
        except (InputError, HeadMoved) as error:
            context |= said_wrong(form, error)
        else:
            return kept(form, request.path)
    return page(request, "figure.html", book, "readings", context)
