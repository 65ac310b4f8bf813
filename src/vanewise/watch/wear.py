"""Wear of one pump: from what was read at its wear port to hours left, when to look again, and what may stop it.

:func:`forecast` is the one entry. The method is in ``docs/explanation/wear.md``; the arithmetic in
:mod:`vanewise.watch.wear_grid`. No reading predicts a sudden stop, and every answer says so.
"""

from __future__ import annotations

import itertools
import math

import msgspec
import numpy as np
from scipy.special import ndtr

from vanewise import chances
from vanewise.errors import InputError, Problem
from vanewise.watch import wear_posterior, words
from vanewise.watch.arrays import Floats
from vanewise.watch.types import CurvePoint, ReadingWorth, StopChance, WearForecast, WearReading
from vanewise.watch.wear_checks import check_history
from vanewise.watch.wear_grid import CLOCK_MAX, Observation
from vanewise.watch.wear_history import PumpHistory
from vanewise.watch.wear_posterior import (
    DEFAULT_RESOLUTION,
    SHARED_RESOLUTION,
    LifeDensity,
    Posterior,
    Resolution,
)
from vanewise.watch.wear_priors import DEFAULT_PRIORS, WearPriors, as_text, check_priors
from vanewise.watch.wear_rates import Exposure, exposure

QUANTILES = {"p025": 0.025, "p10": 0.10, "p50": 0.50, "p90": 0.90, "p975": 0.975}
SURPRISE_LOW, SURPRISE_HIGH = 0.01, 0.99
SUDDEN_WORDS = "No reading predicts a sudden stop: a sound pump can stop within one flight. Keep a back-up."
TREND_WORDS = "Past the limit, short vanes cock, crack and jam: the pump's own manual says when it is replaced."


class Horizons(msgspec.Struct, frozen=True, kw_only=True):
    """How far ahead to look, in hours from now, and the risk that is accepted."""

    next_flight_h: float = 2.0
    next_annual_h: float | None = None
    asked_h: tuple[float, ...] = ()
    risk_per_pump_life: float = 0.10
    """Accepted chance that a pump passes its limit unseen, once in its life."""
    looks_per_life: float = 5.0
    """Looks that share that risk."""


DEFAULT_HORIZONS = Horizons()


def wear_fraction(new_length: float, minimum_length: float, measured: float) -> float:
    """Share of the wear allowance used, from three lengths in one unit.

    Raises :class:`InputError` unless new length > minimum length > 0 and the measured one is positive.
    """
    if not (0.0 < minimum_length < new_length) or not measured > 0.0:
        raise InputError(
            Problem(
                where="vane lengths",
                expected="new length above minimum length, all above 0 and in one unit",
                found=f"new {new_length:g}, minimum {minimum_length:g}, measured {measured:g}",
                next_step="take the new and the minimum length from the manual of this pump",
            )
        )
    return (new_length - measured) / (new_length - minimum_length)


