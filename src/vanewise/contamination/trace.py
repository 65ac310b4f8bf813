"""From events and findings to the scope: what to clean, open, replace or leave, and which look would shorten it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import msgspec

from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.remarks import remarks as description_remarks
from vanewise.contamination import words
from vanewise.contamination.amounts import amounts
from vanewise.contamination.events import (
    Setting,
    ambient_and_suction,
    at_most_m,
    carried_on,
    estimated,
    followed,
    pump_of,
    reach,
    reached,
    setting,
    swept_per_turn,
    tree_of,
)
from vanewise.contamination.plumbing import BARRIER_KINDS, DIRECTED_BARRIERS, plumbing
from vanewise.contamination.reach import swept_length
from vanewise.contamination.spread import NO_CUTS, Cuts, Visit
from vanewise.contamination.types import (
    BarrierFinding,
    Finding,
    FrontFinding,
    Look,
    Reach,
    Scope,
    SheddingEvent,
    Suspect,
)
from vanewise.diagnosis.words import OLD_LINES
from vanewise.errors import InputError, Problem, wrong
from vanewise.network.types import Solved
from vanewise.quantities import shown

_MOST_LOOKS: Final = 8
_MOST_CLEARS: Final = 3
_Hits = Mapping[str, tuple[tuple[SheddingEvent, Visit], ...]]


def trace(
    description: AircraftDescription,
    solution: Solved | None,
    *events: SheddingEvent,
    findings: Sequence[Finding] = (),
) -> Scope:
    """What debris from ``events`` can have reached in this aircraft, given what was found at its walls.

    ``solution`` gives the running directions (and the suction at a stop where no reading is given); without it they
    come from the plumbing alone. Raises :class:`InputError` for a part that is not there, and for a finding at
    something that is no barrier.
    """
    if not events:
        raise wrong("events", "at least one event that shed debris", "none", "say which part shed, and when")
    at = setting(description, plumbing(description), solution)
    found = tuple(findings)
    _check_findings(at, found)
    cuts = cuts_of(at, found)
    traced = followed(at, events)
    hits = _hits(at, traced, cuts)
    reaches = tuple(figure for event in events if (figure := reach(at, event, cuts)) is not None)
    upper = at_most_m(at, traced, reaches)
    looks = _looks(at, traced, cuts, hits)
    longest = max(reaches, key=lambda figure: figure.length_m, default=None)
    return Scope(
        source=events[0].part,
        events=tuple(events),
        suspects=_suspects(at, traced, hits, found, looks, cuts),
        shielded=_shielded(at, traced, hits, cuts, upper),
        reach_upper_m=upper,
        reach_estimate_m=None if longest is None else longest.estimate_m,
        questions=words.questions(at, tuple(events)),
        remarks=_remarks(at, tuple(events), hits, reaches, found),
        reaches=reaches,
        looks=looks[:_MOST_LOOKS],
        findings=found,
        labels={element.id: element.label for element in at.plumbing.elements.values()},
    )


def _check_findings(at: Setting, findings: tuple[Finding, ...]) -> None:
    problems = []
    for finding in findings:
        named = finding.part if isinstance(finding, BarrierFinding) else finding.line
        element = at.plumbing.elements.get(named)
        wanted = "a filter, check valve or regulator" if isinstance(finding, BarrierFinding) else "a hose or tube"
        fits = element is not None and (
            element.kind in BARRIER_KINDS | {"regulator"} if isinstance(finding, BarrierFinding) else element.is_line
        )
        if not fits:
            problems.append(
                Problem(
                    where=f'finding at "{named}"',
                    expected=f"{wanted} of this aircraft",
                    found="no such part" if element is None else element.kind,
                    next_step="name the barrier or line that was looked at",
                )
            )
    if problems:
        raise InputError(problems)


def cuts_of(at: Setting, findings: Sequence[Finding]) -> Cuts:
    """What the findings cut. Anything but 'intact' at a barrier undoes the rest said of it: order cannot matter."""
    intact: set[str] = set()
    doubted: set[str] = set()
    fronts: set[str] = set()
    for finding in findings:
        if isinstance(finding, FrontFinding):
            fronts.add(finding.line)
            continue
        directed = at.plumbing.elements[finding.part].kind in DIRECTED_BARRIERS
        right_way = finding.right_way_round is True if directed else finding.right_way_round is not False
        (intact if finding.state == "intact" and right_way else doubted).add(finding.part)
    return Cuts(barriers=frozenset(intact - doubted), fronts=frozenset(fronts))


def _hits(at: Setting, events: Sequence[SheddingEvent], cuts: Cuts) -> _Hits:
    """Per element, the events that reach it. What an earlier event left is carried on by later running."""
    hits: dict[str, list[tuple[SheddingEvent, Visit]]] = {}
    for event in events:
        for element_id, visit in reached(at, event, cuts, events).items():
            hits.setdefault(element_id, []).append((event, visit))
    for event in events:
        if event.kind not in ("running", "cross-feed"):
            continue
        for earlier in events:
            if earlier is event or (earlier.when and event.when and earlier.when > event.when):
                continue
            # A wall seen intact is dirty on one side only, as is a line in which the traces end: no start for more.
            left = reached(at, earlier, cuts, events)
            for start in sorted(set(left) - cuts.barriers - cuts.fronts):
                _carry_on(at, event, (earlier, left[start]), cuts, hits)
    return {element_id: tuple(found) for element_id, found in hits.items()}


def _carry_on(
    at: Setting,
    event: SheddingEvent,
    left: tuple[SheddingEvent, Visit],
    cuts: Cuts,
    hits: dict[str, list[tuple[SheddingEvent, Visit]]],
) -> None:
    """Add what the flow of ``event`` carried on from one element that an earlier event had reached."""
    earlier, lay = left
    start = lay.path[-1]
    moved = SheddingEvent(part=start, kind=event.kind, altitude_m=event.altitude_m, id=event.id or earlier.id)
    for element_id, visit in carried_on(at, event, start, cuts).items():
        # What lies in a part had its chance at the dead ends beside it when it came; flow does not turn into those.
        beside = at.plumbing.elements[element_id].is_tap and len(visit.path) == 2
        if element_id not in hits and not beside:
            hits[element_id] = [(moved, _further(at, lay.path, visit))]


def _further(at: Setting, before: tuple[str, ...], visit: Visit) -> Visit:
    """The whole path from where the debris came from, without the way there and back where it turns on itself."""
    join = max(number for number, step in enumerate(visit.path) if step in before)
    path = (*before[: before.index(visit.path[join])], *visit.path[join:])
    return Visit(path=path, distance_m=sum(at.plumbing.elements[step].length_m for step in path[:-1]))


def _nearest(hit: tuple[SheddingEvent, Visit]) -> tuple[float, int, bool, str, str]:
    """The shortest way first; of two alike what is known to have been before what may have been."""
    event, visit = hit
    return visit.distance_m, len(visit.path), event.kind == "cross-feed", event.kind, event.id


def _suspects(
    at: Setting,
    events: Sequence[SheddingEvent],
    hits: _Hits,
    findings: tuple[Finding, ...],
    looks: tuple[Look, ...],
    cuts: Cuts,
) -> tuple[Suspect, ...]:
    sources = {event.part for event in events}
    shares = _shares(at, events, findings)
    middle: set[str] = set()
    for event in {id(e): e for found in hits.values() for e, _ in found}.values():
        if event.kind == "stop" and at.description.duty == "suction":
            middle |= estimated(at, event, cuts)
        else:
            middle |= {element for element, found in hits.items() if any(e is event for e, _ in found)}
    suspects = []
    for element_id, found in hits.items():
        element = at.plumbing.elements[element_id]
        event, visit = min(found, key=_nearest)
        ways, proofs = words.closings(element, is_source=element_id in sources)
        suspects.append(
            Suspect(
                id=element_id,
                label=element.label,
                event=event.kind,
                path=visit.path,
                reason=words.reason(at, event, element, visit, findings),
                distance_m=visit.distance_m,
                clears=tuple(look.what for look in looks if element_id in look.clears)[:_MOST_CLEARS],
                proof=proofs,
                kind=element.kind,
                closures=ways,
                only_upper_bound=element_id not in middle,
                share=shares.get(element_id),
                events=tuple(dict.fromkeys(e.id or f"{e.kind} at {e.part}" for e, _ in found)),
            )
        )
    return tuple(sorted(suspects, key=lambda s: (s.distance_m, len(s.path), s.only_upper_bound, s.id)))


def _shares(at: Setting, events: Sequence[SheddingEvent], findings: tuple[Finding, ...]) -> dict[str, float]:
    """The largest share of any running event's dust that arrives at each element; empty without solved flows."""
    shares: dict[str, float] = {}
    if at.solution is None:
        return shares
    for event in events:
        if event.kind != "running":
            continue
        for element, share in amounts(at.description, at.solution, event.part, findings=findings).arriving.items():
            shares[element] = max(share, shares.get(element, 0.0))
    return shares


