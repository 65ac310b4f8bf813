"""From events and findings to the scope: what to clean, open, replace or leave, and which look would shorten it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
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
    reach,
    reached,
    setting,
    swept_per_turn,
    tree_of,
    turned_with,
)
from vanewise.contamination.plumbing import BARRIER_KINDS, Element, plumbing
from vanewise.contamination.reach import VOLUME_SPREAD, swept_length
from vanewise.contamination.spread import NO_CUTS, Cuts, Visit
from vanewise.contamination.standing import Standing, could_stand, standing
from vanewise.contamination.types import (
    BarrierFinding,
    Change,
    Finding,
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
from vanewise.wording import sentence

_MOST_LOOKS: Final = 8
_MOST_CLEARS: Final = 3
_Hits = Mapping[str, tuple[tuple[SheddingEvent, Visit], ...]]


@dataclass(frozen=True)
class _Case:
    """All that one trace rests on: the events, what was found, what was changed since, and what cuts in each event."""

    at: Setting
    events: tuple[SheddingEvent, ...]
    traced: tuple[SheddingEvent, ...]
    """The events, and what each stop brought with it."""
    findings: tuple[Finding, ...]
    changes: tuple[Change, ...]
    proved: Standing
    walks: dict[tuple[str, str, Cuts], dict[str, Visit]] = field(default_factory=dict)
    """What a flow carries on from an element, once worked out: many looks ask for the same."""

    @property
    def cuts(self) -> tuple[Cuts, ...]:
        return self.proved.cuts

    @property
    def told_again(self) -> tuple[SheddingEvent, ...]:
        """Events that a find points to and that were reported as well."""
        reported = {(event.part, event.kind) for event in self.events if not event.because}
        return tuple(e for e in self.events if e.because and (e.part, e.kind) in reported)

    @property
    def once(self) -> tuple[SheddingEvent, ...]:
        """The events to speak of: what a find points to is left out where it was reported as well."""
        again = self.told_again
        return tuple(event for event in self.events if not any(event is other for other in again))

    def carried_on(self, event: SheddingEvent, start: str, cuts: Cuts) -> dict[str, Visit]:
        key = (event.part if event.kind == "cross-feed" else "", start, cuts)
        if key not in self.walks:
            self.walks[key] = carried_on(self.at, event, start, cuts)
        return self.walks[key]


def trace(
    description: AircraftDescription,
    solution: Solved | None,
    *events: SheddingEvent,
    findings: Sequence[Finding] = (),
    changes: Sequence[Change] = (),
) -> Scope:
    """What debris from ``events`` can have reached in this aircraft, given what was found at its walls.

    ``solution`` gives the running directions (and the suction at a stop where no reading is given); without it they
    come from the plumbing alone. ``changes`` say what is another one since, so that a look at it proves nothing of
    what was before. Raises :class:`InputError` for a part that is not there, and for a finding at something that is no
    barrier.
    """
    if not events:
        raise wrong("events", "at least one event that shed debris", "none", "say which part shed, and when")
    at = setting(description, plumbing(description), solution)
    found = tuple(findings)
    _check_findings(at, found)
    traced = followed(at, events)
    case = _Case(
        at=at,
        events=tuple(events),
        traced=traced,
        findings=found,
        changes=tuple(changes),
        proved=standing(at, traced, found, changes),
    )
    return _scope(case)


def _scope(case: _Case) -> Scope:
    at = case.at
    hits = _hits(case, case.cuts)
    reaches = tuple(figure for _, figure in _reaches(case))
    upper = at_most_m(at, case.traced, reaches)
    looks = _looks(case, hits)
    longest = max(reaches, key=lambda figure: figure.length_m, default=None)
    return Scope(
        source=case.events[0].part,
        events=case.events,
        suspects=_suspects(case, hits, looks),
        shielded=_shielded(case, hits, upper),
        reach_upper_m=upper,
        reach_estimate_m=None if longest is None else longest.estimate_m,
        questions=words.questions(at, case.once, case.proved.doubts),
        remarks=_remarks(case, hits),
        reaches=reaches,
        looks=looks[:_MOST_LOOKS],
        findings=case.findings,
        labels={element.id: element.label for element in at.plumbing.elements.values()},
    )


def _reaches(case: _Case) -> list[tuple[SheddingEvent, Reach]]:
    """How far the air came back, for every stop that is spoken of."""
    cuts = {id(event): cut for event, cut in zip(case.traced, case.cuts, strict=True)}
    found = ((event, reach(case.at, event, cuts[id(event)])) for event in case.once)
    return [(event, figure) for event, figure in found if figure is not None]


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


def _hits(case: _Case, cuts: Sequence[Cuts]) -> _Hits:
    """Per element, the events that reach it. What an earlier event left is carried on by later running."""
    at, events = case.at, case.traced
    hits: dict[str, list[tuple[SheddingEvent, Visit]]] = {}
    left = [reached(at, event, cut, events) for event, cut in zip(events, cuts, strict=True)]
    for event, visits in zip(events, left, strict=True):
        for element_id, visit in visits.items():
            hits.setdefault(element_id, []).append((event, visit))
    for number, event in enumerate(events):
        if event.kind not in ("running", "cross-feed"):
            continue
        for other, earlier in enumerate(events):
            if other == number or (earlier.when and event.when and earlier.when > event.when):
                continue
            both = cuts[number].common(cuts[other])
            # A wall seen intact is dirty on one side only, as is a line in which the traces end: no start for more.
            for start in sorted(set(left[other]) - cuts[other].barriers - cuts[other].fronts):
                _carry_on(case, event, (earlier, left[other][start]), both, hits)
    return {element_id: tuple(found) for element_id, found in hits.items()}


def _carry_on(
    case: _Case,
    event: SheddingEvent,
    left: tuple[SheddingEvent, Visit],
    cuts: Cuts,
    hits: dict[str, list[tuple[SheddingEvent, Visit]]],
) -> None:
    """Add what the flow of ``event`` carried on from one element that an earlier event had reached."""
    earlier, lay = left
    start = lay.path[-1]
    moved = SheddingEvent(part=start, kind=event.kind, altitude_m=event.altitude_m, id=event.id or earlier.id)
    for element_id, visit in case.carried_on(event, start, cuts).items():
        # What lies in a part had its chance at the dead ends beside it when it came; flow does not turn into those.
        beside = case.at.plumbing.elements[element_id].is_tap and len(visit.path) == 2
        if element_id not in hits and not beside:
            hits[element_id] = [(moved, _further(case.at, lay.path, visit))]


def _further(at: Setting, before: tuple[str, ...], visit: Visit) -> Visit:
    """The whole path from where the debris came from, without the way there and back where it turns on itself."""
    join = max(number for number, step in enumerate(visit.path) if step in before)
    path = (*before[: before.index(visit.path[join])], *visit.path[join:])
    return Visit(path=path, distance_m=sum(at.plumbing.elements[step].length_m for step in path[:-1]))


def _nearest(hit: tuple[SheddingEvent, Visit]) -> tuple[float, int, bool, str, str]:
    """The shortest way first; of two alike what is known to have been before what may have been."""
    event, visit = hit
    return visit.distance_m, len(visit.path), event.kind == "cross-feed", event.kind, event.id


def _suspects(case: _Case, hits: _Hits, looks: tuple[Look, ...]) -> tuple[Suspect, ...]:
    at = case.at
    sources = {event.part for event in case.events if event.found_here or not event.because}
    shares = _shares(case)
    middle = _middle(case, hits)
    doubts = case.proved.reasons()
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
                reason=words.reason(at, event, element, visit, case.findings, doubts),
                distance_m=visit.distance_m,
                clears=tuple(look.what for look in looks if element_id in look.clears)[:_MOST_CLEARS],
                proof=proofs,
                kind=element.kind,
                closures=ways,
                only_upper_bound=element_id not in middle,
                share=shares.get(element_id),
                events=tuple(dict.fromkeys(e.name for e, _ in found)),
            )
        )
    return tuple(sorted(suspects, key=lambda s: (s.distance_m, len(s.path), s.only_upper_bound, s.id)))


def _middle(case: _Case, hits: _Hits) -> frozenset[str]:
    """What the middle estimate reaches: less than the list at a stop in suction duty, the same in every other event."""
    suction = case.at.description.duty == "suction"
    bounded = [event for event in case.traced if event.kind == "stop" and suction]
    middle = {
        element
        for element, found in hits.items()
        if any(not any(event is stop for stop in bounded) for event, _ in found)
    }
    for event, cuts in zip(case.traced, case.cuts, strict=True):
        if any(event is stop for stop in bounded):
            middle |= estimated(case.at, event, cuts)
    return frozenset(middle)


def _shares(case: _Case) -> dict[str, float]:
    """The largest share of any running event's dust that arrives at each element; empty without solved flows."""
    shares: dict[str, float] = {}
    at = case.at
    if at.solution is None:
        return shares
    in_doubt = [finding for finding, _, _ in case.proved.doubts]
    standing_ones = tuple(finding for finding in case.findings if finding not in in_doubt)
    for source in dict.fromkeys(event.part for event in case.traced if event.kind == "running"):
        for element, share in amounts(at.description, at.solution, source, findings=standing_ones).arriving.items():
            shares[element] = max(share, shares.get(element, 0.0))
    return shares


