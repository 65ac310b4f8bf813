"""A description from its file (TOML text), with every problem of the file collected before anything is refused.

The format is ours: quantities are texts with their unit, ports are ``part.port``, dates are TOML dates, meter readings
are hours to the hundredth, held exactly. Each problem names the path (``lines[6].bore``), what it belongs to and the
line of the text. What a field may say is in the reference pages and in the JSON Schema (:mod:`.schema`).
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any, Final, cast, get_args

from vanewise.aircraft.checks import check
from vanewise.aircraft.description import (
    AircraftDescription,
    AlsoFitted,
    Autopilot,
    Condition,
    Duty,
    Engine,
    Field,
    Fitted,
    Gauge,
    Lamp,
    Line,
    Material,
    Meters,
    Part,
    TurnInstrument,
)
from vanewise.aircraft.kinds import KINDS, SECTIONS, Surroundings
from vanewise.aircraft.lines_of_text import line_numbers, with_line
from vanewise.aircraft.names import nearest
from vanewise.aircraft.not_covered import not_covered
from vanewise.aircraft.number_checks import number_problems
from vanewise.aircraft.tables import Table, called
from vanewise.aircraft.wiring import Wiring
from vanewise.aircraft.wiring_checks import name_problems, wiring_problems
from vanewise.errors import InputError, NotCovered, Problem, wrong
from vanewise.provenance import Value

FORMAT: Final = 1
"""The format's version. It changes only when a file of the former version would be read otherwise."""

_LONGEST_FILE: Final = 1_000_000
_MOST_ITEMS: Final = 500


def read_description(toml_text: str, path: str = "description", *, checked: bool = True) -> AircraftDescription:
    """The description in ``toml_text``; ``path`` names the file in messages.

    Raises :class:`InputError` with all problems of the text, and, unless ``checked`` is False, everything that
    :func:`vanewise.aircraft.checks.check` finds; :class:`NotCovered` when all of them are about what is not modelled.
    """
    data = _load(toml_text, path)
    problems: list[Problem] = []
    outside: list[Problem] = []
    reader = _Reader(data, problems, outside)
    description = reader.description()
    told = [*outside, *problems]
    if checked or told:
        told += reader.checked(description)
    if told:
        numbers = line_numbers(toml_text)
        kind = NotCovered if len(outside) == len(told) else InputError
        raise kind([with_line(problem, numbers) for problem in told])
    return description


def _load(toml_text: str, path: str) -> Mapping[str, Any]:
    if len(toml_text) > _LONGEST_FILE:
        raise wrong(
            path, "a description of one aircraft", f"{len(toml_text)} characters", "look whether it is the right file"
        )
    try:
        return tomllib.loads(toml_text.removeprefix("\ufeff").replace("\r\n", "\n"))
    except (ValueError, RecursionError) as error:  # TOMLDecodeError is a ValueError; so is a number too long to read
        raise InputError(_syntax_problem(str(error), toml_text, path)) from None


def _syntax_problem(message: str, toml_text: str, path: str) -> Problem:
    """TOML's own words are kept, and the commonest slip, a quantity without quotes, is named."""
    reason, _, place = message.partition(" (at ")
    place = place.rstrip(")")
    lines = toml_text.split("\n")
    number = int(place.split()[1].rstrip(",")) if place.startswith("line ") else len(lines)
    written = lines[number - 1].strip() if 0 < number <= len(lines) else ""
    value = written.partition("=")[2].strip()
    bare_quantity = value[:1].isdigit() and any(letter.isalpha() or letter == "/" for letter in value)
    return Problem(
        where=f"{path} ({place or 'end of the text'})",
        expected='a TOML text: lines like  bore = "5/8 in"  under headings like  [[lines]]',
        found=f"{reason[:1].lower()}{reason[1:]}" + (f": {written[:80]}" if written else ""),
        next_step="put the number with its unit in quotes"
        if bare_quantity
        else "mend that line; the line before it may be the cause",
    )


