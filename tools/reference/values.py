"""Reference page of every cited value, those that nobody has published on top."""

from __future__ import annotations

from itertools import groupby

from tools.reference._tables import table
from tools.reference.aircraft import spread
from vanewise.provenance import Value
from vanewise.quantities import UNITS, from_si, written
from vanewise.values import CitedValue, all_values

_HEADING = {
    "assumed": "Assumed",
    "judgement": "Judgement of the authors",
    "from memory": "From memory, not checked against a text",
    "common practice, no source": "Common practice, no source",
    "published": "Published",
}


_INTRODUCTION = (
    "Numbers that the computation rests on and that are no reading of an aircraft: those that nobody has published on "
    "top. The spread is one standard deviation, relative ones of the logarithm. The aircraft's own manual, and what is "
    "measured on the aircraft, come before any of them."
)


def pages() -> dict[str, str]:
    blocks = [
        "# Every cited value",
        _INTRODUCTION,
    ]
    for standing, group in groupby(all_values(), key=lambda cited: cited.value.standing):
        blocks.append(f"## {_HEADING.get(standing, standing)}")
        blocks.append(table(("value", "number", "spread", "source", "remark"), map(_row, group)))
    return {"values.md": "\n\n".join(blocks)}


def _row(cited: CitedValue) -> tuple[str, ...]:
    value = cited.value
    remark = "; ".join(text for text in (value.seen, value.note) if text)
    return cited.title, _number(value), spread(value), str(value.source), remark


def _number(value: Value) -> str:
    """The number in the unit that writes it shortest, to four digits where none writes it short."""
    if value.dimension not in UNITS:
        return f"{value.number:.6g} {value.dimension}".strip()
    texts = [written(value.number, value.dimension, unit) for unit in UNITS[value.dimension] if unit != "%"]
    shortest = min(texts, key=len)
    if len(shortest) <= 12:
        return shortest
    unit = next(iter(UNITS[value.dimension]))
    return f"{from_si(value.number, unit, value.dimension):.4g} {unit}".strip()
