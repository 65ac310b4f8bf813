"""What is wrong with evidence as handed in: unknown words and parts, impossible numbers, an id used twice."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.kinds import KINDS
from vanewise.diagnosis.checks.base import GAUGE_READ
from vanewise.diagnosis.parts_named import OF_EVENT, of_check, of_remark, of_wrong_kind, part_ids
from vanewise.diagnosis.types import CheckResult, Evidence, Reading
from vanewise.diagnosis.vocabulary import CHECKS, EVENTS, SYMPTOMS, check_named, nearest
from vanewise.errors import Problem
from vanewise.network.observe import gyros
from vanewise.quantities import HIGHEST_RPM, PA_PER_INHG


def _all_items(evidence: Evidence) -> Iterable[tuple[str, Any]]:
    for kind in ("readings", "lamp_readings", "remarks", "events", "checks"):
        for item in getattr(evidence, kind):
            yield kind, item


def _duplicate_ids(evidence: Evidence) -> list[Problem]:
    seen: dict[str, str] = {}
    problems = []
    for kind, item in _all_items(evidence):
        if item.id in seen:
            problems.append(
                Problem(
                    where=f'{kind} "{item.id}"',
                    expected="an id of its own for every piece of evidence",
                    found=f"the same id with other content in {seen[item.id]}",
                    next_step="give one of them another id",
                )
            )
        seen[item.id] = kind
    return problems


def problems_of(description: AircraftDescription, evidence: Evidence) -> list[Problem]:
    """Every problem of ``evidence`` against the aircraft; empty when it may be read."""
    return [*_duplicate_ids(evidence), *_unknown_words(description, evidence)]


def _unknown_words(description: AircraftDescription, evidence: Evidence) -> list[Problem]:
    parts = part_ids(description)
    named = [(f'remark "{own.id}"', own.symptom, own.about) for own in evidence.remarks]
    happened = [(f'event "{own.id}"', own.kind, own.about) for own in evidence.events]
    problems = [
        *(
            _unknown(f"{at} symptom", "a known symptom", word, SYMPTOMS)
            for at, word, _ in named
            if word not in SYMPTOMS
        ),
        *(_unknown(f"{at} kind", "a known event", word, EVENTS) for at, word, _ in happened if word not in EVENTS),
        *(
            _unknown(f"{at} about", "a part of this aircraft", about, parts)
            for at, _, about in (*named, *happened)
            if about and about not in parts
        ),
    ]
    for own in evidence.remarks:
        problems += of_wrong_kind(description, f'remark "{own.id}"', own.about, of_remark(own.symptom))
    for event in evidence.events:
        problems += of_wrong_kind(description, f'event "{event.id}"', event.about, OF_EVENT.get(event.kind, ()))
    for result in evidence.checks:
        problems.extend(_check_problems(description, result))
    for reading in evidence.readings:
        problems.extend(_reading_problems(description, reading))
    if evidence.lamp_readings and description.lamp is None:
        problems.append(
            Problem(
                where="lamp readings",
                expected="an aircraft with a low-pressure lamp",
                found="none in the description",
                next_step="describe the lamp and where it senses, or leave these out",
            )
        )
    return problems


def _unknown(where: str, expected: str, found: str, known: Iterable[str]) -> Problem:
    return Problem(where=where, expected=expected, found=f'"{found}"', next_step=nearest(found, known))


def _ports(description: AircraftDescription) -> list[str]:
    ports = ["cabin", "engine bay"]
    for part in description.parts:
        names = [port.name for port in KINDS[part.kind].ports] + list(part.extra_ports)
        ports += [f"{part.id}.{name}" for name in names]
    return ports


HIGHEST_INHG: Final = {"suction": 30.0, "pressure": 60.0}
"""The highest reading that is taken for one: all of the air outside; of a pump whose outlet is shut twice that
(judgement)."""


def _reading_problems(description: AircraftDescription, reading: Reading) -> list[Problem]:
    problems = []
    where = f'reading "{reading.id}"'
    for end in ("high", "low"):
        port = getattr(reading, end)
        if port is not None and port not in _ports(description):
            problems.append(_unknown(f"{where} {end}", "cabin or a port part.port", port, _ports(description)))
    if (reading.high is None) != (reading.low is None):
        problems.append(
            Problem(
                where=where,
                expected="both ends of the instrument, high and low, or neither",
                found="one of them",
                next_step="name the other end; an open end is cabin",
            )
        )
    most = HIGHEST_INHG[description.duty]
    if not 0 < reading.engine_rpm <= HIGHEST_RPM or not -2.0 <= reading.value_pa / PA_PER_INHG <= most:
        problems.append(
            Problem(
                where=where,
                expected=f"an engine speed up to {HIGHEST_RPM:,.0f} rpm and a reading between -2 and {most:.0f} inHg",
                found=f"{reading.engine_rpm:g} rpm, {reading.value_pa / PA_PER_INHG:.2f} inHg",
                next_step="check number and unit",
            )
        )
    if reading.sister and (not reading.sound or reading.high is not None or reading.under):
        problems.append(
            Problem(
                where=f"{where} sister",
                expected="a plain reading of the sister's panel gauge, taken while that aircraft was sound",
                found="one that is not marked sound, or of another instrument, or under a test condition",
                next_step="write sound = true for it, or leave it out",
            )
        )
    problems.extend(_state_problems(description, where, reading.under))
    return problems


def _state_problems(description: AircraftDescription, where: str, under: Mapping[str, float]) -> list[Problem]:
    known = []
    for part in description.parts:
        known += [f"{part.id}.{state.name}" for state in KINDS[part.kind].states]
    for line in description.lines:
        known += [f"{line.id}.{state.name}" for state in KINDS["line"].states]
    return [_unknown(f"{where} under", "PART.STATE of this aircraft", key, known) for key in under if key not in known]


def _check_problems(description: AircraftDescription, result: CheckResult) -> list[Problem]:
    where = f'check "{result.id}"'
    check = check_named(result.check)
    if check is None:
        return [_unknown(where, "a known check", result.check, CHECKS)]
    problems = _state_problems(description, where, result.under)
    outcomes = [outcome.id for outcome in check.outcomes]
    if check.kind == "table" and result.outcome not in outcomes:
        problems.append(_unknown(f"{where} outcome", f"one of {', '.join(outcomes)}", result.outcome, outcomes))
    if check.kind not in ("table", *GAUGE_READ) and result.value is None:
        problems.append(
            Problem(
                where=where,
                expected="the measured value, with its unit",
                found="none",
                next_step=f"write what was measured; {check.method[0].lower()}{check.method[1:]}",
            )
        )
    if check.kind in GAUGE_READ:
        one = check.kind == "run-up"
        problems.append(
            Problem(
                where=where,
                expected="one reading with its rpm" if one else "a sweep as readings, one for each engine speed",
                found="a check result",
                next_step=f"write the reading{'' if one else 's'} under readings{'' if one else ' or sweeps'}",
            )
        )
    instruments = gyros(description)
    if check.at_instrument and result.place not in instruments:
        problems.append(_unknown(f"{where} place", f"one of {', '.join(instruments)}", result.place, instruments))
    else:
        problems += of_wrong_kind(description, where, result.place, of_check(check.id), "place")
    if check.kind in ("suction flow", "filter drop") and not result.place:
        problems.append(
            Problem(
                where=f"{where} place",
                expected="the port of the source, or the filter",
                found="none",
                next_step="write place = part.port (source) or the filter's id",
            )
        )
    if check.kind == "suction flow" and result.place and result.place not in _ports(description):
        problems.append(_unknown(f"{where} place", "a port part.port", result.place, _ports(description)))
    if result.both_ways and not check.harmless:
        problems.append(
            Problem(
                where=where,
                expected="a cause proved both ways only by harmless acts",
                found=f"{check.name}, restored to see the fault come back",
                next_step="leave both_ways out; keep the first result",
            )
        )
    return problems
