"""The band this aircraft should read at each engine speed today, and where its lamp should go out."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np

from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.kinds import KINDS
from vanewise.diagnosis.effects import combine
from vanewise.diagnosis.likelihood import MODEL_SD
from vanewise.diagnosis.modes import applicable
from vanewise.diagnosis.sampling import seed_of
from vanewise.diagnosis.solving import Point, point_at, solve_rows, tapped, taps
from vanewise.diagnosis.types import LampReading, Reading
from vanewise.errors import NoAnswer, Problem, wrong
from vanewise.groundrun.conditioning import RPM_SD, Rows, Solver, as_read, baseline_of, draw_rows, gauge_errors, trip_pa
from vanewise.groundrun.types import KNEE_SHARE, GroundRunPlan, TestPoint
from vanewise.network import atmosphere, pack
from vanewise.network.packed import PackedNetwork
from vanewise.network.solve import best_engine
from vanewise.network.types import Engine, Floats
from vanewise.quantities import inhg, shown
from vanewise.work.cautions import texts

STANDARD_RPMS: Final = (700.0, 1000.0, 1200.0, 1500.0, 1800.0, 2100.0)
COVERAGE: Final = 0.98
"""Share of sound systems inside the band at one point: about one point in fifty falls outside by chance."""
ROWS: Final = {"kernel": 256, "numpy": 128}
"""Draws a round, by engine."""
_LAMP_RPMS: Final = (500.0, 600.0, 850.0, 1100.0, 1350.0, 1700.0)
_COVER_RPMS: Final = (1200.0, 1000.0, 700.0)
_MOST_LOST: Final = 0.02
_FEW_ROWS: Final = 30.0


def predict(
    description: AircraftDescription,
    *,
    altitude_m: float,
    temperature_k: float | None = None,
    rpms: Sequence[float] | None = None,
    seed: int = 0,
    baseline: Sequence[Reading | LampReading] = (),
    changed: Iterable[str] = (),
    gauge_proved_pa: float | None = None,
    rows: int | None = None,
    engine: Engine | None = None,
) -> GroundRunPlan:
    """The bands of a ground run at a field elevation [m] and outside temperature [K] (None: standard).

    Every assumed number is drawn by its spread; ``baseline`` are earlier sound readings of this aircraft, and
    ``changed`` says what is another one since: ``pump``, ``setting``. ``gauge_proved_pa`` is the difference within
    which the panel gauge was compared with a calibrated one. ``rows`` a round is a power of two of at least 64. Same
    seed, same plan. Raises :class:`InputError` for engine speeds out of range, :class:`NoAnswer` when the system has
    no solution.
    """
    packed = pack(description)
    speeds = tuple(sorted(rpms or (*STANDARD_RPMS, description.engine.cruise_rpm.number)))
    if not speeds or speeds[0] <= 0.0:
        raise wrong("engine speeds", "at least one speed above 0 rpm", str(speeds), "name the speeds of the run")
    air = atmosphere.ambient(altitude_m, temperature_k)
    chosen = engine or best_engine()
    solver = Solver(
        packed=packed,
        changed=frozenset(changed),
        engine=chosen,
        errors=gauge_errors(packed, gauge_proved_pa),
    )
    earlier = baseline_of(packed, baseline, description.field.elevation.number)
    drawn = draw_rows(solver, earlier, rows or ROWS[chosen], seed_of(seed, "ground run"))
    grid = tuple(sorted({*speeds, *(_LAMP_RPMS if description.lamp else ())}))
    points = [point_at(rpm, altitude_m, air.temperature_k) for rpm in grid]
    shut = {f"{regulator}.covered": 1.0 for regulator in _regulators(packed)}
    cover = [point_at(rpm, altitude_m, air.temperature_k, under=shut) for rpm in _COVER_RPMS] if shut else []
    open_air = [point_at(point.rpm, altitude_m, air.temperature_k) for point in cover]
    pressure = solver.pressures(drawn.z, (*points, *cover, *open_air))
    drawn = _solved_only(drawn, pressure)
    bands = _bands(solver, drawn, pressure[:, : len(grid)])
    lamp = _lamp_band(solver, drawn, pressure[:, : len(grid)], grid)
    exposed, lamp_exposed = _exposures(packed, points, bands, lamp, solver.engine)
    cover_rpm, cover_below = _cover_rpm(solver, drawn, pressure[:, len(grid) :], len(cover), bands)
    test_points = tuple(
        TestPoint(
            engine_rpm=rpm,
            low_pa=float(bands[at][0]),
            middle_pa=float(bands[at][1]),
            high_pa=float(bands[at][2]),
            note=_lamp_note(rpm, lamp),
            exposes=exposed[at],
        )
        for at, rpm in enumerate(grid)
        if rpm in speeds
    )
    return GroundRunPlan(
        points=test_points,
        altitude_m=altitude_m,
        temperature_k=air.temperature_k,
        band_low_pa=None if description.gauge.band_low is None else description.gauge.band_low.number,
        band_high_pa=None if description.gauge.band_high is None else description.gauge.band_high.number,
        lamp_rpm_low=None if lamp is None else lamp[0],
        lamp_rpm_high=None if lamp is None else lamp[1],
        cautions=_cautions(description),
        basis=_basis(description, drawn, earlier.count, solver, gauge_proved_pa),
        latitude_deg=None if description.field.latitude is None else description.field.latitude.number,
        cover_rpm=cover_rpm,
        cover_below_pa=cover_below,
        lamp_exposes=lamp_exposed,
        plateau_rpm=description.engine.cruise_rpm.number,
        read_sd_pa=solver.errors.read_pa,
        duty=description.duty,
        gyros=tuple(part.kind for part in description.parts if KINDS[part.kind].is_gyro),
        has_autopilot=description.autopilot_takes_attitude in ("yes", "unknown"),
        effective_rows=round(drawn.effective, 1),
        seed=seed,
    )


def _cautions(description: AircraftDescription) -> tuple[str, ...]:
    wanted = ["engine run", "over the band"]
    wanted += ["cover test"] if description.parts_of("regulator") else []
    wanted += ["spinning gyros"]
    wanted += ["autopilot"] if description.autopilot_takes_attitude in ("yes", "unknown") else []
    return texts(*wanted)


def _regulators(packed: PackedNetwork) -> tuple[str, ...]:
    return tuple(part.id for part in packed.description.parts_of("regulator"))


def _solved_only(drawn: Rows, pressure: Floats) -> Rows:
    """Rows with an unsolved point get no weight; more than a few lost is no answer."""
    whole = np.isfinite(pressure).all(axis=(1, 2))
    lost = float(drawn.weights[~whole].sum())
    if lost > _MOST_LOST:
        raise NoAnswer(
            Problem(
                where="ground run",
                expected="the air network solved in every draw",
                found=f"{lost:.0%} of the weight unsolved",
                next_step="check the description: a line of no length, a closed port, a speed far out of range",
            )
        )
    weights = np.where(whole, drawn.weights, 0.0)
    weights = weights / weights.sum()
    return Rows(z=drawn.z, weights=weights, effective=float(1.0 / (weights**2).sum()))


def _bands(solver: Solver, drawn: Rows, pressure: Floats) -> Floats:
    """Low, middle and high reading [Pa] at each point, (points, 3): quantiles of the mixture over rows."""
    true = np.nan_to_num(tapped(pressure, taps(solver.packed, None, None)))
    reading = as_read(true, drawn.z, solver.errors)
    sd = np.hypot(solver.errors.read_pa, MODEL_SD * true)
    tail = 0.5 * (1.0 - COVERAGE)
    return np.array(
        [
            [_mixture_quantile(reading[:, at], sd[:, at], drawn.weights, p) for p in (tail, 0.5, 1.0 - tail)]
            for at in range(reading.shape[1])
        ]
    )


_ERF: Final = np.vectorize(math.erf)


def _mixture_quantile(centre: Floats, sd: Floats, weights: Floats, probability: float) -> float:
    """Quantile of a weighted mixture of normals, by halving an interval that holds it."""
    used = weights > 1e-12
    centre, sd, weights = centre[used], sd[used], weights[used]
    low, high = float((centre - 6 * sd).min()), float((centre + 6 * sd).max())
    for _ in range(60):
        middle = 0.5 * (low + high)
        below = float(weights @ (0.5 * (1.0 + _ERF((middle - centre) / (math.sqrt(2.0) * sd)))))
        low, high = (middle, high) if below < probability else (low, middle)
    return 0.5 * (low + high)


def _lamp_band(solver: Solver, drawn: Rows, pressure: Floats, grid: tuple[float, ...]) -> tuple[float, float] | None:
    """Engine speeds between which the lamp should go out, rising; None without a lamp or when it may never."""
    lamp = solver.packed.description.lamp
    if lamp is None:
        return None
    difference = tapped(pressure, taps(solver.packed, lamp.high, lamp.low))
    trip = trip_pa(solver.packed, drawn.z)
    rpm = np.array([_crossing(grid, row, at) for row, at in zip(difference, trip, strict=True)])
    if float(drawn.weights[~np.isfinite(rpm)].sum()) > 0.5 * (1.0 - COVERAGE):
        return None
    rpm = np.where(np.isfinite(rpm), rpm, grid[-1])
    tail = 0.5 * (1.0 - COVERAGE)
    sd = np.full_like(rpm, RPM_SD)
    return tuple(_mixture_quantile(rpm, sd, drawn.weights, p) for p in (tail, 1.0 - tail))  # type: ignore[return-value]


def _crossing(grid: tuple[float, ...], difference: Floats, trip: float) -> float:
    """The first speed at which the difference reaches the trip, straight between points; inf when it never does."""
    if not np.isfinite(difference).all():
        return math.inf
    for at in range(len(grid)):
        if difference[at] >= trip:
            if at == 0:
                return grid[0]
            share = (trip - difference[at - 1]) / (difference[at] - difference[at - 1])
            return float(grid[at - 1] + share * (grid[at] - grid[at - 1]))
    return math.inf


def _cover_rpm(
    solver: Solver, drawn: Rows, pressure: Floats, count: int, bands: Floats
) -> tuple[float | None, float | None]:
    """The highest usual speed for the cover test, and the reading [Pa] below which it is done.

    The middle reading there lies below the knee, and covering the intake never lifts a sound system past the gauge's
    own band. Without such a speed there is no cover test.
    """
    if not count:
        return None, None
    pairs = taps(solver.packed, None, None)
    covered = np.nan_to_num(tapped(pressure[:, :count], pairs))
    open_air = np.nan_to_num(tapped(pressure[:, count:], pairs))
    gauge_top = solver.packed.description.gauge.band_high
    top = math.inf if gauge_top is None else gauge_top.number
    below = KNEE_SHARE * float(bands[-1][1])
    for at, rpm in enumerate(_COVER_RPMS):
        low_enough = covered[:, at] <= top
        if float(drawn.weights @ open_air[:, at]) < below and drawn.weights[low_enough].sum() > COVERAGE:
            return rpm, below
    return None, None


def _lamp_note(rpm: float, lamp: tuple[float, float] | None) -> str:
    if lamp is None:
        return ""
    if rpm > lamp[1]:
        return "lamp out"
    return "lamp on" if rpm < lamp[0] else "lamp may be on or out"


def _exposures(
    packed: PackedNetwork,
    points: Sequence[Point],
    bands: Floats,
    lamp: tuple[float, float] | None,
    engine: Engine,
) -> tuple[tuple[tuple[str, ...], ...], tuple[str, ...]]:
    """Per point, and for the lamp, the causes whose middling form would move the reading out of its band."""
    description = packed.description
    sound = solve_rows(packed, {}, points, engine)
    found: list[list[str]] = [[] for _ in points]
    by_lamp: list[str] = []
    half = np.full(1, 0.5)
    for mode, places in applicable(description):
        if not mode.changes_network():
            continue
        for place in places:
            columns = combine({}, mode.effect(description, place, mode.severity.at(half)), 1)
            faulty = solve_rows(packed, columns, points, engine)
            words = f"{mode.name} ({place.label})" if len(places) > 1 else mode.name
            shift = tapped(faulty, taps(packed, None, None))[0] - tapped(sound, taps(packed, None, None))[0]
            for at, reading in enumerate(bands[:, 1] + shift):
                if math.isfinite(reading) and not bands[at, 0] <= reading <= bands[at, 2]:
                    found[at].append(words)
            if lamp is not None and _lamp_moves(packed, points, sound, faulty, lamp):
                by_lamp.append(words)
    return tuple(tuple(dict.fromkeys(words)) for words in found), tuple(dict.fromkeys(by_lamp))


def _lamp_moves(
    packed: PackedNetwork, points: Sequence[Point], sound: Floats, faulty: Floats, band: tuple[float, float]
) -> bool:
    """Whether a cause would move the lamp's speed out of its band, from the middle of that band."""
    lamp = packed.description.lamp
    assert lamp is not None
    pairs = taps(packed, lamp.high, lamp.low)
    grid = tuple(point.rpm for point in points)
    before = _crossing(grid, tapped(sound, pairs)[0], lamp.trip.number)
    after = _crossing(grid, tapped(faulty, pairs)[0], lamp.trip.number)
    if not math.isfinite(before):
        return False
    moved = 0.5 * (band[0] + band[1]) + after - before
    return not band[0] <= moved <= band[1]


