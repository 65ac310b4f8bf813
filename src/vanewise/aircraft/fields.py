"""One number of a description, read from what a person wrote and written back: the same for a file and a form.

A number is written with its unit, and in brackets how it is known::

    "0.95 m"                              entered by the aircraft's people, no more said
    "0.95 m (measured)"                   measured on this aircraft
    "5.0 inHg (own manual: chapter 37)"   from the aircraft's own manual
    "0.5 m (assumed)"                     an example, kept until somebody knows better
    "0.95 m +/- 0.02 m (measured)"        with its spread, one standard deviation; "+/- 5 %" is relative

A number known by the aircraft's people has a quarter of the spread of the example it replaces, unless they say
otherwise: they may have measured another hose, or read a worn mark.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal, cast, get_args

import msgspec

from vanewise.aircraft.kinds import FieldSpec, StateSpec, field_of, fields_of
from vanewise.aircraft.names import nearest
from vanewise.errors import InputError, Problem, wrong
from vanewise.provenance import ASSUMED, Source, Standing, Value
from vanewise.quantities import shown, to_si, written

KNOWN_SPREAD_SHARE: Final = 0.25
"""Spread of a number that the aircraft's people gave, as a share of the example's spread. Judgement of the authors."""

#: How a number can be known, as written in brackets -> its standing and the source named when nothing is added.
_WORDS: Final[Mapping[str, tuple[Standing, Source]]] = MappingProxyType(
    {
        "measured": ("measured", Source("measured on this aircraft")),
        "own manual": ("own manual", Source("the aircraft's own manual")),
    }
)
ENTERED: Final = Source("entered for this aircraft")

#: Keys of a number written as a table.
TABLE_KEYS: Final = ("value", "standing", "source", "where", "spread", "seen", "note")

SpreadKind = Literal["relative", "absolute"]

_BRACKETS: Final = re.compile(r"^(.*?)\s*\(([^()]*)\)\s*$", re.DOTALL)
_PLUS_MINUS: Final = re.compile(r"\s*(?:\+/-|±)\s*")


def parse_field(kind: str, field: str, text: object, where: str, unit: str = "") -> Value:
    """The value of a field of ``kind`` (a kind of part, ``line``, or a section such as ``engine``).

    ``where`` names the place in a message. ``unit`` is the unit printed beside a form's box, taken when the text has
    none. Raises :class:`InputError` when the field is not known, the text cannot be read or the number is not
    believed possible.
    """
    spec = field_of(kind, field)
    if spec is None:
        known = [known.name for known in fields_of(kind)]
        raise wrong(where, f"a field of {kind}: {', '.join(known) or 'none'}", f'"{field}"', nearest(field, known))
    value = _parse(spec, text, where, unit)
    problem = out_of_bounds(spec, value.number, where, text)
    if problem is not None:
        raise InputError(problem)
    return value


def out_of_bounds(spec: FieldSpec, number: float, where: str, found: object = None) -> Problem | None:
    """The problem with a number that is not believed possible, or None."""
    if math.isfinite(number) and spec.low <= number <= spec.high:
        return None
    low, high = (written(bound, spec.dimension, spec.unit) for bound in (spec.low, spec.high))
    text = (
        found
        if isinstance(found, str)
        else written(number, spec.dimension, spec.unit)
        if math.isfinite(number)
        else number
    )
    return Problem(
        where=where,
        expected=f"{spec.meaning}, from {low} to {high}",
        found=f'"{text}"',
        next_step="look at the number and its unit again; nothing outside these bounds is believed possible",
    )


def _parse(spec: FieldSpec, text: object, where: str, unit: str) -> Value:
    if not isinstance(text, str):
        number = to_si(text, spec.dimension, where, unit)
        return _known(spec, number, "as entered", ENTERED, None)
    brackets = _BRACKETS.match(text)
    amount, how = (brackets[1], brackets[2].strip()) if brackets else (text, "")
    first, *spreads = _PLUS_MINUS.split(amount, maxsplit=1)
    number = to_si(first, spec.dimension, where, unit)
    spread = _spread(spreads[0], spec, number, where) if spreads else None
    if how.lower() == "assumed":
        return _assumed(spec, number, spread)
    standing, source = _how_known(how, where)
    return _known(spec, number, standing, source, spread)


def _how_known(how: str, where: str) -> tuple[Standing, Source]:
    if not how:
        return "as entered", ENTERED
    word, _, rest = how.partition(":")
    if word.strip().lower() not in _WORDS:
        known = ["measured", "own manual", "assumed"]
        raise wrong(
            where,
            'in brackets how the number is known: (measured), (own manual), (assumed), or "(own manual: chapter 37)"',
            f'"({how})"',
            nearest(word.strip(), known),
        )
    standing, source = _WORDS[word.strip().lower()]
    return standing, Source(rest.strip()) if rest.strip() else source


def _spread(text: str, spec: FieldSpec, number: float, where: str) -> tuple[float, SpreadKind]:
    """The spread as written: ``5 %`` of the number, or an amount with its unit."""
    kind: SpreadKind = "relative" if text.strip().endswith("%") else "absolute"
    spread = to_si(text, "ratio" if kind == "relative" else _difference(spec.dimension), where)
    if spread < 0:
        raise wrong(where, "a spread that is not negative", f'"{text}"', "write how far off the number may be")
    return spread, kind


def _difference(dimension: str) -> str:
    """The dimension of a difference: a latitude is a place, a difference of two an angle."""
    return {"latitude": "angle"}.get(dimension, dimension)


def _assumed(spec: FieldSpec, number: float, spread: tuple[float, SpreadKind] | None) -> Value:
    """An example: all but the number is as in the table of kinds."""
    if spec.default is None:
        value = Value(number=number, dimension=spec.dimension, standing="assumed", source=ASSUMED)
    else:
        value = msgspec.structs.replace(spec.default, number=number)
    return value if spread is None else msgspec.structs.replace(value, spread=spread[0], spread_kind=spread[1])


def _known(
    spec: FieldSpec, number: float, standing: Standing, source: Source, spread: tuple[float, SpreadKind] | None
) -> Value:
    value = Value(number=number, dimension=spec.dimension, standing=standing, source=source)
    if spread is not None:
        return msgspec.structs.replace(value, spread=spread[0], spread_kind=spread[1])
    if spec.default is None:
        return value
    kept = spec.default.spread * KNOWN_SPREAD_SHARE
    return msgspec.structs.replace(value, spread=kept, spread_kind=spec.default.spread_kind)


def value_from_table(kind: str, field: str, table: Mapping[str, object], where: str) -> Value:
    """The value of a table that says all there is to say::

        length = { value = "0.95 m", standing = "measured", source = "tape", spread = "2 %", note = "cold hose" }

    Raises :class:`InputError` like :func:`parse_field`.
    """
    unknown = [key for key in table if key not in TABLE_KEYS]
    if unknown:
        raise InputError(
            Problem(
                where=f"{where}",
                expected=f"a table with {', '.join(TABLE_KEYS)}",
                found=f'"{key}"',
                next_step=nearest(key, TABLE_KEYS),
            )
            for key in unknown
        )
    spec = field_of(kind, field)
    bare = parse_field(kind, field, table.get("value"), where)
    standing = table.get("standing", "as entered")
    if spec is None or standing not in get_args(Standing):
        known = get_args(Standing)
        raise wrong(where, f"standing as one of {', '.join(known)}", f'"{standing}"', nearest(str(standing), known))
    texts = {key: table.get(key, "") for key in ("source", "where", "seen", "note")}
    for key, text in texts.items():
        if not isinstance(text, str):
            raise wrong(where, f"a text in quotes at {key}", f"{text}", "write it in quotes")
    spread = _spread(str(table.get("spread", "0 %")), spec, bare.number, where)
    return Value(
        number=bare.number,
        dimension=spec.dimension,
        standing=cast(Standing, standing),
        source=Source(str(texts["source"]) or ENTERED.publication, str(texts["where"])),
        spread=spread[0],
        spread_kind=spread[1],
        seen=str(texts["seen"]),
        note=str(texts["note"]),
    )


def table_from_value(kind: str, field: str, value: Value) -> dict[str, str]:
    """The table that :func:`value_from_table` reads back as exactly this value. Keys in the order of TABLE_KEYS."""
    spec = field_of(kind, field)
    if spec is None:
        raise KeyError(f"{kind} has no {field}")
    relative = value.spread_kind == "relative"
    spread = written(value.spread, "ratio", "%") if relative else _written_spread(spec, value.spread)
    table = {
        "value": written(value.number, spec.dimension, spec.unit),
        "standing": value.standing,
        "source": value.source.publication,
        "where": value.source.where,
        "spread": spread,
        "seen": value.seen,
        "note": value.note,
    }
    return {key: text for key, text in table.items() if text}


def entered(kind: str, field: str, number: float, source: Source = ENTERED) -> Value:
    """A number (SI) that the aircraft's people gave, as :func:`parse_field` would make it."""
    spec = field_of(kind, field)
    if spec is None:
        raise KeyError(f"{kind} has no {field}")
    return _known(spec, number, "as entered", source, None)


