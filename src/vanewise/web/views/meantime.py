"""Until it is repaired: the sheet on the screen and on paper, and the report draft after a loss in flight."""

from __future__ import annotations

import datetime

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect

from vanewise.jobs import meanwhile as jobs
from vanewise.jobs.casebook import open_book
from vanewise.web.views.common import page


def meanwhile(request: HttpRequest, aircraft: str, report: str) -> HttpResponse:
    book = open_book(aircraft)
    meantime = jobs.of_report(aircraft, report, today=datetime.date.today())
    return page(request, "meanwhile.html", book, "reports", {"report": book.report(report), "meantime": meantime})


def sheet(request: HttpRequest, aircraft: str, report: str) -> HttpResponse:
    return _pdf(request, aircraft, report, "until-repaired.pdf")


def loss(request: HttpRequest, aircraft: str, report: str) -> HttpResponse:
    return _pdf(request, aircraft, report, "loss-report.pdf")


def _pdf(request: HttpRequest, aircraft: str, report: str, name: str) -> HttpResponse:
    meantime = jobs.of_report(aircraft, report, today=datetime.date.today())
    files = {} if meantime is None else jobs.pages(meantime, request.GET.get("page", "letter"))
    if name not in files:
        return HttpResponseRedirect(f"/a/{aircraft}/reports/{report}/meanwhile/")
    return HttpResponse(
        files[name], content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'}
    )