def _looks(at: Setting, events: Sequence[SheddingEvent], cuts: Cuts, hits: _Hits) -> tuple[Look, ...]:
    """Single findings, and pairs of barriers, that would take parts off the list: most parts first."""
    sources = {event.part for event in events}
    candidates = [
        at.plumbing.elements[element_id]
        for element_id in hits
        if element_id not in sources and element_id not in cuts.barriers | cuts.fronts
    ]
    walls = [element for element in candidates if element.kind in BARRIER_KINDS | {"regulator"}]
    lines = [element for element in candidates if element.is_line]
    looks: list[Look] = []
    alone: dict[str, frozenset[str]] = {}
    for element in (*walls, *lines):
        cleared = frozenset(hits) - frozenset(_hits(at, events, cuts.with_(element)))
        alone[element.id] = cleared
        if cleared:
            looks.append(_look(at, (element.id,), cleared))
    for number, first in enumerate(walls):
        for second in walls[number + 1 :]:
            both = frozenset(hits) - frozenset(_hits(at, events, cuts.with_(first).with_(second)))
            more = both - alone[first.id] - alone[second.id]
            if more:
                looks.append(_look(at, (first.id, second.id), both))
    return tuple(sorted(looks, key=lambda look: (-len(look.clears), len(look.at), look.at)))


