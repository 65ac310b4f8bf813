"""How much an aircraft flies, from its meters and its owner's word, so that hours get days.

Days are reckoned from the newest meter reading, not from today: what was flown since nobody has written down, but it
was flown.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from vanewise.errors import wrong
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, now, open_book
from vanewise.jobs.meters import longest_totals
from vanewise.provenance import ASSUMED, Value
from vanewise.quantities import to_si
from vanewise.store import journal
from vanewise.store.journal import JournalEntry
from vanewise.watch.utilisation import Utilisation, dates_of_hours, hours_until, months_of, rate_a_year, utilisation

Dates = Callable[[int], tuple[datetime.date, datetime.date, datetime.date]]

USUAL_YEAR: Final = Value(
    number=100.0,
    dimension="hours",
    standing="assumed",
    source=ASSUMED,
    note="hours a year, until meters or the owner say otherwise",
)


STALE_DAYS: Final = 60


@dataclass(frozen=True)
class Flying:
    """How much an aircraft flies; ``since`` is the day of the newest meter reading, from which days are reckoned."""

    use: Utilisation
    words: str
    since: datetime.date
    stated: str

    today: datetime.date

    @property
    def stale(self) -> bool:
        """True when so much time has passed since the newest reading that hours left mean little."""
        return (self.today - self.since).days > STALE_DAYS

    @cached_property
    def _dates(self) -> Dates:
        return dates_of_hours(self.use, self.since)

    def dates(self, today: datetime.date) -> Dates:
        """From hundredths of an hour left at the newest reading to an early, a middle and a late day, none past."""

        def found(centihours: int) -> tuple[datetime.date, datetime.date, datetime.date]:
            early, middle, late = self._dates(centihours)
            return max(early, today), max(middle, today), max(late, today)

        return found

    def hours_until(self, day: datetime.date) -> float:
        """Mean hours flown from the newest reading to a day."""
        return hours_until(self.use, self.since, day)


def flying(book: Book, today: datetime.date) -> Flying:
    """How much it flies: months by its meters, leaning on the yearly figure its owner gives, or on an assumed one."""
    said = book.answer(kinds.FLYING)
    stated = to_si(str(said.content["hours_a_year"]), "hours", "hours_a_year") if said else None
    points = longest_totals(book)
    rate = rate_a_year(points)
    months = months_of(points)
    yearly = stated or rate or USUAL_YEAR.number
    use = utilisation(months, yearly)
    return Flying(
        use=use,
        words=_words(use, stated, rate),
        since=min(max((day for day, _ in points), default=today), today),
        stated=str(said.content["hours_a_year"]) if said else "",
        today=today,
    )


def _words(use: Utilisation, stated: float | None, rate: float | None) -> str:
    about = f"about {use.hours_a_year:,.0f} h a year"
    if use.months_seen:
        lean = ", leaning on the owner's own figure" if stated else ""
        return f"{about}, with its season, from {use.months_seen} whole months of meter readings{lean}"
    if stated:
        return f"{about}, by its owner's word"
    if rate:
        return f"{about}, from its first and newest meter reading"
    return f"{about}: assumed, until its meters or its owner say otherwise"


def say_flying(aircraft: str, hours_a_year: str, *, author: str, at: str = "") -> JournalEntry:
    """Keep how much it flies by its owner's word. Raises InputError for what is no such figure."""
    open_book(aircraft)
    hours = to_si(hours_a_year, "hours", "hours_a_year")
    if not 0.0 < hours <= 5000.0:
        raise wrong("hours_a_year", "hours above 0 and up to 5,000", hours_a_year, "give a rough yearly figure")
    content = {"hours_a_year": hours_a_year}
    return journal.append(
        aircraft, kinds.FLYING, content, author=author, at=at or now(), expected_head=journal.ANY_HEAD
    )
