"""Which address is which page."""

from collections.abc import Callable
from importlib import import_module

from django.http import HttpRequest, HttpResponse
from django.urls import path

PAGES = "vanewise.web.views."


def _page(name: str) -> Callable[..., HttpResponse]:
    """The view ``module.function``, imported when it is first asked for; a server has imported them all by then."""
    module, _, function = name.partition(".")

    def view(request: HttpRequest, **parts: str) -> HttpResponse:
        found: Callable[..., HttpResponse] = getattr(import_module(PAGES + module), function)
        return found(request, **parts)

    return view


_CRAFT = "a/<slug:aircraft>/"
_REPORT = "a/<slug:aircraft>/reports/<slug:report>/"
_JOB = "a/<slug:aircraft>/jobs/<slug:key>/"

urlpatterns = [
    path("", _page("aircraft.all_aircraft")),
    path("about/", _page("trouble.about")),
    path("sign-in/", _page("signing.sign_in")),
    path("sign-out/", _page("signing.sign_out")),
    path("what-next/", _page("next_pages.all_next")),
    path("take-in/", _page("history_pages.take_in")),
    path("who/", _page("jobs_pages.who")),
    path("start/", _page("questions.start")),
    path("start/layout/<slug:layout>/", _page("aircraft.start_from_layout")),
    path("start/text/", _page("aircraft.start_from_text")),
    path(_CRAFT, _page("system.system")),
    path(_CRAFT + "sweep/", _page("system.sweep")),
    path(_CRAFT + "margin/", _page("curves.margin")),
    path(_CRAFT + "load/", _page("curves.load")),
    path(_CRAFT + "budget/", _page("curves.budget")),
    path(_CRAFT + "changed/", _page("what_if.changed")),
    path(_CRAFT + "swapped/", _page("what_if.swapped")),
    path(_CRAFT + "describe/", _page("aircraft.describe")),
    path(_CRAFT + "journal/", _page("journal_pages.journal")),
    path(_CRAFT + "journal/<str:digest>/", _page("journal_pages.entry")),
    path(_CRAFT + "reports/", _page("reports.reports")),
    path(_CRAFT + "reports/new/", _page("reports.new_report")),
    path(_REPORT, _page("reports.report")),
    path(_REPORT + "readings/", _page("reports.add_readings")),
    path(_REPORT + "remarks/", _page("reports.add_remarks")),
    path(_REPORT + "events/", _page("earlier_work.add_events")),
    path(_REPORT + "checks/", _page("reports.checks")),
    path(_REPORT + "checks/<slug:check>/", _page("reports.add_check")),
    path(_REPORT + "causes/", _page("causes.causes")),
    path(_REPORT + "causes/first/", _page("causes.first")),
    path(_REPORT + "meanwhile/", _page("meantime.meanwhile")),
    path(_REPORT + "until-repaired.pdf", _page("meantime.sheet")),
    path(_REPORT + "loss-report.pdf", _page("meantime.loss")),
    path(_REPORT + "scope/", _page("causes.scope")),
    path(_REPORT + "plan/", _page("jobs_pages.plan")),
    path(_CRAFT + "readings/", _page("watching.readings")),
    path(_CRAFT + "readings/run-up/", _page("run_up.run_up")),
    path(_CRAFT + "readings/table/", _page("run_up.table")),
    path(_CRAFT + "readings/over-time/<slug:key>/", _page("watching.figure")),
    path(_CRAFT + "readings/wear/<str:part>/", _page("wearing.wear")),
    path(_CRAFT + "readings/wear/<str:part>/ahead/", _page("wearing.ahead")),
    path(_CRAFT + "next/", _page("next_pages.what_next")),
    path(_CRAFT + "next/cards/<slug:card>.pdf", _page("next_pages.card")),
    path(_CRAFT + "next/calendar.ics", _page("next_pages.calendar_file")),
    path(_CRAFT + "history/", _page("history_pages.history")),
    path(_CRAFT + "history/<str:form>/", _page("history_pages.history_file")),
    path(_CRAFT + "components/", _page("history_pages.components")),
    path(_CRAFT + "components/tag.pdf", _page("history_pages.removed_tag")),
    path(_CRAFT + "lives/", _page("lives_pages.lives")),
    path(_CRAFT + "lives/<slug:kind>/", _page("lives_pages.life")),
    path(_CRAFT + "calendar/<str:token>.ics", _page("next_pages.calendar_feed")),
    path(_CRAFT + "readings/add/", _page("reports.add_readings")),
    path(_CRAFT + "jobs/", _page("jobs_pages.job_list")),
    path(_JOB, _page("jobs_pages.job")),
    path(_JOB + "step/", _page("jobs_pages.step")),
    path(_JOB + "news/", _page("jobs_pages.news")),
    path(_JOB + "photos/", _page("photos.photos")),
    path(_JOB + "photos/<slug:photo>/", _page("photos.photo")),
    path(_CRAFT + "pictures/<slug:digest>/", _page("photos.picture")),
    path(_JOB + "ground-run/", _page("proving.ground_runs")),
    path(_JOB + "record/", _page("proving.record")),
    path(_JOB + "package.pdf", _page("prints_pages.package")),
    path(_JOB + "hose-map.pdf", _page("prints_pages.hose_map")),
    path(_JOB + "count-sheet.pdf", _page("prints_pages.count_sheet")),
    path(_JOB + "warranty.pdf", _page("prints_pages.warranty")),
    path(_JOB + "shop-note/<slug:part>.pdf", _page("prints_pages.shop_note")),
    path(_JOB + "tags.pdf", _page("prints_pages.tags")),
    path(_JOB + "record.pdf", _page("prints_pages.record")),
    path(_CRAFT + "runs/<slug:run>/card.pdf", _page("prints_pages.card")),
    path(_CRAFT + "runs/", _page("proving.ground_runs")),
    path(_CRAFT + "runs/<slug:run>/", _page("proving.ground_run")),
    path(_CRAFT + "runs/<slug:run>/brief.pdf", _page("prints_pages.brief")),
    path(_CRAFT + "runs/<slug:run>/one/", _page("proving.one_number")),
    path(_CRAFT + "runs/<slug:run>/hot/", _page("proving.hot")),
    path(_CRAFT + "runs/<slug:run>/settle/", _page("proving.settle")),
]
handler404 = "vanewise.web.views.trouble.not_found"
handler400 = "vanewise.web.views.trouble.bad_request"