def write_field(kind: str, field: str, value: Value) -> str | None:
    """The short text that :func:`parse_field` reads back as exactly this value, or None when there is none.

    None means that the value carries more than a short text holds; it is then written as a table.
    """
    spec = field_of(kind, field)
    if spec is None or value.dimension != spec.dimension or not math.isfinite(value.number):
        return None
    number = written(value.number, spec.dimension, spec.unit)
    for spread in ("", *_spread_texts(spec, value)):
        for how in _how_texts(value):
            text = f"{number}{spread}{how}"
            if _reads_as(spec, text, value):
                return text
    return None


def _reads_as(spec: FieldSpec, text: str, value: Value) -> bool:
    try:
        return _parse(spec, text, "written", "") == value
    except InputError:
        return False


def _how_texts(value: Value) -> tuple[str, ...]:
    if value.standing == "as entered":
        return ("",)
    if value.standing in _WORDS:
        return f" ({value.standing})", f" ({value.standing}: {value.source.publication})"
    return (" (assumed)",)


def _spread_texts(spec: FieldSpec, value: Value) -> tuple[str, ...]:
    if value.spread_kind == "relative":
        return (f" +/- {written(value.spread, 'ratio', '%')}",)
    return (f" +/- {_written_spread(spec, value.spread)}",)


