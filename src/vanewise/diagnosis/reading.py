"""Evidence as people write it: TOML or JSON, with words and units, every problem told at once.

A sweep may be written as one table instead of seven readings. Numbers carry their unit (``"4.1 inHg"``,
``"1200 rpm"``, ``"5500 ft"``); dates are dates. Free words go under ``notes`` and are kept as they are. The shape is
documented in ``docs/reference/evidence.md``.
"""

from __future__ import annotations

import datetime
import json
import tomllib
from collections.abc import Callable, Mapping
from typing import Any, Final, TypeVar

from vanewise.diagnosis.types import CheckResult, Event, Evidence, LampReading, Reading, Remark
from vanewise.diagnosis.vocabulary import CHECKS, EVENTS, SYMPTOMS, check_named, meant, nearest
from vanewise.errors import InputError, Problem, VanewiseError
from vanewise.quantities import to_si

_T = TypeVar("_T")

_DIRECTIONS: Final = ("rising", "falling", "steady", "unknown")
_SECTIONS: Final = ("readings", "sweeps", "lamp", "remarks", "events", "checks", "notes", "conditions", "title")


def read_evidence(text: str, path: str) -> Evidence:
    """The evidence in ``text`` (TOML, or JSON when ``path`` ends so or the text starts with a brace).

    Raises InputError with every problem found, each with its place in the file.
    """
    return _Reader(path).evidence(_parsed(text, path))


def _parsed(text: str, path: str) -> Mapping[str, Any]:
    as_json = path.endswith(".json") or text.lstrip().startswith("{")
    try:
        found = json.loads(text) if as_json else tomllib.loads(text)
    except (json.JSONDecodeError, tomllib.TOMLDecodeError, RecursionError) as error:
        raise InputError(
            Problem(
                where=path,
                expected="a JSON object" if as_json else "TOML",
                found=str(error) or type(error).__name__,
                next_step="correct the line it names; strings and quantities stand in double quotes",
            )
        ) from error
    if not isinstance(found, dict):
        raise InputError(
            Problem(
                where=path,
                expected="a table of evidence: readings, remarks, events, checks",
                found=type(found).__name__,
                next_step="put the entries under their names",
            )
        )
    return found


