"""Keep an aircraft: described by a file, a layout or the ten questions, and described anew when it changes."""

from __future__ import annotations

import re
import secrets
import unicodedata
from collections.abc import Mapping

from vanewise import pipeline
from vanewise.aircraft.answers import start_from_answers
from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.writing import write_description
from vanewise.jobs import kinds
from vanewise.jobs.casebook import now, open_book
from vanewise.store import journal
from vanewise.store.journal import JournalEntry


def keep(toml: str, *, author: str, why: str = "first description", valid_from: str = "", at: str = "") -> str:
    """Keep a new aircraft described by ``toml`` and return its id. Raises InputError with every problem of the text."""
    description = pipeline.describe(toml, "description")
    aircraft = new_id(description.name)
    _describe(aircraft, toml, description, author, why, valid_from, journal.NO_HEAD, at)
    return aircraft


def describe_again(
    aircraft: str, toml: str, *, author: str, why: str, expected_head: str, valid_from: str = "", at: str = ""
) -> JournalEntry:
    """Keep a new description of an aircraft: what was found to differ, or was changed, and from when it holds.

    Raises InputError with every problem of the text, and HeadMoved when someone else described it meanwhile.
    """
    open_book(aircraft)
    description = pipeline.describe(toml, "description")
    return _describe(aircraft, toml, description, author, why, valid_from, expected_head, at)


def _describe(
    aircraft: str,
    toml: str,
    description: AircraftDescription,
    author: str,
    why: str,
    valid_from: str,
    expected_head: str,
    at: str,
) -> JournalEntry:
    content = {
        "name": description.name,
        "toml": toml.replace("\r\n", "\n"),
        "why": why,
        "valid_from": valid_from or (description.valid_from.isoformat() if description.valid_from else ""),
        "invented": description.invented,
    }
    return journal.append(
        aircraft,
        kinds.DESCRIPTION,
        content,
        author=author,
        at=at or now(),
        expected_head=expected_head,
        clashes=lambda entry: entry.kind in (kinds.DESCRIPTION, journal.CORRECTION),
    )


def new_id(name: str) -> str:
    """A short id for an address: letters and digits of the name, and four signs that make it this one's own."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:32].strip("-") or "aircraft"
    return f"{stem}-{secrets.token_hex(2)}"


def keep_from_answers(answers: Mapping[str, object], name: str, *, author: str, at: str = "") -> str:
    """Keep a new aircraft from the ten answers and return its id.

    What was told about the lamp and the last work is no part of an aircraft; it is kept beside, as evidence. Raises
    NotCovered for what is not modelled, InputError with every answer that cannot be read.
    """
    start = start_from_answers(answers, name)
    aircraft = keep(write_description(start.description), author=author, why="from the ten questions", at=at)
    beside: list[tuple[str, dict[str, str | bool]]] = []
    if start.lamp_out_rpm is not None:
        beside.append((kinds.LAMP, {"rpm": f"{start.lamp_out_rpm:.0f} rpm", "direction": "rising"}))
    if start.last_work:
        beside.append((kinds.NOTE, {"text": f"last work: {start.last_work}"}))
    for kind, item in beside:
        content = {"report": "", "item": item}
        journal.append(aircraft, kind, content, author=author, at=at or now(), expected_head=journal.ANY_HEAD)
    return aircraft
