"""The digest chain: each entry's digest covers its own text and the digest before it.

A chain, one for each aircraft, shows whether anything was changed, dropped, added or put in another order. It does not
show who wrote it: anyone with the file could write it anew from the start. That is why the head digest is printed on
the paper record, so that the paper anchors the file.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from typing import Final

import msgspec

from vanewise.errors import Problem

FIRST: Final = ""
"""The digest before the first entry."""
SHOWN: Final = 12
"""Characters of a digest that people read; the paper record prints all 64."""


class Link(msgspec.Struct, frozen=True, kw_only=True):
    """One entry of a chain as kept: its canonical text, the digest before it, and its own."""

    text: str
    prev_digest: str
    digest: str


def entry_digest(prev_digest: str, text: str) -> str:
    """SHA-256, in hexadecimal, over the digest before and the canonical text, each ended so that they cannot merge."""
    return hashlib.sha256(f"{prev_digest}\n{text}\n".encode()).hexdigest()


def chain(texts: Iterable[str], prev_digest: str = FIRST) -> tuple[Link, ...]:
    """Links for canonical texts in order, after ``prev_digest``."""
    links = []
    for text in texts:
        digest = entry_digest(prev_digest, text)
        links.append(Link(text=text, prev_digest=prev_digest, digest=digest))
        prev_digest = digest
    return tuple(links)


def verify(links: Sequence[Link], head: str | None = None, name: str = "record") -> tuple[Problem, ...]:
    """Every place where a chain does not hold, in order; nothing when it does.

    ``head`` is the last digest as known from elsewhere (the paper record): entries dropped from the end show only
    against it.
    """
    problems = []
    previous = FIRST
    for number, link in enumerate(links, start=1):
        if link.prev_digest != previous:
            problems.append(
                _broken(name, number, f"the digest before it to be {_short(previous)}", _short(link.prev_digest))
            )
        if entry_digest(link.prev_digest, link.text) != link.digest:
            problems.append(_broken(name, number, f"text that gives digest {_short(link.digest)}", "other text"))
        previous = link.digest
    if head is not None and previous != head:
        problems.append(_broken(name, len(links), f"the last digest to be {_short(head)}", _short(previous)))
    return tuple(problems)


def _short(digest: str) -> str:
    return digest[:SHOWN] or "nothing"


def _broken(name: str, number: int, expected: str, found: str) -> Problem:
    return Problem(
        where=f"{name}, entry {number}",
        expected=expected,
        found=found,
        next_step="keep this file as it is and compare it with the paper record and the last backup",
    )
