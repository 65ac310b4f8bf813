"""What next over all aircraft of a home, from a read model that follows each journal: thousands list at once."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

import msgspec

from vanewise.errors import InputError
from vanewise.jobs.casebook import open_book
from vanewise.jobs.watch import DueSource, due_source
from vanewise.store import due_rows
from vanewise.watch.types import DueItem


@dataclass(frozen=True)
class DueOfAircraft:
    """The due list of one aircraft of the home."""

    aircraft: str
    name: str
    items: tuple[DueItem, ...]


def bring_up_to_date(today: datetime.date) -> int:
    """Write anew the rows of aircraft whose journal has grown since; how many that were."""
    count = 0
    for aircraft in list(due_rows.behind()):
        book = open_book(aircraft)
        try:
            source = due_source(book, today)
        except InputError:
            # What cannot be read is told on the aircraft's own page; here it must not hide all the others.
            due_rows.write(aircraft, book.head, "", "")
            continue
        first = min((day for item in source.items(source.since) for day in _days(item)), default=None)
        text = msgspec.json.encode(source, order="sorted").decode()
        due_rows.write(aircraft, book.head, first.isoformat() if first else "", text)
        count += 1
    return count


def _days(item: DueItem) -> list[datetime.date]:
    """The first day on which an item may fall due; none while it has no day."""
    if item.state in ("condition", "unknown"):
        return []
    return [day for day in (item.due_date, item.expected_from) if day is not None]


def listed(today: datetime.date, *, start: int = 0, count: int = 50) -> tuple[DueOfAircraft, ...]:
    """The aircraft whose next item comes first, each with its list as it stands today."""
    bring_up_to_date(today)
    return tuple(
        DueOfAircraft(
            aircraft=aircraft,
            name=name,
            items=msgspec.json.decode(text, type=DueSource).items(today) if text else (),
        )
        for aircraft, name, _, text in due_rows.first(start, count)
    )
