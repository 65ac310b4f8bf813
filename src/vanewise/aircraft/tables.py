"""One table of a description's file, read key by key. What is wrong is noted, and reading goes on."""

from __future__ import annotations

import datetime
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final, cast

from vanewise.aircraft.fields import parse_field, value_from_table
from vanewise.aircraft.kinds import FieldSpec
from vanewise.aircraft.names import nearest
from vanewise.errors import InputError, Problem
from vanewise.provenance import Value
from vanewise.quantities import to_centihours, to_si

_LONGEST_TEXT: Final = 500


class Table:
    """A table at ``path``, called ``called`` by people. Keys asked for are known; the others are refused at the end."""

    def __init__(self, data: Mapping[str, Any], path: str, called: str, problems: list[Problem]):
        self.data = data
        self.path = path
        self.called = called
        self.problems = problems
        self._known: list[str] = []

    def where(self, key: str) -> str:
        path = f"{self.path}.{key}" if self.path else key
        return f"{path} ({self.called})" if self.called else path

    def problem(self, key: str, expected: str, found: str, next_step: str) -> None:
        self.problems.append(Problem(where=self.where(key), expected=expected, found=found, next_step=next_step))

    def get(self, key: str) -> Any:
        """Whatever stands at that key, None where nothing does; the key counts as known."""
        self._known.append(key)
        return self.data.get(key)

    def text(self, key: str, default: str = "", *, required: bool = False) -> str:
        """A text, or the default where it is missing or cannot be used."""
        item = self.get(key)
        if item is None and not required:
            return default
        if not isinstance(item, str) or (required and not item.strip()):
            self.problem(key, "a text in quotes", _found(item), "write it in quotes")
            return default
        if len(item) > _LONGEST_TEXT or any(unicodedata.category(letter) == "Cc" for letter in item):
            self.problem(key, f"one line of text, at most {_LONGEST_TEXT} characters", _found(item), "shorten it")
            return default
        return unicodedata.normalize("NFC", item.strip())

    def choice(self, key: str, known: Iterable[str], default: str) -> str:
        """One of the known words; ``default`` where it is missing. An empty default means that it must be there."""
        known = tuple(known)
        item = self.get(key)
        if item is None and default:
            return default
        if item not in known:
            words = " or ".join(f'"{word}"' for word in known)
            self.problem(key, words, _found(item), nearest(str(item or ""), known, "write one of these"))
            return default
        return cast(str, item)

    def yes_or_no(self, key: str, default: bool) -> bool:
        item = self.get(key)
        if item is None:
            return default
        if not isinstance(item, bool):
            self.problem(key, "true or false, without quotes", _found(item), "write true or false")
            return default
        return item

    def whole_number(self, key: str, default: int) -> int:
        item = self.get(key)
        if item is None:
            return default
        if not isinstance(item, int) or isinstance(item, bool):
            self.problem(key, "a whole number", _found(item), "write it without quotes")
            return default
        return item

    def date(self, key: str) -> datetime.date | None:
        """A date, written 2024-11-02, with or without quotes."""
        item = self.get(key)
        if item is None or item == "":
            return None
        try:
            return parse_date(item, self.where(key))
        except InputError as error:
            self.problems.extend(error.problems)
            return None

    def hours(self, key: str) -> int | None:
        """Hundredths of an hour of a meter reading."""
        item = self.get(key)
        if item is None or item == "":
            return None
        try:
            return to_centihours(item, self.where(key))
        except InputError as error:
            self.problems.extend(error.problems)
            return None

    def quantity(self, key: str, dimension: str) -> float | None:
        """The SI value of a quantity written with its unit; None where it is missing or cannot be used."""
        item = self.get(key)
        if item is None:
            return None
        try:
            return to_si(item, dimension, self.where(key))
        except InputError as error:
            self.problems.extend(error.problems)
            return None

    def words(self, key: str) -> tuple[str, ...]:
        item = self.get(key)
        if item is None:
            return ()
        if not isinstance(item, list) or not all(isinstance(word, str) for word in item):
            self.problem(key, 'a list of names, like ["inlet", "outlet"]', _found(item), "write it as a list")
            return ()
        return tuple(item)

    def words_by_key(self, key: str, known: Iterable[str]) -> Mapping[str, str]:
        item = self.get(key)
        known = tuple(known)
        if item is None:
            return {}
        if not isinstance(item, Mapping):
            self.problem(
                key, f'a table like {{ air = "{known[0]}" }}', _found(item), "name the port and what it is open to"
            )
            return {}
        table = Table(item, f"{self.path}.{key}" if self.path else key, self.called, self.problems)
        return {port: word for port in item if (word := table.choice(port, known, ""))}

    def table(self, key: str) -> Table:
        """The table at that key, empty where it is missing."""
        item = self.get(key)
        if item is not None and not isinstance(item, Mapping):
            self.problem(key, f"a table of its own, [{key}]", _found(item), "write it as a table")
            item = None
        path = f"{self.path}.{key}" if self.path else key
        return Table(item or {}, path, self.called, self.problems)

    def items(self, key: str, most: int) -> Iterator[tuple[int, Mapping[str, Any]]]:
        """The tables of a list of tables, with their places."""
        item = self.get(key)
        if item is None:
            item = []
        if not isinstance(item, list) or len(item) > most:
            found = f"{len(item)} of them" if isinstance(item, list) else _found(item)
            self.problem(key, f"tables, each headed [[{key}]], at most {most}", found, f"head each one [[{key}]]")
            item = []
        for index, entry in enumerate(item):
            if isinstance(entry, Mapping):
                yield index, entry
            else:
                self.problem(f"{key}[{index}]", f"a table headed [[{key}]]", _found(entry), f"head it [[{key}]]")

    def numbers(self, kind: str, specs: Iterable[FieldSpec]) -> dict[str, Value]:
        """The numbers of a kind, the examples where none is given or the given one cannot be used."""
        values: dict[str, Value] = {}
        for spec in specs:
            item = self.get(spec.name)
            value = spec.default
            if item is not None:
                try:
                    value = read_value(kind, spec.name, item, self.where(spec.name))
                except InputError as error:
                    self.problems.extend(error.problems)
            if value is not None:
                values[spec.name] = value
        return values

    def refuse_unknown_keys(self) -> None:
        for key in self.data:
            if key not in self._known:
                known = list(dict.fromkeys(self._known))
                self.problem(
                    key,
                    f"one of {', '.join(known)}",
                    f'"{key}", which is not known here',
                    nearest(key, known, "take it out, or put it where it belongs"),
                )


