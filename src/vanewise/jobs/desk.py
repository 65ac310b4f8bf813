"""Jobs on one kept aircraft for the command line: readings, what they say, lists, lives, cards, histories."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import cast, get_args

import msgspec

from vanewise.errors import wrong
from vanewise.jobs import components as component_jobs
from vanewise.jobs import histories, reading_tables, run_up, trends, watch
from vanewise.jobs import lives as life_jobs
from vanewise.jobs.answers import Answer
from vanewise.jobs.calendars import calendar as calendar_of
from vanewise.jobs.casebook import Book, open_book
from vanewise.jobs.kept import open_home, open_kept
from vanewise.jobs.shapes import (
    CauseTold,
    ComponentCards,
    Followed,
    FollowedFigure,
    KeptEntries,
    LivesTold,
    TableRead,
    TakenIn,
    WrittenFiles,
)
from vanewise.store import journal
from vanewise.watch.csv_import import Column, ColumnMapping, DateStyle, Field


def book_of(home: Path, aircraft: str) -> Book:
    """The aircraft of that id or name in a home. Raises InputError when there is none, or more than one of the name."""
    open_kept(home)
    rows = journal.aircraft_rows()
    found = [row[0] for row in rows if aircraft in (row[0], row[1])]
    if len(found) != 1:
        known = ", ".join(row[0] for row in rows) or "none"
        told = "two of that name" if found else f'"{aircraft}"'
        raise wrong("aircraft", f"the id or name of one of: {known}", told, "give its id")
    return open_book(found[0])


def note_run_up(home: Path, aircraft: str, figures: dict[str, str], *, date: str, sure: bool, author: str) -> Answer:
    """Keep a reading at run-up. ``figures`` as typed, each with its unit or a bare number in the usual one."""
    book = book_of(home, aircraft)
    texts = {name: _with_unit(text, run_up.UNITS[name]) for name, text in figures.items() if text}
    told = msgspec.convert({"date": date, **texts}, run_up.RunUp)
    kept = run_up.keep(book.aircraft, told, sure=sure, author=author)
    data = KeptEntries(aircraft=book.aircraft, kinds=tuple(e.kind for e in kept), head=kept[-1].digest)
    return Answer(data=data, words=f"Kept for {book.name}: {', '.join(data.kinds)}.")


def _with_unit(text: str, unit: str) -> str:
    return f"{text} {unit}" if text.replace(".", "", 1).replace("-", "", 1).isdigit() else text


def readings(home: Path, aircraft: str, *, today: datetime.date) -> Answer:
    """Every figure that is followed over time, and what it says."""
    book = book_of(home, aircraft)
    found = trends.lines(book, today)
    data = Followed(
        aircraft=book.aircraft,
        figures=tuple(
            FollowedFigure(
                figure=line.key,
                unit=line.followed.unit,
                readings=len(line.source.series.readings),
                newest=line.newest[1],
                newest_on=line.newest[0],
                speaks_of=line.followed.speaks_of,
                trend=line.trend,
            )
            for line in found
        ),
    )
    words = [line.trend.words[0] for line in found] or ["No reading is kept yet."]
    return Answer(data=data, words="\n".join([*words, "Trends miss sudden failures. Keep a back-up."]))


def read_table(
    home: Path,
    aircraft: str,
    text: str,
    *,
    columns: Sequence[str],
    dates: str,
    separator: str,
    decimal: str,
    rpm: str,
    author: str,
) -> Answer:
    """Keep the readings of a table; without ``columns`` it is mapped as last time."""
    book = book_of(home, aircraft)
    mapping = reading_tables.kept_mapping(book)
    if columns:
        mapping = reading_tables.TableMapping(
            columns=ColumnMapping(
                columns=tuple(_column(item) for item in columns),
                date_style=cast(DateStyle, dates),
                separator="\t" if separator == "tab" else separator,
                decimal="," if decimal == "," else ".",
            ),
            rpm=_with_unit(rpm, "rpm") if rpm else "",
        )
    if mapping is None:
        raise wrong("--column", "what each column holds, the first time", "nothing", "e.g. --column Date=date")
    done = reading_tables.read_in(book.aircraft, text, mapping, author=author)
    data = TableRead(
        aircraft=book.aircraft,
        rows=done.rows,
        kept=done.kept,
        known=done.known,
        problems=done.problems,
        remarks=done.remarks,
    )
    words = [f"{done.rows} rows read: {done.kept} entries kept, {done.known} were there already.", *done.remarks]
    return Answer(data=data, words="\n".join([*words, *(str(problem) for problem in done.problems)]))


def _column(item: str) -> Column:
    """``Heading=field`` or ``Heading=field:unit``."""
    heading, equals, rest = item.rpartition("=")
    field, _, unit = rest.partition(":")
    if not equals or field not in get_args(Field):
        raise wrong(
            f"--column {item}", f"HEADING=FIELD:UNIT, a field of {', '.join(get_args(Field))}", item, "write it so"
        )
    return Column(heading=heading.strip(), holds=cast(Field, field), unit=unit)


def put_off(
    home: Path, aircraft: str, item: str, *, name: str, reason: str, until: str, until_hours: str, today: datetime.date
) -> Answer:
    """Keep the decision of a named person to do something later."""
    book = book_of(home, aircraft)
    hours = _with_unit(until_hours, "h") if until_hours else ""
    kept = watch.put_off(
        book.aircraft,
        item,
        name=name,
        reason=reason,
        until_date=until,
        until_hours=hours,
        today=today,
        author=name,
    )
    data = KeptEntries(aircraft=book.aircraft, kinds=(kept.kind,), head=kept.digest)
    return Answer(data=data, words=f"Kept: {item} is put off until {' or '.join(filter(None, (until, hours)))}.")


def calendar(home: Path, aircraft: str, file: str, *, today: datetime.date) -> Answer:
    """The due list as an iCalendar file."""
    return _written(book_of(home, aircraft), lambda book: {file: calendar_of(book, today)})


def card(home: Path, aircraft: str, card: str, file: str, *, today: datetime.date, page: str) -> Answer:
    """A card of looks and tests as a page."""
    from vanewise.prints import card_pdf
    from vanewise.watch.customary import CARDS

    return _written(
        book_of(home, aircraft),
        lambda book: {file: card_pdf(CARDS[card], aircraft=book.name, dated=today, page=page)},
    )


def export(home: Path, aircraft: str, *, today: datetime.date, page: str) -> Answer:
    """The whole history as JSON, CSV and PDF."""
    return _written(
        book_of(home, aircraft),
        lambda book: {
            f"history-{book.aircraft}.{form}": histories.file(book, form, dated=today, page=page)
            for form in histories.FORMS
        },
    )


def _written(book: Book, make: Callable[[Book], dict[str, bytes]]) -> Answer:
    files = make(book)
    data = WrittenFiles(aircraft=book.aircraft, head=book.head, files=tuple(files))
    return Answer(data=data, words=f"Wrote {', '.join(files)}. The head is {book.head}.", files=files)


def take_in(home: Path, text: str, where: str) -> Answer:
    """Take an exported history into a home, which is made where there is none."""
    open_home(home)
    aircraft, added = histories.take_in(text, where)
    book = open_book(aircraft)
    data = TakenIn(aircraft=aircraft, name=book.name, added=added, head=book.head)
    return Answer(data=data, words=f"{book.name}: {added} entries taken in; the chain holds, its head is {book.head}.")


def lives(home: Path, aircraft: str, kind: str) -> Answer:
    """What the lives of a kind of part say, and when replacing pays."""
    book = book_of(home, aircraft)
    found = life_jobs.lives(book, kind)
    data = LivesTold(
        kind=kind,
        lives=len(found.records),
        wears_out=found.model.wears_out,
        causes=tuple(CauseTold(cause=c.cause, ends=c.ends, model=c.model, wears_out=c.wears_out) for c in found.causes),
        replace_at_hours=found.by_age.hours if found.by_age else None,
        words=(
            *(found.words if found.records else ("No life is kept yet.",)),
            *(found.by_age.words if found.by_age else ()),
        ),
    )
    return Answer(data=data, words="\n".join(data.words))


def components(home: Path, aircraft: str) -> Answer:
    """The card of every component with a serial number."""
    from vanewise.watch.meters import text

    book = book_of(home, aircraft)
    data = ComponentCards(aircraft=book.aircraft, cards=component_jobs.cards(book))
    words = []
    for one in data.cards:
        new = "not known" if one.since_new_centihours is None else text(one.since_new_centihours)
        words.append(f"{one.part or 'component'} {one.serial}: {one.state}, since new {new}")
        words += [f"  {s.aircraft}, {s.since} to {s.until or 'now'}: {s.why_off or 'fitted'}" for s in one.stays]
    return Answer(data=data, words="\n".join(words) or "No component with a serial number is known.")