def _written_spread(spec: FieldSpec, spread: float) -> str:
    dimension = _difference(spec.dimension)
    return written(spread, dimension, spec.unit if dimension == spec.dimension else "")


def parse_state(spec: StateSpec, text: object, where: str) -> float:
    """The number of a state, in the unit of the state table: ``3``, ``"3 times"``, ``"2.5 mm2"``, ``"yes"``.

    Raises :class:`InputError` when it cannot be read or is outside the state's bounds.
    """
    expected = f"{spec.meaning}: {_state_range(spec)}"
    words = {"yes": 1.0, "no": 0.0, "true": 1.0, "false": 0.0}
    plain = str(text).strip().lower()
    if isinstance(text, bool) or (spec.unit == "0 or 1" and plain in words):
        plain = str(words[plain])
    plain = plain.removesuffix(spec.unit.lower()).strip() if spec.unit != "0 or 1" else plain
    try:
        number = float(plain)
    except ValueError:
        number = math.nan
    whole = spec.unit != "0 or 1" or number in (0.0, 1.0)
    if not (spec.low <= number <= spec.high and whole):
        raise wrong(where, expected, f'"{text}"', "write a number within these bounds")
    return number


def _state_range(spec: StateSpec) -> str:
    if spec.unit == "0 or 1":
        return "yes or no (1 or 0)"
    return f"from {spec.low:g} to {spec.high:g} {spec.unit}, sound at {spec.neutral:g}"


def shown_value(value: Value, metric: bool = False) -> str:
    """A value as people read it: its number, and whether it is assumed."""
    text = shown(value.number, value.dimension, metric)
    return f"{text} (assumed)" if value.is_assumed else text
