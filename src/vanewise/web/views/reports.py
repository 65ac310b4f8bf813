"""Reports: the list, a new one, one with its evidence, and the forms that add to it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, Final

from django import forms
from django.http import HttpRequest, HttpResponse

from vanewise.diagnosis.checks.base import GAUGE_READ
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.next_check import has_its_part
from vanewise.diagnosis.parts_named import kind_words, of_kinds, of_remark, of_wrong_kind
from vanewise.diagnosis.told_checks import ToldCheck
from vanewise.diagnosis.types import Causes, NextCheck
from vanewise.diagnosis.vocabulary import CHECKS, EVENTS, SYMPTOMS
from vanewise.errors import InputError, wrong
from vanewise.jobs import causes as causes_job
from vanewise.jobs import earlier_work, kinds, own_words
from vanewise.jobs import evidence as jobs
from vanewise.jobs.casebook import Book, Report, open_book
from vanewise.jobs.tracing import scope_of
from vanewise.jobs.work import jobs_of
from vanewise.store.journal import HeadMoved
from vanewise.web import choices, engine
from vanewise.web.saying import said
from vanewise.web.views.common import Kept, day_field, kept, number_field, page, said_wrong, start_values
from vanewise.web.views.told_checks import Measured, ToldFields, places_of
from vanewise.wording import capital, listed

_BARE: Final = re.compile(r"^[-+]?\d+([.,]\d+)?$")
SWEEP_RPMS: Final = (700, 1000, 1200, 1500, 1800, 2100, 2400)


def with_unit(text: str, unit: str) -> str:
    """What was typed, with the unit that stands beside the field where the person left it to that."""
    text = text.strip().replace("\N{MINUS SIGN}", "-")
    return f"{text.replace(',', '.')} {unit}" if _BARE.match(text) else text


def reports(request: HttpRequest, aircraft: str) -> HttpResponse:
    book = open_book(aircraft)
    rows = [
        {"report": report, "items": len(report.evidence), "answer": causes_job.latest(book, report)}
        for report in book.reports[::-1]
    ]
    return page(request, "reports.html", book, "reports", {"rows": rows})


class ReportForm(Kept):
    words = forms.CharField(
        label="What happened, in your words",
        widget=forms.Textarea(attrs={"rows": 4}),
        required=False,
        max_length=4000,
    )
    when = day_field("When")
    altitude = number_field("Pressure altitude, if in flight")
    temperature = number_field("Outside temperature")
    noticed = forms.MultipleChoiceField(required=False)

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        noticed = self.fields["noticed"]
        assert isinstance(noticed, forms.MultipleChoiceField)
        noticed.choices = [item for _, _, items in choices.symptom_groups() for item in items]


def new_report(request: HttpRequest, aircraft: str) -> HttpResponse:
    book = open_book(aircraft)
    form = ReportForm(request.POST or None, initial=start_values(request, book))
    context: dict[str, Any] = {
        "form": form,
        "groups": choices.symptom_groups(),
        "ticked": form["noticed"].value() or [],
    }
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        when = told["when"].isoformat() if told["when"] else ""
        symptoms = [
            {"symptom": symptom, "present": True, "who": told["author"]} | ({"when": when} if when else {})
            for symptom in told["noticed"]
        ]
        try:
            report = jobs.open_report(
                aircraft,
                told["words"],
                author=told["author"],
                when=when,
                altitude=with_unit(told["altitude"], "ft"),
                temperature=with_unit(told["temperature"], "C"),
                symptoms=symptoms,
            )
        except (InputError, HeadMoved) as error:
            context |= said_wrong(form, error)
        else:
            return kept(form, f"/a/{aircraft}/reports/{report}/")
    return page(request, "new_report.html", book, "reports", context)


def report(request: HttpRequest, aircraft: str, report: str) -> HttpResponse:
    book = open_book(aircraft)
    found = book.report(report)
    engine.make_ready(aircraft, report)
    labels = book.description.labels()
    latest = causes_job.latest(book, found)
    context = {
        "report": found,
        "evidence": evidence_groups(found, labels),
        "baseline": [said(entry, labels) for entry in (*jobs.baseline(book), *jobs.of_sisters(book))],
        "answer": latest[0] if latest else None,
        "answer_entry": latest[1] if latest else None,
        "current": bool(latest) and causes_job.is_current(book, found, latest[1]) if latest else False,
        "scope": scope_of(book, found),
        "unsaid": [(one, EVENTS[one.event].words) for one in earlier_work.unsaid(book, found)],
        "jobs": [job for job in jobs_of(book) if job.entry.content.get("report") == report],
    }
    return page(request, "report.html", book, "reports", context)


def evidence_groups(report: Report, labels: dict[str, str]) -> list[tuple[str, list[Any]]]:
    """The evidence by kind, in the order a person thinks of it."""
    titles = {
        kinds.REMARK: "Noticed",
        kinds.READING: "Readings",
        kinds.LAMP: "Lamp",
        kinds.CHECK: "Checks done",
        kinds.EVENT: "Done to the aircraft before",
        kinds.NOTE: "Notes",
    }
    return [
        (title, items)
        for kind, title in titles.items()
        if (items := [said(entry, labels) for entry in report.evidence if entry.kind == kind])
    ]


def keep_items(
    request: HttpRequest,
    book: Book,
    report: str,
    form: Kept,
    items: list[tuple[str, dict[str, Any]]],
    context: dict[str, Any],
) -> HttpResponse | None:
    """Keep the items of a form; an error goes into ``context``."""
    if not items:
        context["problems"] = wrong("this form", "at least one entry", "nothing", "fill in what you know").problems
        return None
    try:
        jobs.add(book.aircraft, report, items, author=form.cleaned_data["author"])
    except (InputError, HeadMoved) as error:
        places = form.places() if isinstance(form, ReadingsForm) else {}
        context.update(said_wrong(form, error, places))
        return None
    return kept(form, f"/a/{book.aircraft}/reports/{report}/" if report else f"/a/{book.aircraft}/readings/")


class ReadingsForm(Kept):
    """A sweep or a single reading: a gauge value at each engine speed that was held."""

    direction = forms.ChoiceField(
        label="Engine speed was",
        choices=[("rising", "rising"), ("falling", "falling"), ("steady", "held steady"), ("unknown", "not noted")],
        initial="rising",
    )
    high = forms.ChoiceField(label="Gauge connected from", required=False)
    low = forms.ChoiceField(label="to", required=False)
    under = forms.ChoiceField(label="Condition", required=False)
    altitude = number_field("Pressure altitude")
    temperature = number_field("Outside temperature")
    engine = forms.ChoiceField(
        label="Engine was",
        choices=[("", "not noted"), ("warm", "warm"), ("cold", "cold: first run of the day")],
        required=False,
    )
    when = day_field("Taken on")
    lamp_rpm = number_field("Lamp went out (rising) or came on (falling) at")
    sound = forms.BooleanField(label="The system was believed sound then (a baseline)", required=False)
    sister = forms.CharField(
        label="Read on a sister aircraft of the same layout: its name", required=False, max_length=80
    )

    def __init__(self, book: Book, *args: Any, speeds: Sequence[int] = SWEEP_RPMS, **more: Any) -> None:
        super().__init__(*args, **more)
        points = [("", "the panel gauge, as connected"), *choices.ports(book.description)]
        for name in ("high", "low"):
            self._choose(name, points)
        self._choose("under", choices.conditions(book.description))
        for number in range(len(SWEEP_RPMS) + 2):
            self.fields[f"rpm{number}"] = number_field("Engine speed")
            self.fields[f"rpm{number}"].initial = speeds[number] if number < len(speeds) else ""
            self.fields[f"value{number}"] = number_field("Gauge")

    def _choose(self, name: str, options: choices.Choices) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = options

    def clean(self) -> dict[str, Any]:
        told = super().clean() or self.cleaned_data
        if str(told.get("sister", "")).strip() and str(told.get("lamp_rpm", "")).strip():
            self.add_error(
                "lamp_rpm",
                "Expected the gauge of the sister aircraft alone. Found: its lamp too, whose trip is its own. "
                "Next: leave the lamp out.",
            )
        return told

    @property
    def rows(self) -> list[tuple[Any, Any]]:
        return [(self[f"rpm{number}"], self[f"value{number}"]) for number in range(len(SWEEP_RPMS) + 2)]

    @property
    def filled(self) -> list[int]:
        """The rows that have a reading."""
        return [number for number in range(len(SWEEP_RPMS) + 2) if self.cleaned_data[f"value{number}"].strip()]

    def places(self) -> dict[str, str]:
        """The field of each path the parser may name."""
        found = {"lamp[0].rpm": "lamp_rpm"}
        for place, number in enumerate(self.filled):
            found[f"readings[{place}].reading"] = f"value{number}"
            found[f"readings[{place}].rpm"] = f"rpm{number}"
        return found

    def items(self) -> list[tuple[str, dict[str, Any]]]:
        told = self.cleaned_data
        shared: dict[str, Any] = {"direction": told["direction"]}
        for name, unit in (("altitude", "ft"), ("temperature", "C")):
            if told[name]:
                shared[name] = with_unit(told[name], unit)
        if told["when"]:
            shared["when"] = told["when"].isoformat()
        if told["sound"]:
            shared["sound"] = True
        if told["sister"].strip():
            shared["sister"] = told["sister"].strip()
        reading = dict(shared)
        if told["engine"]:
            reading["warm"] = told["engine"] == "warm"
        if told["high"] or told["low"]:
            reading |= {"high": told["high"], "low": told["low"], "instrument": "test gauge"}
        if told["under"]:
            reading["under"] = {told["under"]: 1}
        found = []
        for number in self.filled:
            value, rpm = told[f"value{number}"], told[f"rpm{number}"]
            item = {**reading, "reading": with_unit(value, "inHg"), "rpm": with_unit(rpm, "rpm")}
            found.append((kinds.READING, item))
        if told["lamp_rpm"].strip():
            lamp = {key: shared[key] for key in ("when", "sound", "altitude") if key in shared}
            direction = "falling" if told["direction"] == "falling" else "rising"
            found.append((kinds.LAMP, {**lamp, "rpm": with_unit(told["lamp_rpm"], "rpm"), "direction": direction}))
        return found


def add_readings(
    request: HttpRequest, aircraft: str, report: str = "", speeds: Sequence[int] = SWEEP_RPMS
) -> HttpResponse:
    book = open_book(aircraft)
    found = book.report(report) if report else None
    form = ReadingsForm(book, request.POST or None, initial=start_values(request, book), speeds=speeds)
    context: dict[str, Any] = {"form": form, "report": found}
    if request.method == "POST" and form.is_valid():
        response = keep_items(request, book, report, form, form.items(), context)
        if response is not None:
            return response
    return page(request, "add_readings.html", book, "reports" if report else "readings", context)


def _said_of(choice: str) -> dict[str, Any]:
    """Whether it was noticed, and which way it showed where that was chosen."""
    manner = {} if choice in ("yes", "no") else {"manner": choice}
    return {"present": choice != "no", **manner}


class RemarksForm(Kept):
    words = forms.CharField(
        label="In your words", required=False, widget=forms.Textarea(attrs={"rows": 3}), max_length=4000
    )
    when = day_field("When")
    who = forms.CharField(label="Who noticed it, if not you", required=False, max_length=200)
    minutes_after = number_field(
        "Minutes after a sudden stop",
        "Only for what was noticed after the reading fell to nothing: gyros coast for minutes.",
    )
    about = forms.ChoiceField(
        label="On which part",
        required=False,
        help_text="For what was seen on a part: which hose, filter or indicator.",
    )
    degree = forms.IntegerField(
        label="How much",
        required=False,
        min_value=-360,
        max_value=360,
        help_text="Whole degrees, degrees in 15 min, or minutes; with one thing marked only.",
    )
    note = forms.CharField(
        label="Anything else", required=False, widget=forms.Textarea(attrs={"rows": 3}), max_length=4000
    )

    def __init__(self, book: Book, checks: Sequence[ToldCheck], *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.told = [ToldFields(book, one) for one in checks if not one.numbers]
        for one in self.told:
            one.add_to(self)
        about = self.fields["about"]
        assert isinstance(about, forms.ChoiceField)
        self.description = book.description
        about.choices = [("", "not said"), *book.description.labels().items()]
        for _, _, items in choices.symptom_groups():
            for symptom, words in items:
                self.fields[symptom] = forms.ChoiceField(
                    label=capital(words),
                    required=False,
                    choices=[
                        ("", "not mentioned"),
                        ("yes", "noticed"),
                        *((manner, f"noticed, {manner}") for manner in SYMPTOMS[symptom].manners),
                        ("no", "looked, not there"),
                    ],
                )

    def items(self) -> list[tuple[str, dict[str, Any]]]:
        told = self.cleaned_data
        shared: dict[str, Any] = {"who": told["who"] or told["author"]}
        if told["when"]:
            shared["when"] = told["when"].isoformat()
        if told["minutes_after"]:
            shared["minutes_after"] = with_unit(told["minutes_after"], "min")
        results = [(kinds.CHECK, one.item(told, shared)) for one in self.told if told[one.name]]
        marked = self.marked(told)
        if told["degree"] is not None:
            shared["degree"] = told["degree"]
        found: list[tuple[str, dict[str, Any]]] = [
            (kinds.REMARK, {**shared, "symptom": symptom, **_said_of(told[symptom]), **self._place(symptom)})
            for symptom in marked
        ]
        found += results
        found += [(kinds.NOTE, {"text": told[name].strip()}) for name in ("words", "note") if told[name].strip()]
        return found

    def marked(self, told: dict[str, Any]) -> list[str]:
        """The symptoms that were marked, noticed or looked for."""
        return [symptom for _, _, items in choices.symptom_groups() for symptom, _ in items if told.get(symptom)]

    def _place(self, symptom: str) -> dict[str, str]:
        """The part, for what is seen on one; what an indicator does says itself which indicator it is about."""
        about = self.cleaned_data["about"]
        return {"about": about} if about and SYMPTOMS[symptom].direct and not SYMPTOMS[symptom].instrument else {}

    def clean(self) -> dict[str, Any]:
        told = super().clean() or self.cleaned_data
        for one in self.told:
            if one.without_place(told):
                self.add_error(one.place, "Expected the instrument it was done on, found none. Choose it.")
        if told.get("degree") is not None and len(self.marked(told)) != 1:
            self.add_error(
                "degree",
                f"Expected one thing marked beside it, found {len(self.marked(told))}. "
                "Mark the one it is of, or leave it out and write it under anything else.",
            )
        if told.get("about"):
            for symptom in self.marked(told):
                self._check_part(symptom)
        return told

    def _check_part(self, symptom: str) -> None:
        part, kinds = self._place(symptom).get("about", ""), of_remark(symptom)
        if of_wrong_kind(self.description, symptom, part, kinds):
            labels = self.description.labels()
            own = [labels.get(one, one) for one in of_kinds(self.description, kinds)]
            self.add_error(
                "about",
                f"{capital(SYMPTOMS[symptom].words)}: expected {kind_words(kinds)} "
                f"({listed(own, 'or') or 'none is described'}), found “{labels[part]}”. "
                f"Choose {'one of these, or ' if own else ''}not said; keep what was seen on another part apart.",
            )


def add_remarks(request: HttpRequest, aircraft: str, report: str) -> HttpResponse:
    book = open_book(aircraft)
    found = book.report(report)
    start = start_values(request, book)
    words = str((request.POST or request.GET).get("words", "")).strip()
    # What was found stays offered when the words are mended afterwards: a choice made is not lost with its field.
    found_for = words if request.method != "POST" or "find" in request.POST else request.POST.get("found_for", words)
    fitted = {check.id for check in CHECKS.values() if has_its_part(book.description, check)}
    meant = own_words.for_form(found_for, fitted) if found_for else own_words.NOTHING
    checks = meant["checks"]
    form = RemarksForm(book, checks, request.POST or None, initial={**start, "words": words})
    groups = [
        (title, [form[symptom] for symptom, _ in items], any(form[symptom].value() for symptom, _ in items))
        for _, title, items in choices.symptom_groups()
    ]
    context: dict[str, Any] = {
        "form": form,
        "report": found,
        "groups": _without(groups, meant["symptoms"]),
        "meant": [form[symptom] for symptom in meant["symptoms"]],
        "clauses": meant["clauses"],
        "events": [choices.event_words(event) for event in meant["events"]],
        "found_for": found_for,
        "told": [one.fields(form) for one in form.told],
        "measured": [Measured(book, one) for one in checks if one.numbers],
        "once": own_words.ONCE,
    }
    if request.method == "POST" and "find" not in request.POST and form.is_valid():
        response = keep_items(request, book, report, form, form.items(), context)
        if response is not None:
            return response
    return page(request, "add_remarks.html", book, "reports", context)


def _without(groups: list[tuple[str, list[Any], bool]], shown: list[str]) -> list[tuple[str, list[Any], bool]]:
    """The groups without what is offered already: a field stands on the page once."""
    return [(title, [field for field in fields if field.name not in shown], open_) for title, fields, open_ in groups]


def checks(request: HttpRequest, aircraft: str, report: str) -> HttpResponse:
    book = open_book(aircraft)
    found = book.report(report)
    latest = causes_job.latest(book, found)
    done = {str(entry.content["item"].get("check")) for entry in found.evidence if entry.kind == kinds.CHECK}
    best = list(latest[0].next_checks) if latest else []
    before = latest[0].before_another if latest else ()
    above = {item.id for item in best} | {item.id for question in before for item in question.checks}
    rest = [check for check in CHECKS.values() if check.id not in above and has_its_part(book.description, check)]
    context = {"report": found, "best": best, "before": before, "rest": rest, "done": done}
    return page(request, "checks.html", book, "reports", context)


class CheckForm(Kept):
    outcome = forms.ChoiceField(label="What it showed", required=False, widget=forms.RadioSelect)
    value = number_field("Measured")
    before = number_field("Gauge before")
    covered = number_field("Gauge while covered")
    suction = number_field("Suction of the source", "Never above 6 inHg.")
    place = forms.ChoiceField(label="Where", required=False)
    rpm = number_field("At engine speed")
    under = forms.ChoiceField(label="Condition", required=False)
    grade = forms.BooleanField(label="Seen or measured directly, not judged from a pattern", required=False)
    both_ways = forms.BooleanField(
        label="Proved both ways: taken away and it went, put back and it came back", required=False
    )
    when = day_field("Done on")
    note = forms.CharField(
        label="Anything else", required=False, widget=forms.Textarea(attrs={"rows": 3}), max_length=4000
    )

    def __init__(self, book: Book, check: Any, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.check = check
        self._choose("outcome", [(outcome.id, outcome.words) for outcome in check.outcomes])
        places = places_of(book, check)
        self._choose("place", [("", "choose"), *places])
        self.has_place = bool(places)
        self._choose("under", choices.conditions(book.description))
        self.both_ways_possible = check.act and check.harmless

    def _choose(self, name: str, options: choices.Choices) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = options

    @property
    def unit(self) -> str:
        return "cfm" if self.check.kind == "suction flow" else "inHg"

    @property
    def measures(self) -> bool:
        return self.check.kind not in ("table", *GAUGE_READ)

    def items(self) -> list[tuple[str, dict[str, Any]]]:
        told = self.cleaned_data
        item: dict[str, Any] = {"check": self.check.id}
        for name in ("outcome", "place", "note"):
            if told[name]:
                item[name] = told[name]
        for name, unit in (("value", self.unit), ("before", "inHg"), ("covered", "inHg"), ("suction", "inHg")):
            if told[name] and self.measures:
                item[name] = with_unit(told[name], unit)
        if told["rpm"]:
            item["rpm"] = with_unit(told["rpm"], "rpm")
        if told["under"]:
            item["under"] = {told["under"]: 1}
        if told["grade"] and not self.check.act:
            item["grade"] = 3
        if told["both_ways"] and self.both_ways_possible:
            item |= {"both_ways": True, "grade": 2}
        if told["when"]:
            item["when"] = told["when"].isoformat()
        return [(kinds.CHECK, item)]


def _offered(answer: Causes, check: str, place: str) -> NextCheck | None:
    """The check as the answer offers it, at that place where one is named."""
    asked = (*answer.next_checks, *(item for question in answer.before_another for item in question.checks))
    return next((item for item in asked if item.id == check and place in ("", item.place)), None)


def add_check(request: HttpRequest, aircraft: str, report: str, check: str) -> HttpResponse:
    book = open_book(aircraft)
    found = book.report(report)
    if check not in CHECKS:
        raise wrong("check", "a check this program knows", f'"{check}"', "choose one from the list of checks")
    known = CHECKS[check]
    if known.kind in GAUGE_READ:
        speeds = (round(book.description.engine.run_up_rpm.number),) if known.kind == "run-up" else SWEEP_RPMS
        return add_readings(request, aircraft, report, speeds)
    place = request.GET.get("place", "")
    form = CheckForm(book, known, request.POST or None, initial={**start_values(request, book), "place": place})
    latest = causes_job.latest(book, found)
    offered = _offered(latest[0], check, place) if latest else None
    context: dict[str, Any] = {"form": form, "report": found, "check": known, "offered": offered}
    context["names"] = {mode.id: mode.name for mode in MODES.values()}
    if request.method == "POST" and form.is_valid():
        response = keep_items(request, book, report, form, form.items(), context)
        if response is not None:
            return response
    return page(request, "add_check.html", book, "reports", context)