def _looks(case: _Case, hits: _Hits) -> tuple[Look, ...]:
    """Single findings, and pairs of barriers, that would take parts off the list: most parts first."""
    elements = case.at.plumbing.elements
    sources = {event.part for event in case.traced}
    done = frozenset[str]().union(*(cut.barriers | cut.fronts for cut in case.cuts))
    candidates = [elements[element_id] for element_id in hits if element_id not in sources | done]
    walls = [element for element in candidates if element.kind in BARRIER_KINDS | {"regulator"}]
    lines = [element for element in candidates if element.is_line]
    looks: list[Look] = []
    alone: dict[str, frozenset[str]] = {}
    for element in (*walls, *lines):
        cleared = _cleared(case, hits, element)
        alone[element.id] = cleared
        if cleared:
            looks.append(_look(case.at, (element.id,), cleared))
    for number, first in enumerate(walls):
        for second in walls[number + 1 :]:
            both = _cleared(case, hits, first, second)
            more = both - alone[first.id] - alone[second.id]
            if more:
                looks.append(_look(case.at, (first.id, second.id), both))
    return tuple(sorted(looks, key=lambda look: (-len(look.clears), len(look.at), look.at)))


def _cleared(case: _Case, hits: _Hits, *elements: Element) -> frozenset[str]:
    """What would leave the list if these were looked at now and found sound, in the events for which that can stand."""
    cuts = []
    for event, cut in zip(case.traced, case.cuts, strict=True):
        for element in elements:
            if could_stand(element, event, case.changes, case.proved.beyond):
                cut = cut.with_(element)
        cuts.append(cut)
    return frozenset(hits) - frozenset(_hits(case, cuts)) if tuple(cuts) != case.cuts else frozenset()


