"""What next, by when, why: the limits of an aircraft, what was done, what was put off, and the list they make."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping, Sequence
from typing import Any

import msgspec

from vanewise import pipeline
from vanewise.aircraft.description import Part
from vanewise.errors import InputError, wrong
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, day_of, item_of, now, open_book
from vanewise.jobs.flying import Flying, flying
from vanewise.jobs.meters import METERS, standing
from vanewise.quantities import centihours_text, to_centihours
from vanewise.store import journal
from vanewise.store.journal import JournalEntry
from vanewise.watch.due import DuePoint, Now, check_limit, check_put_off
from vanewise.watch.types import DueItem, Limit, PutOff, Work
from vanewise.watch.utilisation import Utilisation
from vanewise.work.types import WorkPackage


def add_limit(aircraft: str, item: Mapping[str, str], *, author: str, once: bool = False, at: str = "") -> JournalEntry:
    """Keep a limit: ``item``, ``nature``, ``source``, and ``hours``, ``months`` or ``condition``. Raises InputError."""
    book = open_book(aircraft)
    check_limit(limit_of(item))
    content = {"limit": book.next_id(kinds.LIMIT, "limit", "l"), "item": dict(item), "once": once}
    return journal.append(aircraft, kinds.LIMIT, content, author=author, at=at or now(), expected_head=journal.ANY_HEAD)


def limit_of(item: Mapping[str, str]) -> Limit:
    """A limit from its texts."""
    whole = {}
    for key, what in (("months", "calendar months"), ("days", "days"), ("cycles", "cycles")):
        text = str(item.get(key, ""))
        if text and not text.isdigit():
            raise wrong(key, f"a whole number of {what}", f'"{text}"', "write the number alone")
        whole[key] = int(text) if text else None
    hours = {key: to_centihours(str(item[key]), key) for key in ("hours", "first_hours") if item.get(key)}
    try:
        return msgspec.convert(
            {
                "item": str(item.get("item", "")),
                "nature": str(item.get("nature", "own")),
                "source": str(item.get("source", "")),
                "hours_centi": hours.get("hours"),
                "first_hours_centi": hours.get("first_hours"),
                "calendar_months": whole["months"],
                "calendar_days": whole["days"],
                "cycles": whole["cycles"],
                "condition": str(item.get("condition", "")),
                "counted_from": str(item.get("counted_from", "done")),
                "meter": str(item.get("meter", "tach")),
                "late": str(item.get("late", "from done")),
                "overrun": _overrun(item),
                "why": str(item.get("why", "")),
            },
            Limit,
        )
    except msgspec.ValidationError as error:
        expected = "a nature, a meter and a start that this program knows"
        raise wrong("limit", expected, error, "choose from the lists") from error


def _overrun(item: Mapping[str, Any]) -> dict[str, Any] | None:
    """By how much hours may be exceeded, where the item says so."""
    if not item.get("overrun_hours"):
        return None
    return {
        "centihours": to_centihours(str(item["overrun_hours"]), "overrun_hours"),
        "when": str(item.get("overrun_when", "")),
        "source": str(item.get("overrun_source") or item.get("source", "")),
    }


def item_of_limit(limit: Limit) -> dict[str, str]:
    """The texts of a limit of the package, as a person would have entered it."""
    hours = {"hours": limit.hours_centi, "first_hours": limit.first_hours_centi}
    whole = {"months": limit.calendar_months, "days": limit.calendar_days, "cycles": limit.cycles}
    item = {
        **{key: getattr(limit, key) for key in ("item", "nature", "source", "counted_from", "condition", "meter")},
        **{key: centihours_text(value) for key, value in hours.items() if value is not None},
        **{key: str(value) for key, value in whole.items() if value is not None},
        "late": limit.late,
        "why": limit.why,
    }
    if limit.overrun is not None:
        item["overrun_hours"] = centihours_text(limit.overrun.centihours)
        item["overrun_when"], item["overrun_source"] = limit.overrun.when, limit.overrun.source
    return {key: str(value) for key, value in item.items() if value}


def offered_limits(book: Book) -> tuple[Limit, ...]:
    """Limits to start from: what is customary for what is fitted, and what the rules of the pack set; none kept yet."""
    from vanewise.jobs.records import rules
    from vanewise.watch.customary import customary_limits

    kept = {limit.item for limit, _ in limits(book)}
    return tuple(limit for limit in (*customary_limits(book.description), *rules().limits) if limit.item not in kept)


def take_offered(aircraft: str, items: Sequence[str], *, author: str, at: str = "") -> tuple[JournalEntry, ...]:
    """Keep the offered limits of these names, as starting points to be overwritten. Raises InputError for others."""
    offered = {limit.item: limit for limit in offered_limits(open_book(aircraft))}
    unknown = [name for name in items if name not in offered]
    if unknown or not items:
        found = f'"{unknown[0]}"' if unknown else "nothing ticked"
        raise wrong("item", "limits that are offered for this aircraft", found, "tick some of the list")
    return tuple(add_limit(aircraft, item_of_limit(offered[name]), author=author, at=at) for name in items)


def add_done(
    aircraft: str,
    item: str,
    *,
    date: str,
    tach: str = "",
    hour_meter: str = "",
    by: str = "",
    author: str,
    at: str = "",
) -> JournalEntry:
    """Keep that an item was done, with the meters as they stood. Raises InputError."""
    content = {
        "item": item,
        "date": day_of(date, "date").isoformat(),
        "tach": centihours_text(to_centihours(tach, "tach")) if tach else "",
        "hour_meter": centihours_text(to_centihours(hour_meter, "hour_meter")) if hour_meter else "",
        "by": by,
    }
    if not item.strip():
        raise wrong("item", "what was done", "nothing", "choose it from the list")
    return journal.append(aircraft, kinds.DONE, content, author=author, at=at or now(), expected_head=journal.ANY_HEAD)


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


def limits(book: Book) -> tuple[tuple[Limit, bool], ...]:
    """The limits kept for an aircraft, each with whether it is met once and then gone."""
    return tuple((limit_of(item_of(entry)), bool(entry.content.get("once"))) for entry in book.of(kinds.LIMIT))


def history(book: Book) -> tuple[Work, ...]:
    """Work that starts or restarts a count: what the description says was fitted, and what was done since."""
    found = [work for part in book.description.parts if (work := _fitted(part)) is not None]
    for entry in book.of(kinds.DONE):
        said = entry.content
        found.append(
            Work(
                item=str(said["item"]),
                kind="done",
                date=datetime.date.fromisoformat(str(said["date"])),
                tach_centihours=to_centihours(str(said["tach"]), "tach") if said.get("tach") else None,
                hour_meter_centihours=to_centihours(str(said["hour_meter"]), "hour_meter")
                if said.get("hour_meter")
                else None,
                by=str(said.get("by", "")),
            )
        )
    return tuple(found)


def _fitted(part: Part) -> Work | None:
    fitted = part.fitted
    if fitted.date is None and fitted.tach_centihours is None:
        return None
    return Work(
        item=part.label,
        kind="fitted",
        date=fitted.date,
        tach_centihours=fitted.tach_centihours,
        hour_meter_centihours=fitted.hour_meter_centihours,
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
    from vanewise.jobs import wear

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