def forecast(
    history: PumpHistory,
    *,
    priors: WearPriors = DEFAULT_PRIORS,
    horizons: Horizons = DEFAULT_HORIZONS,
    life_density: LifeDensity | None = None,
    life_note: str = "",
    resolution: Resolution | None = None,
) -> WearForecast:
    """Hours left to the wear limit and the chance of a stop, from any mix of readings.

    ``life_density``: log density of log(life in hours at the present duty), from a fleet (see
    :mod:`vanewise.watch.fleet`); it replaces the prior median and spread, and ``life_note`` says so in the assumptions.

    Raises :class:`InputError` (in four parts) for hours that go backwards, a wear below zero by more than three
    standard deviations, looks whose meaning nobody confirmed, and looks without a port height.
    """
    check_priors(priors)
    check_history(history, priors)
    _check_horizons(horizons)
    posterior, exposed = posterior_of(history, priors=priors, life_density=life_density, resolution=resolution)
    grid = _hour_grid(posterior, exposed)
    limit_left = posterior.resource_masses(1.0)
    stop_left = wear_posterior.stop_masses(posterior, priors)
    limit = 1.0 - posterior.survival_of(limit_left, grid)
    hours_left = {name: _quantile(grid, limit, p) for name, p in QUANTILES.items()}
    risk = 1.0 - (1.0 - horizons.risk_per_pump_life) ** (1.0 / horizons.looks_per_life)
    past = posterior.past_now
    look_in = 0.0
    if past < horizons.risk_per_pump_life:
        look_in = float(math.floor(_quantile(grid, limit, past + (1.0 - past) * risk)))
    wear_stop = 1.0 - posterior.survival_of(stop_left, grid)
    sudden = _sudden(priors, grid)
    answer = WearForecast(
        hours_now=history.hours_now,
        hours_left=hours_left,
        prob_past_now=past,
        look_again_h=history.hours_now + look_in,
        look_again_in_h=look_in,
        look_again_risk=risk if look_in > 0 else 0.0,
        surprise=posterior.surprise,
        words=(),
        assumptions=_assumptions(priors, history, life_note),
        chances=_chances(grid, limit, wear_stop, priors, horizons),
        worth=_worth(posterior, priors, grid, limit),
        curve=_curve(grid, limit, wear_stop, sudden, hours_left["p975"]),
        log_evidence=posterior.log_evidence,
        remarks=(*exposed.remarks, *_remarks(history, posterior)),
    )
    return msgspec.structs.replace(answer, words=_words(answer, history))


def limit_chances(
    history: PumpHistory, *, priors: WearPriors = DEFAULT_PRIORS, resolution: Resolution | None = None
) -> tuple[Floats, Floats]:
    """Hours from now (T,), 0 first, and the chance that the wear limit is passed by then."""
    posterior, exposed = posterior_of(history, priors=priors, resolution=resolution)
    grid = _hour_grid(posterior, exposed)
    return grid, 1.0 - posterior.survival(grid)


def posterior_of(
    history: PumpHistory,
    *,
    priors: WearPriors = DEFAULT_PRIORS,
    life_density: LifeDensity | None = None,
    resolution: Resolution | None = None,
) -> tuple[Posterior, Exposure]:
    """The posterior behind a forecast, and the pump's effective hours. The history must have been checked."""
    readings = sorted(history.readings, key=reading_order)
    asked = np.array([*(r.hours for r in readings), history.hours_now])
    exposed = exposure(history.conditions, history.earlier, history.events, asked, priors)
    observations = [*(observation_of(r, history, priors) for r in readings), Observation("none")]
    newest = len(readings) - 1 if readings else None
    density, span = _life(exposed, life_density)
    if resolution is None:
        resolution = DEFAULT_RESOLUTION if len(exposed.weights) == 1 else SHARED_RESOLUTION
    posterior = wear_posterior.infer(
        wear_posterior.build_branches(exposed, priors),
        observations,
        priors,
        exposed.life_unit_h,
        density,
        span,
        newest,
        history.running,
        resolution,
    )
    return posterior, exposed


def observation_of(reading: WearReading, history: PumpHistory, priors: WearPriors) -> Observation:
    """A reading as the filter takes it."""
    if reading.kind == "length":
        assert reading.wear_fraction is not None
        sd = reading.sd if reading.sd is not None else priors.reading_sd.number
        return Observation("length", reading.wear_fraction, sd, priors.reading_slip.number)
    if reading.kind in ("seen", "not seen"):
        assert history.port_wear_fraction is not None
        good = (reading.kind == "seen") == (history.seen_means == "good")
        return Observation("port", history.port_wear_fraction, priors.port_sd.number, priors.port_misread.number, good)
    return Observation("within", good=reading.kind == "within limit")


def reading_order(reading: WearReading) -> tuple[float, str, float, float]:
    """By hours; readings at the same hour in an order that does not depend on how they were entered."""
    fraction = reading.wear_fraction if reading.wear_fraction is not None else 0.0
    return (reading.hours, reading.kind, fraction, reading.sd or 0.0)