def read_value(kind: str, field: str, item: object, where: str) -> Value:
    """A number of a file: a short text, or a table with all that is known about it."""
    if isinstance(item, Mapping):
        return value_from_table(kind, field, cast(Mapping[str, object], item), where)
    return parse_field(kind, field, item, where)


def parse_date(item: object, where: str) -> datetime.date:
    """A calendar date: a date, or a text such as ``2024-11-02``. Raises :class:`InputError` naming ``where``."""
    if isinstance(item, datetime.date) and not isinstance(item, datetime.datetime):
        return item
    try:
        if isinstance(item, str) and len(item.strip()) == 10:
            return datetime.date.fromisoformat(item.strip())
    except ValueError:
        pass
    raise InputError(
        Problem(
            where=where,
            expected="a date written year-month-day, like 2024-11-02",
            found=_found(item),
            next_step="write the year first, then month and day with two digits each",
        )
    )


def called(item: object) -> str:
    """What a message calls a part or line by its id; nothing where the id is no plain word."""
    return item if isinstance(item, str) and item.isprintable() and len(item) <= 60 else ""


def _found(item: object) -> str:
    """What was found, short enough to read."""
    if item is None:
        return "nothing"
    text = f'"{item}"' if isinstance(item, str) else str(item)
    text = "".join(letter if unicodedata.category(letter) != "Cc" else "?" for letter in text)
    return text if len(text) <= 80 else f"{text[:77]}..."
