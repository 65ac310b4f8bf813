"""The ground run: predicted for today, read while running, judged, and kept as the new baseline."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import msgspec

from vanewise.errors import wrong
from vanewise.groundrun.types import GroundRunPlan, GroundRunReading, GroundRunVerdict
from vanewise.groundrun.verdict import hot_repeat
from vanewise.jobs import kinds
from vanewise.jobs.casebook import Book, item_of, now, open_book
from vanewise.jobs.evidence import add, baseline, read_tables
from vanewise.jobs.stored import answer_of, stamped
from vanewise.quantities import PA_PER_INHG, to_si
from vanewise.store import journal
from vanewise.store.journal import JournalEntry

BY_DIRECTION = ("rising", "falling")
SEEN = ("what", "rpm", "value", "outcome", "minutes", "latitude", "eastward")
"""What a ``[[seen]]`` of the ground-run file can hold."""


@dataclass(frozen=True)
class Run:
    """One ground run: its plan, what was read, and the verdict as it stands."""

    id: str
    entry: JournalEntry
    plan: GroundRunPlan
    readings: tuple[JournalEntry, ...]
    kept_verdict: JournalEntry | None

    @property
    def package(self) -> str:
        return str(self.entry.content.get("package", ""))

    @property
    def hot_of(self) -> str:
        """The run this one repeats hot; empty for a first run."""
        return str(self.entry.content.get("hot_of", ""))


def predict(
    aircraft: str,
    *,
    author: str,
    package: str = "",
    altitude: str = "",
    temperature: str = "",
    gauge_proved: str = "",
    changed: Sequence[str] = (),
    seed: int = 0,
    at: str = "",
) -> str:
    """Predict the bands of a ground run for today, keep them, and return the run's id.

    Texts carry units; empty means the home field, a standard day, a gauge nobody compared. ``changed`` says what is
    another one since the baseline: ``pump``, ``setting``. Raises InputError naming the field, NoAnswer when the system
    has no solution.
    """
    from vanewise import pipeline
    from vanewise.groundrun.reading import GroundRunFile
    from vanewise.jobs.compute import engine

    book = open_book(aircraft)
    file = GroundRunFile(
        readings=(),
        baseline=_sound(book),
        altitude_m=to_si(altitude, "length", "altitude") if altitude else None,
        temperature_k=to_si(temperature, "temperature", "temperature") if temperature else None,
        changed=tuple(changed),
        gauge_proved_pa=to_si(gauge_proved, "pressure", "gauge_proved") if gauge_proved else None,
    )
    plan = pipeline.foresee(book.description, file, seed=seed, engine=engine())
    run = book.next_id(kinds.RUN, "run", "g")
    content = stamped(plan, book.description, run=run, package=package, altitude=altitude, temperature=temperature)
    journal.append(
        aircraft,
        kinds.RUN,
        content,
        author=author,
        at=at or now(),
        expected_head=book.head,
        clashes=lambda entry: entry.kind in (kinds.RUN, kinds.DESCRIPTION, journal.CORRECTION),
    )
    return run


def repeat_hot(aircraft: str, run_id: str, *, author: str, at: str = "") -> str:
    """A repeat of a run's sweep, hot: the same bands, kept as a run of its own. Returns its id.

    Raises InputError while the first run has no reading to hold it against.
    """
    book = open_book(aircraft)
    first = run(book, run_id)
    if not any(item_of(entry).get("what") == "gauge" for entry in first.readings):
        raise wrong("hot repeat", "a sweep that was read cold", "none yet", "read the first sweep, then repeat it")
    name = book.next_id(kinds.RUN, "run", "g")
    content = stamped(hot_repeat(first.plan), book.description, run=name, package=first.package, hot_of=run_id)
    journal.append(aircraft, kinds.RUN, content, author=author, at=at or now(), expected_head=journal.ANY_HEAD)
    return name


def _sound(book: Book) -> tuple[Any, ...]:
    """The aircraft's sound readings as values."""
    tables: dict[str, Any] = {}
    for entry in baseline(book):
        key = "readings" if entry.kind == kinds.READING else "lamp"
        tables.setdefault(key, []).append({"id": entry.digest[:12], **item_of(entry)})
    evidence = read_tables(book.description, tables)
    return (*evidence.readings, *evidence.lamp_readings)


def runs(book: Book) -> tuple[Run, ...]:
    """Every ground run of an aircraft, newest last."""
    return tuple(_run(book, entry) for entry in book.of(kinds.RUN))


def run(book: Book, run_id: str) -> Run:
    """Raises InputError when there is none of that id."""
    for entry in book.of(kinds.RUN):
        if entry.content.get("run") == run_id:
            return _run(book, entry)
    raise wrong("ground run", f"a ground run of {book.name}", f'"{run_id}"', "choose one from the list")


def _run(book: Book, entry: JournalEntry) -> Run:
    run_id = str(entry.content["run"])
    readings = book.of(kinds.RUN_READING, run=run_id)
    return Run(
        id=run_id,
        entry=entry,
        plan=answer_of(entry, GroundRunPlan),
        readings=tuple(newest(readings)),
        kept_verdict=book.answer(kinds.VERDICT, run=run_id),
    )


def newest(readings: Sequence[JournalEntry]) -> list[JournalEntry]:
    """One reading for each thing read at each speed and direction: entered again, the later one counts."""
    found: dict[tuple[str, str, str], JournalEntry] = {}
    for entry in readings:
        item = item_of(entry)
        found[str(item.get("what")), str(item.get("rpm", "")), str(item.get("direction", ""))] = entry
    return list(found.values())


