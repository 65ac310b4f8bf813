"""Photographs of a job: taken, looked at side by side, and marked; an angle read off one."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.utils.datastructures import MultiValueDict

from vanewise.errors import InputError, VanewiseError, wrong
from vanewise.jobs import photos as jobs
from vanewise.jobs import work
from vanewise.jobs.casebook import Book, open_book
from vanewise.store import journal
from vanewise.web import choices
from vanewise.web.guard import WHO_COOKIE, status_of, trouble_page
from vanewise.web.views.common import A_YEAR_S, page
from vanewise.work.photos import MOMENTS, clock_angle, pairs
from vanewise.work.types import Mark, Photo

A_DAY_S = 24 * 3600
ROLE_WORDS = {
    "centre": "middle of the port",
    "twelve": "12 o'clock, far out",
    "tip": "where it points, far out",
}


def photos(request: HttpRequest, aircraft: str, key: str) -> HttpResponse:
    """All photographs of a job, before beside after; and one more, taken or chosen."""
    book = open_book(aircraft)
    found = work.job(book, key)
    context: dict[str, Any] = {
        "job": found,
        "subjects": jobs.subjects(book.description, found.package),
        "moments": MOMENTS,
        "about": request.GET.get("about", ""),
        "moment": request.GET.get("moment", "before" if not found.log.done else "after"),
        "rows": [
            {"about": about, "words": subject_words(book, about), "before": before, "after": after}
            for about, before, after in pairs(found.log.photos)
        ],
    }
    if request.method == "POST":
        return _take(request, book, found, context)
    return page(request, "photos.html", book, "jobs", context)


def _take(request: HttpRequest, book: Book, found: work.Job, context: dict[str, Any]) -> HttpResponse:
    author = request.POST.get("author") or request.COOKIES.get(WHO_COOKIE, "")
    told = {name: request.POST.get(name, "") for name in ("about", "moment", "note")}
    files: MultiValueDict[str, Any] = request.FILES
    asked_by_script = request.headers.get("X-Sent-By") == "queue"
    try:
        chosen = files.getlist("photo")
        if not chosen:
            raise wrong("photograph", "a picture", "none chosen", "take one, or choose one from the telephone")
        for one in chosen:
            jobs.take(book.aircraft, found.key, one.read(), author=author, **told)
    except VanewiseError as error:
        if asked_by_script:
            words = [f"{problem.found}. {problem.next_step}" for problem in error.problems]
            return JsonResponse({"problems": words}, status=status_of(error))
        return page(request, "photos.html", book, "jobs", {**context, **told, "problems": error.problems})
    response: HttpResponse
    if asked_by_script:
        response = JsonResponse({"kept": len(chosen)})
    else:
        response = HttpResponseRedirect(f"/a/{book.aircraft}/jobs/{found.key}/photos/#taken")
    response.set_cookie(WHO_COOKIE, author, max_age=A_YEAR_S, samesite="Lax", httponly=True)
    return response


def subject_words(book: Book, about: str) -> str:
    """What a picture or mark is of, as people say it."""
    line, _, port = about.partition("|")
    ports = dict(choices.ports(book.description))
    if port:
        return f"{book.description.labels().get(line, line)} at {ports.get(port, port)}"
    return book.description.labels().get(line) or ports.get(line) or line.replace("_", " ")


def photo(request: HttpRequest, aircraft: str, key: str, photo: str) -> HttpResponse:
    """One photograph with what is marked on it, and one more mark."""
    book = open_book(aircraft)
    found = work.job(book, key)
    one = jobs.photo(found, photo)
    address = f"/a/{aircraft}/jobs/{found.key}/photos/{one.id}/"
    fitting = next((item for item in found.package.fittings if item.id == one.about), None)
    if request.method == "POST":
        try:
            target = request.POST.get("target", "")
            if request.POST.get("what") == "angle":
                _keep_angle(request, found, one)
                target = ""
            else:
                _keep_mark(request, book, found, one, target)
        except VanewiseError as error:
            return trouble_page(request, error)
        return HttpResponseRedirect(f"{address}?target={target}#mark")
    marks = tuple(mark for mark in found.log.marks if mark.photo == one.id)
    context: dict[str, Any] = {
        "job": found,
        "photo": one,
        "words": subject_words(book, one.about),
        "drawn": [drawn(book, one, number, mark) for number, mark in enumerate(marks, start=1)],
        "targets": _targets(book, found, fitting is not None, one),
        "target": request.GET.get("target") or (f"centre:{one.about}" if fitting else ""),
        "fitting": fitting,
        "recorded": found.log.fittings.get(one.about),
        **_angle(one, marks),
    }
    return page(request, "photo.html", book, "jobs", context)


def _angle(one: Photo, marks: tuple[Mark, ...]) -> dict[str, Any]:
    try:
        return {"angle": clock_angle(one, marks, one.about)}
    except InputError as error:
        return {"angle": None, "problems": error.problems}


def _targets(book: Book, found: work.Job, is_fitting: bool, one: Photo) -> list[tuple[str, list[tuple[str, str]]]]:
    """What can be marked, in groups: the three points of an angle first where the picture is of a fitting."""
    ports = dict(choices.ports(book.description))
    ends = [
        (f"hose end:{tag.line}|{port}", f"{tag.number} · end at {ports.get(port, port)}")
        for tag in found.package.hose_tags
        for port in tag.ends
    ]
    groups = [("Ends of lines", ends), ("Ports", [(f"port:{port}", words) for port, words in ports.items()])]
    if is_fitting:
        angle = [(f"{role}:{one.about}", words) for role, words in ROLE_WORDS.items()]
        groups.insert(0, ("Angle of this fitting", angle))
    return groups


def drawn(book: Book, one: Photo, number: int, mark: Mark) -> dict[str, Any]:
    """A mark in the picture's own pixels."""
    role = ROLE_WORDS.get(mark.role, "")
    return {
        "number": number,
        "x": round(mark.x * one.width, 1),
        "y": round(mark.y * one.height, 1),
        "r": round(one.width / 30, 1),
        "words": role or subject_words(book, mark.about),
        "role": mark.role,
    }


