"""Which looks stand for which event: an intact wall or a clean line proves nothing where it is another one since.

A new hose says nothing of what went through the old one, and a line through which air was drawn again may have been
swept clean, unless traces are still there and end inside it. A wall or an end of traces on the way to a place where
debris was seen did not hold. In doubt a look does not stand, and the reason is kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from vanewise.contamination.events import Setting, reached, tree_of
from vanewise.contamination.plumbing import DIRECTED_BARRIERS, Element
from vanewise.contamination.spread import Cuts
from vanewise.contamination.types import Change, Finding, FrontFinding, SheddingEvent

Beyond = dict[str, str]
"""Element on the way to a place where debris was seen -> that place."""


@dataclass(frozen=True, slots=True)
class Standing:
    """What cuts, event by event, and why the other looks do not."""

    cuts: tuple[Cuts, ...]
    """One for each event, in their order."""
    doubts: tuple[tuple[Finding, str, bool], ...]
    """A look that does not stand for some event, the reason, and whether an answer could make it stand."""
    beyond: Beyond

    def reasons(self) -> dict[str, str]:
        """Element -> why what was seen of it does not count, the first reason."""
        said: dict[str, str] = {}
        for finding, why, _ in self.doubts:
            said.setdefault(element_of(finding), why)
        return said


def element_of(finding: Finding) -> str:
    """The id of the wall or line a finding is about."""
    return finding.line if isinstance(finding, FrontFinding) else finding.part


def standing(
    at: Setting, events: Sequence[SheddingEvent], findings: Sequence[Finding], changes: Sequence[Change]
) -> Standing:
    """What the findings cut in each event. Anything but 'intact' at a barrier undoes the rest said of it."""
    beyond = _beyond(at, events)
    doubted = {element_of(finding) for finding in findings if not _cuts(at, finding)}
    doubts: list[tuple[Finding, str, bool]] = []
    cuts = []
    for event in events:
        barriers: set[str] = set()
        fronts: set[str] = set()
        for finding in findings:
            if element_of(finding) in doubted and not isinstance(finding, FrontFinding):
                continue
            why, answerable = _doubt(at, finding, event, events, changes, beyond)
            if why:
                doubts.append((finding, why, answerable))
            else:
                (fronts if isinstance(finding, FrontFinding) else barriers).add(element_of(finding))
        cuts.append(Cuts(barriers=frozenset(barriers), fronts=frozenset(fronts)))
    return Standing(cuts=tuple(cuts), doubts=tuple(dict.fromkeys(doubts)), beyond=beyond)


def could_stand(element: Element, event: SheddingEvent, changes: Sequence[Change], beyond: Beyond) -> bool:
    """Whether a look made at that element now could cut the event's way."""
    return element.id not in beyond and not any(
        _about(change, element, may_be_swept=False) and not _before(change, event) for change in changes
    )


def _cuts(at: Setting, finding: Finding) -> bool:
    """Whether a finding says of its element what can cut at all."""
    if isinstance(finding, FrontFinding):
        return True
    directed = at.plumbing.elements[finding.part].kind in DIRECTED_BARRIERS
    right_way = finding.right_way_round is True if directed else finding.right_way_round is not False
    return finding.state == "intact" and right_way


def _doubt(
    at: Setting,
    finding: Finding,
    event: SheddingEvent,
    events: Sequence[SheddingEvent],
    changes: Sequence[Change],
    beyond: Beyond,
) -> tuple[str, bool]:
    """Why a look does not stand for an event, and whether an answer could change that; empty when it stands."""
    element = at.plumbing.elements[element_of(finding)]
    place = beyond.get(element.id)
    ends_inside = isinstance(finding, FrontFinding) and finding.clean_from_m > 0.0
    # Traces that are still there and end inside were not swept away: air takes the near end along as well.
    may_be_swept = isinstance(finding, FrontFinding) and not ends_inside
    if place is not None and not (place == element.id and ends_inside):
        where = "in it" if place == element.id else f"beyond it, at {at.plumbing.the(place)}"
        return f"debris was found {where}", False
    if finding.as_it_was is False:
        return "it is not the one that was on at the time", False
    if event.when is not None and finding.when is not None and finding.when < event.when:
        return f"it was looked at on {finding.when}, before {_named(event)}", False
    why, answerable = _changed(element, may_be_swept, finding, event, changes)
    if why:
        return why, answerable
    if may_be_swept and finding.as_it_was is None:
        return _swept(event, finding, events), True
    return "", False


def _changed(
    element: Element, may_be_swept: bool, finding: Finding, event: SheddingEvent, changes: Sequence[Change]
) -> tuple[str, bool]:
    """What was changed between the event and the look, for sure or for all anybody knows."""
    mine = [change for change in changes if _about(change, element, may_be_swept)]
    for change in mine:
        if not change.runs_through and _surely_between(change, event, finding):
            return f"{_dated(change)}, between {_named(event)} and the look", False
    for change in mine:
        if finding.as_it_was is None and not _before(change, event) and not _after(change, finding):
            sure = _surely_between(change, event, finding)
            doubt = f"between {_named(event)} and the look" if sure else "and the look may have come after that"
            return f"{_dated(change)}, {doubt}", True
    return "", False


def _swept(event: SheddingEvent, finding: Finding, events: Sequence[SheddingEvent]) -> str:
    """Why air may have cleaned a line after the event; empty when nothing says so."""
    if event.kind == "stop" and event.other_source_used:
        return "another source drew air through the lines after the stop and may have swept it clean"
    if event.when is None or finding.when is None:
        return ""
    for other in events:
        run = other.when if other.kind in ("running", "cross-feed") else None
        if run is not None and event.when < run <= finding.when:
            return f"it was run again by {run} and may have been swept clean"
    return ""


def _about(change: Change, element: Element, may_be_swept: bool) -> bool:
    """Whether a change bears on what is seen at an element. Only a line clean all along can have been swept."""
    if change.runs_through:
        return may_be_swept
    return change.part == element.id or (not change.part and element.kind in change.kinds)


def _surely_between(change: Change, event: SheddingEvent, finding: Finding) -> bool:
    if change.when is None or event.when is None or finding.when is None:
        return False
    return event.when < change.when < finding.when


def _before(change: Change, event: SheddingEvent) -> bool:
    """Whether it was surely done before the event, and so is part of what the event found."""
    return change.when is not None and event.when is not None and change.when < event.when


def _after(change: Change, finding: Finding) -> bool:
    return change.when is not None and finding.when is not None and change.when > finding.when


def _dated(change: Change) -> str:
    return f"{change.words} on {change.when}" if change.when else f"{change.words}, no date known"


def _named(event: SheddingEvent) -> str:
    return f"the event of {event.when}" if event.when else "the event"


def _beyond(at: Setting, events: Sequence[SheddingEvent]) -> Beyond:
    """Every element on the way from a source to a place where debris was seen, that place included."""
    places = [event.part for event in events if event.found_here and event.part not in at.dry_pumps]
    held: Beyond = {place: place for place in places}
    if not places:
        return held
    for event in events:
        if event.found_here and event.part in places:
            continue
        walks = [reached(at, event, among=events)]
        if at.description.duty == "suction" and event.part in at.dry_pumps:
            # Further than the volumes say: debris that was seen there got there.
            walks.append(dict(tree_of(at, event.part).visits))
        for visits in walks:
            for place in places:
                for step in visits[place].path[1:-1] if place in visits else ():
                    held.setdefault(step, place)
    return held
