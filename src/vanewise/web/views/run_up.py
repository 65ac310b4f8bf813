"""The reading at run-up in twenty seconds, and readings from a table whose columns the person maps."""

from __future__ import annotations

import datetime
from typing import Any, Final, get_args

from django import forms
from django.http import HttpRequest, HttpResponse

from vanewise.errors import InputError, wrong
from vanewise.jobs import reading_tables as tables
from vanewise.jobs import run_up as jobs
from vanewise.jobs.casebook import open_book
from vanewise.store.journal import HeadMoved
from vanewise.watch.csv_import import Column, ColumnMapping, DateStyle, Field, headings
from vanewise.web.views.common import Kept, day_field, kept, number_field, page, said_wrong, start_values
from vanewise.web.views.reports import with_unit

#: The field of each path that the parsers may name.
PLACES: Final = {"reading": "gauge", "lamp[0].rpm": "lamp_out", "readings[0].rpm": "rpm"}
MOST_CHARACTERS: Final = 1_500_000


class RunUpForm(Kept):
    gauge = number_field("Gauge")
    rpm = number_field("At engine speed")
    lamp_out = number_field("Lamp went out at")
    tach = number_field("Tach time")
    hour_meter = number_field("Hour meter")
    erection = number_field("Attitude erect after")
    wander = number_field("Needle wanders by")
    drift = number_field("Heading drift in 15 minutes")
    altitude = number_field("Pressure altitude")
    temperature = number_field("Outside temperature")
    date = day_field("Taken on", required=True)
    sound = forms.BooleanField(label="The system is believed sound (a baseline)", required=False)
    sure = forms.BooleanField(label="It is right as written", required=False)

    def told(self) -> jobs.RunUp:
        said = self.cleaned_data
        texts = {name: with_unit(said[name], unit) if said[name] else "" for name, unit in jobs.UNITS.items()}
        return jobs.RunUp(date=said["date"].isoformat(), sound=bool(said["sound"]), **texts)


def run_up(request: HttpRequest, aircraft: str) -> HttpResponse:
    book = open_book(aircraft)
    today = datetime.datetime.now(datetime.UTC).date()
    speed = f"{book.description.engine.run_up_rpm.number:.0f}"
    first: dict[str, Any] = {**start_values(request, book), "date": today.isoformat(), "rpm": speed}
    form = RunUpForm(request.POST or None, initial=first)
    context: dict[str, Any] = {"form": form}
    if request.method == "POST" and form.is_valid():
        try:
            jobs.keep(aircraft, form.told(), sure=form.cleaned_data["sure"], author=form.cleaned_data["author"])
        except jobs.Doubtful as doubt:
            # The field keeps its figure and says what looks wrong; one tick then says that it is right.
            context |= {"problems": form.add_problems(doubt.problems), "doubtful": True}
        except (InputError, HeadMoved) as error:
            context |= said_wrong(form, error, PLACES)
        else:
            return kept(form, f"/a/{aircraft}/readings/?kept=1")
    context["last"] = jobs.last_time(book, f"{speed} rpm", today)
    return page(request, "run_up.html", book, "readings", context)


HOLDS: Final = [("", "nothing we need"), *((name, name) for name in get_args(Field))]
UNIT_CHOICES: Final = [(unit, unit or "none") for unit in ("", "inHg", "psi", "hPa", "rpm", "ft", "m", "C", "F")]
SEPARATORS: Final = [(",", "comma"), (";", "semicolon"), ("\t", "tabulator")]


