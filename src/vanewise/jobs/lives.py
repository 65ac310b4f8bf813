"""Lives of couplings, filters, gyros and pumps: as they are really known, what they say, and when replacing pays."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

import numpy as np

from vanewise.errors import wrong
from vanewise.jobs import kinds, wear
from vanewise.jobs.casebook import Book, item_of, keep_item, now, open_book
from vanewise.quantities import to_si
from vanewise.store import chains, journal
from vanewise.store.journal import JournalEntry
from vanewise.watch.life import CauseLife, LifeModel, competing, in_words, life_model
from vanewise.watch.lifetimes import LifeRecord, lifetimes, of_cause
from vanewise.watch.replacement import Costs, Replacement, check_costs, replace_by_age, replace_this_one
from vanewise.watch.sharing import share

KINDS: Final[Mapping[str, str]] = MappingProxyType(
    {"pump": "pumps", "coupling": "pump couplings", "filter": "filters", "gyro": "gyros"}
)
"""What lives are kept of, and how several are called."""


def add(aircraft: str, item: Mapping[str, str], *, author: str, at: str = "") -> JournalEntry:
    """Keep one life. Raises InputError naming the field.

    ``item``: ``kind`` (of :data:`KINDS`), ``unit``, ``lived_to``; ``ended_by`` empty while it runs or was taken off
    sound, equal to ``lived_to`` where the end is known to the hour, later where it was found at a later look;
    ``cause``; ``watched_from``.
    """
    open_book(aircraft)
    record = record_of(item, aircraft)
    if record.ended_by is not None and not record.cause:
        raise wrong("cause", "what ended it", "nothing", "write wear, sudden stop, oil, or what was found")
    lifetimes([record.lived_to], [record.ended_by if record.ended_by is not None else np.inf], [record.watched_from])
    return keep_item(aircraft, kinds.LIFE, item, author=author, at=at)


def record_of(item: Mapping[str, Any], aircraft: str) -> LifeRecord:
    """A life from its texts. Raises InputError naming the field."""
    if str(item.get("kind", "")) not in KINDS:
        raise wrong("kind", " or ".join(KINDS), f'"{item.get("kind", "")}"', "choose one of these")
    hours = {
        key: to_si(str(item[key]), "hours", key)
        for key in ("lived_to", "ended_by", "watched_from")
        if str(item.get(key, "")).strip()
    }
    if "lived_to" not in hours:
        raise wrong("lived_to", "hours up to which it is known to have lived", "nothing", "write them, 0 h if unseen")
    return LifeRecord(
        lived_to=hours["lived_to"],
        ended_by=hours.get("ended_by"),
        cause=str(item.get("cause", "")).strip().lower(),
        watched_from=hours.get("watched_from", 0.0),
        group=aircraft,
        unit=str(item.get("unit", "")),
    )


def records(kind: str) -> tuple[LifeRecord, ...]:
    """Every life of a kind over all aircraft of this home; the group is the aircraft."""
    return tuple(
        record_of(item_of(entry), entry.aircraft)
        for entry in chains.of_kinds(kinds.LIFE)
        if item_of(entry).get("kind") == kind
    )


def costs_of(book: Book, kind: str) -> tuple[Costs | None, float | None, Mapping[str, str]]:
    """The owner's costs of a kind, the cap as a chance, and both as written; None where none were given."""
    entry = book.answer(kinds.COSTS, of=kind)
    said: Mapping[str, str] = entry.content["values"] if entry else {}
    if not said.get("planned"):
        return None, _cap(said), said
    return _costs(said), _cap(said), said


def _costs(said: Mapping[str, str]) -> Costs:
    numbers = {
        key: to_si(str(said[key]), "ratio", key)
        for key in ("planned", "unplanned", "in_cloud", "no_standby", "loss_given_those", "loss")
        if str(said.get(key, "")).strip()
    }
    for key in ("planned", "unplanned"):
        if key not in numbers:
            raise wrong(key, "what that costs you", "nothing", "enter both, in one kind of money")
    found = Costs(**numbers)
    check_costs(found)
    return found


