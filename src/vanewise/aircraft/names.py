"""Names in a description: what an id may look like, which are taken, and the nearest known one to a slip."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from typing import Final

SURROUNDINGS: Final = ("cabin", "engine bay")

#: Words that begin a path of their own (``gauge.band_low``, ``source.manifold.out``) and so cannot name a part.
RESERVED: Final = frozenset({"cabin", "engine", "field", "gauge", "lamp", "meters", "source", "unknown"})

_ID: Final = re.compile(r"[a-z][a-z0-9_]{0,59}")


def is_id(text: str) -> bool:
    """True for a name of lower case letters, digits and underscores that begins with a letter."""
    return _ID.fullmatch(text) is not None


def nearest(slip: str, known: Iterable[str], otherwise: str = "choose one of these") -> str:
    """What to do next about a name that is not known: ``write "bore" if that is meant``, or ``otherwise``."""
    near = nearest_name(slip, known)
    return f'write "{near}" if that is meant' if near else otherwise


def nearest_name(slip: str, known: Iterable[str]) -> str:
    """The known name nearest to ``slip``, or an empty text when none is near."""
    found = difflib.get_close_matches(slip, list(known), n=1, cutoff=0.55)
    return found[0] if found else ""
