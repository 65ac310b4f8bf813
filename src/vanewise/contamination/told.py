"""What the evidence of a report says about what got dirty: findings and events that nobody has to enter twice.

Debris that was found came from somewhere, so a find opens the list of everything it can have come through. A filter
found black through holds nothing back; a line seen clean shields what lies beyond, as long as it is the line that was
on and nothing swept it since. A look that does not settle a wall settles nothing: only 'intact, and the right way
round' does, and a person enters that as a finding.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Final

import msgspec

from vanewise.aircraft.description import AircraftDescription
from vanewise.contamination.events import Setting, setting
from vanewise.contamination.finds import Find, asked, brought, finds, unexplained
from vanewise.contamination.plumbing import FILTER_KINDS, is_gyro, plumbing
from vanewise.contamination.types import BarrierFinding, Change, Finding, FrontFinding, SheddingEvent
from vanewise.diagnosis.types import CheckResult, Evidence, Remark
from vanewise.diagnosis.words import BLOWN, new_pump

_DIRECT_SIGHT: Final = 3
_STOPPED_CHECKS: Final = (("coupling_turn", "locked_or_parted"), ("coupling_look", "stands_still"))
_STOPPED_REMARKS: Final = ("coupling_parted", "pump_shaft_locked")
_BACKWARDS_CHECKS: Final = (("pump_marking_look", "wrong_hand"), ("hose_map_trace", "swapped"))
_CHANGES: Final[Mapping[str, tuple[str, tuple[str, ...]]]] = MappingProxyType(
    {
        "hose_changed": ("hoses were changed", ("hose",)),
        "lines_cleaned_recorded": ("lines were cleaned", ("hose", "tube")),
        "inline_filter_changed": ("the inline filter was changed", ("inline filter",)),
        "intake_filter_changed": ("the intake filter was changed", ("intake filter",)),
        "inlet_filter_changed": ("the pump inlet filter was changed", ("inlet filter",)),
        "regulator_changed": ("the regulator was changed or cleaned", ("regulator",)),
    }
)
"""Events after which a part is another one, or a clean one: the words, and the kinds of element."""


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """What follows for the trace. Empty where the evidence says nothing about dirt."""

    events: tuple[SheddingEvent, ...] = ()
    findings: tuple[Finding, ...] = ()
    remarks: tuple[str, ...] = ()
    changes: tuple[Change, ...] = ()
    """What is another one since, or was run again: a look at it says little of what was before."""
    questions: tuple[str, ...] = ()
    """What to ask, because the evidence speaks of dirt or of a stop and leaves out what the list hangs on."""


def told(description: AircraftDescription, evidence: Evidence) -> Told:
    """Events, findings, changes, questions and remarks that the evidence of a report holds about dirt.

    Events that follow from a find have no height: nobody saw them, and a stop is taken to have been high up.
    """
    at = setting(description, plumbing(description), None)
    found = finds(at, evidence)
    return Told(
        events=(*brought(at, found), *_turned_back(description, evidence)),
        findings=(*_filters(description, evidence), *_lines(description, evidence)),
        remarks=(*_dust_words(at, found), *unexplained(at, found), *new_pump_remarks(evidence), *_blown(evidence)),
        changes=tuple(_changes(evidence)),
        questions=(*asked(at, found), *_stops(at, evidence, found)),
    )


def new_pump_remarks(evidence: Evidence) -> tuple[str, ...]:
    """The warning about a new pump on lines that held an old one's carbon; nothing where they were cleaned."""
    return new_pump({event.kind for event in evidence.events})


def _blown(evidence: Evidence) -> tuple[str, ...]:
    """What a trace by the usual way leaves out, where something says that the pump blew backwards."""
    seen = any((result.check, result.outcome) in _BACKWARDS_CHECKS for result in evidence.checks)
    said = any(remark.symptom == "gauge_below_zero" and remark.present for remark in evidence.remarks)
    return (BLOWN,) if seen or said else ()


def _changes(evidence: Evidence) -> Iterator[Change]:
    for event in evidence.events:
        if event.kind in _CHANGES:
            words, kinds = _CHANGES[event.kind]
            yield Change(words=words, kinds=kinds, when=event.when)
        if event.kind == "pump_changed":
            yield Change(
                words="another pump was fitted and drew air through the lines", when=event.when, runs_through=True
            )


