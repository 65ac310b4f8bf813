"""The sheet until the repair, and the report draft after a loss in flight: from files, or from what is kept."""

from __future__ import annotations

import datetime

import msgspec

from vanewise.jobs.answers import Answer
from vanewise.work.meanwhile import LossReport, Meanwhile, loss_in_flight, loss_report, meanwhile


class Meantime(msgspec.Struct, frozen=True, kw_only=True):
    """The sheet, and the report draft where the evidence speaks of a loss in flight."""

    sheet: Meanwhile
    report: LossReport | None = None


def from_files(
    text: str,
    path: str,
    evidence_text: str,
    evidence_path: str,
    *,
    today: datetime.date,
    seed: int = 0,
    page: str = "letter",
) -> Answer:
    """Both from a description and an evidence file, with their pages. Raises InputError, NoAnswer."""
    from vanewise.jobs.compute import first_causes

    description, evidence, causes = first_causes(text, path, evidence_text, evidence_path, seed=seed)
    draft = None
    if loss_in_flight(causes, evidence):
        draft = loss_report(description, causes, evidence, words="", dated=today)
    meantime = Meantime(sheet=meanwhile(description, causes, evidence, dated=today), report=draft)
    return msgspec.structs.replace(Answer(data=meantime, words=words(meantime)), files=pages(meantime, page))


def pages(meantime: Meantime, page: str = "letter") -> dict[str, bytes]:
    """The PDFs, by file name."""
    from vanewise.prints import loss_report_pdf, meanwhile_pdf

    files = {"until-repaired.pdf": meanwhile_pdf(meantime.sheet, page=page)}
    if meantime.report is not None:
        files["loss-report.pdf"] = loss_report_pdf(meantime.report, page=page)
    return files


def of_report(aircraft: str, report: str, *, today: datetime.date) -> Meantime | None:
    """Both for a report whose causes have been worked out; None before that."""
    from vanewise.jobs import causes as causes_job
    from vanewise.jobs.casebook import open_book
    from vanewise.jobs.evidence import evidence_of

    book = open_book(aircraft)
    found = book.report(report)
    latest = causes_job.latest(book, found)
    if latest is None:
        return None
    evidence = evidence_of(book, found)
    draft = None
    if loss_in_flight(latest[0], evidence):
        told = str(found.entry.content.get("words", ""))
        draft = loss_report(book.description, latest[0], evidence, words=told, dated=today)
    return Meantime(sheet=meanwhile(book.description, latest[0], evidence, dated=today), report=draft)


def words(meantime: Meantime) -> str:
    """The sheet for a terminal."""
    from vanewise.jobs.words import bullets, wrapped

    sheet = meantime.sheet
    lines = [wrapped(f"{sheet.aircraft}, {sheet.dated}: {sheet.finding}", ""), "For the pilot, first:"]
    lines.append(bullets(sheet.pilot))
    blocks = (
        ("Lost or in doubt:", sheet.lost),
        ("Autopilot: off, and kept off:", sheet.autopilot),
        ("The pump:", sheet.pump),
        ("Placard, a draft:", sheet.placard),
    )
    for title, items in blocks:
        lines += [title, bullets(items)]
    for group in sheet.questions:
        lines += [f"To be answered before flight {group.flight}:", bullets(group.asks)]
    lines += ["A loaner, or a flight to the repair:", bullets(sheet.elsewhere), "Who decides:", bullets(sheet.decides)]
    if meantime.report is not None:
        lines.append("A loss in flight: a report draft is among the files.")
    return "\n".join([*lines, sheet.draft])
