"""Reasons, proofs and questions in the words a mechanic uses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from vanewise.contamination.cross_feed import DRY_PUMPS, sources
from vanewise.contamination.events import Setting, altitude_of
from vanewise.contamination.plumbing import (
    BARRIER_KINDS,
    DIRECTED_BARRIERS,
    REGULATOR_FILTER_KIND,
    TAP_KIND,
    Element,
    is_gyro,
)
from vanewise.contamination.spread import Visit
from vanewise.contamination.types import BarrierFinding, ClosureKind, Finding, FrontFinding, SheddingEvent
from vanewise.quantities import M_PER_FT
from vanewise.wording import capital

_BY_SOURCE: Final[Mapping[str, str]] = MappingProxyType(
    {"running": "while running", "stop": "when it, or one before it, stopped"}
)
_BY_EVENT: Final[Mapping[str, str]] = {
    "running": "carried by the running flow",
    "maintenance": "left at work and carried on by the running flow",
    "cross-feed": "drawn out of the standing pump by another source that ran meanwhile",
    "turned backwards": "blown back by a pump that was turned backwards",
}


def reason(
    at: Setting,
    event: SheddingEvent,
    element: Element,
    visit: Visit,
    findings: tuple[Finding, ...],
    doubts: Mapping[str, str] = MappingProxyType({}),
) -> str:
    """Why this element is on the list: the event, the way, and the barriers nobody has found intact.

    ``doubts`` say, by element, why what was seen of it does not count.
    """
    if len(visit.path) == 1:
        return _source_reason(at, event, element)
    route = " > ".join(at.plumbing.label(step) for step in visit.path)
    how = _stop_reason(at, element, visit) if event.kind == "stop" else _BY_EVENT[event.kind]
    past = [_past(at.plumbing.elements[step], findings, doubts) for step in visit.path[1:-1]]
    unproved = "; ".join(text for text in past if text)
    return f"{how}: {route}" + (f" ({unproved})" if unproved else "")


def _source_reason(at: Setting, event: SheddingEvent, element: Element) -> str:
    if event.found_here and element.kind in DRY_PUMPS:
        return f"it was looked into: {event.because}"
    if event.found_here:
        return f"debris was found here: {event.because}"
    if event.because:
        return f"what was found can have come from here, {_BY_SOURCE.get(event.kind, event.kind)}: {event.because}"
    if element.kind in DRY_PUMPS:
        return "it shed the debris; its own pieces are in it and at its outlet"
    return f"the debris started here ({event.kind})"


def _stop_reason(at: Setting, element: Element, visit: Visit) -> str:
    if visit.arriving_m3 is None:
        if at.description.duty == "pressure":
            return "carried by the last of the flow, or by air that bled back through the stopped pump"
        return "carried out by the flow until the pump stopped"
    if element.is_tap:
        return "air came back through the stopped pump and filled this dead end too"
    if element.volume_m3 > 0.0 and element.length_m > 0.0 and visit.arriving_m3 < element.volume_m3:
        swept = visit.arriving_m3 / element.volume_m3 * element.length_m
        return f"air came back through the stopped pump, at most {swept:.2f} m into this line"
    return "air came back through the stopped pump and can have got this far"


def _past(element: Element, findings: tuple[Finding, ...], doubts: Mapping[str, str]) -> str:
    """What is known of a barrier on the way."""
    if element.id in doubts:
        seen = "seen clean" if element.is_line else "found intact"
        return f"past {element.the}, {seen}, which does not count: {doubts[element.id]}"
    if element.kind not in BARRIER_KINDS:
        return ""
    states = sorted({f.state for f in findings if isinstance(f, BarrierFinding) and f.part == element.id})
    bad = [state for state in states if state not in ("intact", "unknown")]
    if bad:
        return f"past {element.the}, found {' and '.join(bad)}"
    if "intact" in states:
        return f"past {element.the}, found intact but not proved the right way round"
    return f"past {element.the}, which nobody has found intact"


def follows(at: Setting, event: SheddingEvent) -> str:
    """That nobody saw the event, and from which find it follows."""
    did = f"shed ({event.kind})" if event.part in at.pumps else "let dirt past"
    return (
        f"Nobody has reported that {at.plumbing.the(event.part)} {did}. It follows from this find: "
        f"{event.because}. The list holds every way by which that can have come."
    )


def doubt(at: Setting, finding: Finding, why: str) -> str:
    """Why a look that was made takes nothing off the list."""
    name = at.plumbing.the(finding.line if isinstance(finding, FrontFinding) else finding.part)
    seen = "seen clean" if isinstance(finding, FrontFinding) else "found intact"
    return f"{capital(name)}, {seen}, takes nothing off the list: {why}."


def look_words(elements: tuple[Element, ...], cleared: int) -> str:
    """The finding to make, and what it is worth."""
    worth = f"{cleared} part{'s come' if cleared != 1 else ' comes'} off the list"
    return f"{' and '.join(_look(element) for element in elements)}: then {worth}"


def _look(element: Element) -> str:
    if element.is_line:
        return f"draw a white cloth through {element.the}: the traces end inside it"
    if element.kind == "check valve":
        return f"look at the flap of {element.the}: sound, shutting, arrow the right way"
    if element.kind == "regulator":
        return f"look at the seat of {element.the}: clean and shut"
    face = "clean side" if element.kind != "inline filter" else "downstream face, its end seals and its arrow"
    return f"look at {element.the}, {face}: intact" + (
        " and the right way round" if element.kind in DIRECTED_BARRIERS else ""
    )


_CLOTH: Final = "a white cloth or a clear trap drawn through twice shows no grey"
_ENDS: Final = "both ends looked into with a borescope, photographs kept"
_NO_REUSE: Final = "common practice after a pump has shed: hoses are not cleaned and used again"
_TUBE: Final = "removed, rinsed with the cleaner the manual names, dried; beads, dents and corrosion looked at"
_SEAT: Final = "opened as its manual allows, seat and chamber free of grit, screw position recorded and not moved"
_LINE_NOTE: Final = "blow out only with every instrument and gauge disconnected, and away from them"

_CLOSINGS: Final[Mapping[str, tuple[tuple[ClosureKind, ...], tuple[str, ...]]]] = {
    "hose": (
        ("replaced", "cleaned and inspected"),
        (
            f"replaced: new hose of the right bore, cut burr-free and washed out ({_NO_REUSE})",
            f"cleaned and inspected: {_CLOTH}; {_ENDS}; liner whole; {_LINE_NOTE}",
        ),
    ),
    "tube": (
        ("cleaned and inspected", "replaced"),
        (
            f"cleaned and inspected: {_TUBE}; {_CLOTH}; {_ENDS}; {_LINE_NOTE}",
            "replaced",
        ),
    ),
    TAP_KIND: (
        ("cleaned and inspected", "replaced"),
        (f"cleaned and inspected: disconnected at the gauge or switch first, drawn through; {_CLOTH}", "replaced"),
    ),
    "pump": (("replaced",), ("replaced: another pump with its documents, the old one and every fragment kept",)),
    "regulator": (
        ("cleaned and inspected", "replaced", "back from instrument shop"),
        (
            f"cleaned and inspected: {_SEAT}",
            "replaced, or back from a shop with a report",
        ),
    ),
    REGULATOR_FILTER_KIND: (("replaced",), ("replaced, hours and date written on it",)),
    "check valve": (
        ("replaced", "cleaned and inspected"),
        ("replaced", "cleaned and inspected: flap whole, seats, shuts by hand, arrow the right way"),
    ),
    "manifold": (
        ("cleaned and inspected", "replaced"),
        (f"cleaned and inspected: every port wiped; {_ENDS}", "replaced"),
    ),
    "standby pump": (
        ("cleaned and inspected", "replaced"),
        (
            "cleaned and inspected: both ports looked into with a borescope, no piece and no fresh score",
            "replaced, whenever there is doubt",
        ),
    ),
    "intake source": (
        ("cleaned and inspected", "replaced"),
        ("cleaned and inspected: selector opened as its manual allows, passage free of grit", "replaced"),
    ),
    "de-ice boots": (
        ("cleaned and inspected", "replaced"),
        ("cleaned and inspected: its line opened at the boot, a white cloth shows no grey, cycled twice", "replaced"),
    ),
    "door seal": (
        ("cleaned and inspected", "replaced"),
        ("cleaned and inspected: its line opened at the seal, a white cloth shows no grey, holds its air", "replaced"),
    ),
    "boots valve": (
        ("cleaned and inspected", "replaced"),
        ("cleaned and inspected: opened as its manual allows, seat free of grit, cycled twice", "replaced"),
    ),
    "relief valve": (
        ("cleaned and inspected", "replaced"),
        (f"cleaned and inspected: {_SEAT}", "replaced, or back from a shop with a report"),
    ),
    "restrictor": (
        ("cleaned and inspected", "replaced"),
        ("cleaned and inspected: passage clear to light", "replaced"),
    ),
}
_FILTER_CLOSING: Final[tuple[tuple[ClosureKind, ...], tuple[str, ...]]] = (
    ("replaced",),
    ("replaced, hours and date written on it; the old one cut open and looked at, housing wiped",),
)
_GYRO_CLOSING: Final[tuple[tuple[ClosureKind, ...], tuple[str, ...]]] = (
    ("back from instrument shop", "replaced"),
    (
        "back from an instrument shop with a report; tell the shop what was found at the port",
        "replaced, documents checked",
        "shown not reached: traces end inside its hose, port looked at; then it leaves the list by that finding",
    ),
)


_PUMP_REACHED: Final[tuple[tuple[ClosureKind, ...], tuple[str, ...]]] = (
    ("cleaned and inspected", "replaced"),
    (
        "cleaned and inspected: both ports looked into with a borescope, no piece and no fresh score, turns smoothly",
        "replaced, whenever there is doubt",
    ),
)


def closings(element: Element, is_source: bool) -> tuple[tuple[ClosureKind, ...], tuple[str, ...]]:
    """The ways an element may be closed, and what proves each. A pump that shed is replaced and nothing else."""
    if element.kind in DRY_PUMPS and is_source:
        return _CLOSINGS["pump"]
    if element.kind == "pump":
        return _PUMP_REACHED
    if is_gyro(element.kind):
        return _GYRO_CLOSING
    return _CLOSINGS.get(element.kind, _FILTER_CLOSING)


SHIELDED_BY: Final = "shielded by"
"""How the reason begins where somebody looked and saw a wall hold; any other reason is that nothing leads there."""


def is_shielded(reason: str) -> bool:
    """Whether a part is off the list because a wall or a line before it was seen to hold; else nothing leads there."""
    return reason.startswith(f"{SHIELDED_BY} ")


def shielded_reason(at: Setting, element: Element, walls: tuple[str, ...], beyond_m: float | None) -> str:
    """Why an element is not on the list. ``beyond_m`` is the reach [m] that ends short of it, where one does."""
    if walls:
        named = " and ".join(at.plumbing.the(wall) for wall in walls)
        sight = "found intact" if not all(at.plumbing.elements[wall].is_line for wall in walls) else "seen to end there"
        return f"{SHIELDED_BY} {named}, {sight}"
    if beyond_m is not None:
        return f"beyond the reach of the air that came back ({beyond_m:.2f} m of the bore at the pump, at most)"
    if element.kind == "intake filter":
        return "upstream of the gyros: it says nothing about debris from the pump, clean or dirty"
    return "no way there for debris in these events"


def altitude_assumed(event: SheddingEvent) -> str:
    """Which height was taken for a stop at a height nobody has said."""
    feet = altitude_of(event) / M_PER_FT
    return f"Nobody has said how high that was: {feet:,.0f} ft is taken, the most believed possible (judgement)."


def arrows_not_stated(at: Setting, findings: tuple[Finding, ...]) -> list[str]:
    """Walls called intact of which nobody said which way round they sit: they cut nothing, and that has to be said."""
    silent = dict.fromkeys(
        finding.part
        for finding in findings
        if isinstance(finding, BarrierFinding)
        and finding.state == "intact"
        and finding.right_way_round is None
        and at.plumbing.elements[finding.part].kind in DIRECTED_BARRIERS
    )
    return [
        f"{capital(label)} is intact, but its arrow was not stated: it cuts nothing until somebody has "
        "looked that it sits the right way round. Reversed, it sheds what it caught."
        for label in (at.plumbing.the(part) for part in silent)
    ]


def _others(at: Setting, event: SheddingEvent) -> str:
    """The sources beside the one that stood still, as they stand in a sentence; nothing where there is none."""
    others = [source for source in sources(at.description) if source != event.part and event.part in at.dry_pumps]
    return " or ".join(at.plumbing.the(source) for source in others)


def other_source_remarks(at: Setting, event: SheddingEvent) -> list[str]:
    """What follows from another source that ran while this one stood still, and where its flow ends."""
    if event.kind not in ("stop", "cross-feed") or event.other_source_used is False:
        return []
    name, others = at.plumbing.the(event.part), _others(at, event)
    if not others:
        missing = (
            f"Another source ran while {name} stood still, and none is described: describe it, or the list does not "
            "follow its flow."
        )
        return [missing] if event.other_source_used else []
    said = []
    if event.kind == "stop" and event.other_source_used:
        said.append(f"Another source ran while {name} stood still: its flow is followed too, as cross-feed.")
    if event.kind == "stop" and event.other_source_used is None:
        said.append(f"Nobody has said whether {others} ran while {name} stood still: it is taken that it did.")
    if any(part.id != event.part for part in at.description.parts_of("intake source")):
        said.append(
            "The intake source draws into the engine's own intake: what passes its selector goes through the engine, "
            "which this list does not follow. Nothing comes out of the intake into the air system while the intake is "
            "below ambient. Look at the selector and the fitting at the intake; tell whoever looks after the engine."
        )
    return said


def questions(
    at: Setting, events: tuple[SheddingEvent, ...], doubts: Sequence[tuple[Finding, str, bool]] = ()
) -> tuple[str, ...]:
    """What to ask next because the answer changes the list.

    ``doubts``: looks that do not count, with the reason, and whether an answer could make them count.
    """
    asked: list[str] = []
    if not at.description.duty_confirmed:
        asked.append(
            f"Is this really {at.description.duty} duty? It is assumed so far, and the list is another one if not."
        )
    turned = any(event.kind == "turned backwards" for event in events)
    for event in events:
        asked += _event_questions(at, event, turned)
    asked += [_as_it_was(at, finding) for finding, _, answerable in doubts if answerable]
    if "unknown" in (at.description.gauge.high, at.description.gauge.low):
        asked.append("Where is the gauge connected? Its line is not on the list until that is known.")
    return tuple(dict.fromkeys(asked))


def _as_it_was(at: Setting, finding: Finding) -> str:
    if isinstance(finding, FrontFinding):
        return (
            f"Was {at.plumbing.the(finding.line)} that was looked into the one that was on at the time, and was no air "
            "drawn through it since? If so, say it with the finding; else its look proves nothing."
        )
    return (
        f"Was {at.plumbing.the(finding.part)} that was looked at the one that was on at the time? If so, say it with "
        "the finding; else its look proves nothing."
    )


def _event_questions(at: Setting, event: SheddingEvent, turned: bool) -> list[str]:
    name = at.plumbing.the(event.part)
    asked = []
    if event.because and event.kind == "stop":
        asked.append(
            f"When did {name}, or one before it, stop or break, at what height and with which reading before? Higher "
            "up the air comes back further. Enter it as an event."
        )
        if not event.found_here:
            return asked
    if event.kind == "stop":
        asked += _stop_questions(at, event, turned)
    if event.kind == "turned backwards" and event.turns_back is None:
        asked.append(f"How many propeller turns was {name} turned backwards? Until known, nothing bounds its reach.")
    if event.kind in ("stop", "cross-feed", "turned backwards") and event.fragments_complete is None:
        asked.append(f"Are all pieces of {name} accounted for? Lay them out and photograph them.")
    return asked


def _stop_questions(at: Setting, event: SheddingEvent, turned: bool) -> list[str]:
    name = at.plumbing.the(event.part)
    asked = _reach_questions(at, event)
    if event.ran_on_minutes is None:
        asked.append(f"Was the engine kept running after {name} stopped, and for how long?")
    if event.other_source_used is None:
        asked.append(f"Was {_others(at, event) or 'a standby or another source'} used while {name} stood still?")
    if event.turns_back is None and not turned:
        asked.append("Was the propeller turned backwards afterwards, and by how many turns?")
    return asked


def _reach_questions(at: Setting, event: SheddingEvent) -> list[str]:
    """Height and suction at a stop: what the reach of the back-fill hangs on."""
    wanted = []
    if at.description.duty == "suction":
        wanted += ["at which pressure altitude was it"] if event.altitude_m is None else []
        wanted += ["what did the gauge read just before"] if event.suction_pa is None else []
    if not wanted:
        return []
    asked = " and ".join(wanted)
    return [f"When {at.plumbing.the(event.part)} stopped, {asked}? How far it went back hangs on that."]
