"""What holds for every page: headers, errors turned into words in one place, and the frame round each page."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from vanewise import __version__
from vanewise.errors import Locked, NoAnswer, VanewiseError
from vanewise.store.journal import NotKept
from vanewise.web.signin import is_signed_in

log = logging.getLogger("vanewise.web")

#: Only our own files: nothing is fetched from elsewhere, and a page works in a hangar without the outside.
CONTENT_POLICY = (
    "default-src 'self'; img-src 'self' data:; style-src 'self'; script-src 'self'; object-src 'none'; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
WHO_COOKIE = "who"


class PageGuard:
    """Adds the headers, and turns every error meant for a person into its page."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", CONTENT_POLICY)
        response.headers.setdefault("Cross-Origin-Opener-Policy", "same-origin")
        if not request.path.startswith("/static/"):
            # A shared telephone must not show yesterday's figures on "back".
            response.headers.setdefault("Cache-Control", "no-store")
        return response

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        if isinstance(error, VanewiseError):
            return trouble_page(request, error)
        log.error("page %s failed", request.path, exc_info=error)
        return render(request, "failed.html", status=500)


def status_of(error: VanewiseError) -> int:
    """409 for a gate that holds, 422 where no answer could be had, 507 for a full disk, 400 for wrong input."""
    if isinstance(error, Locked):
        return 409
    if isinstance(error, NotKept):
        return 507
    return 422 if isinstance(error, NoAnswer) else 400


def trouble_page(request: HttpRequest, error: VanewiseError) -> HttpResponse:
    return render(request, "trouble.html", {"problems": error.problems}, status=status_of(error))


def page_frame(request: HttpRequest) -> dict[str, Any]:
    """What the frame of every page shows; views add ``craft`` where the page is about one aircraft."""
    return {
        "program_version": __version__,
        "who": request.COOKIES.get(WHO_COOKIE, ""),
        "here_path": request.path,
        "back": _back(request),
        "signed_in": settings.VANEWISE_SIGN_IN and is_signed_in(request),
    }


def _back(request: HttpRequest) -> str:
    """The page of ours that led here, else the list of aircraft."""
    came_from = request.headers.get("referer", "")
    own = f"{request.scheme}://{request.META.get('HTTP_HOST') or request.META.get('SERVER_NAME', '')}/"
    return came_from if came_from.startswith(own) else "/"
