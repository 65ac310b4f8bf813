"""The ten stages in order. Open this first; the jobs call these functions, they are not a drawing.

Each stage takes the former's value and gives its own. Everything is pure: ``today`` and ``seed`` are arguments, and
text comes in already read. Heavy imports wait inside the stages, so that a job loads only what it uses.

    describe -> solve -> observe -> infer -> trace -> plan -> do -> prove -> write -> watch

The seventh stage, ``do``, is no single function: it is every tick, count and closure on a job's log, each judged by the
package's gates (``work/log.py``).
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vanewise.aircraft.description import AircraftDescription
    from vanewise.contamination import Change, Finding, Scope, SheddingEvent, Told
    from vanewise.diagnosis.types import Cause, Causes, Evidence
    from vanewise.groundrun import GroundRunPlan, GroundRunReading, GroundRunVerdict
    from vanewise.groundrun.reading import GroundRunFile
    from vanewise.network import Solved, Sweep
    from vanewise.network.band import Band
    from vanewise.network.types import Engine
    from vanewise.record.entry import Hours
    from vanewise.record.jurisdiction import Jurisdiction
    from vanewise.record.types import MaintenanceRecord
    from vanewise.watch.due import DatesOfHours, DuePoint, Now
    from vanewise.watch.fleet import FleetPump
    from vanewise.watch.followed import Airframe, Followable, Taken, TimedFigure
    from vanewise.watch.trend import Trend
    from vanewise.watch.types import DueItem, Limit, MeterKind, PutOff, WearForecast, Work
    from vanewise.watch.wear import Horizons
    from vanewise.watch.wear_history import PumpHistory
    from vanewise.watch.wear_planning import WearBandPoint
    from vanewise.watch.wear_priors import WearPriors
    from vanewise.work.types import JobLog, Override, WorkPackage


def describe(text: str, path: str) -> AircraftDescription:
    """1. What is fitted, in which duty, how is it plumbed. Raises InputError with every problem of the text."""
    from vanewise.aircraft.reading import read_description

    return read_description(text, path)


def solve(
    description: AircraftDescription,
    rpms: Sequence[float],
    altitude_m: float,
    temperature_k: float | None,
    states: Mapping[str, float],
    engine: Engine = "numpy",
) -> Sweep:
    """2a. What pressure and flow at every part, at each engine speed."""
    from vanewise.network import sweep

    return sweep(description, rpms, altitude_m, temperature_k, states, engine=engine)


def spread(
    description: AircraftDescription,
    rpms: Sequence[float],
    altitude_m: float,
    temperature_k: float | None,
    *,
    seed: int,
    engine: Engine | None = None,
) -> Band:
    """2b. The same as well as the aircraft is known: a band, and which numbers widen it most."""
    from vanewise.network.band import band

    return band(description, rpms, altitude_m, temperature_k, seed=seed, engine=engine)


def observe(text: str, path: str) -> Evidence:
    """3. What do we really know, and how well. Raises InputError with every problem of the text."""
    from vanewise.diagnosis.reading import read_evidence

    return read_evidence(text, path)


def infer(
    description: AircraftDescription,
    evidence: Evidence,
    *,
    seed: int,
    refine: bool = True,
    engine: Engine | None = None,
    today: datetime.date | None = None,
    opened: Sequence[str] = (),
) -> Causes:
    """4. What is it, how sure, what to check next. ``opened`` is the access that is open already."""
    import msgspec

    from vanewise.diagnosis.free_words import unweighed
    from vanewise.diagnosis.infer import Options, diagnose

    options = Options(opened=tuple(opened))
    found = diagnose(description, evidence, seed=seed, refine=refine, engine=engine, today=today, options=options)
    return msgspec.structs.replace(found, remarks=(*found.remarks, *unweighed(evidence)))


def first_causes(
    description: AircraftDescription, evidence: Evidence, *, seed: int, engine: Engine | None = None
) -> Causes:
    """4, at once: the causes from the bank of states alone, without weights of evidence and next checks."""
    from vanewise.diagnosis.infer import FIRST, diagnose

    return diagnose(description, evidence, seed=seed, refine=False, engine=engine, options=FIRST)


def told_of_dirt(description: AircraftDescription, evidence: Evidence) -> Told:
    """5a. What the evidence says of dirt: events, findings at walls, warnings."""
    from vanewise.contamination import told

    return told(description, evidence)


def trace(
    description: AircraftDescription,
    running: Solved,
    events: Sequence[SheddingEvent],
    findings: Sequence[Finding],
    evidence: Evidence | None = None,
    changes: Sequence[Change] = (),
) -> Scope:
    """5. What got dirty, what is shielded, what proves it clean; what the evidence says of it counts as well."""
    from vanewise.contamination import said_once, with_told
    from vanewise.contamination import trace as traced

    if evidence is None:
        return traced(description, running, *events, findings=findings, changes=changes)
    said = told_of_dirt(description, evidence)
    every, found = with_told(events, said), (*findings, *said.findings)
    scope = traced(description, running, *every, findings=found, changes=(*changes, *said.changes))
    return said_once(scope, said.remarks, said.questions)


def plan(
    description: AircraftDescription,
    cause: str | Cause | Causes,
    scope: Scope | None,
    *,
    today: datetime.date,
    place: str = "",
    report: Sequence[str] = (),
    parent: str = "",
    warnings: Sequence[str] = (),
) -> WorkPackage:
    """6. What to do, in which order, with which parts, by whom."""
    from vanewise.work.plan import plan as planned

    return planned(description, cause, scope, today=today, place=place, report=report, parent=parent, warnings=warnings)


def foresee(description: AircraftDescription, run: GroundRunFile, *, seed: int, engine: Engine) -> GroundRunPlan:
    """8a. What this aircraft should read on the ground today if it is sound."""
    from vanewise.groundrun import predict

    field = description.field.elevation.number
    return predict(
        description,
        altitude_m=field if run.altitude_m is None else run.altitude_m,
        temperature_k=run.temperature_k,
        seed=seed,
        baseline=run.baseline,
        changed=run.changed,
        gauge_proved_pa=run.gauge_proved_pa,
        engine=engine,
    )


def prove(foreseen: GroundRunPlan, readings: Sequence[GroundRunReading]) -> GroundRunVerdict:
    """8b. Did it work, by what margin."""
    from vanewise.groundrun import judge

    return judge(foreseen, readings)


def write(
    package: WorkPackage,
    log: JobLog,
    verdict: GroundRunVerdict | None,
    rules: Jurisdiction,
    *,
    drafted_on: datetime.date,
    completed_on: datetime.date | None,
    hours: Hours,
    head_digest: str,
    due: Sequence[DueItem] = (),
    proof_override: Override | None = None,
    added: Sequence[str] = (),
) -> MaintenanceRecord:
    """9. What was done, under what limits, due when: a draft. Raises Locked, naming everything that is missing."""
    from vanewise.record.entry import draft

    return draft(
        package,
        log,
        verdict,
        rules,
        drafted_on=drafted_on,
        completed_on=completed_on,
        hours=hours,
        head_digest=head_digest,
        due=due,
        proof_override=proof_override,
        added=added,
    )


def due_points(limits: Sequence[Limit], history: Sequence[Work]) -> tuple[DuePoint, ...]:
    """10a. Where each limit falls due after the work done."""
    from vanewise.watch.due import due_points as worked_out

    return worked_out(limits, history)


def watch_due_points(
    points: Sequence[tuple[Limit, DuePoint]],
    now: Now,
    *,
    put_off: Sequence[PutOff] = (),
    dates_of_hours: Mapping[MeterKind, DatesOfHours] | None = None,
) -> tuple[DueItem, ...]:
    """10b. What next, by when, why: most urgent first."""
    from vanewise.watch.due import items_at

    return items_at(points, now, put_off=put_off, dates_of_hours=dates_of_hours)


def watch_wear(
    history: PumpHistory,
    horizons: Horizons,
    priors: WearPriors | None = None,
    others: Sequence[FleetPump] = (),
) -> WearForecast:
    """10c. What is wearing, and when to look again.

    ``priors`` None: the starting assumptions. ``others``: other pumps, whose wear says something about this one's life.
    """
    from vanewise.watch.fleet import fit_fleet
    from vanewise.watch.wear import forecast
    from vanewise.watch.wear_priors import DEFAULT_PRIORS

    assumed = priors or DEFAULT_PRIORS
    if not others:
        return forecast(history, horizons=horizons, priors=assumed)
    fleet = fit_fleet(others, assumed)
    density = fleet.life_density(history.conditions.duty)
    return forecast(history, horizons=horizons, priors=assumed, life_density=density, life_note=fleet.note())


def watch_wear_band(
    history: PumpHistory, ahead: Sequence[float], priors: WearPriors, others: Sequence[FleetPump] = ()
) -> tuple[WearBandPoint, ...]:
    """10c. The same wear as a band, at hours ``ahead`` from now."""
    from vanewise.watch.fleet import fit_fleet
    from vanewise.watch.wear_planning import wear_band

    density = fit_fleet(others, priors).life_density(history.conditions.duty) if others else None
    return wear_band(history, ahead, priors=priors, life_density=density)


def watch_readings(
    taken: Sequence[Taken],
    timed: Sequence[TimedFigure],
    airframe: Airframe,
    pressure_at: Callable[[float], float],
    new_baselines: Sequence[float],
) -> tuple[tuple[Followable, Trend], ...]:
    """10d. Has a reading changed, how much, since when, and how sure is that."""
    from vanewise.watch.followed import followable
    from vanewise.watch.trend import follow

    found = followable(taken, timed, airframe, pressure_at, new_baselines)
    return tuple((one, follow(one.series)) for one in found)
