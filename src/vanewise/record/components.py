"""The card of one component across the aircraft it was fitted to: time since new and since overhaul, stay by stay.

Time comes from the totals of the aircraft it sat in, in hundredths of an hour. Where a total was not written the time
since new is not known from there on, and the card says so instead of guessing.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from typing import Literal

import msgspec

from vanewise.errors import Problem
from vanewise.watch.meters import text


class ComponentEvent(msgspec.Struct, frozen=True, kw_only=True):
    """Something that happened to a component. ``total_centihours``: the aircraft's total then (fitted, removed)."""

    serial: str
    kind: Literal["made", "fitted", "removed", "overhauled", "scrapped"]
    date: datetime.date
    part: str = ""
    aircraft: str = ""
    total_centihours: int | None = None
    since_new_centihours: int | None = None
    """Time since new as its document states it, where it does (fitted or overhauled)."""
    note: str = ""


class Stay(msgspec.Struct, frozen=True, kw_only=True):
    """One stay in one aircraft; ``until`` None while it lasts."""

    aircraft: str
    since: datetime.date
    until: datetime.date | None
    centihours: int | None
    why_off: str = ""


class ComponentCard(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of a component now. Times None where they cannot be known."""

    serial: str
    part: str
    state: Literal["fitted", "on the shelf", "scrapped", "unknown"]
    aircraft: str
    since_new_centihours: int | None
    since_overhaul_centihours: int | None
    stays: tuple[Stay, ...]
    problems: tuple[Problem, ...]


def component_card(
    serial: str, events: Sequence[ComponentEvent], totals_now: Mapping[str, int] | None = None
) -> ComponentCard:
    """The card of ``serial`` from all its events. ``totals_now``: present totals of aircraft, for a stay that lasts."""
    own = sorted((e for e in events if e.serial == serial), key=lambda e: (e.date, _ORDER[e.kind]))
    card = _Card(serial)
    for event in own:
        card.take(event)
    return card.closed(totals_now or {})


_ORDER = {"made": 0, "removed": 1, "overhauled": 2, "fitted": 3, "scrapped": 4}
"""Order within one day: off, overhauled, on again."""


class _Card:
    """Running state while the events are read in order."""

    def __init__(self, serial: str) -> None:
        self.serial = serial
        self.part = ""
        self.since_new: int | None = None
        self.since_overhaul: int | None = None
        self.fitted: ComponentEvent | None = None
        self.scrapped = False
        self.stays: list[Stay] = []
        self.problems: list[Problem] = []

    def take(self, event: ComponentEvent) -> None:
        self.part = event.part or self.part
        if event.kind == "made":
            self.since_new = 0
        elif event.kind == "fitted":
            self._fit(event)
        elif event.kind == "removed":
            self._remove(event)
        elif event.kind == "overhauled":
            self.since_overhaul = 0
            self._state(event)
        else:
            self.scrapped = True

    def _state(self, event: ComponentEvent) -> None:
        """Take the time since new that a document states; say where it contradicts what was counted."""
        stated = event.since_new_centihours
        if stated is None:
            return
        if self.since_new is not None and stated != self.since_new:
            self._problem(
                event, f"{text(self.since_new)} since new, as counted here", f"{text(stated)} on its document"
            )
        self.since_new = stated

    def _fit(self, event: ComponentEvent) -> None:
        if self.fitted is not None:
            self._problem(event, "a component that is off", f"still fitted to {self.fitted.aircraft}")
            self._end(event.date, None, "fitted elsewhere")
        if self.scrapped:
            self._problem(event, "a component that was not scrapped", "scrapped before")
        self._state(event)
        self.fitted = event

    def _remove(self, event: ComponentEvent) -> None:
        if self.fitted is None:
            self._problem(event, "a component that is fitted", "no record of fitting it")
            self.since_new = self.since_overhaul = None
            return
        if event.aircraft and event.aircraft != self.fitted.aircraft:
            self._problem(event, f"removal from {self.fitted.aircraft}", f"removal from {event.aircraft}")
        self._end(event.date, event.total_centihours, event.note)

    def _end(self, until: datetime.date | None, total: int | None, why: str) -> None:
        assert self.fitted is not None
        spent = self._spent(total)
        self.stays.append(
            Stay(aircraft=self.fitted.aircraft, since=self.fitted.date, until=until, centihours=spent, why_off=why)
        )
        self.since_new = None if self.since_new is None or spent is None else self.since_new + spent
        self.since_overhaul = None if self.since_overhaul is None or spent is None else self.since_overhaul + spent
        self.fitted = None

    def _spent(self, total: int | None) -> int | None:
        assert self.fitted is not None
        start = self.fitted.total_centihours
        if start is None or total is None:
            return None
        if total < start:
            self._problem(self.fitted, f"a total of at least {text(start)} later on", text(total))
            return None
        return total - start

    def _problem(self, event: ComponentEvent, expected: str, found: str) -> None:
        self.problems.append(
            Problem(
                where=f"{self.part or 'component'} {self.serial}, {event.kind} {event.date}",
                expected=expected,
                found=found,
                next_step="check serial, date and aircraft on the tag or document, and enter a correction",
            )
        )

    def closed(self, totals_now: Mapping[str, int]) -> ComponentCard:
        """The card as it stands, with a stay that still lasts."""
        aircraft = self.fitted.aircraft if self.fitted is not None else ""
        state: Literal["fitted", "on the shelf", "scrapped", "unknown"] = "unknown"
        if self.scrapped:
            state = "scrapped"
        elif self.fitted is not None:
            state = "fitted"
        elif self.stays or self.since_new is not None or self.since_overhaul is not None:
            state = "on the shelf"
        if self.fitted is not None:
            self._end(None, totals_now.get(aircraft), "")
        return ComponentCard(
            serial=self.serial,
            part=self.part,
            state=state,
            aircraft=aircraft if state == "fitted" else "",
            since_new_centihours=self.since_new,
            since_overhaul_centihours=self.since_overhaul,
            stays=tuple(self.stays),
            problems=tuple(self.problems),
        )