class _Reader:
    """Collects problems while it reads, so that a person sees all of them at once."""

    def __init__(self, path: str):
        self._path = path
        self._problems: list[Problem] = []
        self._ids: dict[str, str] = {}

    def evidence(self, raw: Mapping[str, Any]) -> Evidence:
        self._no_strangers(raw, _SECTIONS, "")
        conditions = raw.get("conditions", {})
        if not isinstance(conditions, dict):
            self._problem("conditions", "a table [conditions]", _shown(conditions), "write altitude and temperature")
            conditions = {}
        self._no_strangers(conditions, ("altitude", "temperature"), "conditions.")
        evidence = Evidence(
            readings=(*self._each(raw, "readings", self._reading), *self._sweeps(raw)),
            lamp_readings=self._each(raw, "lamp", self._lamp),
            remarks=self._each(raw, "remarks", self._remark),
            events=self._each(raw, "events", self._event),
            checks=self._each(raw, "checks", self._check),
            notes=self._notes(raw),
            altitude_m=self._quantity(conditions, "altitude", "length", "conditions."),
            temperature_k=self._quantity(conditions, "temperature", "temperature", "conditions."),
        )
        if self._problems:
            raise InputError(self._problems)
        return evidence

    # ---- kinds of entry -------------------------------------------------------------------------------------

    def _reading(self, raw: Mapping[str, Any], at: str, number: int) -> Reading | None:
        self._no_strangers(raw, (*_READING_KEYS, "reading", "rpm"), at)
        value = self._needed(raw, "reading", "pressure", at)
        rpm = self._needed(raw, "rpm", "rpm", at)
        common = self._reading_fields(raw, at)
        name = self._id(raw, at, f"reading {number}")
        if value is None or rpm is None:
            return None
        return Reading(id=name, value_pa=value, engine_rpm=rpm, **common)

    def _reading_fields(self, raw: Mapping[str, Any], at: str) -> dict[str, Any]:
        return {
            "instrument": self._text(raw, "instrument", at) or "panel gauge",
            "high": self._text(raw, "high", at) or None,
            "low": self._text(raw, "low", at) or None,
            "altitude_m": self._quantity(raw, "altitude", "length", at),
            "temperature_k": self._quantity(raw, "temperature", "temperature", at),
            "direction": self._choice(raw, "direction", _DIRECTIONS, at, "unknown"),
            "warm": self._flag(raw, "warm", at),
            "under": self._states(raw, "under", at),
            "sd_pa": self._quantity(raw, "sd", "pressure", at),
            "when": self._date(raw, "when", at),
            "who": self._text(raw, "who", at),
            "flight": self._text(raw, "flight", at),
            "sound": bool(self._flag(raw, "sound", at)),
            "sister": self._text(raw, "sister", at),
        }

    def _sweeps(self, raw: Mapping[str, Any]) -> tuple[Reading, ...]:
        found: list[Reading] = []
        for sweep in self._each(raw, "sweeps", self._sweep):
            found.extend(sweep)
        return tuple(found)

    def _sweep(self, raw: Mapping[str, Any], at: str, number: int) -> tuple[Reading, ...] | None:
        """One table of speeds and readings, the unit once: ``rpm = [700, 1000]``, ``reading = [1.8, 3.2]``."""
        self._no_strangers(raw, (*_READING_KEYS, "rpm", "reading", "unit"), at)
        name = self._id(raw, at, f"sweep {number}")
        unit = self._text(raw, "unit", at) or "inHg"
        speeds, values = raw.get("rpm"), raw.get("reading")
        if not isinstance(speeds, list) or not isinstance(values, list) or len(speeds) != len(values) or not speeds:
            self._problem(
                f"{at}rpm, {at}reading",
                "two lists of the same length, engine speeds and readings",
                f"{_shown(speeds)} and {_shown(values)}",
                "write one reading for each engine speed; leave out the speeds that were not read",
            )
            return None
        common = self._reading_fields(raw, at)
        found = []
        for place, (speed, value) in enumerate(zip(speeds, values, strict=True)):
            rpm = self._si(f"{speed} rpm" if _is_number(speed) else speed, "rpm", f"{at}rpm[{place}]")
            pressure = self._si(f"{value} {unit}" if _is_number(value) else value, "pressure", f"{at}reading[{place}]")
            if rpm is not None and pressure is not None:
                found.append(Reading(id=f"{name} {rpm:.0f}", value_pa=pressure, engine_rpm=rpm, **common))
        return tuple(found)

    def _lamp(self, raw: Mapping[str, Any], at: str, number: int) -> LampReading | None:
        self._no_strangers(raw, ("id", "rpm", "direction", "altitude", "sd", "when", "who", "sound"), at)
        rpm = self._needed(raw, "rpm", "rpm", at)
        name = self._id(raw, at, f"lamp {number}")
        if rpm is None:
            return None
        return LampReading(
            id=name,
            engine_rpm=rpm,
            direction=self._choice(raw, "direction", ("rising", "falling"), at, "rising"),
            altitude_m=self._quantity(raw, "altitude", "length", at),
            sd_rpm=self._quantity(raw, "sd", "rpm", at),
            when=self._date(raw, "when", at),
            who=self._text(raw, "who", at),
            sound=bool(self._flag(raw, "sound", at)),
        )

    def _remark(self, raw: Mapping[str, Any], at: str, number: int) -> Remark | None:
        self._no_strangers(raw, _REMARK_KEYS, at)
        symptom = self._word(raw, "symptom", SYMPTOMS, at, "a known symptom")
        name = self._id(raw, at, f"remark {number}")
        present = self._flag(raw, "present", at)
        if symptom is None:
            return None
        return Remark(
            id=name,
            symptom=symptom,
            present=True if present is None else present,
            about=self._text(raw, "about", at),
            degree=self._plain(raw, "degree", at),
            manner=self._choice(raw, "manner", ("", *SYMPTOMS[symptom].manners), at, ""),
            when=self._date(raw, "when", at),
            who=self._text(raw, "who", at),
            flight=self._text(raw, "flight", at),
            minutes_after=self._quantity(raw, "minutes_after", "minutes", at),
            note=self._text(raw, "note", at),
        )

    def _event(self, raw: Mapping[str, Any], at: str, number: int) -> Event | None:
        self._no_strangers(raw, ("id", "kind", "about", "when", "hours_ago", "note"), at)
        kind = self._word(raw, "kind", EVENTS, at, "a known event")
        name = self._id(raw, at, f"event {number}")
        if kind is None:
            return None
        return Event(
            id=name,
            kind=kind,
            about=self._text(raw, "about", at),
            when=self._date(raw, "when", at),
            hours_ago=self._quantity(raw, "hours_ago", "hours", at),
            note=self._text(raw, "note", at),
        )

    def _check(self, raw: Mapping[str, Any], at: str, number: int) -> CheckResult | None:
        self._no_strangers(raw, _CHECK_KEYS, at)
        name = self._id(raw, at, f"check {number}")
        word = self._text(raw, "check", at)
        check = check_named(word)
        if check is None:
            self._problem(f"{at}check", "a known check", f'"{word}"', nearest(word, CHECKS))
            return None
        grade = raw.get("grade", 1)
        if grade not in (0, 1, 2, 3) or isinstance(grade, bool):
            self._problem(f"{at}grade", "0, 1, 2 or 3 (3 is direct sight)", f"{grade!r}", "write the grade of evidence")
            grade = 1
        flow = check.kind == "suction flow"
        return CheckResult(
            id=name,
            check=check.id,
            outcome=self._text(raw, "outcome", at),
            value=self._value(raw, at, check.kind),
            place=self._text(raw, "place", at),
            engine_rpm=self._quantity(raw, "rpm", "rpm", at),
            altitude_m=self._quantity(raw, "altitude", "length", at),
            temperature_k=self._quantity(raw, "temperature", "temperature", at),
            grade=grade,
            under=self._states(raw, "under", at),
            suction_pa=self._quantity(raw, "suction", "pressure", at),
            sd=self._quantity(raw, "sd", "flow" if flow else "pressure", at),
            both_ways=bool(self._flag(raw, "both_ways", at)),
            when=self._date(raw, "when", at),
            who=self._text(raw, "who", at),
            note=self._text(raw, "note", at),
        )

    def _value(self, raw: Mapping[str, Any], at: str, kind: str) -> float | None:
        """What was measured. The cover test may be written as readings before and while covered."""
        if kind == "cover test" and ("before" in raw or "covered" in raw):
            before = self._needed(raw, "before", "pressure", at)
            covered = self._needed(raw, "covered", "pressure", at)
            return None if before is None or covered is None else covered - before
        return self._quantity(raw, "value", "flow" if kind == "suction flow" else "pressure", at)

    def _notes(self, raw: Mapping[str, Any]) -> tuple[str, ...]:
        notes = raw.get("notes", [])
        if isinstance(notes, str):
            return (notes,)
        if not isinstance(notes, list) or not all(isinstance(note, str) for note in notes):
            self._problem("notes", "a list of sentences", _shown(notes), 'write notes = ["...", "..."]')
            return ()
        return tuple(notes)

    # ---- fields ---------------------------------------------------------------------------------------------------

    def _each(
        self, raw: Mapping[str, Any], name: str, read: Callable[[Mapping[str, Any], str, int], _T | None]
    ) -> tuple[_T, ...]:
        """Every table under ``name`` read by ``read``, which gets the table, its place in the file and its number."""
        entries = raw.get(name, [])
        if isinstance(entries, dict):
            entries = [entries]
        if not isinstance(entries, list):
            self._problem(name, f"tables [[{name}]]", _shown(entries), f"write each under its own [[{name}]]")
            return ()
        found = []
        for number, entry in enumerate(entries):
            at = f"{name}[{number}]"
            if not isinstance(entry, dict):
                self._problem(at, "a table", _shown(entry), f"write it under [[{name}]]")
                continue
            value = read(entry, f"{at}.", number + 1)
            if value is not None:
                found.append(value)
        return tuple(found)

    def _problem(self, where: str, expected: str, found: str, next_step: str) -> None:
        self._problems.append(
            Problem(where=f"{self._path}: {where}", expected=expected, found=found, next_step=next_step)
        )

    def _no_strangers(self, raw: Mapping[str, Any], known: tuple[str, ...], at: str) -> None:
        for key in raw:
            if key not in known:
                self._problem(f"{at}{key}", f"one of {', '.join(known)}", f'"{key}"', nearest(key, known))

    def _id(self, raw: Mapping[str, Any], at: str, default: str) -> str:
        name = self._text(raw, "id", at) or default
        if name in self._ids:
            self._problem(f"{at}id", "an id of its own", f'"{name}", also at {self._ids[name]}', "choose another id")
        self._ids[name] = at.rstrip(".")
        return name

    def _text(self, raw: Mapping[str, Any], key: str, at: str) -> str:
        value = raw.get(key, "")
        if not isinstance(value, str):
            self._problem(f"{at}{key}", "words in double quotes", _shown(value), "put double quotes round it")
            return ""
        return value

    def _word(self, raw: Mapping[str, Any], key: str, known: Mapping[str, Any], at: str, expected: str) -> str | None:
        value = self._text(raw, key, at)
        if value in known:
            return value
        self._problem(f"{at}{key}", expected, f'"{value}"' if value else "nothing", meant(value, known))
        return None

    def _choice(self, raw: Mapping[str, Any], key: str, known: tuple[str, ...], at: str, default: str) -> Any:
        value = raw.get(key, default)
        if value not in known:
            words = ", ".join(word for word in known if word)
            expected, step = (f"one of {words}", "choose one of these words") if words else ("nothing", "leave it out")
            self._problem(f"{at}{key}", expected, _shown(value), step)
            return default
        return value

    def _flag(self, raw: Mapping[str, Any], key: str, at: str) -> bool | None:
        value = raw.get(key)
        if value is not None and not isinstance(value, bool):
            self._problem(f"{at}{key}", "true or false", _shown(value), "write true or false, without quotes")
            return None
        return value

    def _plain(self, raw: Mapping[str, Any], key: str, at: str) -> float | None:
        value = raw.get(key)
        if value is None:
            return None
        if not _is_number(value):
            self._problem(f"{at}{key}", "a number", _shown(value), "write the number alone")
            return None
        return float(value)

    def _date(self, raw: Mapping[str, Any], key: str, at: str) -> datetime.date | None:
        value = raw.get(key)
        if value is None:
            return None
        if isinstance(value, datetime.datetime):
            return value.date()
        if isinstance(value, datetime.date):
            return value
        try:
            return datetime.date.fromisoformat(value)
        except (TypeError, ValueError):
            self._problem(f"{at}{key}", "a date, like 2025-01-19", _shown(value), "write year-month-day")
            return None

    def _states(self, raw: Mapping[str, Any], key: str, at: str) -> Mapping[str, float]:
        value = raw.get(key, {})
        if isinstance(value, dict):
            flat = _flattened(value)
            if all(_is_number(entry) or isinstance(entry, bool) for entry in flat.values()):
                return {name: float(entry) for name, entry in flat.items()}
        self._problem(
            f"{at}{key}", 'states, like {"regulator.covered" = 1}', _shown(value), "write PART.STATE = number"
        )
        return {}

    def _needed(self, raw: Mapping[str, Any], key: str, dimension: str, at: str) -> float | None:
        if key not in raw:
            self._problem(f"{at}{key}", "a number with its unit", "nothing", f"write {key}")
            return None
        return self._quantity(raw, key, dimension, at)

    def _quantity(self, raw: Mapping[str, Any], key: str, dimension: str, at: str) -> float | None:
        return None if key not in raw else self._si(raw[key], dimension, f"{at}{key}")

    def _si(self, value: Any, dimension: str, where: str) -> float | None:
        try:
            if not isinstance(value, (str, int, float)):
                raise InputError(
                    Problem(
                        where=where, expected="a number with its unit", found=_shown(value), next_step="write it so"
                    )
                )
            number = to_si(value, dimension, where)
        except VanewiseError as error:
            for problem in error.problems:
                self._problem(where, problem.expected, problem.found, problem.next_step)
            return None
        if number != number or abs(number) == float("inf"):
            self._problem(where, "a finite number", _shown(value), "write the number that was read")
            return None
        return number