def _life(exposed: Exposure, life_density: LifeDensity | None) -> tuple[LifeDensity, tuple[float, float]]:
    """Log density of log(life / life unit) and the range that holds it."""
    if life_density is None:
        reach = 6.5 * exposed.life_log_sd
        return wear_posterior.normal_life(exposed.life_log_sd), (-reach, reach)
    unit = math.log(exposed.life_unit_h)
    given = life_density

    def shifted(x: Floats) -> Floats:
        return given(x + unit)

    return shifted, (-3.2, 3.2)


def _hour_grid(posterior: Posterior, exposed: Exposure) -> Floats:
    """Hours ahead, dense near now, as far as the tables reach at the slowest rate."""
    slowest = float(np.min(posterior.branches.rate_now))
    top = (CLOCK_MAX - 0.5) * exposed.life_unit_h / slowest
    return np.concatenate([[0.0], top * (np.arange(1, 480) / 479.0) ** 2])


def _quantile(grid: Floats, cumulative: Floats, p: float) -> float:
    """Hours by which the chance reaches ``p``; 0 where it has already."""
    if p <= cumulative[0]:
        return 0.0
    rising = np.maximum.accumulate(cumulative)
    return float(np.interp(p, rising, grid))


def _sudden(priors: WearPriors, hours: Floats | float) -> Floats:
    """P(a sudden stop within ``hours``): the rate has a Gamma posterior of events over hours."""
    events, exposure_h = priors.sudden_events.number, priors.sudden_hours.number
    return np.asarray(1.0 - (exposure_h / (exposure_h + np.asarray(hours))) ** events)


def with_own_sudden_stops(priors: WearPriors, events: int, hours: float) -> WearPriors:
    """The priors after own experience: ``events`` sudden stops in ``hours`` of pump running, of all own pumps.

    Raises :class:`InputError` for negative figures.
    """
    if events < 0 or hours < 0 or (events > 0 and hours <= 0):
        raise InputError(
            Problem(
                where="own sudden stops",
                expected="0 or more stops in the pump hours they were counted over",
                found=f"{events} stops in {hours:g} h",
                next_step="count all pump hours, of pumps that stopped and of pumps that did not",
            )
        )
    note = f"starting value with {events} own sudden stops in {hours:,.0f} own pump hours"
    return msgspec.structs.replace(
        priors,
        sudden_events=msgspec.structs.replace(
            priors.sudden_events, number=priors.sudden_events.number + events, standing="measured", note=note
        ),
        sudden_hours=msgspec.structs.replace(
            priors.sudden_hours, number=priors.sudden_hours.number + hours, standing="measured", note=note
        ),
    )


def _chances(
    grid: Floats, limit_at: Floats, wear_at: Floats, priors: WearPriors, horizons: Horizons
) -> tuple[StopChance, ...]:
    asked = [("next flight", horizons.next_flight_h)]
    if horizons.next_annual_h is not None:
        asked.append(("before the next annual", horizons.next_annual_h))
    asked.extend((f"within {words.hours(h)}", h) for h in horizons.asked_h)
    hours = np.array([h for _, h in asked])
    # The grid is even in the square root of the hours, so both chances are read off it there.
    limit = np.interp(np.sqrt(hours), np.sqrt(grid), limit_at)
    wear = np.interp(np.sqrt(hours), np.sqrt(grid), wear_at)
    sudden = _sudden(priors, hours)
    return tuple(
        StopChance(
            name=name,
            hours=h,
            past_limit=_clip(limit[i]),
            stop_by_wear=_clip(wear[i]),
            sudden_stop=_clip(sudden[i]),
            any_stop=_clip(1.0 - (1.0 - wear[i]) * (1.0 - sudden[i])),
        )
        for i, (name, h) in enumerate(asked)
    )


def _clip(p: float) -> float:
    return min(max(float(p), 0.0), 1.0)


def _worth(posterior: Posterior, priors: WearPriors, grid: Floats, now: Floats) -> ReadingWorth:
    """Width of the 80 % interval now, and on average after a length reading now (its outcome integrated out)."""
    width_now = _quantile(grid, now, 0.9) - _quantile(grid, now, 0.1)
    sd = priors.reading_sd.number
    widths = []
    for reading in _likely_readings(posterior, sd):
        likelihood = np.exp(-0.5 * ((posterior.wear - reading) / sd) ** 2)
        after = 1.0 - posterior.reweighted(likelihood).survival(grid)
        widths.append(_quantile(grid, after, 0.9) - _quantile(grid, after, 0.1))
    return ReadingWorth(width_now_h=width_now, width_after_h=float(np.mean(widths)))


