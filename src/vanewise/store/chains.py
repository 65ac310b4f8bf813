"""Whole chains in and out of a home: the links of one journal, and a chain that comes from elsewhere."""

from __future__ import annotations

from collections.abc import Sequence

from vanewise.errors import InputError, Problem, wrong
from vanewise.record.chain import Link, verify
from vanewise.record.history import entries as entries_of
from vanewise.store.journal import CORRECTION, JournalEntry, NotKept, value_of, verify_chain, write_row


def links(aircraft: str) -> tuple[Link, ...]:
    """The chain of one journal, with its texts as they were written."""
    from vanewise.store.models import Entry

    rows = Entry.objects.filter(aircraft=aircraft).order_by("position").values_list("text", "prev_digest", "digest")
    return tuple(Link(text=text, prev_digest=before, digest=digest) for text, before, digest in rows.iterator())


def checked(aircraft: str) -> tuple[tuple[JournalEntry, ...], tuple[Problem, ...]]:
    """The entries of one journal, and every place where its chain does not hold."""
    kept = links(aircraft)
    found = tuple(
        value_of(aircraft, number, link.text, link.prev_digest, link.digest)
        for number, link in enumerate(kept, start=1)
    )
    return found, verify(kept, name=f"journal of {aircraft}")


def of_kinds(*kinds: str) -> tuple[JournalEntry, ...]:
    """Standing entries of these kinds over all aircraft of the home, corrections applied, by aircraft and in order."""
    from vanewise.store.journal import standing
    from vanewise.store.models import Entry

    rows = Entry.objects.filter(kind__in=[*kinds, CORRECTION]).order_by("aircraft", "position")
    found = [value_of(r.aircraft, r.position, r.text, r.prev_digest, r.digest) for r in rows.iterator()]
    wanted = [e for e in found if e.kind != CORRECTION or str(e.content.get("kind", "")) in kinds]
    return standing(tuple(wanted))


def take_in(chain: Sequence[Link]) -> tuple[str, int]:
    """Take a chain from elsewhere into this home: its id and how many entries were new.

    Where the aircraft is known already, the chain must go on from what is here; then only the rest is added. Raises
    InputError for a chain that does not hold, is empty, or parts from the one here, NotKept when it cannot be written.
    """
    from django.db import Error, transaction

    from vanewise.store.models import Entry

    if not chain:
        raise wrong("history", "at least one entry", "none", "export it again from where it came from")
    broken = verify(chain, name="history")
    if broken:
        raise InputError(broken)
    read = entries_of(chain)
    names = {entry.aircraft for entry in read}
    if len(names) > 1:
        raise wrong("history", "one aircraft", f"{len(names)} of them", "export each aircraft by itself")
    aircraft = read[0].aircraft
    here = links(aircraft)
    shared = min(len(here), len(chain))
    if [link.digest for link in here[:shared]] != [link.digest for link in chain[:shared]]:
        at = next(n for n in range(shared) if here[n].digest != chain[n].digest) + 1
        raise wrong(
            f"history of {aircraft}, entry {at}",
            "the same entries as are kept here, and perhaps more",
            "another entry: the two histories part there",
            "keep both; compare their heads with the paper record before anything else",
        )
    try:
        with transaction.atomic():
            for number, (entry, link) in enumerate(zip(read, chain, strict=True), start=1):
                if number > len(here):
                    Entry.objects.create(
                        aircraft=aircraft,
                        position=number,
                        kind=entry.kind,
                        schema_version=entry.schema,
                        text=link.text,
                        prev_digest=link.prev_digest,
                        digest=link.digest,
                        author=entry.author,
                        at=entry.at,
                    )
            _, row, problems = verify_chain(aircraft)
            if problems or row is None:
                raise InputError(problems)
            write_row(aircraft, row)
    except Error as error:
        raise NotKept(
            Problem(
                where="history",
                expected="every entry written to disk",
                found=f"the database said: {error}",
                next_step="nothing of it was kept: free disk space, then import it again",
            )
        ) from error
    return aircraft, max(0, len(chain) - len(here))
