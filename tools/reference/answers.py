"""Reference of the answers: what each command prints with ``--json``, from the types in the code."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import msgspec

from tools.reference._tables import code, table
from tools.reference._types import meanings, prose, shape
from vanewise.jobs.answers_by_command import ANSWERS
from vanewise.jobs.shapes import Refusal

REF = "#/$defs/{name}"
Schema = dict[str, Any]


def pages() -> dict[str, str]:
    return {"answers.md": _page(), "answers.schema.json": json.dumps(answers_schema(), indent=2) + "\n"}


def answers_schema() -> Schema:
    """One schema for all: each command's answer by its title, each type once.

    An answer always carries every field and no other, so that is what the schema asks for.
    """
    _, components = _components()
    commands = [{"title": f"vanewise {name}", "$ref": f"#/$defs/{kind.__name__}"} for name, kind in ANSWERS.items()]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Answers of the vanewise commands",
        "description": "What each command prints with --json. Numbers have six significant digits; the unit is in the "
        "field's name (pa: pascal, inhg: inches of mercury, cfm: cubic feet of free air in a minute, h: hours).",
        "anyOf": [*commands, {"title": "any command that gave no answer", "$ref": "#/$defs/Refusal"}],
        "$defs": {name: _strict(entry) for name, entry in components.items()},
    }


def _types() -> tuple[type, ...]:
    return (*dict.fromkeys(ANSWERS.values()), Refusal)


def _components() -> tuple[tuple[Schema, ...], Mapping[str, Schema]]:
    return msgspec.json.schema_components(_types(), ref_template=REF)


def _strict(entry: Schema) -> Schema:
    """A struct's schema with every field asked for, none besides, and its words in one paragraph."""
    if "properties" not in entry:
        return entry
    properties = {key: {k: v for k, v in field.items() if k != "default"} for key, field in entry["properties"].items()}
    out = {**entry, "properties": properties, "required": list(properties), "additionalProperties": False}
    if "description" in out:
        out["description"] = prose(out["description"])
    return out


def _page() -> str:
    by_name = _classes()
    _, components = _components()
    blocks = [
        "# Answers as JSON",
        (
            "Every command that answers something takes `--json`. The schema of all of them is "
            "[answers.schema.json](answers.schema.json). Numbers have six significant digits; the unit is in the "
            "field's name: `pa` pascal (absolute, unless it is a drop), `inhg` inches of mercury (suction positive), "
            "`cfm` cubic feet of free air in a minute, `h` hours, `ft` feet, `rpm` turns in a minute, `k` kelvin. The "
            "same command on the same files with the same seed gives the same answer."
        ),
        (
            "Exit code 0: done. 2: what was handed in is wrong. 3: it is sound, but no answer could be had. In the "
            "last two cases what is printed is a [Refusal](#refusal), and the same stands in words on the error stream."
        ),
        table(
            ("command", "prints"),
            [
                (code(f"vanewise {name}"), f"[{kind.__name__}](#{kind.__name__.lower()})")
                for name, kind in ANSWERS.items()
            ],
        ),
    ]
    for name, entry in components.items():
        blocks += _type(name, entry, by_name.get(name))
    return "\n\n".join(blocks)


def _type(name: str, entry: Schema, cls: type | None) -> list[str]:
    said = meanings(cls) if cls else {}
    words = prose(entry.get("description"))
    rows = [(code(key), shape(field), said.get(key, "")) for key, field in entry.get("properties", {}).items()]
    return [f"## {name}", *([words] if words else []), table(("field", "is", "meaning"), rows)]


def _classes() -> dict[str, type]:
    """Every class that the answers are made of, by the name it has in the schema."""
    found: dict[str, type] = {}

    def visit(kind: Any) -> None:
        if isinstance(kind, msgspec.inspect.StructType):
            if kind.cls.__name__ in found:
                return
            found[kind.cls.__name__] = kind.cls
            for field in kind.fields:
                visit(field.type)
            return
        for name in ("item_type", "item_types", "key_type", "value_type", "types"):
            inner = getattr(kind, name, ())
            for one in inner if isinstance(inner, tuple) else (inner,):
                visit(one)

    for kind in _types():
        visit(msgspec.inspect.type_info(kind))
    return found
