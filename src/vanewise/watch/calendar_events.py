"""Due items as calendar events: plain values that the shell writes as an iCalendar file or feed."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Iterable

import msgspec

from vanewise.watch.due import when_words
from vanewise.watch.types import DueItem
from vanewise.wording import sentence


class CalendarEvent(msgspec.Struct, frozen=True, kw_only=True):
    """One all-day event. ``uid`` stays the same while the due point does, so a client moves it and never doubles it."""

    uid: str
    date: datetime.date
    summary: str
    description: str
    is_estimate: bool
    """True where the day is worked out from hours and flying habit."""


def due_events(aircraft: str, items: Iterable[DueItem], today: datetime.date) -> tuple[CalendarEvent, ...]:
    """An event for each due item that has a day: the limit's own, or the early one expected from hours.

    Overdue items are put on today. Items on condition, and those whose start nobody entered, have no day.
    """
    events = []
    for item in items:
        dates = [d for d in (item.due_date, item.expected_from) if d is not None]
        if item.state in ("condition", "unknown") or not dates:
            continue
        day = max(min(dates), today)
        estimate = item.due_date is None or day < item.due_date
        events.append(
            CalendarEvent(
                uid=_uid(aircraft, item),
                date=day,
                summary=f"{aircraft}: {item.item}",
                description="\n".join(_lines(item)),
                is_estimate=estimate and item.state != "overdue",
            )
        )
    return tuple(events)


def _uid(aircraft: str, item: DueItem) -> str:
    name = hashlib.sha256(f"{aircraft}\n{item.item}\n{item.nature}\n{item.source}".encode()).hexdigest()[:32]
    return f"{name}@vanewise"


def _lines(item: DueItem) -> list[str]:
    lines = []
    when = when_words(item)
    if when:
        lines.append(sentence(when))
    lines.append(f"Left: {item.left}.")
    lines.append(item.why + ".")
    if item.note:
        lines.append(item.note)
    lines.append("Mandatory." if item.mandatory else "Not mandatory.")
    return lines
