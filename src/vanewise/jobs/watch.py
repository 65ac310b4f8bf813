"""Watch: meters, limits, what is due, wear-port looks and their forecast."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any, Final

import msgspec

from vanewise import pipeline
from vanewise.aircraft.description import Part
from vanewise.errors import InputError, wrong
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, item_of, now, open_book
from vanewise.quantities import centihours_text, to_centihours
from vanewise.store import journal
from vanewise.store.journal import JournalEntry
from vanewise.watch.due import Now, check_limit, check_put_off
from vanewise.watch.meters import MeterHistory, MeterReading, check_meter, newest_total
from vanewise.watch.types import DueItem, Limit, MeterKind, PutOff, WearForecast, Work
from vanewise.work.types import WorkPackage

METERS: Final[Mapping[str, MeterKind]] = {"tach": "tach", "hour_meter": "hour meter"}


def add_meters(aircraft: str, *, tach: str, hour_meter: str, date: str, author: str, at: str = "") -> JournalEntry:
    """Keep what the meters showed on a day. Raises InputError for hours that run backwards or cannot be read."""
    if not tach and not hour_meter:
        raise wrong("tach", "at least one of the two meters", "neither", "write what a meter shows")
    book = open_book(aircraft)
    day = _day(date, "date")
    for key, text in (("tach", tach), ("hour_meter", hour_meter)):
        if text:
            history = meter(book, key)
            new = MeterReading(date=day, shown_centihours=to_centihours(text, key))
            check_meter(msgspec.structs.replace(history, readings=(*history.readings, new)))
    content = {"tach": tach, "hour_meter": hour_meter, "date": day.isoformat()}
    return journal.append(
        aircraft, kinds.METERS, content, author=author, at=at or now(), expected_head=journal.ANY_HEAD
    )


def meter(book: Book, key: str) -> MeterHistory:
    """One meter of an aircraft, from its description and every reading kept since."""
    readings = []
    first = book.description.meters
    shown = first.tach_centihours if key == "tach" else first.hour_meter_centihours
    if shown is not None and first.read_on is not None:
        readings.append(MeterReading(date=first.read_on, shown_centihours=shown))
    for entry in book.of(kinds.METERS):
        if entry.content.get(key):
            day = datetime.date.fromisoformat(str(entry.content["date"]))
            readings.append(MeterReading(date=day, shown_centihours=to_centihours(str(entry.content[key]), key)))
    return MeterHistory(kind=METERS[key], readings=tuple(readings))


def standing(book: Book, today: datetime.date) -> Now:
    """Where the aircraft stands today by its meters."""
    totals = {}
    first = book.description.meters
    for key, stated in (("tach", first.tach_centihours), ("hour_meter", first.hour_meter_centihours)):
        newest = newest_total(meter(book, key))
        totals[key] = newest[1] if newest else stated
    return Now(today=today, tach_centihours=totals["tach"], hour_meter_centihours=totals["hour_meter"])


def add_limit(aircraft: str, item: Mapping[str, str], *, author: str, once: bool = False, at: str = "") -> JournalEntry:
    """Keep a limit: ``item``, ``nature``, ``source``, and ``hours``, ``months`` or ``condition``. Raises InputError."""
    book = open_book(aircraft)
    check_limit(limit_of(item))
    content = {"limit": book.next_id(kinds.LIMIT, "limit", "l"), "item": dict(item), "once": once}
    return journal.append(aircraft, kinds.LIMIT, content, author=author, at=at or now(), expected_head=journal.ANY_HEAD)


def limit_of(item: Mapping[str, str]) -> Limit:
    """A limit from its texts."""
    hours = str(item.get("hours", ""))
    months = str(item.get("months", ""))
    if months and not months.isdigit():
        raise wrong("months", "a whole number of calendar months", f'"{months}"', "write the number alone")
    try:
        return msgspec.convert(
            {
                "item": str(item.get("item", "")),
                "nature": str(item.get("nature", "own")),
                "source": str(item.get("source", "")),
                "hours_centi": to_centihours(hours, "hours") if hours else None,
                "calendar_months": int(months) if months else None,
                "condition": str(item.get("condition", "")),
                "counted_from": str(item.get("counted_from", "done")),
                "meter": str(item.get("meter", "tach")),
                "why": str(item.get("why", "")),
            },
            Limit,
        )
    except msgspec.ValidationError as error:
        expected = "a nature, a meter and a start that this program knows"
        raise wrong("limit", expected, error, "choose from the lists") from error


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
        "date": _day(date, "date").isoformat(),
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
        "until_date": _day(until_date, "until_date").isoformat() if until_date else "",
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


def due(book: Book, today: datetime.date) -> tuple[DueItem, ...]:
    """What next, by when, why: most urgent first."""
    work = history(book)
    times = {item.item: sum(1 for other in work if other.item == item.item) for item in work}
    wanted = [limit for limit, once in limits(book) if not (once and times.get(limit.item, 0) > 1)]
    decisions = tuple(_decision(entry.content) for entry in book.of(kinds.PUT_OFF))
    items = pipeline.watch_due(wanted, work, standing(book, today), put_off=decisions)
    single = {limit.item for limit, once in limits(book) if once}
    return tuple(_said_once(item) if item.item in single else item for item in items)


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


def add_wear(aircraft: str, part: str, item: Mapping[str, Any], *, author: str, at: str = "") -> JournalEntry:
    """Keep a look at the wear port of a pump, or what its port means. Raises InputError naming the field."""
    book = open_book(aircraft)
    if part not in {pump.id for pump in book.description.parts_of("pump")}:
        raise wrong("part", "a pump of this aircraft", f'"{part}"', "choose one of its pumps")
    _wear_file(book, part, (*_wear_items(book, part), dict(item)))
    return journal.append(
        aircraft,
        kinds.WEAR,
        {"part": part, "item": dict(item)},
        author=author,
        at=at or now(),
        expected_head=journal.ANY_HEAD,
    )


def _wear_items(book: Book, part: str) -> tuple[Mapping[str, Any], ...]:
    return tuple(item_of(entry) for entry in book.of(kinds.WEAR, part=part))


_ABOUT_PORT: Final = ("seen_means", "polarity_confirmed_by", "new_length", "minimum_length", "length_sd")


def _wear_file(book: Book, part: str, items: tuple[Mapping[str, Any], ...]) -> Any:
    """The looks of a pump as the wear file writes them, read by its own parser. Raises InputError."""
    from vanewise.jobs.groundrun import toml_string
    from vanewise.watch.reading import read_wear

    looks = [item for item in items if item.get("kind")]
    hours = max((to_centihours(str(item["hours"]), "hours") for item in looks), default=0)
    since = pump_hours(book, part)
    lines = [
        f"pump = {toml_string(part)}",
        f'hours_now = "{centihours_text(max(hours, since or 0))}"',
        f'duty = "{book.description.duty}"',
    ]
    for key in _ABOUT_PORT:
        said = [str(item[key]) for item in items if item.get(key)]
        if said:
            lines.append(f"{key} = {toml_string(said[-1])}")
    for look in looks:
        lines.append("[[looks]]")
        lines += [f"{key} = {toml_string(look[key])}" for key in ("kind", "hours", "length") if look.get(key)]
        if look.get("date"):
            lines.append(f"date = {_day(str(look['date']), 'date').isoformat()}")
    return read_wear("\n".join(lines) + "\n", "wear")


def pump_hours(book: Book, part: str) -> int | None:
    """Hours of a pump by the tach, in hundredths, where its fitting is known."""
    fitted = book.description.part(part).fitted.tach_centihours
    total = standing(book, datetime.datetime.now(datetime.UTC).date()).tach_centihours
    return None if fitted is None or total is None or total < fitted else total - fitted


def forecast(book: Book, part: str) -> WearForecast | None:
    """What a pump's looks say about its wear; None while neither hours nor a look are known."""

    items = _wear_items(book, part)
    if not items and pump_hours(book, part) is None:
        return None
    file = _wear_file(book, part, items)
    return pipeline.watch_wear(file.history, file.horizons)


def _day(text: str, where: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise InputError(wrong(where, "a date, year-month-day", f'"{text}"', "write it so").problems) from None
