"""From what people handed in to what the likelihoods take: identity, words, operating points, what has changed since.

Evidence has identity. Two items that are the same look at the same thing are one item; repeated readings of one
instrument share that instrument's error; remarks of one person about one flight share that person's reliability.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import msgspec

from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.kinds import KINDS
from vanewise.diagnosis.solving import Point, SuctionPoint, point_at
from vanewise.diagnosis.types import CheckResult, Evidence, LampReading, Reading, Remark
from vanewise.diagnosis.vocabulary import CHECKS, EVENTS, SYMPTOMS, check_named, freshness, nearest
from vanewise.errors import InputError, Problem
from vanewise.network.observe import gyros
from vanewise.provenance import Value
from vanewise.quantities import HIGHEST_RPM, PA_PER_INHG
from vanewise.values import judgement

PANEL: Final = "panel gauge"
TEST_BIAS_SD_INHG: Final = 0.03
TEST_SCALE_SD: Final = 0.005
"""A calibrated test gauge (judgement)."""
LAMP_SD_RPM: Final = 70.0
"""Scatter of the engine speed at which a lamp goes out, from one day to the next (judgement)."""
COVER_TEST_RPM: Final = 1200.0
SUCTION_INHG: Final = 5.0
_COMPLAINED_OF: Final = ("attitude", "heading", "power", "autopilot")
"""Groups of symptoms that are complaints; what is seen on a part is none."""
REPORTED_ALTITUDES_M: Final = (900.0, 1700.0, 2600.0)
"""Where a symptom in flight was noticed, when nobody said (mixture over three)."""


@dataclass(frozen=True, slots=True)
class GaugeItem:
    """One reading of one instrument, ready to be scored. Differences in inHg."""

    id: str
    value: float
    point: Point
    read_sd: float
    high: str | None = None
    low: str | None = None
    occasion: str = ""
    """Readings of one sweep share it: what shifts by itself has hardly moved between them."""

    @property
    def on_grid(self) -> bool:
        return self.high is None and self.point.plain


@dataclass(frozen=True, slots=True)
class GaugeGroup:
    """All readings of one instrument. Offset and scale error are shared; before a change of gauge they were others."""

    instrument: str
    items: tuple[GaugeItem, ...]
    bias_sd: float
    scale_sd: float
    shared_with_baseline: bool = True
    sister: bool = False
    """True for the gauge of another aircraft of the same layout, read while that one was sound."""


@dataclass(frozen=True, slots=True)
class LampItem:
    id: str
    point: Point
    sd_rpm: float


@dataclass(frozen=True, slots=True)
class RemarkItem:
    id: str
    symptom: str
    present: bool
    about: str
    minutes_after: float | None
    manner: str = ""


@dataclass(frozen=True, slots=True)
class RemarkGroup:
    """Remarks of one person about one flight, soft ones apart from things seen on a part."""

    name: str
    soft: bool
    items: tuple[RemarkItem, ...]


@dataclass(frozen=True, slots=True)
class CheckItem:
    """A check done. ``points`` are the operating points of a solver check."""

    id: str
    check: str
    outcome: str
    value: float | None
    place: str
    grade: int
    sd: float | None = None
    points: tuple[Point, ...] = ()
    suction: SuctionPoint | None = None
    both_ways: bool = False


@dataclass(frozen=True, slots=True)
class Prepared:
    """Evidence in canonical order, with everything looked up."""

    gauges: tuple[GaugeGroup, ...]
    lamps: tuple[LampItem, ...]
    remarks: tuple[RemarkGroup, ...]
    checks: tuple[CheckItem, ...]
    events: Mapping[str, float]
    changed: frozenset[str]
    altitudes_m: tuple[float, ...]
    """Where flight symptoms were noticed."""
    temperature_k: float | None
    done: frozenset[tuple[str, str]] = frozenset()
    """Checks done, each with its place, those that came in as readings included."""

    def said(self, without: Collection[str] = ()) -> frozenset[str]:
        """What a complaint of instruments, gauge or autopilot says was there; nothing where nobody complains of these.

        A lamp that was timed is said to be slow. ``without`` are ids of evidence that is left out.
        """
        told = [item for group in self.remarks for item in group.items if item.present and item.id not in without]
        noticed = {item.symptom for item in told}
        if not any(SYMPTOMS[symptom].group in _COMPLAINED_OF for symptom in noticed):
            return frozenset()
        timed = any(lamp.id not in without for lamp in self.lamps)
        return frozenset(noticed | ({"lamp_slow_to_go_out"} if timed else set()))


def prepare(description: AircraftDescription, evidence: Evidence) -> Prepared:
    """Check every word and number of ``evidence`` against the aircraft, and put it in canonical order.

    Raises InputError with every problem found.
    """
    evidence = once_each(evidence)
    problems = [*_duplicate_ids(evidence), *_unknown_words(description, evidence)]
    if problems:
        raise InputError(problems)
    changed = _changed(evidence)
    readings = [*evidence.readings, *_readings_of_checks(description, evidence)]
    temperature = evidence.temperature_k
    altitudes = (evidence.altitude_m,) if evidence.altitude_m is not None else REPORTED_ALTITUDES_M
    try:
        return Prepared(
            gauges=_gauge_groups(description, readings, changed),
            lamps=_lamp_items(description, evidence.lamp_readings),
            remarks=_remark_groups(description, evidence.remarks),
            checks=_check_items(description, evidence.checks),
            events=_events(evidence),
            changed=changed,
            altitudes_m=altitudes,
            temperature_k=temperature,
            done=_done(description, evidence),
        )
    except InputError as error:
        raise InputError(error.problems) from error


_ENOUGH_SPEEDS: Final = 5
"""Engine speeds that make readings of the panel gauge a sweep."""


def _done(description: AircraftDescription, evidence: Evidence) -> frozenset[tuple[str, str]]:
    """Checks that need not be asked for again: entered as such, or plain from the readings."""
    found = {(_check_id(result.check), result.place) for result in evidence.checks}
    today = [reading for reading in evidence.readings if not reading.sound]
    for gyro in gyros(description):
        if any(reading.under.get(f"{gyro}.capped") for reading in today):
            found.add(("isolate_gyro", gyro))
        if any(f"{gyro}.inlet" in (r.high, r.low) and f"{gyro}.outlet" in (r.high, r.low) for r in today):
            found.add(("test_gauge_across_instrument", gyro))
    speeds = {r.engine_rpm for r in today if r.instrument == PANEL and r.high is None and not r.under}
    if len(speeds) >= _ENOUGH_SPEEDS:
        found.add(("sweep", ""))
    return frozenset(found)


def _check_id(word: str) -> str:
    check = check_named(word)
    return word if check is None else check.id


def once_each(evidence: Evidence) -> Evidence:
    """The evidence with every item once: the same content under the same id, or the same look under two ids."""
    return msgspec.structs.replace(
        evidence,
        readings=_once(evidence.readings),
        lamp_readings=_once(evidence.lamp_readings),
        remarks=_once(
            evidence.remarks, ("symptom", "about", "present", "manner", "when", "who", "flight", "minutes_after")
        ),
        events=_once(evidence.events),
        checks=_once(evidence.checks),
    )


def _once(items: Sequence[Any], by: tuple[str, ...] | None = None) -> tuple[Any, ...]:
    """First of each identity, ordered by id. Identity is every field but id and note, or the fields of ``by``."""
    kept: dict[bytes, Any] = {}
    for item in sorted(items, key=lambda entry: str(entry.id)):
        content = msgspec.to_builtins(item)
        fields = by or tuple(name for name in content if name not in ("id", "note"))
        mark = msgspec.json.encode([content.get(name) for name in fields], order="sorted")
        kept.setdefault(mark, item)
    return tuple(kept.values())


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


def _unknown_words(description: AircraftDescription, evidence: Evidence) -> list[Problem]:
    problems: list[Problem] = []
    for remark in evidence.remarks:
        if remark.symptom not in SYMPTOMS:
            problems.append(_unknown(f'remark "{remark.id}" symptom', "a known symptom", remark.symptom, SYMPTOMS))
        if remark.about and remark.about not in _part_ids(description):
            problems.append(
                _unknown(f'remark "{remark.id}" about', "a part of this aircraft", remark.about, _part_ids(description))
            )
    problems.extend(
        _unknown(f'event "{event.id}" kind', "a known event", event.kind, EVENTS)
        for event in evidence.events
        if event.kind not in EVENTS
    )
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


def _part_ids(description: AircraftDescription) -> list[str]:
    return [*(part.id for part in description.parts), *(line.id for line in description.lines), "gauge", "lamp"]


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
    if check.kind not in ("table", "sweep") and result.value is None:
        problems.append(
            Problem(
                where=where,
                expected="the measured value, with its unit",
                found="none",
                next_step=f"write what was measured; {check.method[0].lower()}{check.method[1:]}",
            )
        )
    if check.kind == "sweep":
        problems.append(
            Problem(
                where=where,
                expected="a sweep as readings, one for each engine speed",
                found="a check result",
                next_step="write the readings under readings or sweeps",
            )
        )
    instruments = gyros(description)
    if check.at_instrument and result.place not in instruments:
        problems.append(_unknown(f"{where} place", f"one of {', '.join(instruments)}", result.place, instruments))
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


def _changed(evidence: Evidence) -> frozenset[str]:
    """What is another thing now than at the baseline: ``pump``, ``setting``, ``gauge``."""
    sound = [reading.when for reading in evidence.readings if reading.sound and not reading.sister]
    sound += [lamp.when for lamp in evidence.lamp_readings if lamp.sound]
    if not sound:
        since: datetime.date | None = None
        any_baseline = False
    else:
        dated = [when for when in sound if when is not None]
        since, any_baseline = (max(dated) if dated else None), True
    found: set[str] = set()
    for event in evidence.events:
        after = since is None or event.when is None or event.when > since
        if after and (any_baseline or "setting" in EVENTS[event.kind].changes):
            found.update(EVENTS[event.kind].changes)
    return frozenset(found)


def _events(evidence: Evidence) -> Mapping[str, float]:
    """Event word -> weight; the same word twice counts once, at its freshest."""
    found: dict[str, float] = {}
    for event in sorted(evidence.events, key=lambda entry: entry.id):
        weight = freshness(EVENTS[event.kind], event.hours_ago)
        found[event.kind] = max(weight, found.get(event.kind, 0.0))
    return found


def _field_altitude(description: AircraftDescription) -> float:
    return description.field.elevation.number


def _sd_inhg(value: Value | None, default: Value) -> float:
    return (default if value is None else value).number / PA_PER_INHG


def _gauge_groups(
    description: AircraftDescription, readings: Sequence[Reading], changed: frozenset[str]
) -> tuple[GaugeGroup, ...]:
    gauge = description.gauge
    read_sd = _sd_inhg(gauge.read_sd, judgement.GAUGE_READ_SD)
    by_instrument: dict[str, list[GaugeItem]] = {}
    for reading in sorted(readings, key=lambda entry: entry.id):
        altitude = _field_altitude(description) if reading.altitude_m is None else reading.altitude_m
        point = point_at(reading.engine_rpm, altitude, reading.temperature_k, before=reading.sound, under=reading.under)
        sd = read_sd if reading.sd_pa is None else reading.sd_pa / PA_PER_INHG
        occasion = f"{reading.when or ''}, {reading.flight}, {reading.who}"
        item = GaugeItem(reading.id, reading.value_pa / PA_PER_INHG, point, sd, reading.high, reading.low, occasion)
        name = f"{reading.instrument} of {reading.sister}" if reading.sister else reading.instrument
        by_instrument.setdefault(name, []).append(item)
    sisters = {f"{reading.instrument} of {reading.sister}" for reading in readings if reading.sister}
    groups = []
    for instrument, items in sorted(by_instrument.items()):
        sister = instrument in sisters
        panel = instrument == PANEL or sister
        bias = _sd_inhg(gauge.bias_sd, judgement.GAUGE_BIAS_SD) if panel else TEST_BIAS_SD_INHG
        scale = (gauge.scale_sd or judgement.GAUGE_SCALE_SD).number if panel else TEST_SCALE_SD
        shared = not (panel and "gauge" in changed)
        groups.append(GaugeGroup(instrument, tuple(items), bias, scale, shared, sister))
    return tuple(groups)


def _lamp_items(description: AircraftDescription, readings: Sequence[LampReading]) -> tuple[LampItem, ...]:
    items = []
    for reading in sorted(readings, key=lambda entry: entry.id):
        altitude = _field_altitude(description) if reading.altitude_m is None else reading.altitude_m
        point = point_at(reading.engine_rpm, altitude, None, before=reading.sound)
        items.append(LampItem(reading.id, point, reading.sd_rpm or LAMP_SD_RPM))
    return tuple(items)


def _about(description: AircraftDescription, remark: Remark) -> str:
    """The instrument a remark is about: as said, or the only one of its kind."""
    if remark.about:
        return remark.about
    kind = SYMPTOMS[remark.symptom].instrument
    parts = description.parts_of(kind) if kind else ()
    return parts[0].id if parts else ""


def _remark_groups(description: AircraftDescription, remarks: Sequence[Remark]) -> tuple[RemarkGroup, ...]:
    groups: dict[tuple[str, str, bool], list[RemarkItem]] = {}
    for remark in sorted(remarks, key=lambda entry: entry.id):
        soft = not SYMPTOMS[remark.symptom].direct
        flight = remark.flight or (remark.when.isoformat() if remark.when else "")
        about = _about(description, remark)
        item = RemarkItem(remark.id, remark.symptom, remark.present, about, remark.minutes_after, remark.manner)
        groups.setdefault((remark.who, flight, soft), []).append(item)
    named = sorted(groups.items(), key=lambda entry: entry[0])
    return tuple(RemarkGroup(_group_name(*key), key[2], tuple(items)) for key, items in named)


def _group_name(who: str, flight: str, soft: bool) -> str:
    what = "what was noticed" if soft else "what was seen"
    return f"{what}{f' by {who}' if who else ''}{f', {flight}' if flight else ''}"


def _capped_key(place: str) -> dict[str, float]:
    return {f"{place}.capped": 1.0}


def _readings_of_checks(description: AircraftDescription, evidence: Evidence) -> list[Reading]:
    """Checks that are readings of a gauge: across an instrument, across a filter, with one instrument capped."""
    found: list[Reading] = []
    for result in evidence.checks:
        check = check_named(result.check)
        if check is None or result.value is None:
            continue
        common: dict[str, Any] = {
            "id": result.id,
            "value_pa": result.value,
            "engine_rpm": result.engine_rpm or description.engine.cruise_rpm.number,
            "altitude_m": result.altitude_m,
            "temperature_k": result.temperature_k,
            "sd_pa": result.sd,
            "when": result.when,
            "who": result.who,
        }
        if check.kind == "gauge across instrument":
            ends = instrument_ends(description, result.place)
            found.append(Reading(instrument="test gauge", high=ends[0], low=ends[1], under=result.under, **common))
        elif check.kind == "filter drop":
            ends = filter_ends(description, result.place)
            found.append(Reading(instrument="test gauge", high=ends[0], low=ends[1], under=result.under, **common))
        elif check.kind == "capped sweep":
            found.append(Reading(under={**result.under, **_capped_key(result.place)}, **common))
    return found


def instrument_ends(description: AircraftDescription, gyro: str) -> tuple[str, str]:
    return f"{gyro}.inlet", f"{gyro}.outlet"


def filter_ends(description: AircraftDescription, filter_id: str) -> tuple[str, str]:
    """Upstream and downstream port of a filter. Raises InputError for a part that is none."""
    part = next((part for part in description.parts if part.id == filter_id), None)
    names = [] if part is None else [port.name for port in KINDS[part.kind].ports]
    if part is None or not part.kind.endswith("filter"):
        raise InputError(
            Problem(
                where="drop across a filter, place",
                expected="a filter of this aircraft",
                found=f'"{filter_id}"',
                next_step="write the filter's id as place",
            )
        )
    return f"{filter_id}.{names[0]}", f"{filter_id}.{names[1]}"


_AS_READINGS: Final = ("gauge across instrument", "filter drop", "capped sweep")


def _check_items(description: AircraftDescription, results: Sequence[CheckResult]) -> tuple[CheckItem, ...]:
    items = []
    for result in sorted(results, key=lambda entry: entry.id):
        check = check_named(result.check)
        if check is None or check.kind in _AS_READINGS:
            continue
        items.append(_check_item(description, result, check.id, check.kind))
    return tuple(items)


def _check_item(description: AircraftDescription, result: CheckResult, check: str, kind: str) -> CheckItem:
    altitude = _field_altitude(description) if result.altitude_m is None else result.altitude_m
    points: tuple[Point, ...] = ()
    suction: SuctionPoint | None = None
    if kind == "cover test":
        points = cover_points(description, result.engine_rpm or COVER_TEST_RPM, altitude, result.temperature_k)
    if kind == "suction flow":
        at = point_at(0.0, altitude, result.temperature_k)
        suction_pa = SUCTION_INHG * PA_PER_INHG if result.suction_pa is None else result.suction_pa
        under = tuple(sorted(result.under.items()))
        suction = SuctionPoint(result.place, suction_pa, at.ambient_pa, at.temperature_k, under)
    return CheckItem(
        id=result.id,
        check=check,
        outcome=result.outcome,
        value=result.value,
        place=result.place,
        grade=result.grade,
        sd=result.sd,
        points=points,
        suction=suction,
        both_ways=result.both_ways,
    )


def cover_points(
    description: AircraftDescription, rpm: float, altitude_m: float, temperature_k: float | None
) -> tuple[Point, Point]:
    """Before and while the regulator's intake is covered."""
    covered = {f"{part.id}.covered": 1.0 for part in description.parts_of("regulator")}
    plain = point_at(rpm, altitude_m, temperature_k)
    return plain, point_at(rpm, altitude_m, temperature_k, under=covered)