def _likely_readings(posterior: Posterior, sd: float) -> Floats:
    """Three equally likely length readings now: the 1/6, 1/2 and 5/6 points of what would be read."""
    bins = np.linspace(posterior.wear.min() - 1e-6, posterior.wear.max() + 1e-6, 201)
    masses, _ = np.histogram(posterior.wear, bins, weights=posterior.weight)
    middles = (bins[1:] + bins[:-1]) / 2.0
    asked = np.linspace(bins[0] - 3.0 * sd, bins[-1] + 3.0 * sd, 161)
    chance = ndtr((asked[:, None] - middles[None, :]) / sd) @ masses
    return np.interp([1 / 6, 1 / 2, 5 / 6], chance / chance[-1], asked)


def _curve(grid: Floats, limit: Floats, wear: Floats, sudden: Floats, reach: float) -> tuple[CurvePoint, ...]:
    top = max(reach * 1.15, 100.0)
    hours = np.linspace(0.0, top, 61)
    past = np.interp(hours, grid, limit)
    stop = np.interp(hours, grid, 1.0 - (1.0 - wear) * (1.0 - sudden))
    return tuple(
        CurvePoint(hours=float(h), past_limit=_clip(p), any_stop=_clip(s))
        for h, p, s in zip(hours, past, stop, strict=True)
    )


def _check_horizons(horizons: Horizons) -> None:
    problems = []
    for name, value in (("next_flight_h", horizons.next_flight_h), ("next_annual_h", horizons.next_annual_h)):
        if value is not None and not (math.isfinite(value) and value >= 0.0):
            problems.append(_horizon_problem(name, value))
    problems.extend(_horizon_problem("asked_h", h) for h in horizons.asked_h if not (math.isfinite(h) and h >= 0.0))
    if not 0.0 < horizons.risk_per_pump_life < 0.5 or not horizons.looks_per_life >= 1.0:
        problems.append(
            Problem(
                where="risk per pump life",
                expected="a chance above 0 and below 1 in 2, shared by at least one look",
                found=f"{horizons.risk_per_pump_life:g} over {horizons.looks_per_life:g} looks",
                next_step="state the chance you accept that a pump passes its limit unseen, once in its life",
            )
        )
    if problems:
        raise InputError(problems)


def _horizon_problem(name: str, value: float) -> Problem:
    return Problem(
        where=name, expected="hours from now, 0 or more", found=str(value), next_step="give the hours still to be flown"
    )


def _assumptions(priors: WearPriors, history: PumpHistory, life_note: str) -> tuple[tuple[str, str, str], ...]:
    names = {
        "median_life": "middle of pump lives to the wear limit, suction duty",
        "unit_spread": "log spread of life from pump to pump",
        "pressure_duty_factor": "wear rate in pressure duty over suction duty",
        "speed_exponent": "power of pump speed in the wear rate",
        "setting_exponent": "power of the pressure difference in the wear rate",
        "altitude_factor": "wear rate per 10,000 ft of usual altitude",
        "oil_factor": "wear rate after oil in the pump",
        "debris_factor": "wear rate after debris through the pump",
        "filter_factor": "wear rate after a clogged filter was changed",
        "other_factor": "wear rate after another dated change",
        "hidden_change_factor": "wear rate after a change nobody saw",
        "hidden_changes_per_life": "unseen changes in a middle life, where they can come",
        "reading_sd": "error of a length reading, share of the allowance",
        "reading_slip": "share of lengths written wrongly",
        "new_length_sd": "tolerance of the new length, share of the allowance",
        "port_sd": "blur of a look at the wear port, share of the allowance",
        "port_misread": "share of looks misread",
        "break_point": "wear at which a vane breaks, limit = 1",
        "sudden_events": "sudden stops behind the sudden-stop rate",
        "sudden_hours": "pump hours behind the sudden-stop rate",
    }
    rows = [(names[name], as_text(value), str(value.standing)) for name, value in priors.values()]
    changing = sum(m.weight for m in priors.members if m.may_change)
    scatters = sorted({m.scatter for m in priors.members})
    shapes = sorted({m.run_in for m in priors.members})
    rows.append(
        (
            "unevenness of wear, mixed over",
            "a spread over one life of " + ", ".join(f"{100 / math.sqrt(a):.0f} %" for a in scatters),
            "assumed",
        )
    )
    rows.append(("shape of wear against hours, mixed over powers", ", ".join(f"{c:g}" for c in shapes), "assumed"))
    rows.append(("share of pumps open to an unseen change of rate", f"{changing:.0%}", "assumed"))
    if history.port_wear_fraction is not None:
        who = f"confirmed by {history.polarity_confirmed_by}" if history.polarity_confirmed_by else "not confirmed"
        rows.append(("wear when the edge comes to the port", f"{history.port_wear_fraction:g} of the allowance", who))
    if life_note:
        rows.insert(0, ("lives of own pumps", life_note, "measured"))
    return tuple(rows)


