"""What next, by when, why: the looks a job and a forecast ask for, what was put off, and the list of all limits."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping
from typing import Any

import msgspec

from vanewise import pipeline
from vanewise.errors import InputError, wrong
from vanewise.jobs import kinds, wear
from vanewise.jobs.casebook import Book, day_of, now, open_book
from vanewise.jobs.due_limits import add_done, add_limit, history, limits
from vanewise.jobs.flying import Flying, flying
from vanewise.jobs.meters import METERS, standing
from vanewise.quantities import to_centihours
from vanewise.store import journal
from vanewise.store.journal import JournalEntry
from vanewise.watch.due import DuePoint, Now, check_put_off
from vanewise.watch.types import DueItem, Limit, PutOff, Work
from vanewise.watch.utilisation import Utilisation
from vanewise.work.types import WorkPackage


def put_off(
    aircraft: str,
    item: str,
    *,
    name: str,
    reason: str,
    until_date: str = "",
    until_hours: str = "",
    today: datetime.date | None = None,
    author: str,
    at: str = "",
) -> JournalEntry:
    """Keep the decision to do something later: a name, a reason, and until when. Raises InputError."""
    book = open_book(aircraft)
    today = today or datetime.datetime.now(datetime.UTC).date()
    limit = next((limit for limit, _ in limits(book) if limit.item == item), None)
    if limit is None:
        raise wrong("item", "an item of the due list", f'"{item}"', "choose one from the list")
    content = {
        "item": item,
        "name": name,
        "reason": reason,
        "until_date": day_of(until_date, "until_date").isoformat() if until_date else "",
        "until_hours": until_hours,
        "decided_on": today.isoformat(),
    }
    check_put_off(limit, _decision(content), standing(book, today))
    return journal.append(
        aircraft, kinds.PUT_OFF, content, author=author, at=at or now(), expected_head=journal.ANY_HEAD
    )


def _decision(content: Mapping[str, Any]) -> PutOff:
    hours, date = str(content.get("until_hours", "")), str(content.get("until_date", ""))
    return PutOff(
        item=str(content["item"]),
        name=str(content["name"]),
        reason=str(content["reason"]),
        decided_on=datetime.date.fromisoformat(str(content["decided_on"])),
        until_centihours=to_centihours(hours, "until_hours") if hours else None,
        until_date=datetime.date.fromisoformat(date) if date else None,
    )


class DueSource(msgspec.Struct, frozen=True, kw_only=True):
    """All that a due list is made of, as it stands at one head: it changes with the journal, not from day to day."""

    limits: tuple[Limit, ...]
    points: tuple[DuePoint, ...]
    put_off: tuple[PutOff, ...]
    tach_centihours: int | None
    hour_meter_centihours: int | None
    use: Utilisation
    since: datetime.date
    once: tuple[str, ...]
    """Items that are met once and then gone."""
    said: Mapping[str, str]
    """Why, in other words than the limit's own, by item."""

    def items(self, today: datetime.date) -> tuple[DueItem, ...]:
        """What next, by when, why, on a day: most urgent first, hours and days in one order."""
        habit = Flying(use=self.use, words="", since=min(self.since, today), stated="", today=today)
        found = pipeline.watch_due_points(
            tuple(zip(self.limits, self.points, strict=True)),
            Now(today=today, tach_centihours=self.tach_centihours, hour_meter_centihours=self.hour_meter_centihours),
            put_off=self.put_off,
            dates_of_hours=dict.fromkeys(METERS.values(), habit.dates(today)),
        )
        return tuple(
            msgspec.structs.replace(item, why=self.said[item.item])
            if item.item in self.said
            else _said_once(item)
            if item.item in self.once
            else item
            for item in found
        )


def due_source(book: Book, today: datetime.date) -> DueSource:
    """What the due list of an aircraft is made of."""
    work = history(book)
    times = {item.item: sum(1 for other in work if other.item == item.item) for item in work}
    kept = limits(book)
    looks = next_looks(book, today)
    wanted = [limit for limit, once in kept if not (once and times.get(limit.item, 0) > 1)]
    wanted += [limit for limit, _, _ in looks]
    at, habit = standing(book, today), flying(book, today)
    return DueSource(
        limits=tuple(wanted),
        points=pipeline.due_points(wanted, [*work, *(done for _, done, _ in looks)]),
        put_off=tuple(_decision(entry.content) for entry in book.of(kinds.PUT_OFF)),
        tach_centihours=at.tach_centihours,
        hour_meter_centihours=at.hour_meter_centihours,
        use=habit.use,
        since=habit.since,
        once=tuple(limit.item for limit, once in kept if once),
        said={limit.item: words for limit, _, words in looks},
    )


def due(book: Book, today: datetime.date) -> tuple[DueItem, ...]:
    """What next, by when, why: most urgent first, hours and days in one order through how much it flies."""
    return due_source(book, today).items(today)


def next_looks(book: Book, today: datetime.date) -> list[tuple[Limit, Work, str]]:
    """The next look at each wear port that its forecast asks for: a limit, where it counts from, and why in words.

    Only for pumps with a look kept; a pump whose looks cannot be read says so on its own page.
    """
    at = standing(book, today)
    found = []
    for pump in book.description.parts_of("pump"):
        if at.tach_centihours is None or not book.of(kinds.WEAR, part=pump.id):
            continue
        try:
            answer = wear.forecast(book, pump.id, today)
        except InputError:
            continue
        if answer is None:
            continue
        item = f"look at the wear port, {pump.label}"
        limit = Limit(
            item=item, nature="own", source="wear forecast", hours_centi=math.floor(answer.look_again_in_h * 100)
        )
        done = Work(item=item, kind="done", date=today, tach_centihours=at.tach_centihours)
        found.append((limit, done, wear.why_look(answer)))
    return found


def _said_once(item: DueItem) -> DueItem:
    """A look that is made once reads so, though its hours are counted as an interval's."""
    return msgspec.structs.replace(item, why=item.why.replace("every ", "once, after ", 1))


def add_follow_ups(
    aircraft: str, package: WorkPackage, *, tach: str, when: str, author: str, at: str = ""
) -> tuple[JournalEntry, ...]:
    """Put the looks after a job on the due list, counted from the meter at its end; nothing without a tach reading."""
    if not tach or not package.follow_ups:
        return ()
    kept = []
    day = when or datetime.datetime.now(datetime.UTC).date().isoformat()
    for look in package.follow_ups:
        item = {
            "item": f"{look.what}, after {package.cause_name}",
            "nature": "custom",
            "source": "follow-up of the job",
            "hours": f"{look.after_hours:g} h",
            "counted_from": "done",
            "why": "what was disturbed is looked at again",
        }
        kept.append(add_limit(aircraft, item, author=author, once=True, at=at))
        kept.append(add_done(aircraft, item["item"], date=day, tach=tach, author=author, at=at))
    return tuple(kept)
