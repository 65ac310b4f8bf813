"""The limits of an aircraft and the work that starts their counts: kept, offered, and read back."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from typing import Any

import msgspec

from vanewise.aircraft.description import Part
from vanewise.errors import wrong
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, day_of, item_of, now, open_book
from vanewise.jobs.rules import rules
from vanewise.quantities import centihours_text, to_centihours
from vanewise.store import journal
from vanewise.store.journal import JournalEntry
from vanewise.watch.due import check_limit
from vanewise.watch.types import Limit, Work


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
