"""Where the evidence says that debris was seen, and the events that must have brought it there.

Debris that was found came from somewhere: from a pump by its running or by its stop, as the duty has it, or in suction
duty with the cabin's air from the intake side. A find is therefore a place that sheds on, and an event for every pump
it can have come from. At which height a stop was that nobody saw is not known.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence

import msgspec

from vanewise.contamination.events import Setting, reached
from vanewise.contamination.plumbing import is_gyro
from vanewise.contamination.types import EventKind, SheddingEvent
from vanewise.diagnosis.dirt_seen import DIRTY_OUTCOMES, DIRTY_SYMPTOMS, PUMP, Sight
from vanewise.diagnosis.types import CheckResult, Evidence, Remark


class Find(msgspec.Struct, frozen=True, kw_only=True):
    """Debris seen at ``place`` (an element's id), or nobody knows where."""

    sight: Sight
    place: str
    when: datetime.date | None = None


def finds(at: Setting, evidence: Evidence) -> tuple[Find, ...]:
    """Every find of debris in the evidence, at every place it can mean where it names none."""
    found: list[Find] = []
    for result in evidence.checks:
        sight = DIRTY_OUTCOMES.get((result.check, result.outcome))
        if sight is not None:
            found += _placed(at, sight, result.place, result)
    for remark in evidence.remarks:
        sight = DIRTY_SYMPTOMS.get(remark.symptom) if remark.present else None
        if sight is not None:
            found += _placed(at, sight, remark.about, remark)
    return tuple(dict.fromkeys(found))


def _placed(at: Setting, sight: Sight, place: str, seen: CheckResult | Remark) -> list[Find]:
    element = place if place in at.plumbing.elements else place.rsplit(".", 1)[0]
    if sight.about_gyro:
        gyros = [e.id for e in at.plumbing.elements.values() if is_gyro(e.kind)]
        named = [element] if element in gyros else gyros if len(gyros) == 1 else []
    else:
        of_kind = [e.id for e in at.plumbing.elements.values() if e.kind in sight.kinds]
        is_pump = sight.kinds == PUMP and element in at.dry_pumps
        fits = element in at.plumbing.elements and (not sight.kinds or element in of_kind or is_pump)
        named = [element] if fits else of_kind
    if not named and sight.kinds:
        return []
    return [Find(sight=sight, place=name, when=seen.when) for name in named or [""]]


def asked(at: Setting, found: Sequence[Find]) -> tuple[str, ...]:
    """Where it was seen, for a find without a place and for one that can mean several parts."""
    questions = [
        f"In which {'instrument' if find.sight.about_gyro else 'line or part'} was the {find.sight.what} found? "
        "What it came through depends on the place: write it with the check or the remark."
        for find in found
        if not find.place
    ]
    for sight in dict.fromkeys(find.sight for find in found if find.place):
        places = [find.place for find in found if find.sight == sight]
        if sight.kinds and len(places) > 1:
            named = " or ".join(at.plumbing.the(place) for place in places)
            questions.append(f"Was it {named} in which this was seen: {sight.what}? Until it is named, each counts.")
    return tuple(dict.fromkeys(questions))


def because(at: Setting, find: Find) -> str:
    """The find in words: ``carbon found in the firewall hose on 2025-05-01``."""
    where = f" in {at.plumbing.the(find.place)}" if find.place else ", nobody wrote where"
    return f"{find.sight.what} found{where}{f' on {find.when}' if find.when else ''}"


def brought(at: Setting, found: Sequence[Find]) -> tuple[SheddingEvent, ...]:
    """Events that follow from the finds: one for each part and kind, sources first, then the places themselves."""
    told: dict[tuple[str, EventKind, bool], list[Find]] = {}
    for find in found:
        for key in (*_sources(at, find), *_places(at, find)):
            told.setdefault(key, []).append(find)
    order = sorted(told, key=lambda key: (key[2] and key[0] not in at.dry_pumps, key[0] not in at.dry_pumps))
    return tuple(_event(at, key, told[key]) for key in order)


def unexplained(at: Setting, found: Sequence[Find]) -> tuple[str, ...]:
    """What is to be said of a find to which no pump's air gets by the volumes known."""
    return tuple(
        dict.fromkeys(
            f"By the volumes described no pump's air gets as far as {at.plumbing.the(find.place)}: it came there by a "
            "way they do not explain, at a height nobody has named, or with the cabin's air. The pumps count all the "
            "same until the source is found."
            for find in found
            if find.place and find.sight.from_pump and find.place not in at.dry_pumps
            if not list(_reaching(at, find))
        )
    )


_Key = tuple[str, EventKind, bool]
"""Part, kind, and whether debris was seen at it."""


def _places(at: Setting, find: Find) -> Iterator[_Key]:
    """The find's own place, from which running carries on."""
    if find.place in at.dry_pumps:
        yield find.place, "stop", True
        if at.description.duty == "pressure":
            yield find.place, "running", True
    elif find.place and find.sight.sheds_on:
        yield find.place, "running" if find.sight.from_pump else "maintenance", True


def _sources(at: Setting, find: Find) -> Iterator[_Key]:
    """The pumps, and in suction duty the intake side, from which it can have come."""
    if not find.sight.from_pump or find.place in at.dry_pumps:
        return
    reaching = list(_reaching(at, find)) if find.place else []
    usual: EventKind = "running" if at.description.duty == "pressure" else "stop"
    for pump, kind in reaching or [(pump, usual) for pump in at.pumps]:
        yield pump, kind, False
    element = at.plumbing.elements.get(find.place)
    in_gyro = find.sight.about_gyro or (element is not None and is_gyro(element.kind))
    if at.description.duty == "suction" and (in_gyro or (find.place and not reaching)):
        for part in at.description.parts_of("intake filter"):
            event = SheddingEvent(part=part.id, kind="running")
            if not find.place or find.place in reached(at, event):
                yield part.id, "running", False


def _reaching(at: Setting, find: Find) -> Iterator[tuple[str, EventKind]]:
    """Pumps whose air gets to the place, and in which event: by running where that explains it, else by a stop."""
    for pump in at.pumps:
        running = SheddingEvent(part=pump, kind="running")
        if find.place in reached(at, running):
            broke = find.sight.pieces and at.description.duty == "suction"
            yield pump, "stop" if broke else "running"
        elif find.place in reached(at, SheddingEvent(part=pump, kind="stop")):
            yield pump, "stop"


def _event(at: Setting, key: _Key, told: Sequence[Find]) -> SheddingEvent:
    part, kind, here = key
    reasons = "; ".join(dict.fromkeys(because(at, find) for find in told))
    days = [find.when for find in told]
    known = None if None in days else max(day for day in days if day is not None)
    name = reasons if here and part not in at.dry_pumps else f"{kind} of {at.plumbing.label(part)}, told by {reasons}"
    return SheddingEvent(part=part, kind=kind, id=name, because=reasons, found_here=here, known_by=known)