def _stops(at: Setting, evidence: Evidence, found: tuple[Find, ...]) -> Iterator[str]:
    """A pump that was found stopped may have broken: somebody has to say so, and when."""
    stopped = any((result.check, result.outcome) in _STOPPED_CHECKS for result in evidence.checks) or any(
        remark.symptom in _STOPPED_REMARKS and remark.present for remark in evidence.remarks
    )
    if stopped and not any(find.place in at.dry_pumps for find in found):
        named = " or ".join(at.plumbing.the(pump) for pump in at.pumps)
        yield (
            f"The drive stood still or was locked: did {named} stop in running, when and at what height? A pump that "
            "stopped under load has let go debris: enter it as an event."
        )


def _turned_back(description: AircraftDescription, evidence: Evidence) -> Iterator[SheddingEvent]:
    if any(event.kind == "propeller_turned_backwards" for event in evidence.events):
        for pump in description.parts_of("pump"):
            yield SheddingEvent(part=pump.id, kind="turned backwards", id="propeller turned backwards")


def _line(description: AircraftDescription, place: str) -> bool:
    return any(line.id == place for line in description.lines)


_NO_WALL: Final = {
    ("inline_filter_look", "past_seal"): ("inline filter", "breached"),
    ("inline_filter_look", "missing"): ("inline filter", "absent"),
    ("inlet_filter_look", "missing"): ("inlet filter", "absent"),
    ("intake_filter_look", "missing"): ("intake filter", "absent"),
}
"""Outcome of a look -> kind of filter, and what it was found to be."""


def _filters(description: AircraftDescription, evidence: Evidence) -> Iterator[BarrierFinding]:
    """A filter that let it past, or was not there."""
    for result in evidence.checks:
        kind, state = _NO_WALL.get((result.check, result.outcome), ("", ""))
        yield from _found(description, result, kind, state)
    for remark in evidence.remarks:
        if remark.symptom == "filter_missing" and remark.present:
            # Where nobody says which one had no element, any of them may have let dirt past.
            for kind in sorted(FILTER_KINDS):
                yield from _found(description, remark, kind, "absent")


def _found(
    description: AircraftDescription, seen: CheckResult | Remark, kind: str, state: str
) -> Iterator[BarrierFinding]:
    place = seen.place if isinstance(seen, CheckResult) else seen.about
    for part in description.parts_of(kind):
        if place in ("", part.id):
            yield msgspec.convert(
                {"finding": "barrier", "part": part.id, "state": state, "note": seen.note or "as the evidence says"},
                BarrierFinding,
            )


def _lines(description: AircraftDescription, evidence: Evidence) -> Iterator[FrontFinding]:
    """A line that somebody looked into and found clean from its dirty end on."""
    for result in evidence.checks:
        clean = (result.check, result.outcome) == ("borescope_lines", "clean") and result.grade >= _DIRECT_SIGHT
        if clean and _line(description, result.place):
            yield FrontFinding(
                line=result.place,
                clean_from_m=0.0,
                proof=result.note or "borescope and white cloth",
                by=result.who,
                when=result.when,
            )


def _dust_words(at: Setting, found: tuple[Find, ...]) -> Iterator[str]:
    for place in dict.fromkeys(find.place for find in found if find.place and find.sight.about_gyro):
        if is_gyro(at.plumbing.elements[place].kind):
            yield (
                f"Dust was found in {at.plumbing.the(place)}: it came from somewhere. No wall between it and a pump "
                "counts as intact, whatever was seen of it; find what still sheds before another instrument goes in."
            )


def with_told(events: Sequence[SheddingEvent], said: Told) -> tuple[SheddingEvent, ...]:
    """The reported events and what the evidence adds to them, nothing twice."""
    more = (_with_known(events, event) for event in said.events if not any(_covers(own, event) for own in events))
    return (*events, *more)


def _covers(given: SheddingEvent, told: SheddingEvent) -> bool:
    """Whether a reported event says all that the evidence says again: the same part and kind, and no find after it.

    A find made later, or without a date, stays: it reopens what was closed in between.
    """
    if given.part != told.part:
        return False
    if told.kind == "turned backwards" and given.turns_back is not None:
        # Turns back counted beside a stop say more than the bare word that it was turned.
        return True
    if given.kind != told.kind:
        return False
    return not told.because or (given.when is not None and told.known_by is not None and given.when >= told.known_by)


def _with_known(reported: Sequence[SheddingEvent], told: SheddingEvent) -> SheddingEvent:
    """An event that a find points to, with the height, reading and the rest of the one reported, where one was."""
    same = [event for event in reported if (event.part, event.kind) == (told.part, told.kind)]
    if not same or not told.because:
        return told
    return msgspec.structs.replace(
        same[-1],
        id=told.id,
        because=told.because,
        found_here=told.found_here,
        known_by=told.known_by,
        when=None,
        turns_back=None,
    )
