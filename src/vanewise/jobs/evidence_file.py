"""An evidence file taken over into the journal: each reading, remark, event and check as an entry of its own."""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

from vanewise import pipeline
from vanewise.jobs import kinds

Items = list[tuple[str, dict[str, Any]]]
_LISTS = {
    "readings": kinds.READING,
    "lamp": kinds.LAMP,
    "remarks": kinds.REMARK,
    "events": kinds.EVENT,
    "checks": kinds.CHECK,
}


def items_of(text: str, path: str) -> tuple[Items, Items, dict[str, str]]:
    """Items of the report, sound items (the aircraft's baseline), and the conditions of the report, in people's words.

    The evidence file's own parser reads the text first and raises InputError with every problem of it.
    """
    pipeline.observe(text, path)
    data = tomllib.loads(text)
    every: Items = [(kind, _plain(item)) for key, kind in _LISTS.items() for item in data.get(key, ())]
    every += [(kinds.READING, item) for sweep in data.get("sweeps", ()) for item in _points(sweep)]
    every += [(kinds.NOTE, {"text": note}) for note in data.get("notes", ())]
    report = [entry for entry in every if not entry[1].get("sound")]
    sound = [entry for entry in every if entry[1].get("sound")]
    conditions = {key: str(value) for key, value in data.get("conditions", {}).items()}
    return report, sound, conditions


def _plain(item: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value.isoformat() if isinstance(value, datetime.date) else value for key, value in item.items()}


def _points(sweep: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """The readings of a sweep, one by one."""
    shared = {key: value for key, value in _plain(sweep).items() if key not in ("id", "rpm", "reading", "unit")}
    for rpm, reading in zip(sweep["rpm"], sweep["reading"], strict=True):
        point = {"reading": f"{reading} {sweep.get('unit', 'inHg')}", "rpm": f"{rpm} rpm"}
        yield {"id": f"{sweep.get('id', 'sweep')} {rpm}", **point, **shared}
