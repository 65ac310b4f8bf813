"""Reference of the files people hand in besides the description: keys, and an example of each."""

from __future__ import annotations

import json
from typing import Any

from tools.reference._tables import code, table
from tools.reference._types import shape
from vanewise.demo.play import text_of
from vanewise.jobs.file_schemas import schema_of

_EXAMPLES = {
    "evidence": ("d1_evidence_27h.toml", "The invented club aircraft, had a mechanic been asked at 27 hours."),
    "ground-run": ("d1_ground_run_second.toml", "The invented club aircraft after its rebuild."),
    "wear": ("d2_wear.toml", "The pump of the invented aircraft in pressure duty."),
    "study": ("d1_study.toml", "The invented club aircraft, its pump wearing and its filter loading up."),
}
_WORDS = {
    "symptom": "one of the [symptoms](symptoms.md)",
    "kind": "one of the [events](events.md)",
    "check": "one of the [checks](checks.md)",
}


def pages() -> dict[str, str]:
    made = {}
    for what in _EXAMPLES:
        made[f"{what}.md"] = _page(what)
        made[f"{what}.schema.json"] = json.dumps(schema_of(what), indent=2) + "\n"
    return made


def _page(what: str) -> str:
    schema = schema_of(what)
    name, about = _EXAMPLES[what]
    also = " JSON of the same shape is taken as well." if what == "evidence" else ""
    top = {key: entry for key, entry in schema["properties"].items() if not _keys(entry)}
    inner = {key: entry for key, entry in schema["properties"].items() if _keys(entry)}
    blocks = [
        f"# {schema['title']}: the file",
        (
            f"{schema['description']} A TOML text; a quantity is a text with its [unit](units.md), a date is written "
            f"year-month-day.{also} The JSON Schema is [{what}.schema.json]({what}.schema.json), also printed by "
            f"`vanewise schema {what}`. Everything that is wrong with a file is told at once."
        ),
        "## Top of the file",
        _table(top, schema, what),
    ]
    for key, entry in inner.items():
        single = entry["type"] == "object"
        blocks += [f"## `[{key}]`" if single else f"## Each `[[{key}]]`", _table(_keys(entry), _whole(entry), what)]
    blocks += ["## An example", about, f"```toml\n{text_of(name).strip()}\n```"]
    return "\n\n".join(blocks)


def _whole(entry: dict[str, Any]) -> dict[str, Any]:
    return dict(entry.get("items", entry))


def _keys(entry: dict[str, Any]) -> dict[str, Any]:
    return dict(_whole(entry).get("properties", {}))


def _table(keys: dict[str, Any], schema: dict[str, Any], what: str) -> str:
    needed = schema.get("required", [])
    rows = [
        (code(key), _is(key, entry, what), entry.get("description", ""), "yes" if key in needed else "")
        for key, entry in keys.items()
    ]
    return table(("key", "is", "says", "needed"), rows)


def _is(key: str, entry: dict[str, Any], what: str) -> str:
    if what == "evidence" and key in _WORDS and "enum" in entry:
        return _WORDS[key]
    if "propertyNames" in entry:
        return "engine speed in rpm = reading"
    if "examples" in entry:
        return ", ".join(code(f'"{example}"') for example in entry["examples"])
    if entry.get("type") == "object":
        return "a table"
    return shape(entry)
