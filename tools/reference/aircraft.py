"""Reference pages of the description: kinds of part, the file, the questions, the units."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from tools.reference._tables import code, table
from vanewise.aircraft.kinds import KINDS, SECTIONS, FieldSpec, KindSpec
from vanewise.aircraft.layouts import layouts, make
from vanewise.aircraft.names import RESERVED
from vanewise.aircraft.not_covered import NOT_COVERED
from vanewise.aircraft.questions import QUESTIONS, AnswerSpec
from vanewise.aircraft.schema import file_schema
from vanewise.aircraft.writing import write_description
from vanewise.provenance import Value
from vanewise.quantities import UNITS, written


def pages() -> dict[str, str]:
    return {
        "parts.md": _parts(),
        "description-file.md": _file(),
        "description.schema.json": json.dumps(file_schema(), indent=2) + "\n",
        "questions.md": _questions(),
        "units.md": _units(),
    }


def _parts() -> str:
    blocks = [
        "# Kinds of part, their numbers and states",
        (
            "Every number below is an example, to be overwritten by the aircraft's own manual. A *field* describes a "
            "part as built; a *state* says how it differs from sound, and `sweep --state part.state=...` takes it. "
            "The bounds are what is believed possible; a number outside is refused. How far an example may be off "
            "(its spread, one standard deviation) decides how wide a first band is. [All cited values](values.md)."
        ),
        *(_kind(kind) for kind in KINDS.values()),
        "## Numbers that belong to no part",
        *(f"### `[{name}]`\n\n{_fields(specs)}" for name, specs in SECTIONS.items()),
    ]
    return "\n\n".join(blocks)


def _kind(kind: KindSpec) -> str:
    blocks = [f"## {kind.name}", f"{kind.meaning[:1].upper()}{kind.meaning[1:]}."]
    if kind.ports:
        rows = [
            (code(port.name), port.meaning, " or ".join(port.may_open) or "no", "yes" if port.may_cap else "no")
            for port in kind.ports
        ]
        blocks.append(table(("port", "meaning", "may be open to", "may be capped"), rows))
    if kind.extra_ports:
        blocks.append("Its ports are named by the description (`ports = [...]`); each may be capped.")
    blocks += [_fields(kind.fields)] if kind.fields else []
    if kind.states:
        rows = [
            (code(state.name), state.meaning, f"{state.neutral:g}", f"{state.low:g} to {state.high:g}", state.unit)
            for state in kind.states
        ]
        blocks.append(table(("state", "meaning", "sound", "bounds", "unit"), rows))
    return "\n\n".join(blocks)


def _fields(specs: tuple[FieldSpec, ...]) -> str:
    return table(("field", "meaning", "example", "spread", "believed possible", "source"), _field_rows(specs))


def _field_rows(specs: tuple[FieldSpec, ...]) -> Iterator[tuple[str, ...]]:
    for spec in specs:
        low, high = (written(bound, spec.dimension, spec.unit) for bound in (spec.low, spec.high))
        value = spec.default
        yield (
            code(spec.name),
            spec.meaning,
            written(value.number, spec.dimension, spec.unit) if value else "none",
            spread(value, spec.unit) if value else "",
            f"{low} to {high}",
            f"{value.source}" + (f"; {value.note}" if value.note else "") if value else "given only if known",
        )


def spread(value: Value, unit: str = "") -> str:
    """The spread of a value as people read it."""
    if not value.spread:
        return "none"
    if value.spread_kind == "relative":
        return f"{value.spread * 100:.3g} %"
    dimension = "angle" if value.dimension == "latitude" else value.dimension
    if dimension not in UNITS:
        return f"{value.spread:.3g}"
    name = unit if unit in UNITS[dimension] else next(iter(UNITS[dimension]))
    factor = UNITS[dimension][name]
    return f"{value.spread / factor:.3g} {name}".strip()


def _file() -> str:
    schema = file_schema()
    top = {key: entry for key, entry in schema["properties"].items() if "properties" not in entry}
    line = schema["properties"]["lines"]["items"]["properties"]
    part = {"ports": {"type": "array"}, "senses": {"$ref": "#/$defs/port"}}
    part |= schema["properties"]["parts"]["items"]["oneOf"][0]["properties"]
    fields = {spec.name for kind in KINDS.values() for spec in kind.fields}
    example = write_description(make("suction-one-pump"))
    return "\n\n".join(
        [
            "# The description file",
            (
                "A description is a TOML text of its own format. `vanewise new LAYOUT FILE` writes one to start from: "
                + "; ".join(f"`{info.name}` ({info.title.lower()})" for info in layouts().values())
                + ". `vanewise validate FILE` tells everything that is wrong with one, at once. The JSON Schema is "
                "[description.schema.json](description.schema.json)."
            ),
            (
                'A quantity is a text with its unit, `"5/8 in"`, and in brackets how it is known: `(measured)`, '
                "`(own manual)`, `(own manual: chapter 37)`, `(assumed)`; without brackets it counts as entered by the "
                "aircraft's people. `+/- 0.02 m` or `+/- 5 %` before the brackets is its spread, one standard "
                "deviation. A number left out is the example of its kind and counts as assumed. See [units](units.md) "
                "and [kinds of part](parts.md)."
            ),
            (
                "Ports are written `part.port`. A line may also end in `cabin` or `engine bay`. Meter readings are "
                "hours "
                'to the hundredth, `"2983.9 h"`, held exactly. Dates are written year-month-day.'
            ),
            f"Names are small letters, digits and underscores; not {', '.join(sorted(RESERVED))}.",
            "## Top of the file",
            _keys(top),
            (
                "Then the sections `[engine]`, `[field]`, `[gauge]` and `[lamp]` (with `high` and `low`, the two "
                "points each of the last two is connected across, and their [numbers](parts.md)), and `[meters]` with "
                "`tach`, `hour_meter` and `read_on`."
            ),
            "## Each `[[parts]]`",
            _keys({key: entry for key, entry in part.items() if key not in fields}),
            "and the fields of its [kind](parts.md).",
            "## Each `[[lines]]`",
            _keys({key: entry for key, entry in line.items() if key not in fields}),
            "and `length`, `bore`, `elbows`, `roughness`.",
            "## `fitted`",
            _keys(schema["$defs"]["fitted"]["properties"]),
            "## An example",
            f"```toml\n{example}```",
        ]
    )


_MEANING = {
    "format": "version of the format",
    "name": "what people call it",
    "duty": "does the pump suck air through the gyros, or blow into them",
    "duty_confirmed": "true once somebody has looked",
    "turn_instrument": "what drives the turn instrument",
    "autopilot_takes_attitude": "does it take its attitude from the air-driven indicator",
    "also_fitted": "on the same air, but not computed",
    "layout": "the ready-made layout it began as",
    "valid_from": "the aircraft stood like this from this day",
    "invented": "true for an aircraft that does not exist",
    "parts": "the parts, each headed `[[parts]]`",
    "lines": "the lines, each headed `[[lines]]`",
    "id": "its name in this file",
    "kind": "one of the kinds of part",
    "open": "ports that breathe without a line, and what",
    "capped": "ports closed by a cap",
    "ports": "a manifold's ports",
    "senses": "the port whose pressure a regulator holds, where that is not its own (one regulator at most)",
    "fitted": "when it was fitted",
    "from": "one end",
    "to": "the other end",
    "material": "what it is made of",
    "runs_in": "what surrounds it: where a hole would let air in or out",
    "cured": "the date on the hose itself",
    "on": "date",
    "tach": "tach time",
    "hour_meter": "hour meter",
    "serial": "serial number",
    "condition": "as fitted",
}


def _keys(entries: dict[str, Any]) -> str:
    return table(("key", "says", "written as"), [(code(k), _MEANING[k], _shape(v)) for k, v in entries.items()])


def _shape(entry: dict[str, Any]) -> str:
    """What the schema allows there, in words."""
    if "enum" in entry:
        return " or ".join(code(f'"{word}"') for word in entry["enum"])
    if "const" in entry:
        return "one of the [kinds](parts.md)" if isinstance(entry["const"], str) else code(str(entry["const"]))
    if "anyOf" in entry:
        return " or ".join(_shape(option) for option in entry["anyOf"])
    if "$ref" in entry:
        names = {"date": "a date", "hours": 'hours, `"2983.9 h"`', "port": "`part.port`", "fitted": "a table, below"}
        return names[entry["$ref"].rsplit("/", 1)[1]]
    if entry.get("type") == "array":
        inside = entry.get("items", {})
        return f"a list of {_shape(inside)}" if "enum" in inside else "a list"
    return {"boolean": "`true` or `false`", "string": "text", "object": 'a table, `{ air = "cabin" }`'}[entry["type"]]


def _questions() -> str:
    blocks = [
        "# Ten questions for a first useful sweep",
        (
            '"Don\'t know" is an answer to each; the example is then taken, shown as assumed, with its source. The '
            "first answer is a band and not a line, with the three numbers that widen it most. The eleventh question "
            "is offered."
        ),
    ]
    for question in QUESTIONS:
        blocks.append(f"## {question.number}. {question.text}" + (" (offered)" if question.offered else ""))
        blocks.append(f"How to look: {question.how_to_look}")
        rows = [(code(spec.id), spec.label, _allowed(spec), spec.assumed, spec.source) for spec in question.answers]
        blocks.append(table(("answer", "about", "allowed", "if nobody knows", "source"), rows))
    blocks.append("## What is not covered")
    blocks.append("Said politely, and never replaced by a made-up effect:")
    blocks.append(table(("what", "because", "instead"), [(name, *texts) for name, texts in NOT_COVERED.items()]))
    return "\n\n".join(blocks)


def _allowed(spec: AnswerSpec) -> str:
    if spec.choices:
        return "; ".join(f"`{word}` {meaning}" for word, meaning in spec.choices.items())
    return {"quantity": f"a number in {spec.unit or 'no unit'}", "hours": "hours, like 2983.9 h"}.get(
        spec.kind, f"a {spec.kind}"
    )


def _units() -> str:
    rows = [
        (dimension, ", ".join(code(unit) for unit in units if unit) or "none") for dimension, units in UNITS.items()
    ]
    return "\n\n".join(
        [
            "# Units",
            (
                "A number is written with its unit. Inside, everything is SI and pressures are absolute; suction is "
                "read and written as a positive number, ambient minus line. Factors: NIST SP 811, appendix B.8. Other "
                'spellings are understood where they can mean one thing only (`in Hg`, `CFM`, `cu in`, `"`).'
            ),
            table(("quantity", "units"), rows),
            (
                "Fractions and mixed numbers of an inch may be written: `5/8 in`, `1 1/2 in`; lengths and times in two "
                "steps: `5 ft 3 in`, `2 min 40 s`. The decimal sign is a point. A comma is taken as a thousands mark "
                "in rpm, feet and hours (`1,800 rpm`), and refused elsewhere, because it could mean two things."
            ),
        ]
    )
