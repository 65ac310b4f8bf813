"""Readings from any table of comma-separated values, with the columns mapped by the person.

The mapping says which column holds what, in which unit and how dates are written; it is kept for next time. Rows that
cannot be read are told one by one, and so are gaps and hours that run backwards: nothing is taken in silently, and
nothing else is lost because of one bad row.
"""

from __future__ import annotations

import csv
import datetime
import io
import itertools
import re
from collections.abc import Iterator, Sequence
from typing import Literal

import msgspec

from vanewise.errors import InputError, Problem, wrong

Field = Literal["date", "tach", "hour meter", "engine rpm", "gauge", "lamp out", "altitude", "temperature", "note"]
DateStyle = Literal["2025-03-31", "31.03.2025", "31/03/2025", "03/31/2025"]

_DATES: dict[DateStyle, str] = {
    "2025-03-31": "%Y-%m-%d",
    "31.03.2025": "%d.%m.%Y",
    "31/03/2025": "%d/%m/%Y",
    "03/31/2025": "%m/%d/%Y",
}
LONG_GAP_DAYS = 120


class Column(msgspec.Struct, frozen=True, kw_only=True):
    """One column of the table: its heading, what it holds, and the unit of its numbers."""

    heading: str
    holds: Field
    unit: str = ""


class ColumnMapping(msgspec.Struct, frozen=True, kw_only=True):
    """How a table is read. ``separator`` and ``decimal`` as the table has them."""

    columns: tuple[Column, ...]
    date_style: DateStyle = "2025-03-31"
    separator: str = ","
    decimal: Literal[".", ","] = "."


class ImportedRow(msgspec.Struct, frozen=True, kw_only=True):
    """One row: its line, its day, hours in hundredths, and every other value as text with its unit, as if typed."""

    line: int
    date: datetime.date
    tach_centihours: int | None = None
    hour_meter_centihours: int | None = None
    values: tuple[tuple[Field, str], ...] = ()


class Imported(msgspec.Struct, frozen=True, kw_only=True):
    """Rows that were read, in order of date; rows that were not, each with why; and what looks odd."""

    rows: tuple[ImportedRow, ...]
    problems: tuple[Problem, ...]
    remarks: tuple[str, ...]


def headings(text: str, separator: str = ",") -> tuple[str, ...]:
    """The headings of a table, for a person to map."""
    first = next(csv.reader(io.StringIO(text.lstrip("\ufeff")), delimiter=separator), [])
    return tuple(cell.strip() for cell in first)


def read_table(text: str, mapping: ColumnMapping) -> Imported:
    """Read a table by its mapping.

    Raises :class:`InputError` when the mapping does not fit the table: a heading that is not there, one field twice, or
    no date. Single rows that cannot be read are returned as problems instead.
    """
    text = text.lstrip("\ufeff")
    _check_mapping(mapping, headings(text, mapping.separator))
    found = csv.reader(io.StringIO(text), delimiter=mapping.separator)
    names = [cell.strip() for cell in next(found)]
    places = {column: names.index(column.heading) for column in mapping.columns}
    rows: list[ImportedRow] = []
    problems: list[Problem] = []
    for line, cells in enumerate(found, start=2):
        if not any(cell.strip() for cell in cells):
            continue
        try:
            rows.append(_row(line, cells, places, mapping))
        except InputError as error:
            problems.extend(error.problems)
    rows.sort(key=lambda row: (row.date, row.line))
    return Imported(rows=tuple(rows), problems=(*problems, *_backwards(rows)), remarks=tuple(_gaps(rows)))


def _check_mapping(mapping: ColumnMapping, names: Sequence[str]) -> None:
    problems = [
        Problem(
            where=f"column for {column.holds}",
            expected=f"one of the table's headings: {', '.join(names) or 'none found'}",
            found=f'"{column.heading}"',
            next_step="choose the column again, or check the separator",
        )
        for column in mapping.columns
        if column.heading not in names
    ]
    held = [column.holds for column in mapping.columns]
    twice = sorted({field for field in held if held.count(field) > 1})
    if twice or "date" not in held:
        problems.append(
            Problem(
                where="columns",
                expected="a date, and each other field at most once",
                found=f"{twice[0]} twice" if twice else "no date",
                next_step="choose one column for each",
            )
        )
    if problems:
        raise InputError(problems)