def read_off(
    aircraft: str, run_id: str, items: Sequence[Mapping[str, Any]], *, author: str, at: str = ""
) -> tuple[JournalEntry, ...]:
    """Keep what was read or seen in a run. All are read first: either all are kept or none. Raises InputError."""
    found = run(open_book(aircraft), run_id)
    _judge(found.plan, tuple(json.dumps(dict(item), sort_keys=True) for item in items))
    at = at or now()
    return tuple(
        journal.append(
            aircraft,
            kinds.RUN_READING,
            {"run": run_id, "item": dict(item)},
            author=author,
            at=at,
            expected_head=journal.ANY_HEAD,
        )
        for item in items
    )


def verdict(found: Run) -> GroundRunVerdict:
    """The verdict on what was read so far; what is missing is 'not shown'."""
    return _judge(found.plan, tuple(json.dumps(dict(item_of(entry)), sort_keys=True) for entry in found.readings))


@lru_cache(maxsize=32)
def _judge_cached(plan: bytes, items: tuple[str, ...]) -> GroundRunVerdict:
    from vanewise import pipeline
    from vanewise.groundrun.reading import read_ground_run

    readings = read_ground_run(run_text([json.loads(item) for item in items]), "ground run").readings
    return pipeline.prove(msgspec.json.decode(plan, type=GroundRunPlan), readings)


def _judge(plan: GroundRunPlan, items: tuple[str, ...]) -> GroundRunVerdict:
    return _judge_cached(msgspec.json.encode(plan), items)


def run_text(items: Sequence[Mapping[str, Any]]) -> str:
    """The readings as the ground-run file writes them, so that its own parser reads them."""
    lines = []
    for direction in BY_DIRECTION:
        rows = [item for item in items if item.get("what") == "gauge" and item.get("direction") == direction]
        if rows:
            lines.append(f"[{direction}]")
            lines += [f"{_speed(item)} = {toml_string(item.get('value', ''))}" for item in rows]
    for item in items:
        if item.get("what") != "gauge":
            lines.append("[[seen]]")
            keys = [key for key in SEEN if item.get(key)]
            lines += [f"{key} = {toml_string(item[key])}" for key in keys]
    return "\n".join(lines) + "\n"


def _speed(item: Mapping[str, Any]) -> str:
    return toml_string(f"{to_si(str(item.get('rpm', '')), 'rpm', 'rpm'):g}")


def toml_string(value: Any) -> str:
    """A TOML string; JSON's escapes are valid in it."""
    return json.dumps(str(value), ensure_ascii=False).replace("\x7f", "\\u007f")


def keep_verdict(aircraft: str, run_id: str, *, author: str, at: str = "") -> JournalEntry:
    """Keep the verdict as it stands. Raises HeadMoved when a reading was added meanwhile."""
    book = open_book(aircraft)
    found = run(book, run_id)
    content = stamped(verdict(found), book.description, run=run_id, package=found.package)
    return journal.append(
        aircraft,
        kinds.VERDICT,
        content,
        author=author,
        at=at or now(),
        expected_head=book.head,
        clashes=lambda entry: entry.kind in (kinds.RUN_READING, kinds.VERDICT, journal.CORRECTION),
    )


def verdict_of(book: Book, package: str) -> GroundRunVerdict | None:
    """The newest kept verdict of a package's ground run, or None; a hot repeat that failed takes its place."""
    hot = {found.id for found in runs(book) if found.hot_of}
    kept = book.of(kinds.VERDICT, package=package)
    first = [answer_of(entry, GroundRunVerdict) for entry in kept if entry.content.get("run") not in hot]
    repeats = [answer_of(entry, GroundRunVerdict) for entry in kept if entry.content.get("run") in hot]
    if repeats and repeats[-1].overall == "fail":
        return repeats[-1]
    return first[-1] if first else None


def keep_baseline(aircraft: str, run_id: str, *, author: str, when: str = "", at: str = "") -> tuple[JournalEntry, ...]:
    """Keep the rising sweep of a passed run as the new sound baseline. Raises InputError unless it passed."""
    found = run(open_book(aircraft), run_id)
    if found.hot_of:
        raise wrong("baseline", "a first sweep, engine warm", "a hot repeat", "keep the run it repeats")
    if verdict(found).overall != "pass":
        raise wrong("baseline", "a ground run that passed", verdict(found).overall, "finish the run first")
    altitude = f"{found.plan.altitude_m:.1f} m"
    shared: dict[str, Any] = {"altitude": altitude, "sound": True} | ({"when": when} if when else {})
    items: list[tuple[str, dict[str, Any]]] = []
    for entry in found.readings:
        item = item_of(entry)
        if item.get("what") == "gauge" and item.get("direction") == "rising":
            reading = {"reading": item["value"], "rpm": item["rpm"], "direction": "rising"}
            items.append((kinds.READING, {**shared, **reading}))
        elif item.get("what") == "lamp out":
            items.append((kinds.LAMP, {**shared, "rpm": item["value"], "direction": "rising"}))
    return add(aircraft, "", items, author=author, at=at)


def reading_values(found: Run) -> tuple[GroundRunReading, ...]:
    """What was read, as values (Pa)."""
    from vanewise.groundrun.reading import read_ground_run

    return read_ground_run(run_text([item_of(entry) for entry in found.readings]), "ground run").readings


def in_inhg(pressure_pa: float) -> float:
    return pressure_pa / PA_PER_INHG
