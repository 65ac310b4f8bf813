"""What the evidence of a report says about what got dirty: findings and events that nobody has to enter twice.

A filter found black through holds nothing back; dust found inside an indicator got there, whatever was thought of the
walls before it; a line seen clean shields what lies beyond. A look that does not settle a wall settles nothing: only
'intact, and the right way round' does, and a person enters that as a finding.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import msgspec

from vanewise.aircraft.description import AircraftDescription
from vanewise.contamination.events import reached, setting
from vanewise.contamination.plumbing import BARRIER_KINDS, plumbing
from vanewise.contamination.types import BarrierFinding, Finding, FrontFinding, SheddingEvent
from vanewise.diagnosis.types import CheckResult, Evidence, Remark
from vanewise.diagnosis.words import new_pump
from vanewise.network.observe import gyros

_DIRECT_SIGHT: Final = 3
_DUST_LOOKS: Final = (("indicator_bench", "dirty"), ("instrument_inlet_look", "black"))
_DUST_REMARKS: Final = ("shop_found_dust_in_indicator", "dust_at_instrument_inlet")
_SEEN_IN_LINE: Final = ("grey_film", "chips")


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """What follows for the trace. Empty where the evidence says nothing about dirt."""

    events: tuple[SheddingEvent, ...] = ()
    findings: tuple[Finding, ...] = ()
    remarks: tuple[str, ...] = ()


def told(description: AircraftDescription, evidence: Evidence) -> Told:
    """Events, findings and remarks that the evidence of a report holds about dirt."""
    dirty = tuple(dict.fromkeys(_dirty_instruments(description, evidence)))
    events = [*_dust_events(description, dirty), *_other_events(description, evidence)]
    findings: list[Finding] = [*_filters(description, evidence), *_lines(description, evidence)]
    findings += _walls_before(description, dirty)
    remarks = [*_dust_words(description, dirty), *new_pump_remarks(evidence)]
    return Told(events=tuple(events), findings=tuple(findings), remarks=tuple(remarks))


def new_pump_remarks(evidence: Evidence) -> tuple[str, ...]:
    """The warning about a new pump on lines that held an old one's carbon; nothing where they were cleaned."""
    return new_pump({event.kind for event in evidence.events})


def _dirty_instruments(description: AircraftDescription, evidence: Evidence) -> Iterator[str]:
    fitted = gyros(description)
    for result in evidence.checks:
        if (result.check, result.outcome) in _DUST_LOOKS and result.place in fitted:
            yield result.place
    for remark in evidence.remarks:
        if remark.symptom in _DUST_REMARKS and remark.present and remark.about in fitted:
            yield remark.about


def _label(description: AircraftDescription, part: str) -> str:
    named = {entry.id: entry.label for entry in description.parts} | {line.id: line.label for line in description.lines}
    return named.get(part, part)


def _dust_events(description: AircraftDescription, dirty: Sequence[str]) -> Iterator[SheddingEvent]:
    for part in dirty:
        yield SheddingEvent(part=part, kind="running", id=f"dust found in the {_label(description, part)}")


def _other_events(description: AircraftDescription, evidence: Evidence) -> Iterator[SheddingEvent]:
    if any(event.kind == "propeller_turned_backwards" for event in evidence.events):
        for pump in description.parts_of("pump"):
            yield SheddingEvent(part=pump.id, kind="turned backwards", id="propeller turned backwards")
    for result in evidence.checks:
        if result.check == "borescope_lines" and result.outcome in _SEEN_IN_LINE and _line(description, result.place):
            yield SheddingEvent(
                part=result.place, kind="running", id=f"carbon seen in the {_label(description, result.place)}"
            )


def _line(description: AircraftDescription, place: str) -> bool:
    return any(line.id == place for line in description.lines)


def _filters(description: AircraftDescription, evidence: Evidence) -> Iterator[BarrierFinding]:
    """A filter that let it past, or was not there."""
    for result in evidence.checks:
        if (result.check, result.outcome) == ("inline_filter_look", "past_seal"):
            yield from _found(description, result, "inline filter", "breached")
        if (result.check, result.outcome) == ("intake_filter_look", "missing"):
            yield from _found(description, result, "intake filter", "absent")
    for remark in evidence.remarks:
        if remark.symptom == "filter_missing" and remark.present:
            yield from _found(description, remark, "intake filter", "absent")


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
                line=result.place, clean_from_m=0.0, proof=result.note or "borescope and white cloth", by=result.who
            )


def _walls_before(description: AircraftDescription, dirty: Sequence[str]) -> Iterator[BarrierFinding]:
    """Walls between a pump and an indicator that dust was found in: none of them can be called intact."""
    if not dirty:
        return
    at = setting(description, plumbing(description), None)
    kind = "running" if description.duty == "pressure" else "stop"
    for pump in at.pumps:
        visits = reached(at, SheddingEvent(part=pump, kind=kind))  # type: ignore[arg-type]
        for part in dirty:
            for step in visits[part].path if part in visits else ():
                if at.plumbing.elements[step].kind in BARRIER_KINDS | {"regulator"}:
                    yield BarrierFinding(
                        part=step, state="unknown", note=f"dust was found beyond it, in the {_label(description, part)}"
                    )


def _dust_words(description: AircraftDescription, dirty: Sequence[str]) -> Iterator[str]:
    for part in dirty:
        yield (
            f"Dust was found in the {_label(description, part)}: it came from somewhere. No wall between it and a pump "
            "counts as intact, whatever was seen of it; find what still sheds before another instrument goes in."
        )