class _Reader:
    """Walks the tables of one file. Where something is wrong it notes a problem and goes on with the example."""

    def __init__(self, data: Mapping[str, Any], problems: list[Problem], outside: list[Problem]):
        self.top = Table(data, "", "", problems)
        self.problems = problems
        self.outside = outside
        self.unnamed: set[str] = set()
        """Places of parts and lines whose id or kind could not be read: nothing more is said about their ports."""
        self.duty_known = True

    def description(self) -> AircraftDescription:
        top = self.top
        version = top.whole_number("format", FORMAT)
        if version != FORMAT:
            top.problem(
                "format", f"{FORMAT}, the format this version reads", f"{version}", "use the version that wrote it"
            )
        name = top.text("name", required=True)
        duty = top.choice("duty", get_args(Duty), "")
        self.duty_known = bool(duty)
        lamp = self._lamp() if "lamp" in top.data else None
        description = AircraftDescription(
            name=name,
            duty=cast(Duty, duty or "suction"),
            duty_confirmed=top.yes_or_no("duty_confirmed", False),
            engine=Engine(**self._section(top.table("engine"), "engine")),
            field=Field(**self._section(top.table("field"), "field")),
            parts=tuple(self._part(table) for table in self._tables("parts")),
            lines=tuple(self._line(table) for table in self._tables("lines")),
            gauge=self._gauge(),
            lamp=lamp,
            meters=self._meters(top.table("meters")),
            autopilot_takes_attitude=cast(
                Autopilot, top.choice("autopilot_takes_attitude", get_args(Autopilot), "unknown")
            ),
            turn_instrument=cast(TurnInstrument, top.choice("turn_instrument", get_args(TurnInstrument), "electric")),
            also_fitted=self._also_fitted(),
            layout=top.text("layout"),
            valid_from=top.date("valid_from"),
            invented=top.yes_or_no("invented", False),
        )
        top.refuse_unknown_keys()
        return description

    def checked(self, description: AircraftDescription) -> list[Problem]:
        """What the checks find, without what only follows from a name that could not be read."""
        if self.duty_known:
            found = [*check(description)]
        else:
            wiring = Wiring(description)
            found = [*name_problems(description), *number_problems(description), *wiring_problems(description, wiring)]
        return [problem for problem in found if problem.path.split(".")[0] not in self.unnamed]

    def _also_fitted(self) -> tuple[AlsoFitted, ...]:
        words = self.top.words("also_fitted")
        known = get_args(AlsoFitted)
        for word in words:
            if word not in known:
                expected = f"one or more of {', '.join(known)}"
                self.top.problem("also_fitted", expected, f'"{word}"', nearest(word, known))
        return tuple(cast(AlsoFitted, word) for word in words if word in known)

    def _tables(self, key: str) -> tuple[Table, ...]:
        items = self.top.items(key, _MOST_ITEMS)
        return tuple(Table(item, f"{key}[{index}]", called(item.get("id")), self.problems) for index, item in items)

    def _section(self, table: Table, section: str) -> dict[str, Value]:
        values = table.numbers(section, SECTIONS[section])
        table.refuse_unknown_keys()
        return values

    def _gauge(self) -> Gauge:
        table = self.top.table("gauge")
        high, low = table.text("high", "unknown"), table.text("low", "unknown")
        return Gauge(high=high, low=low, **self._section(table, "gauge"))

    def _lamp(self) -> Lamp:
        table = self.top.table("lamp")
        high, low = table.text("high", required=True), table.text("low", required=True)
        if not (high and low):
            self.unnamed.add("lamp")
        return Lamp(high=high, low=low, **self._section(table, "lamp"))

    def _meters(self, table: Table) -> Meters:
        meters = Meters(
            tach_centihours=table.hours("tach"),
            hour_meter_centihours=table.hours("hour_meter"),
            read_on=table.date("read_on"),
        )
        table.refuse_unknown_keys()
        return meters

    def _fitted(self, table: Table) -> Fitted:
        fitted = Fitted(
            date=table.date("on"),
            tach_centihours=table.hours("tach"),
            hour_meter_centihours=table.hours("hour_meter"),
            serial=table.text("serial"),
            condition=cast(Condition, table.choice("condition", get_args(Condition), "unknown")),
        )
        table.refuse_unknown_keys()
        return fitted

    def _part(self, table: Table) -> Part:
        part_id = self._id(table)
        kind = self._kind(table)
        part = Part(
            id=part_id,
            kind=kind,
            name=table.text("name"),
            open=cast(Mapping[str, Surroundings], table.words_by_key("open", get_args(Surroundings))),
            capped=table.words("capped"),
            extra_ports=table.words("ports"),
            senses=table.text("senses"),
            fitted=self._fitted(table.table("fitted")),
            values=table.numbers(kind, KINDS[kind].fields) if kind in KINDS else {},
        )
        if kind in KINDS:
            table.refuse_unknown_keys()
        return part

    def _kind(self, table: Table) -> str:
        kind = table.text("kind", required=True)
        if kind in KINDS and kind != "line":
            return kind
        self.unnamed.add(table.path)
        outside = None if kind in KINDS else not_covered(kind, table.where("kind"))
        if outside is not None:
            self.outside.append(outside)
        elif kind:
            known = [name for name in KINDS if name != "line"]
            table.problem("kind", f"one of {', '.join(known)}", f'"{kind}"', nearest(kind, known))
        return kind or "unknown"

    def _id(self, table: Table) -> str:
        """The id, or a stand-in where there is none: the problem has been noted."""
        owner_id = table.text("id", required=True)
        if not owner_id:
            self.unnamed.add(table.path)
        return owner_id or f"unnamed {table.path}"

    def _line(self, table: Table) -> Line:
        line = Line(
            id=self._id(table),
            start=table.text("from", required=True),
            end=table.text("to", required=True),
            name=table.text("name"),
            material=cast(Material, table.choice("material", get_args(Material), "hose")),
            runs_in=cast(Surroundings, table.choice("runs_in", get_args(Surroundings), "cabin")),
            cured=table.date("cured"),
            fitted=self._fitted(table.table("fitted")),
            values=table.numbers("line", KINDS["line"].fields),
        )
        if not (line.start and line.end):
            self.unnamed.add(table.path)
        table.refuse_unknown_keys()
        return line
