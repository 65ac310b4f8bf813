"""Signing in, where the pages are served beyond this machine; on loopback nobody is asked.

What a person had typed when a session ended goes along on the sign-in page and can be sent afterwards: nothing is lost.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from typing import Final

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.middleware.csrf import rotate_token
from django.shortcuts import render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from vanewise.errors import Problem
from vanewise.store import passphrase
from vanewise.store.settings import current_home
from vanewise.web.sessions import Sessions, Throttle

COOKIE: Final = "signed_in"
OPEN_TO_ALL: Final = ("/sign-in/", "/about/")
#: A calendar client cannot sign in: the token in its address is the secret, and its page compares it.
CALENDAR_FEED: Final = re.compile(r"/a/[\w-]+/calendar/[0-9a-f]{40}\.ics")
KEPT: Final = "kept-"

sessions = Sessions()
throttle = Throttle()


class SignInGate:
    """Shows the sign-in page in place of every other one until the passphrase was given."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        is_open = request.path in OPEN_TO_ALL or CALENDAR_FEED.fullmatch(request.path) is not None
        if not settings.VANEWISE_SIGN_IN or is_open or is_signed_in(request):
            return self.get_response(request)
        return sign_in_page(request, back=request.get_full_path(), status=401, kept=_typed(request))


def is_signed_in(request: HttpRequest) -> bool:
    token = request.COOKIES.get(COOKIE, "")
    return bool(token) and sessions.holds(token, passphrase.mark(current_home()), time.monotonic())


def _typed(request: HttpRequest) -> list[tuple[str, str]]:
    """What a form brought along. Files are not read before somebody signed in: they wait on the telephone."""
    if request.method != "POST" or request.content_type != "application/x-www-form-urlencoded":
        return []
    return [
        (f"{KEPT}{name}", value)
        for name, values in request.POST.lists()
        if name != "csrfmiddlewaretoken"
        for value in values
    ]


def sign_in_page(
    request: HttpRequest,
    *,
    back: str,
    status: int,
    kept: list[tuple[str, str]],
    problems: tuple[Problem, ...] = (),
) -> HttpResponse:
    context = {"back_to": back, "kept": kept, "problems": problems, "plain": not settings.VANEWISE_HTTPS}
    return render(request, "sign_in.html", context, status=status)


def sign_in(request: HttpRequest) -> HttpResponse:
    """The passphrase is asked for and compared; after several wrong ones, only after a wait."""
    back = _own_page(request, request.POST.get("back") or request.GET.get("back", "/"))
    if request.method != "POST":
        return sign_in_page(request, back=back, status=200, kept=[])
    kept = [(name, value) for name, values in request.POST.lists() if name.startswith(KEPT) for value in values]
    address, now = str(request.META.get("REMOTE_ADDR", "")), time.monotonic()
    wait = throttle.wait_s(address, now)
    if wait:
        found = f"too many wrong ones; {wait} s left to wait"
        response = sign_in_page(request, back=back, status=429, kept=kept, problems=(_problem(found),))
        response["Retry-After"] = str(wait)
        return response
    home = current_home()
    if not passphrase.holds(home, request.POST.get("passphrase", "")):
        throttle.wrong(address, time.monotonic())
        return sign_in_page(request, back=back, status=401, kept=kept, problems=(_problem("other words"),))
    throttle.right(address)
    rotate_token(request)
    response = (
        render(request, "resume.html", {"back_to": back, "kept": [(name[len(KEPT) :], value) for name, value in kept]})
        if kept
        else HttpResponseRedirect(back)
    )
    # No age: the browser drops it when it is closed. The server ends it by itself, whatever the browser does.
    response.set_cookie(
        COOKIE,
        sessions.begin(passphrase.mark(home), time.monotonic()),
        httponly=True,
        samesite="Lax",
        secure=settings.VANEWISE_HTTPS,
    )
    return response


def _problem(found: str) -> Problem:
    return Problem(
        where="passphrase",
        expected="the words that were set for this home",
        found=found,
        next_step="ask the person who keeps this aircraft's records, or set new ones at the server",
    )


def _own_page(request: HttpRequest, address: str) -> str:
    """An address of this server's pages, never one of somebody else's."""
    allowed = address.startswith("/") and url_has_allowed_host_and_scheme(address, allowed_hosts=None)
    return address if allowed and not address.startswith("/sign-") else "/"


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    sessions.end(request.COOKIES.get(COOKIE, ""))
    response = HttpResponseRedirect("/sign-in/")
    response.delete_cookie(COOKIE, samesite="Lax")
    return response
