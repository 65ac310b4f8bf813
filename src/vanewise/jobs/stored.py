"""Answers kept in the journal: as JSON text, with the description and the program version they were computed with.

They are kept as shown. When laws or modes change later, an old answer stays what it was; a page may offer to compute it
anew, and that is a new entry.
"""

from __future__ import annotations

from typing import Any, TypeVar

import msgspec

from vanewise import __version__
from vanewise.aircraft.description import AircraftDescription
from vanewise.errors import wrong
from vanewise.store.journal import JournalEntry

T = TypeVar("T")


def stamped(answer: msgspec.Struct, description: AircraftDescription, **more: Any) -> dict[str, Any]:
    """The content of an entry that keeps ``answer``."""
    from vanewise.aircraft.description import digest

    return {
        **more,
        "answer": msgspec.json.encode(answer, order="sorted").decode(),
        "description_digest": digest(description),
        "program": __version__,
    }


def answer_of(entry: JournalEntry, kind: type[T]) -> T:
    """The kept answer as a value. Raises InputError when this version cannot read it."""
    try:
        return msgspec.json.decode(str(entry.content["answer"]), type=kind)
    except (msgspec.DecodeError, KeyError) as error:
        raise wrong(
            f"{entry.kind} of {entry.at}",
            "an answer of this version or an earlier one",
            f"text that cannot be read ({error})",
            "compute it anew from the evidence, which is kept beside it",
        ) from error
