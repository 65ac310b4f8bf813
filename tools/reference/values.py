"""Reference page of every default value with its source and spread, those that nobody has published on top."""

from __future__ import annotations

from itertools import groupby

from msgspec.structs import asdict

from tools.reference._tables import table
from tools.reference.aircraft import spread
from vanewise.aircraft.kinds import KINDS, SECTIONS
from vanewise.diagnosis.modes import MODES
from vanewise.provenance import Value
from vanewise.quantities import UNITS, from_si, written
from vanewise.values import STANDINGS, CitedValue, all_values
from vanewise.watch.life import DEFAULT_LIFE_PRIORS
from vanewise.watch.wear_priors import DEFAULT_PRIORS

_HEADING = {
    "assumed": "Assumed",
    "judgement": "Judgement of the authors",
    "from memory": "From memory, not checked against a text",
    "common practice, no source": "Common practice, no source",
    "published": "Published",
}


_INTRODUCTION = (
    "Every number that the computation rests on and that is no reading of an aircraft: what a silent description is "
    "taken to have, how common a failure mode is before any evidence, what a wear forecast begins with, and the laws' "
    "own. Those that nobody has published stand on top. The spread is one standard deviation, relative ones of the "
    "logarithm; *none* means that the number is used as it stands, not that it is known exactly. The aircraft's own "
    "manual, and what is measured on the aircraft, come before any of them."
)


def pages() -> dict[str, str]:
    entries = all_defaults()
    counts = {standing: len(list(group)) for standing, group in groupby(entries, key=_standing)}
    told = ", ".join(f"{count} {_HEADING.get(standing, standing).lower()}" for standing, count in counts.items())
    blocks = ["# Every default value, with its source and spread", _INTRODUCTION, f"{len(entries)} in all: {told}."]
    for standing, group in groupby(entries, key=_standing):
        blocks.append(f"## {_HEADING.get(standing, standing)}")
        blocks.append(table(("value", "default of", "number", "spread", "source", "remark"), map(_row, group)))
    return {"values.md": "\n\n".join(blocks)}


def all_defaults() -> tuple[CitedValue, ...]:
    """The cited values, the starting assumptions of a wear forecast, and every mode's rate; by standing."""
    cited = list(all_values())
    known = {id(entry.value) for entry in cited}
    wear = [CitedValue(_WEAR, name, value) for name, value in DEFAULT_PRIORS.values()]
    life = [CitedValue(_LIFE, name.replace("_", " "), value) for name, value in asdict(DEFAULT_LIFE_PRIORS).items()]
    rates = [CitedValue(_RATES, mode.id, mode.rate) for mode in MODES.values()]
    cited += [entry for entry in (*wear, *life, *rates) if id(entry.value) not in known]
    return tuple(sorted(cited, key=lambda entry: STANDINGS.index(entry.value.standing)))


_WEAR, _LIFE, _RATES = "wear", "life", "rates"


def _standing(entry: CitedValue) -> str:
    return entry.value.standing


def _default_of(entry: CitedValue) -> str:
    """What takes this number where nobody says otherwise: fields of parts, lines and sections, a forecast, a mode."""
    if entry.module == _WEAR:
        return "[a wear forecast](wear.md)"
    if entry.module == _LIFE:
        return "how long a kind of part lasts, before own lives are counted"
    if entry.module == _RATES:
        return f"reports per 1,000 h of [{entry.name}](modes.md#{entry.name})"
    kinds = [*((kind.name, kind.fields) for kind in KINDS.values()), *SECTIONS.items()]
    return ", ".join(f"{name}: {spec.name}" for name, specs in kinds for spec in specs if spec.default is entry.value)


def _row(entry: CitedValue) -> tuple[str, ...]:
    value = entry.value
    remark = "; ".join(text for text in (value.seen, value.note) if text)
    return entry.title, _default_of(entry), _number(value), spread(value), str(value.source), remark


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
