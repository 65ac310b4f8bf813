"""Wear-port looks from a file (TOML text), with every problem of the file collected before anything is refused.

Lengths are texts with their unit; hours are hours since the pump was new, to the hundredth. What a look at the port
means (edge seen: good or bad) must be confirmed by a named person against the manual of that very pump.
"""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Mapping
from typing import Any, Final, cast, get_args

import msgspec

from vanewise.aircraft.tables import Table
from vanewise.errors import InputError, Problem, in_file, wrong
from vanewise.watch.types import WearReading
from vanewise.watch.wear import Horizons, wear_fraction
from vanewise.watch.wear_history import PumpHistory
from vanewise.watch.wear_priors import DEFAULT_PRIORS, Duty, Edit, EventKind, WearPriors, edited
from vanewise.watch.wear_rates import Conditions, RateEvent

_MOST_LOOKS: Final = 500
_KINDS: Final = ("length", "seen", "not seen", "within limit", "past limit", "worn out")


class WearFile(msgspec.Struct, frozen=True, kw_only=True):
    """What a file of wear-port looks says."""

    pump: str
    history: PumpHistory
    horizons: Horizons
    priors: WearPriors = DEFAULT_PRIORS
    """With the file's own numbers in place of the starting ones."""


def read_wear(text: str, path: str) -> WearFile:
    """The pump, its looks and how far ahead to forecast. Raises InputError with every problem of the text."""
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise wrong(path, "a TOML text", str(error), "put numbers with their unit in quotes") from None
    problems: list[Problem] = []
    top = Table(data, "", "", problems)
    pump = top.text("pump", "the pump")
    hours_now = _hours(top, "hours_now")
    if hours_now is None:
        top.problem("hours_now", 'the hours of this pump, like "512.6 h"', "nothing", "write its hours since new")
    conditions = Conditions(
        duty=cast(Duty, top.choice("duty", get_args(Duty), "") or "suction"),
        speed_ratio=top.quantity("speed_ratio", "ratio"),
        setting_pa=top.quantity("setting", "pressure"),
        altitude_m=top.quantity("usual_altitude", "length"),
    )
    limits = {key: top.quantity(key, "length") for key in ("new_length", "minimum_length", "length_sd")}
    history = PumpHistory(
        hours_now=hours_now or 0.0,
        conditions=conditions,
        readings=tuple(_look(top, i, entry, limits) for i, entry in top.items("looks", _MOST_LOOKS)),
        events=tuple(_event(top, i, entry) for i, entry in top.items("events", _MOST_LOOKS)),
        seen_means=top.choice("seen_means", ("good", "bad"), "not said").replace("not said", "") or None,
        polarity_confirmed_by=top.text("polarity_confirmed_by"),
        port_wear_fraction=top.quantity("port_wear_fraction", "ratio"),
        running=top.yes_or_no("running", True),
        entry_hours=_hours(top, "entry_hours"),
    )
    horizons = Horizons(
        next_flight_h=_hours(top, "next_flight") or Horizons().next_flight_h,
        next_annual_h=_hours(top, "hours_to_next_annual"),
    )
    priors = _assumptions(top)
    top.refuse_unknown_keys()
    if problems:
        raise InputError([in_file(path, problem) for problem in problems])
    return WearFile(pump=pump, history=history, horizons=horizons, priors=priors)


def _assumptions(top: Table) -> WearPriors:
    """The tables under ``[assumptions]``: each a number with its source, in place of a starting one."""
    table = top.table("assumptions")
    edits = {}
    for name in table.data:
        one = table.table(name)
        dimension = {name: value.dimension for name, value in DEFAULT_PRIORS.values()}.get(name, "ratio")
        number, spread = one.quantity("number", dimension), one.quantity("spread", "ratio")
        if number is None:
            one.problem("number", "the number, hours with their unit", "nothing", "write it, or take the table out")
        edits[name] = Edit(number=number or 0.0, spread=spread, source=one.text("source", required=True))
        one.refuse_unknown_keys()
    if top.problems:
        return DEFAULT_PRIORS
    try:
        return edited(edits)
    except InputError as error:
        top.problems.extend(error.problems)
        return DEFAULT_PRIORS


def _hours(table: Table, key: str) -> float | None:
    centihours = table.hours(key)
    return None if centihours is None else centihours / 100.0


def _look(top: Table, index: int, entry: Mapping[str, Any], limits: Mapping[str, float | None]) -> WearReading:
    table = Table(entry, f"looks[{index}]", "", top.problems)
    kind = table.choice("kind", _KINDS, "") or "seen"
    hours = _hours(table, "hours")
    if hours is None:
        table.problem("hours", 'hours since the pump was new, like "300.0 h"', "nothing", "write them")
    fraction, sd = _fraction(table, kind, limits)
    date: datetime.date | None = table.date("date")
    table.refuse_unknown_keys()
    return WearReading(hours=hours or 0.0, kind=cast(Any, kind), wear_fraction=fraction, sd=sd, date=date)


def _fraction(table: Table, kind: str, limits: Mapping[str, float | None]) -> tuple[float | None, float | None]:
    """The wear of a measured length as a share of the allowance, and its standard deviation where one is known."""
    length = table.quantity("length", "length")
    if kind != "length":
        if length is not None:
            table.problem("length", 'a length only where kind = "length"', f'kind = "{kind}"', "take one of them out")
        return None, None
    new, minimum = limits["new_length"], limits["minimum_length"]
    if length is None or new is None or minimum is None:
        table.problem(
            "length",
            "the shortest vane's length, with new_length and minimum_length given once at the top",
            "one of the three missing",
            "take new and minimum length from the manual of this pump",
        )
        return None, None
    try:
        fraction = wear_fraction(new, minimum, length)
    except InputError as error:
        table.problems.extend(error.problems)
        return None, None
    sd = limits["length_sd"]
    return fraction, None if sd is None else sd / (new - minimum)


def _event(top: Table, index: int, entry: Mapping[str, Any]) -> RateEvent:
    table = Table(entry, f"events[{index}]", "", top.problems)
    kind = table.choice("kind", get_args(EventKind), "") or get_args(EventKind)[0]
    hours = _hours(table, "hours")
    if hours is None:
        table.problem("hours", 'hours since the pump was new, like "300.0 h"', "nothing", "write them")
    note = table.text("note")
    table.refuse_unknown_keys()
    return RateEvent(hours=hours or 0.0, kind=cast(EventKind, kind), note=note)