def _keep_mark(request: HttpRequest, book: Book, found: work.Job, one: Photo, target: str) -> None:
    role, _, about = target.partition(":")
    x, y = _point(request, one)
    work.do(
        book.aircraft,
        found.key,
        "marked",
        {"photo": one.id, "role": role, "about": about, "x": f"{x:.4f}", "y": f"{y:.4f}"},
        author=request.POST.get("author") or request.COOKIES.get(WHO_COOKIE, ""),
        expected_head=journal.ANY_HEAD,
    )


#: Width in CSS pixels at which a page without scripts shows the picture to be touched.
TOUCH_WIDTH = 340


def _point(request: HttpRequest, one: Photo) -> tuple[float, float]:
    """Where was touched: the picture itself (without scripts, in pixels of ``TOUCH_WIDTH``), else the two sliders."""
    across, down = request.POST.get("at.x"), request.POST.get("at.y")
    if across is not None and down is not None and (across, down) != ("0", "0"):
        height = TOUCH_WIDTH * one.height / one.width
        return _number(across) / TOUCH_WIDTH, _number(down) / height
    return _number(request.POST.get("across", "")) / 1000.0, _number(request.POST.get("down", "")) / 1000.0


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise wrong("mark", "a point on the picture", f'"{text}"', "touch the picture, or move both sliders") from None


def _keep_angle(request: HttpRequest, found: work.Job, one: Photo) -> None:
    mirrored = bool(request.POST.get("mirrored"))
    angle = clock_angle(one, found.log.marks, one.about, mirrored=mirrored)
    if angle is None:
        raise wrong("angle", "its three points on the picture", "fewer", "mark the middle, 12 o'clock and the tip")
    said = {"fitting": one.about, "clock": f"{angle:.0f} deg", "photo": one.id}
    work.do(
        found.entry.aircraft,
        found.key,
        "angle",
        {**said, **({"mirrored": "yes"} if mirrored else {})},
        author=request.POST.get("author") or request.COOKIES.get(WHO_COOKIE, ""),
        expected_head=request.POST.get("head", ""),
    )


def picture(request: HttpRequest, aircraft: str, digest: str) -> HttpResponse:
    """A kept picture by digest. It never changes, so a telephone may hold it for a day."""
    body, media_type = jobs.body_of(open_book(aircraft), digest)
    response = HttpResponse(body, content_type=media_type)
    response["Cache-Control"] = f"private, max-age={A_DAY_S}, immutable"
    # An original can be of a kind that browsers do not show, and can carry the place it was taken at.
    response["Content-Disposition"] = "inline" if request.GET.get("original") is None else "attachment"
    return response
