"""Jobs that only compute: from the text of files to an answer. No store, no Django, no clock of their own."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import msgspec

from vanewise import pipeline
from vanewise.aircraft.names import nearest
from vanewise.errors import InputError, NoAnswer, Problem, wrong
from vanewise.jobs import words
from vanewise.jobs.answers import Answer, to_json
from vanewise.quantities import KELVIN_AT_0C, M_PER_FT, PA_PER_INHG, shown, to_si
from vanewise.wording import sentence

if TYPE_CHECKING:
    from vanewise.aircraft.description import AircraftDescription
    from vanewise.aircraft.questions import Question
    from vanewise.contamination import Finding, SheddingEvent
    from vanewise.diagnosis.modes import FailureMode
    from vanewise.diagnosis.types import Causes, Evidence
    from vanewise.network import Solved, Sweep
    from vanewise.network.types import Engine


def engine() -> Engine:
    """The compiled kernel where it is installed, else numpy: the same answers, slower."""
    from vanewise.network import best_engine

    return best_engine()


def layouts() -> Answer:
    """The ready-made layouts."""
    from vanewise.aircraft.layouts import layouts as ready_made
    from vanewise.jobs.shapes import Layouts

    infos = tuple(ready_made().values())
    return Answer(data=Layouts(layouts=infos), words=words.layouts(infos))


def new_description(layout: str) -> str:
    """A ready-made layout as commented text to be filled in."""
    from vanewise.aircraft.layouts import make
    from vanewise.aircraft.writing import write_description

    return write_description(make(layout))


def validate(text: str, path: str) -> Answer:
    """A description checked before anything is computed; says how much of it is still assumed."""
    from vanewise.aircraft.remarks import remarks
    from vanewise.jobs.shapes import Assumption, Checked

    description = pipeline.describe(text, path)
    data = Checked(
        name=description.name,
        duty=description.duty,
        duty_confirmed=description.duty_confirmed,
        parts=len(description.parts),
        lines=len(description.lines),
        assumed=tuple(
            Assumption(
                where=where,
                value=shown(value.number, value.dimension),
                standing=value.standing,
                source=str(value.source),
            )
            for where, value in description.assumed()
        ),
        remarks=remarks(description),
    )
    return Answer(data=data, words=words.validated(data))


def sweep(
    text: str,
    path: str,
    *,
    rpm: str | None = None,
    altitude_ft: float | None = None,
    temperature_c: float | None = None,
    states: Sequence[str] = (),
    band: bool = False,
    seed: int = 0,
) -> Answer:
    """The gauge, and pressure and flow at every part, over engine speed."""
    from vanewise.jobs.shapes import Swept
    from vanewise.network.sweep import STANDARD_RPMS

    description = pipeline.describe(text, path)
    altitude_m = field_altitude(description, altitude_ft)
    swept = pipeline.solve(
        description,
        STANDARD_RPMS if rpm is None else numbers(rpm, "--rpm"),
        altitude_m,
        None if temperature_c is None else temperature_c + KELVIN_AT_0C,
        state_values(states, description),
        engine(),
    )
    _refuse_unsolved(swept)
    data = Swept(**msgspec.structs.asdict(swept), remarks=not_computed(description))
    if not band:
        return Answer(data=data, words=words.swept(description, data))
    spread = pipeline.spread(
        description,
        [point.rpm for point in swept.points],
        altitude_m,
        swept.temperature_k,
        seed=seed,
        engine=engine(),
    )
    data = msgspec.structs.replace(data, band=spread)
    return Answer(data=data, words=words.swept(description, data) + "\n\n" + words.banded(spread))


def _refuse_unsolved(swept: Sweep) -> None:
    """A sweep of which no point could be solved is no answer; single points say so themselves."""
    if any(point.gauge_inhg is not None for point in swept.points):
        return
    raise NoAnswer(
        Problem(
            where="sweep",
            expected="a balance of flow at every junction, at one engine speed at least",
            found="none that the solver could vouch for",
            next_step="take the states back one by one; the last one out is the one to look at",
        )
    )


def not_computed(description: AircraftDescription) -> tuple[str, ...]:
    """What is fitted on the same air and left out of every curve and scope, in words."""
    from vanewise.aircraft.remarks import remarks

    return tuple(
        f"Fitted: {remark.found}. {sentence(remark.next_step)}"
        for remark in remarks(description)
        if remark.where == "also_fitted"
    )


def trace(
    text: str,
    path: str,
    *,
    part: str,
    event: str,
    altitude_ft: float | None = None,
    suction_inhg: float | None = None,
    turns_back: float | None = None,
    found: Sequence[str] = (),
    ran_on_min: float | None = None,
    other_source: bool | None = None,
    fragments: bool | None = None,
    evidence: tuple[str, str] | None = None,
) -> Answer:
    """Which parts debris from ``part`` can have reached, by which path, and what proves each clean.

    ``evidence`` is the text of an evidence file and its path: what it says about dirt counts as well.
    """
    from vanewise.contamination import SheddingEvent

    description = pipeline.describe(text, path)
    shed = SheddingEvent(
        part=part,
        kind=event,  # type: ignore[arg-type]
        altitude_m=None if altitude_ft is None else altitude_ft * M_PER_FT,
        suction_pa=None if suction_inhg is None else suction_inhg * PA_PER_INHG,
        turns_back=turns_back,
        ran_on_minutes=ran_on_min,
        other_source_used=other_source,
        fragments_complete=fragments,
    )
    scope = pipeline.trace(
        description,
        air_of(description, (shed,)),
        (shed,),
        tuple(_finding(description, item) for item in found),
        None if evidence is None else _observed(description, *evidence),
    )
    return Answer(data=scope, words=words.scoped(scope))


def _observed(description: AircraftDescription, text: str, path: str) -> Evidence:
    """The evidence of a file, held against the aircraft. Raises InputError."""
    from vanewise.diagnosis.evidence import prepare

    evidence = pipeline.observe(text, path)
    prepare(description, evidence)
    return evidence


def modes() -> Answer:
    """The failure modes it knows."""
    from vanewise.diagnosis.modes import MODES
    from vanewise.jobs.shapes import Mode, Modes

    rows = tuple(
        Mode(
            id=mode.id,
            name=mode.name,
            meaning=mode.meaning,
            level=mode.level,
            duties=mode.duties,
            changes_network=mode.changes_network(),
            rate_per_1000_h=mode.rate.number,
            rate_standing=mode.rate.standing,
            severity=mode.severity.meaning,
            confirms=mode.confirms,
            refutes=mode.refutes,
            sheds=mode.sheds,
            source=str(mode.source),
        )
        for mode in MODES.values()
    )
    return Answer(data=Modes(modes=rows), words=words.modes(rows))


def diagnose(
    text: str,
    path: str,
    evidence_text: str,
    evidence_path: str,
    *,
    refine: bool = True,
    seed: int = 0,
    opened: Sequence[str] = (),
) -> Answer:
    """What may be the source, how sure, and which check is worth doing next, given what is open already."""
    description = pipeline.describe(text, path)
    evidence = pipeline.observe(evidence_text, evidence_path)
    causes = pipeline.infer(description, evidence, seed=seed, refine=refine, engine=engine(), opened=opened)
    causes = msgspec.structs.replace(causes, remarks=(*causes.remarks, *not_computed(description)))
    return Answer(data=causes, words=words.caused(causes))


def first_causes(
    text: str, path: str, evidence_text: str, evidence_path: str, *, seed: int = 0
) -> tuple[AircraftDescription, Evidence, Causes]:
    """Description, evidence and the first answer of two files. Raises InputError, NoAnswer."""
    description = pipeline.describe(text, path)
    evidence = pipeline.observe(evidence_text, evidence_path)
    return description, evidence, pipeline.infer(description, evidence, seed=seed, refine=False, engine=engine())


def plan(
    text: str,
    path: str,
    evidence_text: str,
    evidence_path: str,
    *,
    cause: str,
    today: datetime.date,
    seed: int = 0,
    page: str = "letter",
) -> Answer:
    """The work package for a cause of a report, and its pages.

    Where the cause sits comes from the evidence; what it shed is traced as it would have travelled. Raises InputError
    for a cause it does not know, or that this aircraft cannot have.
    """
    from vanewise.contamination.told import new_pump_remarks
    from vanewise.diagnosis.modes import MODES
    from vanewise.prints import hose_map_pdf, tags_pdf, work_package_pdf
    from vanewise.record.tags import hose_end_tags
    from vanewise.schematic.printing import scope_for_paper

    if cause not in MODES:
        raise wrong(
            f"--cause {cause}", "one of the failure modes", f'"{cause}"', nearest(cause, MODES, "see: vanewise modes")
        )
    description, evidence, causes = first_causes(text, path, evidence_text, evidence_path, seed=seed)
    chosen = next((item for item in causes.causes if item.id == cause), None)
    if chosen is None:
        known = ", ".join(item.id for item in causes.causes)
        raise wrong(f"--cause {cause}", f"one this aircraft can have: {known}", cause, "look at the duty and the parts")
    shed = _shed(description, evidence, MODES[cause], chosen.part)
    any_dirt = bool(shed) or bool(pipeline.told_of_dirt(description, evidence).events)
    air = air_of(description) if any_dirt else None
    scope = None if air is None else pipeline.trace(description, air, shed, (), evidence)
    warnings = new_pump_remarks(evidence)
    package = pipeline.plan(description, chosen, scope, today=today, report=evidence.notes, warnings=warnings)
    tags = hose_end_tags(package.aircraft, package.hose_tags)
    answer = Answer(data=package, words=words.planned(package))
    files = {
        "work-package.json": to_json(answer).encode(),
        "work-package.pdf": work_package_pdf(package, page=page, schematic_svg=scope_for_paper(description, scope)),
        "hose-map.pdf": hose_map_pdf(package, page=page),
    }
    if tags:
        files["hose-tags.pdf"] = tags_pdf(tags, dated=today)
    return msgspec.structs.replace(answer, files=files)


def _shed(
    description: AircraftDescription, evidence: Evidence, mode: FailureMode, part: str
) -> tuple[SheddingEvent, ...]:
    """What the cause released, where it sits in a part that can shed; nothing for a cause that sheds none."""
    from vanewise.contamination import SheddingEvent

    if mode.sheds is None:
        return ()
    source = part or description.parts_of("pump")[0].id
    return tuple(SheddingEvent(part=source, kind=kind, altitude_m=evidence.altitude_m) for kind in mode.sheds.events)


def prove(text: str, path: str, readings_text: str, readings_path: str, *, seed: int = 0) -> Answer:
    """Ground-run readings held against the band predicted for this aircraft today."""
    from vanewise.groundrun.reading import read_ground_run
    from vanewise.jobs.shapes import Proved

    description = pipeline.describe(text, path)
    run = read_ground_run(readings_text, readings_path)
    foreseen = pipeline.foresee(description, run, seed=seed, engine=engine())
    verdict = pipeline.prove(foreseen, run.readings)
    return Answer(data=Proved(plan=foreseen, verdict=verdict), words=words.proved(foreseen, verdict))


def wear(text: str, path: str) -> Answer:
    """From wear-port looks to hours left with an interval, and when to look again."""
    from vanewise.watch.reading import read_wear

    looks = read_wear(text, path)
    forecast = pipeline.watch_wear(looks.history, looks.horizons, looks.priors)
    return Answer(data=forecast, words=words.worn(looks.pump, forecast))


def questions() -> tuple[Question, ...]:
    """The ten questions a first sweep needs, and the one that is offered."""
    from vanewise.aircraft.questions import QUESTIONS

    return QUESTIONS


def split_answers(answers: Sequence[str]) -> dict[str, object]:
    """``QUESTION=ANSWER`` texts as a mapping."""
    out: dict[str, object] = {}
    for item in answers:
        key, equals, value = item.partition("=")
        if not equals:
            raise wrong(f"--answer {item}", "QUESTION=ANSWER, like duty=suction", f'"{item}"', "write it so")
        out[key.strip()] = value.strip()
    return out


def trouble_with(answers: Mapping[str, object]) -> str | None:
    """Why the answers so far cannot be taken, in words; None when they can."""
    from vanewise.aircraft.answers import start_from_answers

    try:
        start_from_answers(answers)
    except InputError as error:
        return str(error)
    return None


def start(answers: Mapping[str, object], name: str) -> Answer:
    """A description from the answers, as commented text, with what is assumed in it."""
    from vanewise.aircraft.answers import start_from_answers
    from vanewise.aircraft.writing import write_description
    from vanewise.jobs.shapes import Begun

    begun = start_from_answers(answers, name)
    return Answer(
        data=Begun(
            name=begun.description.name,
            duty=begun.description.duty,
            assumed=begun.assumed,
            remarks=begun.remarks,
            lamp_out_rpm=begun.lamp_out_rpm,
            last_work=begun.last_work,
        ),
        words=words.begun(begun),
        files={"description.toml": write_description(begun.description).encode()},
    )


def schema(what: str) -> str:
    """The JSON Schema of a file format, as text."""
    from vanewise.jobs.file_schemas import schema_of

    return msgspec.json.format(msgspec.json.encode(schema_of(what)), indent=2).decode()


_STATES = ("intact", "breached", "absent", "reversed", "unknown")
_ARROWS: Mapping[str, bool] = {"right-way": True, "wrong-way": False}


def _finding(description: AircraftDescription, text: str) -> Finding:
    """``PART=STATE`` or ``PART=intact,right-way`` as a barrier finding, ``LINE=clean,0.3 m`` as an end of traces."""
    from vanewise.contamination import BarrierFinding

    part, _, said = (piece.strip() for piece in text.partition("="))
    state, *more = (piece.strip() for piece in said.split(",", 2))
    is_line = any(line.id == part for line in description.lines)
    if state == "clean" or (is_line and state in _STATES):
        return _front(text, part, state, more)
    if state not in _STATES:
        known = ", ".join(_STATES)
        raise wrong(
            f"--found {text}",
            f"PART=STATE with one of {known}; for a line LINE=clean,0.3 m",
            f'"{text}"',
            "write one of these states",
        )
    if more and (len(more) > 1 or more[0] not in _ARROWS):
        raise wrong(
            f"--found {text}",
            f"after the state nothing, or which way round it sits: {part}=intact,right-way or {part}=intact,wrong-way",
            f'"{",".join(more)}"',
            "write right-way only where somebody looked at the arrow; leave it out where nobody did",
        )
    seen = _ARROWS[more[0]] if more else (False if state == "reversed" else None)
    return BarrierFinding(part=part, state=state, right_way_round=seen)  # type: ignore[arg-type]


def _front(text: str, line: str, state: str, more: Sequence[str]) -> Finding:
    """A line seen clean from a point on: the length from its dirty end, and how it was seen."""
    from vanewise.contamination import FrontFinding

    if state != "clean" or not more:
        raise wrong(
            f"--found {text}",
            f"from where on the line was seen clean, measured from its dirty end: --found {line}=clean,0.3m",
            f'"{text}"',
            "give the length with its unit; a line that was not looked into is no finding",
        )
    return FrontFinding(
        line=line,
        clean_from_m=to_si(more[0], "length", f"--found {text}"),
        proof=more[1] if len(more) > 1 else "",
    )


def field_altitude(description: AircraftDescription, altitude_ft: float | None) -> float:
    """The pressure altitude asked for, or the home field's elevation, in m."""
    return description.field.elevation.number if altitude_ft is None else altitude_ft * M_PER_FT


