"""The due list as iCalendar (RFC 5545): a file to keep, and a feed behind an address that cannot be guessed."""

from __future__ import annotations

import datetime
import hashlib
import hmac
from typing import Final

from vanewise import __version__
from vanewise.jobs.casebook import Book
from vanewise.jobs.watch import due
from vanewise.watch.calendar_events import due_events

REMIND_BEFORE: Final = datetime.timedelta(days=14)


def calendar(book: Book, today: datetime.date) -> bytes:
    """Every due item with a day, as all-day events. The same list gives the same bytes.

    Days worked out from hours are marked as tentative; the description says what the limit is and whose word it is.
    """
    from icalendar import Alarm, Calendar, Event

    made = Calendar()
    made.add("prodid", f"-//Vanewise//{__version__}//EN")
    made.add("version", "2.0")
    made.add("method", "PUBLISH")
    made.add("x-wr-calname", f"{book.name}: what next")
    # When the journal was last written, so that a client sees a change and the same list gives the same file.
    stamp = datetime.datetime.fromisoformat(book.entries[-1].at)
    for item in due_events(book.name, due(book, today), today):
        event = Event()
        event.add("uid", item.uid)
        event.add("dtstamp", stamp)
        event.add("dtstart", item.date)
        event.add("dtend", item.date + datetime.timedelta(days=1))
        event.add("summary", item.summary)
        event.add("description", item.description)
        event.add("status", "TENTATIVE" if item.is_estimate else "CONFIRMED")
        event.add("transp", "TRANSPARENT")
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", item.summary)
        alarm.add("trigger", -REMIND_BEFORE)
        event.add_component(alarm)
        made.add_component(event)
    return bytes(made.to_ical())


def feed_token(aircraft: str, secret: str) -> str:
    """What stands in the feed's address: nobody without the home's own key can make it."""
    return hmac.new(secret.encode(), f"calendar feed of {aircraft}".encode(), hashlib.sha256).hexdigest()[:40]


def is_feed_token(aircraft: str, token: str, secret: str) -> bool:
    return hmac.compare_digest(feed_token(aircraft, secret), token)