def _look(at: Setting, ids: tuple[str, ...], cleared: frozenset[str]) -> Look:
    elements = tuple(at.plumbing.elements[element_id] for element_id in ids)
    return Look(what=words.look_words(elements, len(cleared)), at=ids, clears=tuple(sorted(cleared)))


def _shielded(
    at: Setting, events: Sequence[SheddingEvent], hits: _Hits, cuts: Cuts, upper_m: float | None
) -> tuple[tuple[str, str], ...]:
    """Every element not reached, with the reason: a wall, the reach, or no way there."""
    uncut = _hits(at, events, NO_CUTS)
    walls = sorted(cuts.barriers | cuts.fronts)
    unbounded = _unbounded(at, events) if upper_m is not None else frozenset()
    shielded = []
    for element_id, element in at.plumbing.elements.items():
        if element_id in hits:
            continue
        responsible: tuple[str, ...] = ()
        if element_id in uncut:
            on_path = tuple(wall for wall in walls if any(wall in visit.path for _, visit in uncut[element_id]))
            responsible = on_path or tuple(walls)
        beyond = upper_m if element_id in unbounded else None
        shielded.append((element_id, words.shielded_reason(at, element, responsible, beyond)))
    return tuple(shielded)


def _unbounded(at: Setting, events: Sequence[SheddingEvent]) -> frozenset[str]:
    """What stops and turns back would reach if no volume bounded them."""
    kinds = ("stop", "turned backwards")
    trees = [
        tree_of(at, event.part, through_gyros=event.kind == "turned backwards")
        for event in events
        if event.kind in kinds
    ]
    return frozenset(element_id for tree in trees for element_id in tree.visits)


