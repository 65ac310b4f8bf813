"""The read model of the due list: which rows are behind their journal, and the rows by what comes first."""

from __future__ import annotations

from collections.abc import Iterator

from vanewise.errors import Problem
from vanewise.store.journal import NotKept

FAR: str = "9999-12-31"
"""For an aircraft with nothing that has a day."""


def behind() -> Iterator[str]:
    """Aircraft whose row is missing or stands at another head than their journal."""
    from django.db.models import F, OuterRef, Q, Subquery

    from vanewise.store.models import AircraftRow, DueRow

    head = Subquery(DueRow.objects.filter(aircraft=OuterRef("aircraft")).values("head")[:1])
    stale = AircraftRow.objects.annotate(due_head=head).filter(Q(due_head=None) | ~Q(due_head=F("head")))
    yield from stale.order_by("aircraft").values_list("aircraft", flat=True).iterator()


def write(aircraft: str, head: str, next_on: str, items: str) -> None:
    """Put a row in place. Raises NotKept when the database does not take it."""
    from django.db import Error

    from vanewise.store.models import DueRow

    try:
        DueRow.objects.update_or_create(
            aircraft=aircraft, defaults={"head": head, "next_on": next_on or FAR, "items": items}
        )
    except Error as error:
        raise NotKept(
            Problem(
                where="due list",
                expected="its read model written",
                found=f"the database said: {error}",
                next_step="free disk space; the journal is untouched and the list is made from it anew",
            )
        ) from error


def read(aircraft: str) -> tuple[str, str] | None:
    """(head, items) of one aircraft's row, or None."""
    from vanewise.store.models import DueRow

    row: tuple[str, str] | None = DueRow.objects.filter(aircraft=aircraft).values_list("head", "items").first()
    return row


def first(start: int, count: int) -> tuple[tuple[str, str, str, str], ...]:
    """(id, name, first day, items) of ``count`` aircraft from ``start`` on, by what comes first."""
    from vanewise.store.models import AircraftRow, DueRow

    ordered = DueRow.objects.order_by("next_on", "aircraft").values_list("aircraft", "next_on", "items")
    rows = list(ordered[start : start + count])
    names = dict(AircraftRow.objects.filter(aircraft__in=[row[0] for row in rows]).values_list("aircraft", "name"))
    return tuple((key, names.get(key, key), day, items) for key, day, items in rows)


def drop_orphans() -> None:
    """Rows of aircraft that are no longer in this home (after a restore) go."""
    from vanewise.store.models import AircraftRow, DueRow

    DueRow.objects.exclude(aircraft__in=AircraftRow.objects.values("aircraft")).delete()
