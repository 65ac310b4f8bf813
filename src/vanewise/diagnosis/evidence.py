"""From what people handed in to what the likelihoods take: identity, words, operating points, what has changed since.

Evidence has identity. Two items that are the same look at the same thing are one item; repeated readings of one
instrument share that instrument's error; remarks of one person about one flight share that person's reliability.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import msgspec

from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.kinds import KINDS
from vanewise.diagnosis.disagreement import disagreeing
from vanewise.diagnosis.evidence_problems import problems_of
from vanewise.diagnosis.former_parts import NO_FORMER, Former, before_it_stopped, first_sign, set_aside
from vanewise.diagnosis.hypotheses import OF_ANY, complained_of
from vanewise.diagnosis.lateness import lateness, occasion_of
from vanewise.diagnosis.not_fitted import without_what_is_not_fitted
from vanewise.diagnosis.solving import Point, SuctionPoint, point_at
from vanewise.diagnosis.symptoms import event_name, word_and_part
from vanewise.diagnosis.types import CheckResult, Event, Evidence, LampReading, Reading, Remark
from vanewise.diagnosis.vocabulary import EVENTS, SYMPTOMS, check_named, freshness
from vanewise.errors import InputError, Problem
from vanewise.network.observe import gyros
from vanewise.provenance import Value
from vanewise.quantities import PA_PER_INHG
from vanewise.values import judgement

PANEL: Final = "panel gauge"
TEST_BIAS_SD_INHG: Final = 0.03
TEST_SCALE_SD: Final = 0.005
"""A calibrated test gauge (judgement)."""
LAMP_SD_RPM: Final = 70.0
"""Scatter of the engine speed at which a lamp goes out, from one day to the next (judgement)."""
PROVED: Final = 2
"""Grade of what was taken away and went, put back and came back."""
COVER_TEST_RPM: Final = 1200.0
SUCTION_INHG: Final = 5.0
_EVERYDAY: Final = 0.2
"""Chance of being noticed with nothing wrong from which a sight is an everyday one (docs/decisions/0011)."""
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
    late: float = 0.0
    """How late in its run it was read: 0 at the start, 1 at the end, more once warm
    (:mod:`vanewise.diagnosis.lateness`)."""

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
    when: datetime.date | None = None
    who: str = ""


_TUMBLED: Final = frozenset({"ai_tumbles", "hi_spins"})


@dataclass(frozen=True, slots=True)
class Prepared:
    """Evidence in canonical order, with everything looked up."""

    gauges: tuple[GaugeGroup, ...]
    lamps: tuple[LampItem, ...]
    remarks: tuple[RemarkGroup, ...]
    checks: tuple[CheckItem, ...]
    events: Mapping[str, float]
    """:func:`~vanewise.diagnosis.symptoms.event_name` -> weight."""
    changed: frozenset[str]
    altitudes_m: tuple[float, ...]
    """Where flight symptoms were noticed."""
    temperature_k: float | None
    done: frozenset[tuple[str, str]] = frozenset()
    """Checks done, each with its place, those that came in as readings included; not those whose results disagree."""
    disagreeing: tuple[tuple[str, str], ...] = ()
    """Pairs of checks, by id: results of one check at one place that cannot both be so."""
    former: Former = NO_FORMER
    """What was left out because the part it is of was changed since."""
    work: tuple[Event, ...] = ()
    """The events as entered, with their dates and hours."""
    fault_since: datetime.date | None = None
    """First dated sign of the complaint."""
    instruments: int = 1
    """Air-driven instruments fitted."""

    @property
    def happened(self) -> Mapping[str, float]:
        """Event word -> weight, whatever part it is about; of several parts the freshest."""
        found: dict[str, float] = {}
        for name, weight in self.events.items():
            kind, _ = word_and_part(name)
            found[kind] = max(weight, found.get(kind, 0.0))
        return found

    def said(self, without: Collection[str] = ()) -> frozenset[str]:
        """What a complaint of instruments, gauge or autopilot says was there; where nobody complains of these, nothing,
        but what was seen on a part where nothing was read today, and more than what every aircraft shows who looks.

        A lamp that was timed is said to be slow. ``without`` are ids of evidence that is left out.
        """
        told = [item for group in self.remarks for item in group.items if item.present and item.id not in without]
        noticed = {item.symptom for item in told}
        if not complained_of(noticed):
            telling = any(SYMPTOMS[symptom].base < _EVERYDAY for symptom in noticed)
            return frozenset(noticed) if telling and not self._read_today(without) else frozenset()
        timed = any(lamp.id not in without for lamp in self.lamps)
        return frozenset(noticed | ({"lamp_slow_to_go_out"} if timed else set()))

    def of_one(self, without: Collection[str] = ()) -> bool:
        """Whether one instrument of several is all that anybody speaks of: nothing was read today, and gauge, lamp,
        supply and the other instruments are not named, not even as right.

        Not where it tumbled or spins, which takes all the attention there is. ``without`` are ids of evidence that is
        left out.
        """
        told = [item for group in self.remarks for item in group.items if item.id not in without]
        of = [SYMPTOMS[item.symptom] for item in told if item.symptom not in OF_ANY]
        kinds = {symptom.instrument for symptom in of if symptom.instrument and symptom.group != "autopilot"}
        elsewhere = any(symptom.group == "power" or symptom.id in _TUMBLED for symptom in of)
        return self.instruments > 1 and len(kinds) == 1 and not elsewhere and not self._read_today(without)

    def _read_today(self, without: Collection[str]) -> bool:
        """Whether a gauge, the lamp or a measuring check says how the air is now, ``without`` some items."""
        gauges = [item for group in self.gauges if not group.sister for item in group.items if not item.point.before]
        lamps = [lamp for lamp in self.lamps if not lamp.point.before]
        measured = [item for item in self.checks if item.points or item.suction is not None]
        read = [*(item.id for item in gauges), *(lamp.id for lamp in lamps), *(item.id for item in measured)]
        return any(item_id not in without for item_id in read)


def prepare(description: AircraftDescription, evidence: Evidence) -> Prepared:
    """Check every word and number of ``evidence`` against the aircraft, and put it in canonical order.

    Raises InputError with every problem found.
    """
    evidence = once_each(evidence)
    problems = problems_of(description, evidence)
    if problems:
        raise InputError(problems)
    evidence, former = without_what_is_not_fitted(description, *set_aside(description, evidence))
    since = first_sign(evidence)
    evidence, former = before_it_stopped(evidence, former)
    changed = _changed(evidence)
    readings = [*evidence.readings, *_readings_of_checks(description, evidence)]
    temperature = evidence.temperature_k
    altitudes = (evidence.altitude_m,) if evidence.altitude_m is not None else REPORTED_ALTITUDES_M
    try:
        checks = _check_items(description, evidence.checks)
        against = disagreeing(checks, evidence.events)
        return Prepared(
            gauges=_gauge_groups(description, readings, changed),
            lamps=_lamp_items(description, evidence.lamp_readings),
            remarks=_remark_groups(description, evidence.remarks),
            checks=checks,
            events=_events(evidence),
            changed=changed,
            altitudes_m=altitudes,
            temperature_k=temperature,
            done=_done(description, evidence) - _to_look_again(checks, against),
            disagreeing=against,
            former=former,
            work=evidence.events,
            fault_since=since,
            instruments=len(gyros(description)),
        )
    except InputError as error:
        raise InputError(error.problems) from error


_ENOUGH_SPEEDS: Final = 5
"""Engine speeds that make readings of the panel gauge a sweep."""
_RUN_UP_RPM: Final = 1500.0
"""Engine speed from which one reading of the panel gauge says what a reading at run-up would (judgement)."""
_SAYS_RUN_UP: Final = frozenset({"gauge_zero", "gauge_low_run_up", "gauge_high_run_up"})
"""Remarks, present or looked for and absent, that say what the panel gauge shows at run-up."""


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
    fast = min(_RUN_UP_RPM, description.engine.run_up_rpm.number)
    told = any(remark.symptom in _SAYS_RUN_UP for remark in evidence.remarks)
    if told or ("sweep", "") in found or any(rpm >= fast for rpm in speeds):
        found.add(("gauge_at_run_up", ""))
    return frozenset(found)


def _to_look_again(checks: Sequence[CheckItem], against: Collection[tuple[str, str]]) -> frozenset[tuple[str, str]]:
    named = {name for pair in against for name in pair}
    return frozenset((item.check, item.place) for item in checks if item.id in named)


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
    """Event word, with the part it is about, -> weight; the same twice counts once, at its freshest."""
    found: dict[str, float] = {}
    for event in sorted(evidence.events, key=lambda entry: entry.id):
        weight = freshness(EVENTS[event.kind], event.hours_ago)
        name = event_name(event.kind, event.about)
        found[name] = max(weight, found.get(name, 0.0))
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
    late = lateness(readings, _field_altitude(description))
    by_instrument: dict[str, list[GaugeItem]] = {}
    for reading in sorted(readings, key=lambda entry: entry.id):
        altitude = _field_altitude(description) if reading.altitude_m is None else reading.altitude_m
        point = point_at(reading.engine_rpm, altitude, reading.temperature_k, before=reading.sound, under=reading.under)
        sd = read_sd if reading.sd_pa is None else reading.sd_pa / PA_PER_INHG
        item = GaugeItem(
            reading.id,
            reading.value_pa / PA_PER_INHG,
            point,
            sd,
            reading.high,
            reading.low,
            occasion_of(reading),
            late[reading.id],
        )
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
        grade=max(result.grade, PROVED) if result.both_ways else result.grade,
        sd=result.sd,
        points=points,
        suction=suction,
        both_ways=result.both_ways,
        when=result.when,
        who=result.who,
    )


def cover_points(
    description: AircraftDescription, rpm: float, altitude_m: float, temperature_k: float | None
) -> tuple[Point, Point]:
    """Before and while the regulator's intake is covered."""
    covered = {f"{part.id}.covered": 1.0 for part in description.parts_of("regulator")}
    plain = point_at(rpm, altitude_m, temperature_k)
    return plain, point_at(rpm, altitude_m, temperature_k, under=covered)
