"""Which address is which page."""

from django.urls import path

from vanewise.web.views import (
    aircraft,
    causes,
    jobs_pages,
    journal_pages,
    prints_pages,
    proving,
    questions,
    reports,
    system,
    trouble,
    watching,
)

_CRAFT = "a/<slug:aircraft>/"
_REPORT = "a/<slug:aircraft>/reports/<slug:report>/"
_JOB = "a/<slug:aircraft>/jobs/<slug:key>/"

urlpatterns = [
    path("", aircraft.all_aircraft),
    path("about/", trouble.about),
    path("who/", jobs_pages.who),
    path("start/", questions.start),
    path("start/layout/<slug:layout>/", aircraft.start_from_layout),
    path("start/text/", aircraft.start_from_text),
    path(_CRAFT, system.system),
    path(_CRAFT + "sweep/", system.sweep),
    path(_CRAFT + "describe/", aircraft.describe),
    path(_CRAFT + "journal/", journal_pages.journal),
    path(_CRAFT + "journal/<str:digest>/", journal_pages.entry),
    path(_CRAFT + "reports/", reports.reports),
    path(_CRAFT + "reports/new/", reports.new_report),
    path(_REPORT, reports.report),
    path(_REPORT + "readings/", reports.add_readings),
    path(_REPORT + "remarks/", reports.add_remarks),
    path(_REPORT + "events/", reports.add_events),
    path(_REPORT + "checks/", reports.checks),
    path(_REPORT + "checks/<slug:check>/", reports.add_check),
    path(_REPORT + "causes/", causes.causes),
    path(_REPORT + "scope/", causes.scope),
    path(_REPORT + "plan/", jobs_pages.plan),
    path(_CRAFT + "readings/", watching.readings),
    path(_CRAFT + "readings/wear/<str:part>/", watching.wear),
    path(_CRAFT + "next/", watching.what_next),
    path(_CRAFT + "readings/add/", reports.add_readings),
    path(_CRAFT + "jobs/", jobs_pages.job_list),
    path(_JOB, jobs_pages.job),
    path(_JOB + "step/", jobs_pages.step),
    path(_JOB + "ground-run/", proving.ground_runs),
    path(_JOB + "record/", proving.record),
    path(_JOB + "package.pdf", prints_pages.package),
    path(_JOB + "hose-map.pdf", prints_pages.hose_map),
    path(_JOB + "tags.pdf", prints_pages.tags),
    path(_JOB + "record.pdf", prints_pages.record),
    path(_CRAFT + "runs/<slug:run>/card.pdf", prints_pages.card),
    path(_CRAFT + "runs/", proving.ground_runs),
    path(_CRAFT + "runs/<slug:run>/", proving.ground_run),
    path(_CRAFT + "runs/<slug:run>/settle/", proving.settle),
]
handler404 = "vanewise.web.views.trouble.not_found"
handler400 = "vanewise.web.views.trouble.bad_request"
