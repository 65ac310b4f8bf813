"""Jobs: the list, a plan, and the package with everything ticked, counted and closed against it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, get_args

import msgspec
from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.views.decorators.http import require_POST

from vanewise.contamination.closure import suspect_states
from vanewise.contamination.plumbing import SURROUNDINGS
from vanewise.diagnosis.modes import MODES
from vanewise.errors import InputError, VanewiseError, wrong
from vanewise.jobs import causes as causes_job
from vanewise.jobs import kinds, miswiring
from vanewise.jobs import work as jobs
from vanewise.jobs.casebook import Book, open_book
from vanewise.jobs.rules import rules
from vanewise.jobs.steps import CONDITIONS
from vanewise.schematic import LineMark, draw
from vanewise.store.journal import HeadMoved, JournalEntry
from vanewise.web import choices
from vanewise.web.guard import WHO_COOKIE, trouble_page
from vanewise.web.views.common import A_YEAR_S, Kept, kept, page, said_wrong, start_values
from vanewise.web.views.reports import with_unit
from vanewise.web.views.system import pressure_marks
from vanewise.work.compare import compare
from vanewise.work.cost import cost
from vanewise.work.cost import items as cost_items
from vanewise.work.fittings import LIMIT_TURNS, turn_needed
from vanewise.work.gates import GateState
from vanewise.work.hose_map import seen_words
from vanewise.work.looks import unanswered
from vanewise.work.types import FittingRecord, HoseTag, LineCondition, LineSeen, StepLook, Task


def job_list(request: HttpRequest, aircraft: str) -> HttpResponse:
    book = open_book(aircraft)
    return page(request, "jobs.html", book, "jobs", {"jobs": jobs.jobs_of(book)[::-1], "reports": book.reports})


class PlanForm(Kept):
    cause = forms.ChoiceField(label="Plan for", required=False)
    place = forms.ChoiceField(label="Where it sits, if not as shown", required=False)
    parent = forms.ChoiceField(label="Takes the place of", required=False)


def plan(request: HttpRequest, aircraft: str, report: str) -> HttpResponse:
    book = open_book(aircraft)
    found = book.report(report)
    form = PlanForm(
        request.POST or None, initial={**start_values(request, book), "cause": request.GET.get("cause", "")}
    )
    latest = causes_job.latest(book, found)
    cause, place, parent = form.fields["cause"], form.fields["place"], form.fields["parent"]
    assert isinstance(cause, forms.ChoiceField)
    assert isinstance(place, forms.ChoiceField)
    assert isinstance(parent, forms.ChoiceField)
    earlier = [one for one in jobs.jobs_of(book)[::-1] if one.entry.content.get("report") == report]
    parent.choices = [
        *((one.key, f"{one.package.cause_name}, {one.package.made_on}, {one.key}") for one in earlier),
        ("", "none: a job of its own"),
    ]
    likely = [(item.id, item.name) for item in latest[0].causes if item.probability >= 0.01] if latest else []
    first = [("", "what the answer says now")] if latest else []
    others = [(mode.id, mode.name) for mode in MODES.values() if mode.id not in {item for item, _ in likely}]
    cause.choices = [*first, *likely, *others]
    place.choices = [("", "as the cause says"), *choices.owners(book.description)]
    context: dict[str, Any] = {"form": form, "report": found, "answer": latest[0] if latest else None}
    context["earlier"] = earlier
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        try:
            package = jobs.make_package(
                aircraft,
                report,
                told["cause"],
                place=told["place"],
                parent=told["parent"],
                author=told["author"],
            )
        except (InputError, HeadMoved) as error:
            context |= said_wrong(form, error)
        else:
            return kept(form, f"/a/{aircraft}/jobs/{package.id[:12]}/")
    return page(request, "plan.html", book, "jobs", context)


@dataclass(frozen=True)
class TaskRow:
    """One task as the page shows it."""

    number: int
    task: Task
    state: str
    """``done``, ``left out``, ``waits`` or ``open``."""
    waits_for: list[str]
    gates: list[GateState]
    why_left_out: str
    open: bool
    """True for the tasks that can be done now: only these lie open on the page."""
    looks: list[dict[str, Any]]


def job(request: HttpRequest, aircraft: str, key: str) -> HttpResponse:
    book = open_book(aircraft)
    found = jobs.job(book, key)
    package, log = found.package, found.log
    labels = book.description.labels()
    rows = task_rows(found)
    scope = package.scope
    states = suspect_states(scope, log.closures) if scope else ()
    suspects = [{"state": state, "suspect": scope.suspect(state.id)} for state in states if scope]
    still_open = sum(1 for state in states if state.is_open)
    parts = [
        ("tasks", "Tasks"),
        ("counts", "Counts"),
        ("hoses", "Hoses"),
        ("fittings", "Fittings and torque"),
        ("suspects", f"Suspects ({still_open} open)"),
        ("parts", "Parts and findings"),
    ]
    part = request.GET.get("part", "tasks")
    parent = next((one for one in jobs.jobs_of(book) if one.package.id == package.parent), None)
    context = {
        "job": found,
        "package": package,
        "parent": parent,
        "difference": compare(parent.package, package) if parent else None,
        "replaced_by": next((one for one in jobs.jobs_of(book) if one.package.parent == package.id), None),
        "parts": parts,
        "part": part if part in dict(parts) else "tasks",
        "rows": rows,
        "left": sum(1 for row in rows if row.state in ("open", "waits")),
        "counts": [
            {"count": count, "out": log.counts_out.get(count.id), "in": log.counts_in.get(count.id)}
            for count in package.counts
        ],
        "tags": [hose_row(found, tag) for tag in package.hose_tags],
        "tags_hung": len(log.tags_hung),
        "miswired": _miswired(book, found) if part == "hoses" else None,
        "fittings": [fitting_row(found, item) for item in package.fittings],
        "conditions": CONDITIONS,
        "line_conditions": get_args(LineCondition),
        "torques": [
            {"line": log.torque_lines.get(line.id, line), "applied": log.torques.get(line.id, "")}
            for line in package.torques
        ],
        "kept": last_steps(book, found),
        "suspects": suspects,
        "documents": log.documents.values(),
        "labels": labels,
        "ports": choices.ports(book.description),
        "port_words": dict(choices.ports(book.description)),
        "owners": choices.owners(book.description),
        "cost": cost(package, log.prices),
        "prices": [
            {"number": number, "item": item, "price": log.prices.get(item, "")}
            for number, item in enumerate(cost_items(package))
        ],
        "rules": rules(),
        "report_id": found.entry.content.get("report", ""),
    }
    return page(request, "job.html", book, "jobs", context)


def _miswired(book: Book, found: jobs.Job) -> dict[str, Any] | None:
    """What the connections found otherwise than mapped would do, in words and drawn as found."""
    effect = miswiring.effect(book.version.toml, found.package, found.log)
    if effect is None:
        return None
    description = effect.wired.description
    parts, lines = pressure_marks(description, effect.point) if effect.point else ({}, {})
    for line in effect.lines:
        known = lines.get(line, LineMark())
        lines[line] = msgspec.structs.replace(known, sign="suspect", title=f"{known.title}, not as mapped")
    drawing = draw(description, parts=parts, lines=lines, title=f"{description.name}, connected as found")
    return {"words": effect.words, "drawing": drawing.svg}


def hose_row(found: jobs.Job, tag: HoseTag) -> dict[str, Any]:
    """A line as the page shows it: how it was found connected, which of its tags hang, its pictures."""
    hung = {(number, port) for number, port in found.log.tags_hung}
    return {
        "tag": tag,
        "found": found.log.connections.get(tag.line),
        "ends": [
            {"port": port, "value": f"{tag.number}|{port}", "hung": (tag.number, port) in hung}
            for port in tag.ends
            if port not in SURROUNDINGS
        ],
        "photos": [photo for photo in found.log.photos if photo.about == tag.line],
        "seen": found.log.lines.get(tag.line, LineSeen(line=tag.line)),
        "words": seen_words(found.log.lines.get(tag.line, LineSeen(line=tag.line))),
    }


def fitting_row(found: jobs.Job, item: FittingRecord) -> dict[str, Any]:
    """A fitting as the page shows it, with the turn that brings it from hand-tight to where it must point."""
    record = found.log.fittings.get(item.id, item)
    needed = None
    if record.clock_deg is not None and record.hand_tight_deg is not None:
        needed = turn_needed(record.hand_tight_deg, record.clock_deg, record.limit_turns or LIMIT_TURNS)
    return {
        "fitting": record,
        "turns": found.log.turns.get(item.id),
        "needed": needed,
        "photos": [photo for photo in found.log.photos if photo.about == item.id],
    }


def task_rows(found: jobs.Job) -> list[TaskRow]:
    package, log = found.package, found.log
    finished = {*log.done, *log.left_out}
    titles = {task.id: task.title for task in package.tasks}
    rows = []
    for number, task in enumerate(package.tasks, start=1):
        waits = [titles[earlier] for earlier in task.after if earlier not in finished]
        shut = [state for state in found.gates if task.id in state.gate.before and not state.is_open]
        state = "done" if task.id in log.done else "left out" if task.id in log.left_out else "open"
        if state == "open" and (waits or shut):
            state = "waits"
        gates = [state_ for state_ in found.gates if state_.gate.before and state_.gate.before[0] == task.id]
        left_out = log.left_out.get(task.id, "")
        looks = [look_row(found, look) for look in package.looks if look.task == task.id]
        rows.append(TaskRow(number, task, state, waits, gates, left_out, state == "open", looks))
    return rows


def look_row(found: jobs.Job, look: StepLook) -> dict[str, Any]:
    """A look as the page shows it: its questions with what was answered, and what it still lacks."""
    told, anchor = found.log.looks.get(look.id, {}), "look_" + "".join(c if c.isalnum() else "_" for c in look.id)
    rows = [
        {
            "ask": ask,
            "field": f"{anchor}_{number}",
            "said": told.get(ask.id, ""),
            "why": told.get(f"{ask.id} why", ""),
            "other": told.get(f"{ask.id} other", ""),
            "photos": [photo for photo in found.log.photos if ask.kind == "photo" and photo.about == ask.words],
        }
        for number, ask in enumerate(look.asks)
    ]
    return {
        "look": look,
        "anchor": anchor,
        "is_hold": look.id.startswith("seen:"),
        "rows": rows,
        "told": bool(told),
        "lacks": unanswered(found.package, found.log, look.id),
        "typed": any(ask.kind != "photo" for ask in look.asks),
    }


#: What the torque sheet takes, with the unit that stands beside each field.
UNITS_OF_TORQUE = {"wanted": "in-lb", "drag": "in-lb", "lever": "in", "offset": "in", "angle": "deg"}

#: Step -> the texts it takes from its form.
TEXTS: dict[str, tuple[str, ...]] = {
    "done": ("task",),
    "not done": ("task",),
    "left out": ("task", "reason"),
    "count": ("count", "out", "in"),
    "closed": ("suspect", "how", "method", "proof", "by", "when"),
    "connected": ("line", "start", "end"),
    "tags hung": (),
    "looked": (),
    "angle": ("fitting", "clock", "hand_tight", "threads", "condition", "limit", "manual"),
    "line seen": ("line", "condition", "routing", "clamps", "length", "bore", "marking", "replaced"),
    "turns": ("fitting", "turns"),
    "torque": ("line", "applied"),
    "torque wanted": ("line", "manual", *UNITS_OF_TORQUE, "wrench", "calibrated"),
    "received": (
        "part",
        "serial_on_part",
        "serial_on_document",
        "status",
        "dated",
        "reference",
        "test_figures",
        "signed",
        "report",
        "report_read_by",
    ),
    "found": ("words",),
    "passed": ("gate", "name", "reason"),
}


@require_POST
def step(request: HttpRequest, aircraft: str, key: str) -> HttpResponse:
    """Keep one or, for counts, several steps of a job, and go back to where the person was."""
    author = request.POST.get("author") or request.COOKIES.get(WHO_COOKIE, "")
    if not author.strip():
        return name_first(request)
    what = request.POST.get("what", "")
    if what not in TEXTS and what not in ("counts", "prices"):
        raise wrong("step", f"one of {', '.join(TEXTS)}", f'"{what}"', "go back to the job and press again")
    if what == "counts":
        said = _counts(request)
    elif what == "prices":
        said = _prices(request, jobs.job(open_book(aircraft), key))
    elif what == "looked":
        answers = {name[2:]: value for name, value in request.POST.items() if name.startswith("a-")}
        said = [(what, {"look": request.POST.get("look", ""), "answers": answers})]
    elif what == "tags hung":
        said = [(what, {"hung": [value.split("|", 1) for value in request.POST.getlist("hung") if "|" in value]})]
    else:
        said = [(what, _texts(request, what))]
    try:
        for name, particulars in said:
            jobs.do(aircraft, key, name, particulars, author=author, expected_head=request.POST.get("head", ""))
    except VanewiseError as error:
        return trouble_page(request, error)
    anchor = request.POST.get("anchor", "")
    part = request.POST.get("part", "")
    place = (f"?part={part}" if part.isidentifier() else "") + (f"#{anchor}" if anchor.isidentifier() else "")
    response = HttpResponseRedirect(f"/a/{aircraft}/jobs/{key}/{place}")
    if author:
        response.set_cookie(WHO_COOKIE, author, max_age=A_YEAR_S, samesite="Lax", httponly=True)
    return response


def name_first(request: HttpRequest) -> HttpResponse:
    """Ask for the name that is missing, with everything that was sent kept beside it."""
    left_out = ("csrfmiddlewaretoken", "author")
    sent = [(name, value) for name, values in request.POST.lists() if name not in left_out for value in values]
    return render(request, "resume.html", {"ask_name": True, "kept": sent, "back_to": request.path})


def _texts(request: HttpRequest, what: str) -> dict[str, Any]:
    told = {key: request.POST[key].strip() for key in TEXTS[what] if request.POST.get(key, "").strip()}
    if what == "torque wanted":
        told |= {key: with_unit(told[key], unit) for key, unit in UNITS_OF_TORQUE.items() if key in told}
    return told


def _prices(request: HttpRequest, found: jobs.Job) -> list[tuple[str, dict[str, Any]]]:
    """The prices that differ from what is kept, each by its place in the list."""
    told = []
    for number, item in enumerate(cost_items(found.package)):
        price = request.POST.get(f"price-{number}", "").strip()
        if price != found.log.prices.get(item, ""):
            told.append(("priced", {"item": item, "price": price}))
    return told


def _counts(request: HttpRequest) -> list[tuple[str, dict[str, Any]]]:
    """The counts that differ from what the page showed."""
    said: dict[str, dict[str, Any]] = {}
    for name, value in request.POST.items():
        way, _, count = name.partition("-")
        if way in ("out", "in") and count and value.strip() != request.POST.get(f"was-{name}", ""):
            said.setdefault(count, {"count": count})[way] = value.strip()
    return [("count", particulars) for particulars in said.values()]


def news(request: HttpRequest, aircraft: str, key: str) -> HttpResponse:
    """What others kept for this job since the page was made; nothing to show is an empty answer.

    The page asks for it now and then and puts it at its top: nothing that is being typed is touched.
    """
    book = open_book(aircraft)
    found = jobs.job(book, key)
    titles = {task.id: task.title for task in found.package.tasks}
    since = [
        entry
        for entry in book_after(book.entries, request.GET.get("head", ""))
        if entry.kind == kinds.STEP and entry.content.get("package") == found.package.id
    ]
    if not since:
        return HttpResponse(status=204)
    lines = [f"{entry.author}: {_step_words(entry, titles)}" for entry in since]
    return render(request, "parts/news.html", {"lines": lines, "address": f"/a/{aircraft}/jobs/{found.key}/"})


def book_after(entries: tuple[JournalEntry, ...], head: str) -> tuple[JournalEntry, ...]:
    """The entries after the one with that digest; none when it is not there."""
    for number, entry in enumerate(entries):
        if entry.digest == head:
            return entries[number + 1 :]
    return ()


LAST_STEPS = 15


def last_steps(book: Book, found: jobs.Job) -> list[dict[str, Any]]:
    """What was kept last of a job, newest first, each with the entry that can be taken back."""
    titles = {task.id: task.title for task in found.package.tasks}
    kept = book.of(kinds.STEP, package=found.package.id)[-LAST_STEPS:]
    return [{"entry": entry, "words": _step_words(entry, titles)} for entry in reversed(kept)]


def _step_words(entry: JournalEntry, titles: dict[str, str]) -> str:
    said = entry.content
    named = [name for name in jobs.ABOUT if name in said]
    about = str(said[named[0]]) if named else ""
    return f"{titles.get(about, about.replace('_', ' '))} {said.get('what', '')}".strip()


@require_POST
def who(request: HttpRequest) -> HttpResponse:
    """Remember on this telephone who is working."""
    name = request.POST.get("author", "").strip()[:200]
    back = request.POST.get("back", "/")
    response = HttpResponseRedirect(back if back.startswith("/") and not back.startswith("//") else "/")
    response.set_cookie(WHO_COOKIE, name, max_age=A_YEAR_S, samesite="Lax", httponly=True)
    return response