def _look(at: Setting, ids: tuple[str, ...], cleared: frozenset[str]) -> Look:
    elements = tuple(at.plumbing.elements[element_id] for element_id in ids)
    return Look(what=words.look_words(elements, len(cleared)), at=ids, clears=tuple(sorted(cleared)))


def _shielded(case: _Case, hits: _Hits, upper_m: float | None) -> tuple[tuple[str, str], ...]:
    """Every element not reached, with the reason: a wall, the reach, or no way there."""
    at = case.at
    uncut = _hits(case, (NO_CUTS,) * len(case.traced))
    walls = sorted(frozenset[str]().union(*(cut.barriers | cut.fronts for cut in case.cuts)))
    unbounded = _unbounded(at, case.traced) if upper_m is not None else frozenset()
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


def said_once(scope: Scope, told: Sequence[str], asked: Sequence[str] = ()) -> Scope:
    """The scope with what the evidence says and asks put first; a warning that it holds as well is not given twice."""
    kept = scope.remarks
    if OLD_LINES in told:
        kept = tuple(_NOTHING_NEW.capitalize() if remark == _NEW_ON_OLD else remark for remark in kept)
    questions = tuple(dict.fromkeys((*asked, *scope.questions)))
    return msgspec.structs.replace(scope, remarks=(*told, *kept), questions=questions)


def _remarks(case: _Case, hits: _Hits) -> tuple[str, ...]:
    at = case.at
    remarks = [words.follows(at, event) for event in case.once if event.because and not event.found_here]
    remarks += [words.doubt(at, finding, why) for finding, why, _ in case.proved.doubts]
    remarks += [_reach_words(at, event, figure) for event, figure in _reaches(case)]
    for event in case.once:
        remarks += _event_remarks(at, event)
    remarks += words.arrows_not_stated(at, case.findings)
    if any(visit.arriving_m3 is not None for found in hits.values() for _, visit in found):
        remarks.append("The upper bound decides what is on the list; the middle estimate only sorts it.")
    if {event.part for event in case.events} & set(at.pumps):
        remarks.append(_NEW_ON_OLD)
    if at.description.duty == "suction" and any(part.kind == "intake filter" for part in at.description.parts):
        remarks.append("A clean intake filter does not clear the gyros: it sits upstream of them.")
    remarks += [
        f"{sentence(problem.found)} {sentence(problem.next_step)}"
        for problem in description_remarks(at.description)
        if problem.where == "also_fitted"
    ]
    return tuple(dict.fromkeys(remarks))


def _reach_words(at: Setting, event: SheddingEvent, figure: Reach) -> str:
    ambient, suction = ambient_and_suction(at, event)
    dated = f" on {event.when}" if event.when else ""
    said = (
        f"{_stop_words(at, event)}{dated}: {figure.volume_m3 * 1e3:.1f} L below ambient by "
        f"{shown(suction, 'pressure')} at {shown(ambient, 'pressure')} takes back "
        f"{figure.refill_m3 * 1e3:.2f} L, or {figure.length_m:.2f} m of the bore at the pump; at most "
        f"{figure.length_high_m:.2f} m with the volume {100 * VOLUME_SPREAD:.0f} % out, and that decides the list."
    )
    return said if event.altitude_m is not None else f"{said} {words.altitude_assumed(event)}"


def _stop_words(at: Setting, event: SheddingEvent) -> str:
    name = at.plumbing.the(event.part)
    return f"A stop of {name}, as nobody saw it" if event.because and not event.found_here else f"Stop of {name}"


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
        pump = turned_with(at, event.part)
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