def air_of(description: AircraftDescription, events: Sequence[SheddingEvent] = ()) -> Solved:
    """The air a trace rests on: at the height of the first event, or at the home field where nobody has said it.

    Low down a pump holds more suction than high up: with the suction of the field, and the thin air a stop of unknown
    height is taken to have been in, the reach is not less than at any height between.
    """
    first = events[0].altitude_m if events else None
    return running(description, description.field.elevation.number if first is None else first)


def running(description: AircraftDescription, altitude_m: float) -> Solved:
    """The sound system running at cruise speed: which way the air goes. Raises NoAnswer where it is not solved."""
    from vanewise.network import NotSolved, OperatingPoint, pack, solve

    point = OperatingPoint(engine_rpm=description.engine.cruise_rpm.number, altitude_m=altitude_m)
    answer = solve(pack(description), point)
    if isinstance(answer, NotSolved):
        raise NoAnswer(
            Problem(
                where=answer.worst_junction,
                expected="a balance of flow at every junction",
                found=answer.reason,
                next_step="look at the numbers of the parts around it",
            )
        )
    return answer


def numbers(text: str, where: str) -> tuple[float, ...]:
    """Numbers separated by commas."""
    try:
        return tuple(float(item) for item in text.split(","))
    except ValueError:
        raise wrong(
            where, "numbers separated by commas, like 700,1000,1200", f'"{text}"', "write numbers only"
        ) from None