def _remarks(history: PumpHistory, posterior: Posterior) -> tuple[str, ...]:
    out = []
    if posterior.surprise is not None and not SURPRISE_LOW <= posterior.surprise <= SURPRISE_HIGH:
        more = posterior.surprise > SURPRISE_HIGH
        out.append(
            f"The newest reading is surprising ({'more' if more else 'less'} wear than expected): "
            "check the reading, then look for oil or a clogged filter."
        )
    lengths = sorted((r for r in history.readings if r.kind == "length"), key=reading_order)
    for before, after in itertools.pairwise(lengths):
        assert before.wear_fraction is not None and after.wear_fraction is not None
        sds = math.hypot(before.sd or 0.05, after.sd or 0.05)
        if after.wear_fraction < before.wear_fraction - 3.0 * sds:
            out.append(
                f"The length at {after.hours:g} h is longer than the one at {before.hours:g} h: vanes do not grow. "
                "Check which vane was measured."
            )
    looks = [r for r in history.readings if r.kind in ("seen", "not seen")]
    if looks and not lengths:
        out.append("Looks at the port tell little before the edge nears the hole; a measured length tells much more.")
    return tuple(out)


def _words(answer: WearForecast, history: PumpHistory) -> tuple[str, ...]:
    left = answer.hours_left
    annual = next((c for c in answer.chances if c.name == "before the next annual"), None)
    lead = annual or answer.chances[0]
    lines = [
        (
            f"Chance that this pump stops {_when(lead)} from any cause: {chances.chance(lead.any_stop)}"
            f" (from wear {chances.chance(lead.stop_by_wear)}, sudden {chances.chance(lead.sudden_stop)})."
        ),
        SUDDEN_WORDS,
    ]
    if answer.look_again_in_h > 0:
        lines.append(
            f"Look again by {words.hours_down(answer.look_again_h)} of pump time,"
            f" {words.hours_down(answer.look_again_in_h)} from now."
        )
    else:
        lines.append("Look at the wear port now, before further flight in cloud.")
    lines.append(
        f"Best guess {words.hours(left['p50'])} left to the wear limit;"
        f" 4 of 5 pumps like this: {words.hours(left['p10'])} to {words.hours(left['p90'])}."
    )
    lines.append(f"Chance that it is past the limit now: {chances.chance(answer.prob_past_now)}.")
    if answer.worth is not None and answer.worth.width_after_h < 0.95 * answer.worth.width_now_h:
        lines.append(
            f"One length reading now would narrow the spread from {words.hours(answer.worth.width_now_h)}"
            f" to about {words.hours(answer.worth.width_after_h)}."
        )
    lines.extend(answer.remarks)
    lines.append(TREND_WORDS)
    return tuple(lines)


def _when(chance: StopChance) -> str:
    if chance.name == "next flight":
        return f"on the next flight ({words.hours(chance.hours)})"
    return f"{chance.name} ({words.hours(chance.hours)} from now)"