class TableForm(Kept):
    """The table as text, and how its columns are mapped once its headings are known."""

    file = forms.FileField(label="The table, as a CSV file", required=False)
    text = forms.CharField(
        label="Or its text", required=False, widget=forms.Textarea(attrs={"rows": 6}), max_length=MOST_CHARACTERS
    )
    separator = forms.ChoiceField(label="Between the columns stands a", choices=SEPARATORS, initial=",")
    decimal = forms.ChoiceField(label="Decimals have a", choices=[(".", "point"), (",", "comma")], initial=".")
    date_style = forms.ChoiceField(
        label="Dates are written like", choices=[(style, style) for style in get_args(DateStyle)]
    )
    rpm = number_field("Engine speed of the gauge readings, where no column holds it")

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.names: tuple[str, ...] = ()

    def ask_columns(self, text: str, separator: str, before: ColumnMapping | None) -> None:
        """Add two questions for each heading: what it holds, and in which unit; as mapped before where it was."""
        self.names = headings(text, separator)
        known = {column.heading: column for column in before.columns} if before else {}
        for number, name in enumerate(self.names):
            column = known.get(name)
            self.fields[f"holds{number}"] = forms.ChoiceField(
                label=f"{name or 'a column without a heading'} holds",
                choices=HOLDS,
                required=False,
                initial=column.holds if column else "",
            )
            self.fields[f"unit{number}"] = forms.ChoiceField(
                label=f"unit of {name}", choices=UNIT_CHOICES, required=False, initial=column.unit if column else ""
            )

    @property
    def columns(self) -> list[tuple[str, Any, Any]]:
        return [(name, self[f"holds{i}"], self[f"unit{i}"]) for i, name in enumerate(self.names)]

    def mapping(self) -> tables.TableMapping:
        told = self.cleaned_data
        return tables.TableMapping(
            columns=ColumnMapping(
                columns=tuple(
                    Column(heading=name, holds=told[f"holds{i}"], unit=told[f"unit{i}"])
                    for i, name in enumerate(self.names)
                    if told[f"holds{i}"]
                ),
                date_style=told["date_style"],
                separator=told["separator"],
                decimal=told["decimal"],
            ),
            rpm=with_unit(told["rpm"], "rpm") if told["rpm"] else "",
        )


def table(request: HttpRequest, aircraft: str) -> HttpResponse:
    """Three looks at one page: the table, its columns, what it says; then it is kept."""
    book = open_book(aircraft)
    before = tables.kept_mapping(book)
    first: dict[str, Any] = dict(start_values(request, book))
    if before:
        first |= {key: getattr(before.columns, key) for key in ("separator", "decimal", "date_style")}
        first["rpm"] = before.rpm
    context: dict[str, Any] = {"step": "table", "before": before}
    if request.method != "POST":
        return page(request, "table.html", book, "readings", {**context, "form": TableForm(initial=first)})
    try:
        data = _with_text(request)
    except InputError as error:
        form = TableForm(request.POST)
        return page(request, "table.html", book, "readings", {**context, "form": form, "problems": error.problems})
    step = request.POST.get("step", "table")
    form = TableForm(data if step != "table" else None, initial={**first, **{k: data[k] for k in data}})
    form.ask_columns(
        data["text"], data.get("separator") or first.get("separator") or ",", before.columns if before else None
    )
    context |= {"form": form, "step": "columns"}
    if step != "table" and form.is_valid():
        try:
            if step == "keep":
                tables.read_in(aircraft, data["text"], form.mapping(), author=form.cleaned_data["author"])
                return kept(form, f"/a/{aircraft}/readings/?kept=1")
            read, fresh = tables.look(book, data["text"], form.mapping())
            context |= {"step": "keep", "read": read, "fresh": len(fresh), "rows": read.rows[:8]}
        except (InputError, HeadMoved) as error:
            context |= said_wrong(form, error)
    return page(request, "table.html", book, "readings", context)


def _with_text(request: HttpRequest) -> Any:
    """The posted fields with the text of an uploaded file in the place of the text."""
    data = request.POST.copy()
    file = request.FILES.get("file")
    if file is not None:
        if file.size > MOST_CHARACTERS:
            raise wrong("file", "a table of at most 1.5 million characters", f"{file.size:,} bytes", "split it in two")
        try:
            data["text"] = file.read().decode("utf-8-sig")
        except UnicodeDecodeError:
            raise wrong("file", "a text in UTF-8", "another encoding", "save it as CSV in UTF-8") from None
    if not data.get("text", "").strip():
        raise wrong("file", "a table with a line of headings", "nothing", "choose the file, or paste its text")
    return data
