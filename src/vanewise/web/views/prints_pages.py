"""Pages for paper: the work package, its hose map and tags, the ground-run card, the record draft, as PDF."""

from __future__ import annotations

import datetime

from django.http import HttpRequest, HttpResponse

from vanewise.errors import wrong
from vanewise.jobs import groundrun, records
from vanewise.jobs.casebook import open_book
from vanewise.jobs.meters import standing
from vanewise.jobs.rules import rules
from vanewise.jobs.work import job, jobs_of
from vanewise.record.entry import Hours
from vanewise.schematic.printing import scope_for_paper
from vanewise.work.hose_map import seen_words
from vanewise.work.log import with_torques
from vanewise.work.photos import WHOLE


def _pdf(body: bytes, name: str) -> HttpResponse:
    return HttpResponse(
        body, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}.pdf"'}
    )


def _paper(request: HttpRequest) -> str:
    return request.GET.get("page", "letter")


def package(request: HttpRequest, aircraft: str, key: str) -> HttpResponse:
    from vanewise.prints import work_package_pdf

    book = open_book(aircraft)
    found = job(book, key)
    svg = scope_for_paper(book.description, found.package.scope)
    previous = next((one.package for one in jobs_of(book) if one.package.id == found.package.parent), None)
    pack = rules()
    body = work_package_pdf(
        with_torques(found.package, found.log),
        page=_paper(request),
        schematic_svg=svg,
        previous=previous,
        who_may=(f"{pack.name}, text of {pack.as_of}.", *pack.who_may),
    )
    return _pdf(body, f"work-package-{found.key}")


def hose_map(request: HttpRequest, aircraft: str, key: str) -> HttpResponse:
    from vanewise.jobs import packets
    from vanewise.prints import hose_map_pdf
    from vanewise.prints.packets import shown

    book = open_book(aircraft)
    found = job(book, key)
    wanted = (*(tag.line for tag in found.package.hose_tags), *(item.id for item in found.package.fittings), *WHOLE)
    taken = shown(packets.pictures(book, found, wanted))
    seen = {line: seen_words(as_found) for line, as_found in found.log.lines.items()}
    body = hose_map_pdf(with_torques(found.package, found.log), page=_paper(request), pictures=taken, seen=seen)
    return _pdf(body, f"hose-map-{found.key}")


def count_sheet(request: HttpRequest, aircraft: str, key: str) -> HttpResponse:
    from vanewise.prints import count_sheet_pdf

    found = job(open_book(aircraft), key)
    return _pdf(count_sheet_pdf(found.package, page=_paper(request)), f"count-sheet-{found.key}")


def shop_note(request: HttpRequest, aircraft: str, key: str, part: str) -> HttpResponse:
    from vanewise.prints import shop_note_pdf

    found = job(open_book(aircraft), key)
    body = shop_note_pdf(found.package, part, found.log.findings, page=_paper(request))
    return _pdf(body, f"shop-note-{part}-{found.key}")


def warranty(request: HttpRequest, aircraft: str, key: str) -> HttpResponse:
    """What was recorded about the pump that came off, for its maker."""
    from vanewise.jobs import packets
    from vanewise.prints import packet_pdf

    book = open_book(aircraft)
    found = job(book, key)
    body = packet_pdf(
        packets.warranty(book, found),
        packets.pictures(book, found, packets.EVIDENCE),
        title="Packet for a warranty claim",
        about=f"{book.name}  ·  {found.key}",
        lead="Taken from what was recorded while the work was done; nothing was added for this claim.",
        foot=f"Work package {found.key} of {found.package.made_on}. Facts as recorded, not a judgement of fault.",
        dated=found.package.made_on,
        page=_paper(request),
    )
    return _pdf(body, f"warranty-{found.key}")


def tags(request: HttpRequest, aircraft: str, key: str) -> HttpResponse:
    from vanewise.prints import SHEETS, tags_pdf

    book = open_book(aircraft)
    found = job(book, key)
    today = datetime.datetime.now(datetime.UTC).date()
    now = standing(book, today)
    hours = Hours(tach_centihours=now.tach_centihours, hour_meter_centihours=now.hour_meter_centihours)
    sheet = request.GET.get("sheet", next(iter(SHEETS)))
    return _pdf(tags_pdf(records.tags(book, found, hours, today), dated=today, sheet=sheet), f"tags-{found.key}")


def card(request: HttpRequest, aircraft: str, run: str) -> HttpResponse:
    from vanewise.prints import ground_run_card_pdf

    book = open_book(aircraft)
    found = groundrun.run(book, run)
    dated = datetime.date.fromisoformat(found.entry.at[:10])
    body = ground_run_card_pdf(found.plan, aircraft=book.name, dated=dated, package=found.package, page=_paper(request))
    return _pdf(body, f"ground-run-{found.id}")


def record(request: HttpRequest, aircraft: str, key: str) -> HttpResponse:
    from vanewise.prints import record_pdf

    book = open_book(aircraft)
    found = job(book, key)
    wanted = request.GET.get("entry", "")
    drafts = [pair for pair in records.records_of(book, found.package.id) if wanted in ("", pair[0].digest)]
    if not drafts:
        raise wrong("record draft", "a draft of this job", "none", "draft it first")
    return _pdf(record_pdf(drafts[-1][1], page=_paper(request)), f"record-draft-{found.key}")


def brief(request: HttpRequest, aircraft: str, run: str) -> HttpResponse:
    """Half a page for the next pilots, from what the run read."""
    from vanewise.prints import pilot_brief_pdf

    book = open_book(aircraft)
    found = groundrun.run(book, run)
    engine = book.description.engine
    body = pilot_brief_pdf(
        found.plan,
        groundrun.reading_values(found),
        aircraft=book.name,
        dated=datetime.date.fromisoformat(found.entry.at[:10]),
        run_up_rpm=engine.run_up_rpm.number,
        cruise_rpm=engine.cruise_rpm.number,
        package=found.package,
        page=_paper(request),
    )
    return _pdf(body, f"for-the-next-pilots-{found.id}")
