"""Wear-port looks, the assumptions behind their forecast, and what the forecast says."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from vanewise import chances, pipeline
from vanewise.errors import InputError, wrong
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, day_of, item_of, now, open_book
from vanewise.jobs.due_limits import history, limits
from vanewise.jobs.flying import Flying, flying
from vanewise.jobs.meters import standing
from vanewise.quantities import centihours_text, to_centihours, to_si
from vanewise.store import chains, journal
from vanewise.store.journal import JournalEntry
from vanewise.watch import words
from vanewise.watch.types import WearForecast
from vanewise.watch.wear import with_own_sudden_stops
from vanewise.watch.wear_priors import DEFAULT_PRIORS, Edit, WearPriors, edited

if TYPE_CHECKING:
    from vanewise.watch.fleet import FleetPump
    from vanewise.watch.wear_planning import WearBandPoint

MOST_OTHERS: Final = 24
"""Other pumps that are counted: each takes some hundredths of a second."""
ANNUAL: Final = "annual inspection"
"""The item of the due list that is the next annual."""


def add_wear(aircraft: str, part: str, item: Mapping[str, Any], *, author: str, at: str = "") -> JournalEntry:
    """Keep a look at the wear port of a pump, or what its port means. Raises InputError naming the field."""
    book = open_book(aircraft)
    check_pump(book, part)
    wear_file(book, part, (*_items(book, part), dict(item)), now()[:10])
    return journal.append(
        aircraft,
        kinds.WEAR,
        {"part": part, "item": dict(item)},
        author=author,
        at=at or now(),
        expected_head=journal.ANY_HEAD,
    )


def check_pump(book: Book, part: str) -> None:
    """Raise InputError unless ``part`` is a pump of this aircraft."""
    if part not in {pump.id for pump in book.description.parts_of("pump")}:
        raise wrong("part", "a pump of this aircraft", f'"{part}"', "choose one of its pumps")


def _items(book: Book, part: str) -> tuple[Mapping[str, Any], ...]:
    return tuple(item_of(entry) for entry in book.of(kinds.WEAR, part=part))


_ABOUT_PORT: Final = (
    "seen_means",
    "polarity_confirmed_by",
    "port_wear_fraction",
    "new_length",
    "minimum_length",
    "length_sd",
)


def wear_file(book: Book, part: str, items: tuple[Mapping[str, Any], ...], today: str) -> Any:
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
    annual = _hours_to_annual(book, datetime.date.fromisoformat(today))
    if annual is not None:
        lines.append(f'hours_to_next_annual = "{annual:.1f} h"')
    for kind, name in (("looks", "kind"), ("events", "event")):
        for item in items:
            if item.get(name):
                lines += [f"[[{kind}]]", f"kind = {toml_string(item[name])}"]
                lines += [f"{key} = {toml_string(item[key])}" for key in ("hours", "length", "note") if item.get(key)]
                if item.get("date") and kind == "looks":
                    lines.append(f"date = {day_of(str(item['date']), 'date').isoformat()}")
    return read_wear("\n".join(lines) + "\n", "wear")


def pump_hours(book: Book, part: str) -> int | None:
    """Hours of a pump by the tach, in hundredths, where its fitting is known."""
    fitted = book.description.part(part).fitted.tach_centihours
    total = standing(book, datetime.date.min).tach_centihours
    return None if fitted is None or total is None or total < fitted else total - fitted


def _hours_to_annual(book: Book, today: datetime.date) -> float | None:
    """Hours the aircraft will fly until its next annual, where that is on its list; else for a year from today."""
    from vanewise.watch.due import due_point

    kept = [limit for limit, _ in limits(book) if limit.item == ANNUAL]
    day = due_point(kept[0], history(book)).date if kept else None
    habit = flying(book, today)
    if day is None or day <= today:
        return habit.use.hours_a_year
    return max(habit.hours_until(day), 0.0)


def forecast(book: Book, part: str, today: datetime.date, *, with_others: bool = False) -> WearForecast | None:
    """What a pump's looks say about its wear; None while neither hours nor a look are known.

    ``with_others``: what was seen of the other pumps of this home counts too, which takes longer.
    """
    items = _items(book, part)
    if not items and pump_hours(book, part) is None:
        return None
    file = wear_file(book, part, items, today.isoformat())
    others = other_pumps(book, part, today) if with_others else ()
    return pipeline.watch_wear(file.history, file.horizons, priors(book, part), others)


def other_pumps(book: Book, part: str, today: datetime.date) -> tuple[FleetPump, ...]:
    """The other pumps of this home that were looked at; those whose looks cannot be read are left out."""
    from vanewise.watch.fleet import FleetPump

    seen = dict.fromkeys((entry.aircraft, str(entry.content["part"])) for entry in chains.of_kinds(kinds.WEAR))
    found = []
    for aircraft, other in list(seen)[-MOST_OTHERS:]:
        if (aircraft, other) == (book.aircraft, part):
            continue
        where = open_book(aircraft)
        if other not in {pump.id for pump in where.description.parts_of("pump")}:
            continue
        try:
            file = wear_file(where, other, _items(where, other), today.isoformat())
        except InputError:
            continue
        found.append(FleetPump(name=f"{aircraft} {other}", history=file.history))
    return tuple(found)


def band(book: Book, part: str, ahead: Sequence[float], today: datetime.date) -> tuple[WearBandPoint, ...]:
    """Wear at hours ``ahead`` from now, as a band, other pumps counted. Raises InputError as the forecast does."""
    file = wear_file(book, part, _items(book, part), today.isoformat())
    return pipeline.watch_wear_band(file.history, ahead, priors(book, part), other_pumps(book, part, today))


def lengths(book: Book, part: str, today: datetime.date) -> list[tuple[float, float]]:
    """Pump hours and share of the allowance worn, of every measured length."""
    readings = wear_file(book, part, _items(book, part), today.isoformat()).history.readings
    return [(look.hours, look.wear_fraction) for look in readings if look.wear_fraction is not None]


def why_look(answer: WearForecast) -> str:
    """Why the wear port is looked at by then."""
    if answer.look_again_in_h <= 0:
        return f"wear forecast: the chance that the limit is passed already is {chances.chance(answer.prob_past_now)}"
    risk = chances.chance(answer.look_again_risk)
    return (
        f"wear forecast: by {words.hours_down(answer.look_again_h)} of this pump the chance that its limit was passed "
        f"unseen comes to {risk}"
    )


def look_again(answer: WearForecast, habit: Flying, today: datetime.date) -> str:
    """The next look in one sentence, with the months it falls in."""
    from vanewise.watch.wear_planning import look_again_words

    return look_again_words(answer, habit.dates(today))


def priors(book: Book, part: str) -> WearPriors:
    """The assumptions of the wear forecast: a person's own numbers in place of the starting ones, own sudden stops in.

    Sudden stops among the pump lives kept in this home, over all the pump hours of those lives, are counted on top of
    the starting rate.
    """
    entry = book.answer(kinds.ASSUMPTIONS, part=part)
    found = edited(_edits(entry.content["values"])) if entry else DEFAULT_PRIORS
    pumps = [item for entry in chains.of_kinds(kinds.LIFE) if (item := item_of(entry)).get("kind") == "pump"]
    if not pumps:
        return found
    stops = sum("sudden" in str(item.get("cause", "")).lower() for item in pumps)
    lived = [to_si(str(item["lived_to"]), "hours", "lived_to") for item in pumps]
    known = [to_si(str(item.get("watched_from") or "0 h"), "hours", "watched_from") for item in pumps]
    return with_own_sudden_stops(found, stops, sum(lived) - sum(known)) if sum(lived) > sum(known) else found


def _edits(values: Mapping[str, Mapping[str, str]]) -> dict[str, Edit]:
    """Edited assumptions from their texts: name -> ``number``, ``spread`` (may be empty), ``source``."""
    known = dict(DEFAULT_PRIORS.values())
    edits = {}
    for name, said in values.items():
        dimension = known[name].dimension if name in known else "ratio"
        spread = said.get("spread", "")
        edits[name] = Edit(
            number=to_si(said.get("number", ""), dimension, f"{name}.number", "h" if dimension == "hours" else ""),
            spread=to_si(spread, "ratio", f"{name}.spread") if spread else None,
            source=said.get("source", ""),
        )
    return edits


def keep_assumptions(
    aircraft: str, part: str, values: Mapping[str, Mapping[str, str]], *, author: str, at: str = ""
) -> JournalEntry:
    """Keep edited assumptions for a pump; an empty mapping goes back to the starting ones. Raises InputError."""
    book = open_book(aircraft)
    check_pump(book, part)
    edited(_edits(values))
    content = {"part": part, "values": {name: dict(said) for name, said in values.items()}}
    return journal.append(
        aircraft, kinds.ASSUMPTIONS, content, author=author, at=at or now(), expected_head=journal.ANY_HEAD
    )
