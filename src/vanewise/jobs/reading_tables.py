"""Readings from any table of comma-separated values: mapped by the person, the mapping kept, rows kept once.

A row that is kept already is passed over, so that reading the same table again, or a longer one later, adds only what
is new; an interrupted import is taken up by reading the table once more.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from vanewise.errors import Problem, wrong
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, item_of, now, open_book
from vanewise.jobs.evidence import check_items
from vanewise.jobs.meters import METERS, meter
from vanewise.jobs.trends import day_said
from vanewise.quantities import centihours_text, to_si
from vanewise.store import journal
from vanewise.watch.csv_import import ColumnMapping, Imported, ImportedRow, read_table
from vanewise.watch.meters import MeterReading, check_meter


class TableMapping(msgspec.Struct, frozen=True, kw_only=True):
    """How a table is read, and the engine speed of its gauge readings where no column holds it."""

    columns: ColumnMapping
    rpm: str = ""


class ReadIn(msgspec.Struct, frozen=True, kw_only=True):
    """What came of a table: entries kept, rows that were there already, rows that could not be read, and remarks."""

    rows: int
    kept: int
    known: int
    problems: tuple[Problem, ...]
    remarks: tuple[str, ...]


def kept_mapping(book: Book) -> TableMapping | None:
    """The mapping of last time, of this aircraft; None before the first table."""
    entry = book.answer(kinds.COLUMNS)
    return msgspec.convert(entry.content["mapping"], TableMapping, strict=False) if entry else None


def look(book: Book, text: str, mapping: TableMapping) -> tuple[Imported, list[tuple[str, dict[str, Any]]]]:
    """What a table says by a mapping, and the new items in it; nothing is kept. Raises InputError."""
    read = read_table(text, mapping.columns)
    known = _known(book)
    fresh = [
        (kind, content)
        for row in read.rows
        for kind, content in _entries(row, mapping)
        if _name(kind, content) not in known
    ]
    return read, fresh


def read_in(aircraft: str, text: str, mapping: TableMapping, *, author: str, at: str = "") -> ReadIn:
    """Keep every row of a table that is not kept yet, and the mapping for next time.

    Rows that cannot be read are told and passed over. Raises InputError where the mapping does not fit the table, or
    where the meters of the table contradict those kept.
    """
    book = open_book(aircraft)
    read, fresh = look(book, text, mapping)
    check_items(book, [(kind, item["item"]) for kind, item in fresh if kind in (kinds.READING, kinds.LAMP)])
    for key in METERS:
        added = [
            MeterReading(date=row.date, shown_centihours=shown)
            for row in read.rows
            if (shown := getattr(row, f"{key}_centihours")) is not None
        ]
        history = meter(book, key)
        check_meter(msgspec.structs.replace(history, readings=(*history.readings, *added)))
    at = at or now()
    plain = msgspec.to_builtins(mapping)
    if kept_mapping(book) != mapping:
        journal.append(
            aircraft, kinds.COLUMNS, {"mapping": plain}, author=author, at=at, expected_head=journal.ANY_HEAD
        )
    for kind, content in fresh:
        journal.append(aircraft, kind, content, author=author, at=at, expected_head=journal.ANY_HEAD)
    of_rows = sum(len(_entries(row, mapping)) for row in read.rows)
    return ReadIn(
        rows=len(read.rows),
        kept=len(fresh),
        known=of_rows - len(fresh),
        problems=read.problems,
        remarks=read.remarks,
    )


def _entries(row: ImportedRow, mapping: TableMapping) -> list[tuple[str, dict[str, Any]]]:
    """The entries of one row: meters, gauge, lamp, note."""
    values: Mapping[str, str] = dict(row.values)
    day = row.date.isoformat()
    tach, hour_meter = (
        centihours_text(hours) if hours is not None else ""
        for hours in (row.tach_centihours, row.hour_meter_centihours)
    )
    found: list[tuple[str, dict[str, Any]]] = []
    if tach or hour_meter:
        found.append((kinds.METERS, {"tach": tach, "hour_meter": hour_meter, "date": day}))
    place = {key: values[key] for key in ("altitude", "temperature") if key in values}
    if "gauge" in values:
        rpm = values.get("engine rpm") or mapping.rpm
        if not rpm:
            raise wrong(
                f"line {row.line}, engine rpm",
                "the engine speed of each gauge reading",
                "no column holds it",
                "map its column, or give one speed for all rows",
            )
        item = {"when": day, **place, "reading": values["gauge"], "rpm": rpm, "direction": "steady"}
        if values.get("note"):
            item["note"] = values["note"]
        found.append((kinds.READING, {"report": "", "item": item, "tach": tach}))
    if "lamp out" in values:
        item = {"when": day, "rpm": values["lamp out"], "direction": "rising"}
        found.append((kinds.LAMP, {"report": "", "item": item, "tach": tach}))
    return found


def _known(book: Book) -> set[tuple[Any, ...]]:
    """What is kept already, by what it says."""
    return {_name(entry.kind, entry.content) for entry in book.of(kinds.METERS)} | {
        (entry.kind, day_said(entry).isoformat(), *_figures(item_of(entry)))
        for entry in book.of(kinds.READING, kinds.LAMP, report="")
    }


def _name(kind: str, content: Mapping[str, Any]) -> tuple[Any, ...]:
    if kind == kinds.METERS:
        return kind, content["date"], content.get("tach", ""), content.get("hour_meter", "")
    return kind, content["item"]["when"], *_figures(content["item"])


def _figures(item: Mapping[str, Any]) -> tuple[float, ...]:
    speed = to_si(str(item["rpm"]), "rpm", "rpm")
    return (speed, round(to_si(str(item["reading"]), "pressure", "reading"))) if item.get("reading") else (speed,)