def _cap(said: Mapping[str, str]) -> float | None:
    """``1 in N`` as a chance, from N."""
    if not str(said.get("one_in", "")).strip():
        return None
    number = to_si(str(said["one_in"]), "ratio", "one_in")
    if number <= 1.0:
        raise wrong("one_in", "the N of 1 in N, above 1", str(said["one_in"]), "write 2000 for 1 in 2,000")
    return 1.0 / number


def keep_costs(aircraft: str, kind: str, values: Mapping[str, str], *, author: str, at: str = "") -> JournalEntry:
    """Keep what replacing a kind of part costs its owner, and the chance accepted at most. Raises InputError."""
    open_book(aircraft)
    if kind not in KINDS:
        raise wrong("kind", " or ".join(KINDS), f'"{kind}"', "choose one of these")
    said = {key: str(value).strip() for key, value in values.items() if str(value).strip()}
    _cap(said)
    if set(said) - {"one_in"}:
        _costs(said)
    content = {"of": kind, "values": said}
    return journal.append(aircraft, kinds.COSTS, content, author=author, at=at or now(), expected_head=journal.ANY_HEAD)


@dataclass(frozen=True)
class Lives:
    """What the lives of a kind of part say."""

    kind: str
    records: tuple[LifeRecord, ...]
    model: LifeModel
    words: tuple[str, ...]
    causes: tuple[CauseLife, ...]
    shared: str
    """How the lives of several aircraft were shared, in words; empty where there is one."""
    by_age: Replacement | None


def lives(book: Book, kind: str) -> Lives:
    """What the lives of a kind say, for this aircraft. Raises InputError for a kind that is not kept."""
    if kind not in KINDS:
        raise wrong("kind", " or ".join(KINDS), f'"{kind}"', "choose one of these")
    found = records(kind)
    model: LifeModel = life_model(of_cause(found))
    groups = {record.group for record in found}
    shared = ""
    if len(groups) > 1 and sum(record.ended_by is not None for record in found) >= 4:
        whole = share(found)
        model = whole.group(book.aircraft)
        shared = (
            f"Lives of {len(groups)} aircraft, each given its own scale; those of the others count less the more the "
            "aircraft differ."
        )
    costs, _, _ = costs_of(book, kind)
    return Lives(
        kind=kind,
        records=found,
        model=model,
        words=in_words(model, KINDS[kind]),
        causes=competing(found).told if found else (),
        shared=shared,
        by_age=replace_by_age(model, costs, kind) if costs else None,
    )


def this_pump(book: Book, part: str, found: Lives, today: datetime.date) -> Replacement | None:
    """When to replace this very pump, from its own forecast and the owner's costs; None without either.

    The usual cost per hour is that of the best age, or of running every pump to its end where no age pays.
    """
    costs, cap, _ = costs_of(book, "pump")
    answer = wear.forecast(book, part, today)
    if answer is None or (costs is None and cap is None):
        return None
    hours = np.array([point.hours for point in answer.curve])
    survival = np.array([1.0 - point.any_stop for point in answer.curve])
    flight = answer.chances[0].any_stop
    if costs is None:
        assert cap is not None
        # Without costs only the cap can speak; any costs that keep the pump to its end leave it the word.
        return replace_this_one(hours, survival, Costs(planned=1.0, unplanned=1.0), 0.0, flight, cap)
    usual = found.by_age.cost_per_hour if found.by_age and found.by_age.cost_per_hour else None
    if usual is None:
        ages = np.linspace(0.0, 20_000.0, 2001)
        mean_life = float(np.trapezoid(found.model.survival(ages), ages))
        usual = costs.failure / mean_life
    return replace_this_one(hours, survival, costs, usual, flight, cap)