def _row(line: int, cells: Sequence[str], places: dict[Column, int], mapping: ColumnMapping) -> ImportedRow:
    date: datetime.date | None = None
    hours: dict[str, int] = {}
    values: list[tuple[Field, str]] = []
    for column, place in places.items():
        cell = cells[place].strip() if place < len(cells) else ""
        where = f"line {line}, {column.heading}"
        if column.holds == "date":
            date = _date(cell, where, mapping.date_style)
        elif not cell:
            continue
        elif column.holds in ("tach", "hour meter"):
            hours[column.holds] = _centihours(cell, where, mapping.decimal)
        elif column.holds == "note":
            values.append(("note", cell))
        else:
            values.append((column.holds, _number(cell, where, mapping.decimal, column.unit)))
    assert date is not None
    return ImportedRow(
        line=line,
        date=date,
        tach_centihours=hours.get("tach"),
        hour_meter_centihours=hours.get("hour meter"),
        values=tuple(values),
    )


def _date(cell: str, where: str, style: DateStyle) -> datetime.date:
    try:
        return datetime.datetime.strptime(cell, _DATES[style]).replace(tzinfo=datetime.UTC).date()
    except ValueError:
        raise wrong(where, f"a date written like {style}", f'"{cell}"', "correct it, or choose another style") from None


def _plain(cell: str, where: str, decimal: str) -> str:
    """The digits of a cell with a point for the decimal; spaces and the other sign as thousands are dropped."""
    other = "," if decimal == "." else "."
    text = re.sub(rf"(?<=\d)[{re.escape(other)}\s'](?=\d{{3}}(\D|$))", "", cell)
    text = text.replace(decimal, ".")
    if not re.fullmatch(r"[+-]?\d+(\.\d+)?", text):
        raise wrong(where, f"a number with {decimal!r} for the decimal", f'"{cell}"', "correct the cell")
    return text


def _centihours(cell: str, where: str, decimal: str) -> int:
    """Hours to the hundredth, exactly: no binary fraction takes part."""
    whole, _, rest = _plain(cell, where, decimal).partition(".")
    if whole.startswith("-") or len(rest) > 2:
        raise wrong(where, "hours of 0 or more, to the hundredth at most", f'"{cell}"', "correct the cell")
    return int(whole) * 100 + int(rest.ljust(2, "0"))


def _number(cell: str, where: str, decimal: str, unit: str) -> str:
    match = re.fullmatch(r"(.*?\d)\s*([A-Za-z].*)?", cell)
    number, written = (match[1], (match[2] or "").strip()) if match else (cell, "")
    if written and unit and written != unit:
        raise wrong(where, f"numbers in {unit}", f'"{cell}"', "correct the cell, or map the column to its own unit")
    return f"{_plain(number, where, decimal)} {written or unit}".strip()


def _backwards(rows: Sequence[ImportedRow]) -> Iterator[Problem]:
    for name, field in (("tach", "tach_centihours"), ("hour meter", "hour_meter_centihours")):
        dated = [(row, getattr(row, field)) for row in rows if getattr(row, field) is not None]
        for (before, low), (after, high) in itertools.pairwise(dated):
            if high < low and after.date > before.date:
                yield Problem(
                    where=f"line {after.line}, {name}",
                    expected=f"at least the {low / 100:,.2f} h of line {before.line} ({before.date})",
                    found=f"{high / 100:,.2f} h",
                    next_step="check which meter it is, or enter that the meter was replaced on that day",
                )


def _gaps(rows: Sequence[ImportedRow]) -> Iterator[str]:
    for before, after in itertools.pairwise(rows):
        days = (after.date - before.date).days
        if days > LONG_GAP_DAYS:
            yield f"No row for {days} days between {before.date} and {after.date}: is a page missing?"
