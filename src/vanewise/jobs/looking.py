"""Look at a kept aircraft without keeping anything: its system at an operating point, its sweep."""

from __future__ import annotations

from functools import lru_cache

import msgspec

from vanewise import pipeline
from vanewise.aircraft.description import AircraftDescription
from vanewise.errors import NoAnswer, Problem, wrong
from vanewise.jobs import curves
from vanewise.jobs.casebook import parsed
from vanewise.network.band import Band
from vanewise.network.load import FlowBudget, PumpLoad
from vanewise.network.margin import MarginMap
from vanewise.network.sweep import STANDARD_RPMS, Sweep, SweepPoint
from vanewise.quantities import M_PER_FT

MOST_RPM = 4000.0
MOST_FEET = 30_000.0


class Conditions(msgspec.Struct, frozen=True):
    """Engine speed and pressure altitude as asked for on a page."""

    rpm: float
    altitude_ft: float


def conditions(description: AircraftDescription, rpm: str, altitude_ft: str) -> Conditions:
    """The operating point a person asked for; cruise at the home field where they did not say.

    Raises InputError for something that is no number, or outside what an engine of this kind does.
    """
    return Conditions(
        _number("engine speed", rpm, description.engine.cruise_rpm.number, 300.0, MOST_RPM, "rpm"),
        _number("altitude", altitude_ft, description.field.elevation.number / M_PER_FT, -1000.0, MOST_FEET, "ft"),
    )


def _number(where: str, text: str, default: float, low: float, high: float, unit: str) -> float:
    cleaned = text.strip().replace(",", "").removesuffix(unit).strip()
    if not cleaned:
        return round(default)
    expected = f"a number from {low:,.0f} to {high:,.0f} {unit}"
    try:
        number = float(cleaned)
    except ValueError:
        raise wrong(where, expected, f'"{text}"', f"write it in {unit}, like {default:,.0f}") from None
    if not low <= number <= high:
        raise wrong(where, expected, f"{number:g} {unit}", "write it within these limits")
    return number


@lru_cache(maxsize=64)
def system_at(toml: str, at: Conditions) -> SweepPoint:
    """Pressures and flows of the sound system at one operating point. Raises NoAnswer when it was not solved."""
    found = pipeline.solve(parsed(toml), (at.rpm,), at.altitude_ft * M_PER_FT, None, {})
    point = found.points[0]
    if point.status == "not converged":
        raise NoAnswer(
            Problem(
                where=f"{at.rpm:,.0f} rpm at {at.altitude_ft:,.0f} ft",
                expected="pressures that balance",
                found="the solver did not get there",
                next_step="try another engine speed, and send the description with a report",
            )
        )
    return point


@lru_cache(maxsize=32)
def sweep_at(toml: str, altitude_ft: float) -> Sweep:
    """The sweep of the sound system as described, with its shape in three numbers."""
    return pipeline.solve(parsed(toml), STANDARD_RPMS, altitude_ft * M_PER_FT, None, {})


@lru_cache(maxsize=32)
def band_of(toml: str, altitude_ft: float) -> Band:
    """What the gauge would read over engine speed, as well as the aircraft is known. Raises NoAnswer."""
    description = parsed(toml)
    engine = description.engine
    own = (engine.idle_rpm, engine.run_up_rpm, engine.cruise_rpm, engine.max_rpm)
    highest = max(value.number for value in own)
    rpms = sorted(rpm for rpm in {*(value.number for value in own), *STANDARD_RPMS} if rpm <= highest)
    return pipeline.spread(description, rpms, altitude_ft * M_PER_FT, None, seed=0)


@lru_cache(maxsize=32)
def margin_at(toml: str, now: curves.Now, needed: tuple[tuple[str, float], ...], warmer_k: float) -> MarginMap:
    """The margin map of a kept aircraft."""
    description = parsed(toml)
    return curves.margin_of(description, curves.sorted_states(now.states(description)), needed, warmer_k)


@lru_cache(maxsize=32)
def load_at(toml: str, now: curves.Now, pump: str, at: Conditions) -> PumpLoad:
    """What a pump of a kept aircraft works against, and what raises it at one operating point."""
    description = parsed(toml)
    return curves.load_of(description, curves.sorted_states(now.states(description)), pump, at.rpm, at.altitude_ft)


@lru_cache(maxsize=32)
def budget_at(toml: str, now: curves.Now, at: Conditions) -> FlowBudget:
    """Where the air of a kept aircraft goes at one operating point."""
    description = parsed(toml)
    return curves.budget_of(description, curves.sorted_states(now.states(description)), at.rpm, at.altitude_ft)