def _basis(
    description: AircraftDescription, drawn: Rows, earlier: int, solver: Solver, proved_pa: float | None
) -> tuple[str, ...]:
    assumed = [path for path, _ in description.assumed()]
    gauge = (
        f"gauge compared with a calibrated one within {inhg(proved_pa):.2f} inHg"
        if proved_pa is not None
        else f"gauge not compared: offset {inhg(solver.errors.bias_pa):.2f} inHg and scale {solver.errors.scale:.0%} "
        "(one standard deviation) taken into the band"
    )
    basis = [
        f"{len(assumed)} numbers of this aircraft are assumed and drawn by their spread"
        if assumed
        else "every number of this aircraft is its own",
        f"{earlier} earlier sound readings of this aircraft weigh the draws"
        if earlier
        else "no earlier sound readings: the band is wider than it need be; keep this run as the baseline",
        gauge,
        f"band of {COVERAGE:.0%} at each point; the model's own error is taken as {MODEL_SD:.0%} (assumed)",
    ]
    if solver.changed:
        basis.append(f"another one since the baseline: {', '.join(sorted(solver.changed))}")
    if drawn.effective < _FEW_ROWS:
        basis.append(f"the count is rough: {drawn.effective:.0f} effective draws")
    if "unknown" in (description.gauge.high, description.gauge.low):
        basis.append("the gauge's connection is not known: both usual ones are in the band")
    return tuple(basis)


def point_words(point: TestPoint) -> str:
    """A test point's band as people read it."""
    return f"{point.engine_rpm:.0f} rpm: {inhg(point.low_pa):.1f} to {shown(point.high_pa, 'pressure')}"