_READING_KEYS: Final = (
    "id",
    "instrument",
    "high",
    "low",
    "altitude",
    "temperature",
    "direction",
    "warm",
    "under",
    "sd",
    "when",
    "who",
    "flight",
    "sound",
    "sister",
)
_REMARK_KEYS: Final = (
    "id",
    "symptom",
    "present",
    "about",
    "degree",
    "manner",
    "when",
    "who",
    "flight",
    "minutes_after",
    "note",
)
_CHECK_KEYS: Final = (
    "id",
    "check",
    "outcome",
    "value",
    "before",
    "covered",
    "place",
    "rpm",
    "altitude",
    "temperature",
    "grade",
    "under",
    "suction",
    "sd",
    "both_ways",
    "when",
    "who",
    "note",
)


def _flattened(value: Mapping[str, Any]) -> dict[str, Any]:
    """``{regulator = {covered = 1}}``, as TOML reads a bare dotted key, becomes ``{"regulator.covered": 1}``."""
    found: dict[str, Any] = {}
    for key, entry in value.items():
        if isinstance(entry, dict):
            found.update({f"{key}.{inner}": number for inner, number in _flattened(entry).items()})
        else:
            found[key] = entry
    return found


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _shown(value: Any) -> str:
    text = "nothing" if value is None else repr(value)
    return text if len(text) <= 80 else f"{text[:77]}..."