def state_values(states: Sequence[str], description: AircraftDescription) -> Mapping[str, float]:
    """``PART.KEY=VALUE`` texts as a mapping. Raises InputError for a number outside what is believed possible.

    Keys that this aircraft does not have are left to the network, which names the nearest ones.
    """
    out: dict[str, float] = {}
    for item in states:
        key, equals, value = (part.strip() for part in item.partition("="))
        try:
            number = float(value) if equals else math.nan
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            raise wrong(
                f"--state {item}", "PART.KEY=VALUE with a plain number, like pump.slip=3", f'"{item}"', "write it so"
            )
        bounds = _bounds(description, key)
        if bounds is not None and not bounds[0] <= number <= bounds[1]:
            low, high, unit = bounds
            raise wrong(
                f"--state {item}",
                f"{low:g} to {high:g}" + (f" ({unit})" if unit else ""),
                f"{number:g}",
                "give a number within; docs/reference/parts.md lists them all",
            )
        out[key] = number
    return out


def _bounds(description: AircraftDescription, key: str) -> tuple[float, float, str] | None:
    """What is believed possible for a state (in its own unit) or field (SI) of this aircraft; None for neither."""
    from vanewise.aircraft.kinds import KINDS, field_of
    from vanewise.aircraft.versions import kind_at

    owner, _, name = key.rpartition(".")
    kind = kind_at(description, owner)
    if kind is None or kind not in KINDS:
        return None
    state = next((spec for spec in KINDS[kind].states if spec.name == name), None)
    if state is not None:
        return state.low, state.high, state.unit
    field = field_of(kind, name)
    return None if field is None else (field.low, field.high, "SI unit")
