"""The record: drafted from package, log and verdict, kept with the head it was drawn at; tags for what was fitted.

Drafts only. Nothing here signs, and nothing here says that an aircraft is airworthy.
"""

from __future__ import annotations

import datetime

from vanewise import pipeline
from vanewise.aircraft.description import digest
from vanewise.errors import Locked
from vanewise.groundrun.types import GroundRunVerdict
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, now, open_book
from vanewise.jobs.groundrun import verdict_of
from vanewise.jobs.rules import rules
from vanewise.jobs.stored import answer_of, stamped
from vanewise.jobs.watch import add_follow_ups, due
from vanewise.jobs.work import Job, job
from vanewise.quantities import to_centihours
from vanewise.record.entry import Hours
from vanewise.record.tags import filter_tag, hose_end_tags, part_tag, removed_tag
from vanewise.record.types import MaintenanceRecord, Tag
from vanewise.store import journal
from vanewise.store.journal import JournalEntry
from vanewise.watch.types import DueItem
from vanewise.work.types import Override


def meter_hours(tach: str, hour_meter: str, total: str = "") -> Hours:
    """Meter readings as typed (``2983.9 h``), exactly. Raises InputError naming the field."""
    return Hours(
        tach_centihours=to_centihours(tach, "tach") if tach else None,
        hour_meter_centihours=to_centihours(hour_meter, "hour_meter") if hour_meter else None,
        total_centihours=to_centihours(total, "total") if total else None,
    )


def make_draft(
    book: Book,
    found: Job,
    *,
    drafted_on: datetime.date,
    completed_on: datetime.date | None,
    hours: Hours,
    override: Override | None = None,
    added: tuple[str, ...] = (),
) -> MaintenanceRecord:
    """The draft of a job's record as it would read now. Raises Locked, naming everything that is still missing."""
    return pipeline.write(
        found.package,
        found.log,
        verdict(book, found),
        rules(),
        drafted_on=drafted_on,
        completed_on=completed_on,
        hours=hours,
        head_digest=book.head,
        due=due(book, drafted_on),
        proof_override=override,
        added=added,
    )


def verdict(book: Book, found: Job) -> GroundRunVerdict | None:
    """The newest kept verdict on a job."""
    return verdict_of(book, found.package.id)


def keep_draft(
    aircraft: str,
    key: str,
    *,
    author: str,
    completed_on: str = "",
    tach: str = "",
    hour_meter: str = "",
    total: str = "",
    override_name: str = "",
    override_reason: str = "",
    added: str = "",
    today: datetime.date | None = None,
    at: str = "",
) -> JournalEntry:
    """Draft the record of a job and keep it, with its follow-ups on the due list.

    Raises Locked while tasks, gates or the proof are open, InputError for hours that cannot be read, HeadMoved when
    something was written meanwhile: a draft names the head it stands on.
    """
    book = open_book(aircraft)
    found = job(book, key)
    today = today or datetime.datetime.now(datetime.UTC).date()
    override = None
    if override_name or override_reason:
        override = Override(what="ground run", name=override_name, reason=override_reason)
    record = make_draft(
        book,
        found,
        drafted_on=today,
        completed_on=datetime.date.fromisoformat(completed_on) if completed_on else None,
        hours=meter_hours(tach, hour_meter, total),
        override=override,
        added=tuple(line.strip() for line in added.splitlines() if line.strip()),
    )
    name = book.next_id(kinds.RECORD, "record", "d")
    content = stamped(record, book.description, record=name, package=found.package.id, tach=tach, hour_meter=hour_meter)
    entry = journal.append(aircraft, kinds.RECORD, content, author=author, at=at or now(), expected_head=book.head)
    add_follow_ups(aircraft, found.package, tach=tach, when=completed_on, author=author, at=at)
    return entry


def records_of(book: Book, package: str) -> tuple[tuple[JournalEntry, MaintenanceRecord], ...]:
    """The kept drafts of a package, newest last."""
    return tuple((entry, answer_of(entry, MaintenanceRecord)) for entry in book.of(kinds.RECORD, package=package))


def tags(book: Book, found: Job, hours: Hours, date: datetime.date) -> tuple[Tag, ...]:
    """The tags of a job: both ends of every line, filters renewed, parts fitted, and what came off for them."""
    labels = book.description.labels()
    items = due(book, date)
    out: list[Tag] = [*hose_end_tags(book.name, found.package.hose_tags)]
    for task in found.package.tasks:
        if task.id in found.log.done:
            out += [filter_tag(book.name, label, hours, date, _about(items, label)) for label in task.renews]
    for document in found.log.documents.values():
        label = labels.get(document.part, document.part)
        out.append(
            part_tag(
                book.name,
                label,
                hours,
                date,
                serial=document.serial_on_part,
                document=document.reference,
                due=_about(items, label),
            )
        )
        out.append(_removed(book, found, document.part, hours, date))
    return tuple(out)


def _about(items: tuple[DueItem, ...], label: str) -> tuple[DueItem, ...]:
    """The due items that are about a part, by its name."""
    return tuple(item for item in items if item.item.casefold() == label.casefold())


def _removed(book: Book, found: Job, part: str, hours: Hours, date: datetime.date) -> Tag:
    """The tag of the part that came off for the one received, as it was described when the work was planned."""
    before = next(
        (
            version.description
            for version in book.versions
            if digest(version.description) == found.package.description_digest
        ),
        book.description,
    ).part(part)
    fitted, now_tach = before.fitted.tach_centihours, hours.tach_centihours
    return removed_tag(
        book.name,
        before.label,
        hours,
        date,
        reason=found.package.cause_name,
        serial=before.fitted.serial,
        since_new_centihours=now_tach - fitted if fitted is not None and now_tach is not None else None,
        seen="; ".join(found.log.findings[:2]),
    )


def what_is_missing(book: Book, found: Job, today: datetime.date) -> Locked | None:
    """Why a record cannot be drafted yet, or None."""
    try:
        make_draft(book, found, drafted_on=today, completed_on=today, hours=Hours())
    except Locked as locked:
        return locked
    return None
