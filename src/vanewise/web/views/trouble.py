"""Pages for what went wrong, and what the program is."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from vanewise.errors import Problem


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    problem = Problem(
        where=request.path,
        expected="the address of a page",
        found="no page there",
        next_step="start from the list of aircraft",
    )
    return render(request, "trouble.html", {"problems": (problem,)}, status=404)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    problem = Problem(
        where="this request",
        expected="a form of this program, sent to the name it is served under",
        found="something else",
        next_step="open the address that the terminal shows, and start from the list of aircraft",
    )
    return render(request, "trouble.html", {"problems": (problem,)}, status=400)


def form_token_missing(request: HttpRequest, reason: str = "") -> HttpResponse:
    problem = Problem(
        where="this form",
        expected="a form that this page made for this browser",
        found=reason or "no form token",
        next_step="go back, load the page again and send it once more; allow cookies for this address",
    )
    return render(request, "trouble.html", {"problems": (problem,)}, status=403)


def about(request: HttpRequest) -> HttpResponse:
    return render(request, "about.html")