_NOTHING_NEW: Final = "nothing new goes on before the list is closed."
_NEW_ON_OLD: Final = f"A new pump on lines that are not closed takes in what the old one left: {_NOTHING_NEW}"


def said_once(scope: Scope, told: Sequence[str]) -> Scope:
    """The scope with what the evidence says put first; a warning that it holds as well is not given twice."""
    kept = scope.remarks
    if OLD_LINES in told:
        kept = tuple(_NOTHING_NEW.capitalize() if remark == _NEW_ON_OLD else remark for remark in kept)
    return msgspec.structs.replace(scope, remarks=(*told, *kept))


def _remarks(
    at: Setting, events: tuple[SheddingEvent, ...], hits: _Hits, reaches: tuple[Reach, ...], found: tuple[Finding, ...]
) -> tuple[str, ...]:
    remarks: list[str] = []
    for event, figure in zip([e for e in events if e.kind == "stop"], reaches, strict=False):
        remarks.append(_reach_words(at, event, figure))
    for event in events:
        remarks += _event_remarks(at, event)
    remarks += words.arrows_not_stated(at, found)
    if any(visit.arriving_m3 is not None for found in hits.values() for _, visit in found):
        remarks.append("The upper bound decides what is on the list; the middle estimate only sorts it.")
    if {event.part for event in events} & set(at.pumps):
        remarks.append(_NEW_ON_OLD)
    if at.description.duty == "suction" and any(part.kind == "intake filter" for part in at.description.parts):
        remarks.append("A clean intake filter does not clear the gyros: it sits upstream of them.")
    remarks += [
        f"{problem.found[:1].upper()}{problem.found[1:]}. {problem.next_step[:1].upper()}{problem.next_step[1:]}."
        for problem in description_remarks(at.description)
        if problem.where == "also_fitted"
    ]
    return tuple(dict.fromkeys(remarks))


def _reach_words(at: Setting, event: SheddingEvent, figure: Reach) -> str:
    ambient, suction = ambient_and_suction(at, event)
    dated = f" on {event.when}" if event.when else ""
    said = (
        f"Stop of {at.plumbing.the(event.part)}{dated}: {figure.volume_m3 * 1e3:.1f} L below ambient by "
        f"{shown(suction, 'pressure')} at {shown(ambient, 'pressure')} takes back "
        f"{figure.refill_m3 * 1e3:.2f} L, or {figure.length_m:.2f} m of the bore at the pump; at most "
        f"{figure.length_high_m:.2f} m with the volume 30 % out, and that decides the list."
    )
    return said if event.altitude_m is not None else f"{said} {words.altitude_assumed(event)}"


def _event_remarks(at: Setting, event: SheddingEvent) -> list[str]:
    name = at.plumbing.the(event.part)
    said: list[str] = words.other_source_remarks(at, event)
    if event.kind == "stop" and event.ran_on_minutes:
        said.append(
            f"The engine ran on for {event.ran_on_minutes:.0f} min after {name} stopped: what still turned ground its "
            "pieces finer, so count them by weight as well, and dust goes further than chips."
        )
    if event.fragments_complete is False:
        said.append(f"Pieces of {name} are missing: find them or write down where was searched.")
    return [*said, *_turned_back_remarks(at, event)]


def _turned_back_remarks(at: Setting, event: SheddingEvent) -> list[str]:
    turned = event.kind == "turned backwards" or (event.kind == "stop" and event.turns_back is not None)
    if turned and at.description.duty == "suction":
        pump = pump_of(at, event.part)
        per_turn = swept_per_turn(at, pump)
        bore = next(
            (
                at.plumbing.elements[line].bore_m
                for line in at.plumbing.lines_at.get(f"{pump}.inlet", ())
                if at.plumbing.elements[line].bore_m > 0
            ),
            0.0,
        )
        if bore:
            metres = swept_length(per_turn, bore)
            return [f"Each propeller turn backwards moves air through {metres:.2f} m of that line."]
    return []
