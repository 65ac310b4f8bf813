"""A study from a file (TOML text), with every problem collected before anything is refused."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, cast

import msgspec

from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.kinds import KINDS, field_of
from vanewise.aircraft.lines_of_text import line_numbers, with_line
from vanewise.aircraft.names import nearest
from vanewise.aircraft.tables import Table
from vanewise.aircraft.versions import kind_at
from vanewise.errors import InputError, Problem, in_file, wrong
from vanewise.network import atmosphere
from vanewise.network.pack import pack
from vanewise.quantities import HIGHEST_RPM, to_si, written
from vanewise.study.types import (
    ALTITUDE,
    FURTHEST_SD,
    OPERATING,
    RPM,
    TEMPERATURE,
    TOLD,
    WARMER,
    Axis,
    Draw,
    DrawKind,
    Study,
    Told,
    Varied,
)

MOST_SCENARIOS: Final = 10**9
MOST_ROWS: Final = 10**8
MOST_GROUPS: Final = 1000
MOST_VARIED: Final = 200
USUAL_GROUPS: Final = 60
"""Where a file does not say by what outcomes are counted apart: by every axis, up to so many groups; else by rpm."""
SPRING: Final = ("set anew", "left alone")
DRAWS: Final[Mapping[DrawKind, tuple[str, ...]]] = {
    "uniform": ("low", "high"),
    "log uniform": ("low", "high"),
    "normal": ("middle", "spread"),
    "lognormal": ("middle", "spread"),
    "one of": ("values",),
}
"""Kind of draw -> the keys it must have."""


@dataclass(frozen=True, slots=True)
class _Subject:
    """What is varied: its key, dimension, the least and largest number believed possible, and what it is when sound."""

    key: str
    dimension: str
    low: float
    high: float
    neutral: float
    unit: str = ""

    def shown(self, number: float) -> str:
        if self.dimension == "ratio":
            return f"{number:g} {self.unit}".strip()
        return written(number, self.dimension, self.unit)


_OPERATING: Final = {
    RPM: _Subject(RPM, "rpm", 0.0, HIGHEST_RPM, 0.0),
    ALTITUDE: _Subject(ALTITUDE, "altitude", atmosphere.LOWEST_M, atmosphere.HIGHEST_M, 0.0),
    TEMPERATURE: _Subject(TEMPERATURE, "temperature", atmosphere.COLDEST_K, atmosphere.HOTTEST_K, 288.15, "C"),
    WARMER: _Subject(WARMER, "ratio", -60.0, 60.0, 0.0, "K"),
}


def aircraft_named(text: str, path: str) -> str:
    """Which file describes the aircraft of a study. Raises InputError when the text is no TOML or names none."""
    problems: list[Problem] = []
    name = Table(_toml(text, path), "", "", problems).text("aircraft", required=True)
    if problems:
        raise InputError([in_file(path, problem) for problem in problems])
    return name


def _toml(text: str, path: str) -> Mapping[str, Any]:
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise wrong(path, "a TOML text", str(error), "put numbers with their unit in quotes") from None


def read_study(text: str, path: str, description: AircraftDescription) -> Study:
    """The study of a file about ``description``. Raises InputError with every problem of the text."""
    problems: list[Problem] = []
    top = Table(_toml(text, path), "", "", problems)
    top.text("aircraft")
    reader = _Reader(description, problems)
    axes, varied = reader.read(top)
    seed = top.whole_number("seed", 0)
    draws = top.whole_number("draws", 1)
    unknowns = top.yes_or_no("unknowns", False)
    spring = top.choice("regulator", SPRING, SPRING[0])
    study = Study(
        title=top.text("title") or "Study",
        description=description,
        seed=seed,
        draws=max(draws, 1),
        axes=axes,
        varied=varied,
        unknowns=unknowns,
        set_anew=spring == SPRING[0],
        told=_told(top, description),
        by=_by(top, axes),
        needed_pa=top.quantity("needed", "pressure"),
        rows=top.yes_or_no("rows", False),
    )
    top.refuse_unknown_keys()
    _refuse_seed(top, seed)
    _refuse_sizes(top, study, draws)
    _refuse_climate(top, study)
    if problems:
        lines = line_numbers(text)
        raise InputError([in_file(path, with_line(problem, lines)) for problem in problems])
    return study


class _Reader:
    """What is varied and how, with each key at most once."""

    def __init__(self, description: AircraftDescription, problems: list[Problem]):
        self._description = description
        self._problems = problems
        self._keys = pack(description, calibrate=False).override_keys
        self._taken: set[str] = set()

    def read(self, top: Table) -> tuple[tuple[Axis, ...], tuple[Varied, ...]]:
        """Axes, those of operating points last, and what is drawn."""
        found = list(self._vary(top))
        at = top.table("at")
        found += [self._at(at, key) for key in OPERATING if key in at.data]
        for key in OPERATING:
            at.get(key)
        at.refuse_unknown_keys()
        axes = tuple(item for item in found if isinstance(item, Axis))
        return axes, tuple(item for item in found if isinstance(item, Varied))

    def _at(self, at: Table, key: str) -> Axis | Varied | None:
        subject, item = _OPERATING[key], at.data[key]
        if isinstance(item, Mapping):
            return self._drawn(Table(item, f"at.{key}", "", self._problems), subject)
        values = self.numbers(item if isinstance(item, list) else [item], subject, at.where(key))
        return Axis(key=key, values=values) if values else None

    def _vary(self, top: Table) -> Iterator[Axis | Varied | None]:
        for index, entry in top.items("vary", MOST_VARIED):
            what = entry.get("what")
            called = what if isinstance(what, str) and what.isprintable() and len(what) <= 80 else ""
            table = Table(entry, f"vary[{index}]", called, self._problems)
            subject = self._subject(table)
            if subject is None:
                continue
            if "every" in entry:
                listed = table.get("every")
                where = table.where("every")
                values = self.numbers(listed if isinstance(listed, list) else [listed], subject, where)
                table.refuse_unknown_keys()
                yield Axis(key=subject.key, values=values) if values else None
            else:
                yield self._drawn(table, subject)

    def _subject(self, table: Table) -> _Subject | None:
        key = table.text("what", required=True)
        if not key:
            return None
        if key in self._taken:
            table.problem("what", "each number varied once", f'"{key}" a second time', "take one of them out")
            return None
        self._taken.add(key)
        owner, _, name = key.rpartition(".")
        kind = kind_at(self._description, owner)
        if key not in self._keys or kind is None or kind not in KINDS:
            expected = "PART.STATE, PART.FIELD or LINE.FIELD of this aircraft"
            table.problem("what", expected, f'"{key}"', nearest(key, self._keys, "see docs/reference/parts.md"))
            return None
        state = next((spec for spec in KINDS[kind].states if spec.name == name), None)
        if state is not None:
            unit = "" if state.unit in ("times", "fraction", "0 or 1") else state.unit
            return _Subject(key, "ratio", state.low, state.high, state.neutral, unit)
        field = field_of(kind, name)
        if field is None:
            table.problem("what", "a field or state of the part", f'"{key}"', "see docs/reference/parts.md")
            return None
        own = dict(self._description.values()).get(key) or field.default
        return _Subject(key, field.dimension, field.low, field.high, own.number if own else field.low, field.unit)

    def numbers(self, items: Sequence[object], subject: _Subject, where: str) -> tuple[float, ...]:
        """The numbers of a list, each believed possible and none twice; nothing where one cannot be used."""
        numbers = [self.number(item, subject, where) for item in items]
        kept = [number for number in numbers if number is not None]
        if not items or len(set(kept)) < len(kept):
            found = "an empty list" if not items else "the same value twice"
            self._note(where, "one value or more, each once", found, "write each value once")
            return ()
        return tuple(kept) if len(kept) == len(numbers) else ()

    def number(self, item: object, subject: _Subject, where: str) -> float | None:
        try:
            number = to_si(item, subject.dimension, where, "rpm" if subject.dimension == "rpm" else "")
        except InputError as error:
            self._problems.extend(error.problems)
            return None
        if subject.low <= number <= subject.high:
            return number
        expected = f"{subject.shown(subject.low)} to {subject.shown(subject.high)}"
        self._note(where, expected, f"{item}", "nothing outside these bounds is believed possible; look again")
        return None

    def _note(self, where: str, expected: str, found: str, next_step: str) -> None:
        self._problems.append(Problem(where=where, expected=expected, found=found, next_step=next_step))

    def _drawn(self, table: Table, subject: _Subject) -> Varied | None:
        """How a number is drawn. Keys its draw does not use are refused by name."""
        before = len(self._problems)
        kind = cast(DrawKind, table.choice("draw", DRAWS, ""))
        if len(self._problems) > before:
            return None
        given = _Given(self, table, subject, kind)
        draw = given.draw()
        table.refuse_unknown_keys()
        return Varied(key=subject.key, draw=draw) if draw is not None and len(self._problems) == before else None


class _Given:
    """The numbers of one draw, as its table gives them."""

    def __init__(self, reader: _Reader, table: Table, subject: _Subject, kind: DrawKind):
        self._reader, self._table, self._subject, self._kind = reader, table, subject, kind

    def _one(self, key: str) -> float | None:
        item = self._table.get(key)
        if item is not None:
            return self._reader.number(item, self._subject, self._table.where(key))
        if key in DRAWS[self._kind]:
            example = self._subject.shown(self._subject.neutral)
            self._table.problem(key, f'a number, like "{example}"', "nothing", f"write {key} = ...")
        return None

    def draw(self) -> Draw | None:
        chance = self._share("chance", 1.0)
        otherwise = self._subject.neutral
        if "chance" in self._table.data:
            given = self._one("otherwise")
            otherwise = otherwise if given is None else given
        if self._kind == "one of":
            draw = self._one_of()
        elif self._kind in ("normal", "lognormal"):
            draw = self._about_a_middle()
        else:
            draw = self._between()
        return None if draw is None else msgspec.structs.replace(draw, chance=chance, otherwise=otherwise)

    def _between(self) -> Draw | None:
        low, high = self._one("low"), self._one("high")
        if low is None or high is None:
            return None
        least = "above nought and below high" if self._kind == "log uniform" else "below high"
        if low >= high or (self._kind == "log uniform" and low <= 0.0):
            self._table.problem("low", least, self._subject.shown(low), "look at both ends again")
            return None
        return Draw(kind=self._kind, low=low, high=high)

    def _share(self, key: str, default: float) -> float:
        item = self._table.get(key)
        if item is None:
            return default
        if isinstance(item, bool) or not isinstance(item, (int, float)) or not 0.0 < item <= 1.0:
            self._table.problem(key, "a plain number above 0, at most 1", f"{item}", "write the share of the draws")
            return default
        return float(item)

    def _one_of(self) -> Draw | None:
        values, weights = self._table.get("values"), self._table.get("weights")
        if not isinstance(values, list):
            self._table.problem(
                "values", "a list of numbers", "nothing" if values is None else f"{values}", "list them"
            )
            return None
        numbers = self._reader.numbers(values, self._subject, self._table.where("values"))
        weights = [1.0] * len(values) if weights is None else weights
        if not _are_weights(weights, len(values)):
            self._table.problem(
                "weights", "one number for each value, none below 0", f"{weights}", "give each its share"
            )
            return None
        if not numbers:
            return None
        return Draw(kind="one of", values=numbers, weights=tuple(float(weight) for weight in weights))

    def _about_a_middle(self) -> Draw | None:
        """A normal or lognormal draw, cut off at its own ends, the bounds of the number, and four spreads."""
        middle, low, high = self._one("middle"), self._one("low"), self._one("high")
        spread = self._spread()
        if middle is None or spread is None:
            return None
        reach = FURTHEST_SD * spread
        logarithmic = self._kind == "lognormal"
        if logarithmic and middle <= 0.0:
            self._table.problem("middle", "above nought", self._subject.shown(middle), "or write draw = 'normal'")
            return None
        ends = (
            (middle * math.exp(-reach), middle * math.exp(reach)) if logarithmic else (middle - reach, middle + reach)
        )
        lowest = max(ends[0], self._subject.low if low is None else low)
        highest = min(ends[1], self._subject.high if high is None else high)
        if not lowest < highest:
            self._table.problem("low", "below high, and within four spreads of the middle", "neither", "look again")
            return None
        return Draw(kind=self._kind, middle=middle, spread=spread, low=lowest, high=highest)

    def _spread(self) -> float | None:
        item = self._table.get("spread")
        plain = self._kind == "lognormal" or self._subject.dimension == "temperature"
        dimension = "ratio" if plain else self._subject.dimension
        if item is None:
            self._table.problem("spread", "one standard deviation", "nothing", "write spread = ...")
            return None
        try:
            spread = to_si(item, dimension, self._table.where("spread"))
        except InputError as error:
            self._table.problems.extend(error.problems)
            return None
        if not 0.0 < spread < 1e12:
            self._table.problem("spread", "above nought", f"{item}", "leave the number out where it does not vary")
            return None
        return spread


def _are_weights(weights: object, count: int) -> bool:
    if not isinstance(weights, list) or len(weights) != count:
        return False
    plain = all(isinstance(item, (int, float)) and not isinstance(item, bool) for item in weights)
    return plain and all(0.0 <= item < math.inf for item in weights) and sum(weights) > 0.0


def _told(top: Table, description: AircraftDescription) -> tuple[Told, ...]:
    words = top.words("tell")
    for word in words:
        if word not in TOLD:
            top.problem("tell", f"some of {', '.join(TOLD)}", f'"{word}"', nearest(word, TOLD))
    if "lamp" in words and description.lamp is None:
        top.problem("tell", "a lamp only where one is fitted", "none in the description", "take it out")
    kept = tuple(told for told in TOLD if told in words)
    return kept or ("gauge", "drops", "pump load")


def _by(top: Table, axes: tuple[Axis, ...]) -> tuple[str, ...]:
    """By what outcomes are counted apart; where nothing is said, by all axes unless that makes very many groups."""
    known = [axis.key for axis in axes]
    words = top.words("by")
    for word in words:
        if word not in known:
            expected = f"some of {', '.join(known)}" if known else "nothing, as nothing is a list of values here"
            top.problem("by", expected, f'"{word}"', nearest(word, known, "give it a list of values, or take it out"))
    if "by" in top.data:
        return tuple(key for key in known if key in words)
    many = math.prod(len(axis.values) for axis in axes) > USUAL_GROUPS
    return tuple(key for key in known if key == RPM) if many else tuple(known)


def _refuse_seed(top: Table, seed: int) -> None:
    if not 0 <= seed < 2**63:
        top.problem(
            "seed", "a whole number, not below 0", f"{seed}", "any will do; the same one draws the same systems"
        )


def _refuse_sizes(top: Table, study: Study, draws: int) -> None:
    most = MOST_ROWS if study.rows else MOST_SCENARIOS
    if draws < 1:
        top.problem("draws", "1 or more systems", f"{draws}", "say how many systems to draw")
    elif study.count > most:
        found = f"{draws:,} draws at {study.points:,} points: {study.count:,}"
        top.problem("draws", f"at most {most:,} scenarios", found, "draw fewer systems, or shorten a list of values")
    if draws > 1 and not study.varied and not study.unknowns:
        found = f"{draws:,}, and nothing that is drawn"
        top.problem("draws", "1 where every number is given", found, "leave draws out, or draw a number")
    if study.groups > MOST_GROUPS:
        top.problem("by", f"at most {MOST_GROUPS:,} groups", f"{study.groups:,}", "name fewer lists of values")


def _refuse_climate(top: Table, study: Study) -> None:
    """Every air temperature that can come out is within what the laws hold for."""
    ends = {item.key: item.draw.ends for item in study.varied}
    ends |= {axis.key: (min(axis.values), max(axis.values)) for axis in study.axes}
    field = study.description.field.elevation.number
    low, high = ends.get(ALTITUDE, (field, field))
    standard = (atmosphere.standard_temperature(high), atmosphere.standard_temperature(low))
    coldest, hottest = ends.get(TEMPERATURE, standard)
    warmer = ends.get(WARMER, (0.0, 0.0))
    coldest, hottest = coldest + warmer[0], hottest + warmer[1]
    if coldest < atmosphere.COLDEST_K or hottest > atmosphere.HOTTEST_K:
        top.problem(
            "at",
            f"air of {atmosphere.COLDEST_K - 273.15:.0f} C to {atmosphere.HOTTEST_K - 273.15:.0f} C everywhere",
            f"{coldest - 273.15:.0f} C to {hottest - 273.15:.0f} C",
            "look at altitude, temperature and warmer together",
        )
