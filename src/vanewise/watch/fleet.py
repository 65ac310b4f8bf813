"""Wear shared between pumps: what the wear of other pumps says about the life of this one.

Three things are unknown of a fleet: the middle of pump lives in suction duty, their spread, and the duty factor. All
three are summed exactly over a grid. Each pump enters by its evidence as a function of its own life: measured lengths,
looks, inspections that found it good or bad, the hours it ran. A pump is left out when it is forecast itself, so that
nothing counts twice. A pump that came under watch late is counted given that it had lasted so long.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import numpy as np

from vanewise.errors import wrong
from vanewise.watch import wear_grid, wear_posterior
from vanewise.watch.arrays import Floats
from vanewise.watch.types import WearReading
from vanewise.watch.wear import observation_of, reading_order
from vanewise.watch.wear_checks import check_history
from vanewise.watch.wear_grid import Branches, Observation
from vanewise.watch.wear_history import PumpHistory
from vanewise.watch.wear_posterior import LifeDensity
from vanewise.watch.wear_priors import DEFAULT_PRIORS, WearPriors, check_priors
from vanewise.watch.wear_rates import exposure

LIFE_NODES = np.linspace(-2.6, 2.6, 90)
"""log(life / assumed life in that pump's duty)."""
WORN_OUT_WITHIN_H = 5.0
"""A pump worn out at stated hours is taken as within its limit so long before, and past it so long after."""
SPREAD_LOG_SD = 0.6
"""How uncertain the log of the spread from pump to pump is before any pump: assumed."""


@dataclasses.dataclass(frozen=True, slots=True)
class FleetPump:
    """One pump of the fleet by its name; ``history.running`` False when it was taken off or stopped."""

    name: str
    history: PumpHistory


@dataclasses.dataclass(frozen=True, slots=True)
class Fleet:
    """Posterior over ``middle`` (log h, suction), ``spread`` and ``duty`` (log factor); see :func:`fit_fleet`."""

    middle: Floats
    spread: Floats
    duty: Floats
    log_prior: Floats
    evidence: dict[str, Floats]
    """Log evidence of each pump at every (middle, spread, duty)."""
    priors: WearPriors

    def weights(self, leave_out: str = "") -> Floats:
        """Posterior (middle, spread, duty), summing to 1, without the pump named."""
        total = self.log_prior + sum(e for name, e in self.evidence.items() if name != leave_out)
        weight = np.exp(total - total.max())
        return np.asarray(weight / weight.sum())

    def life_density(self, duty: str, leave_out: str = "") -> LifeDensity:
        """Log density of log(life in hours) of a pump in that duty, for :func:`vanewise.watch.wear.forecast`."""
        weight = self.weights(leave_out)
        x = 1.0 if duty == "pressure" else 0.0
        places = np.linspace(math.log(20.0), math.log(60_000.0), 400)
        centre = self.middle[:, None, None] - x * self.duty[None, None, :]
        density = np.zeros(len(places))
        for j, spread in enumerate(self.spread):
            z = (places[None, None, :] - centre[:, 0, :, None]) / spread
            density += (weight[:, j, :, None] * np.exp(-0.5 * z * z)).sum(axis=(0, 1)) / (
                spread * math.sqrt(2 * math.pi)
            )
        log_density = np.log(np.maximum(density, 1e-30))

        def given(log_hours: Floats) -> Floats:
            return np.asarray(np.interp(log_hours, places, log_density))

        return given

    def note(self, leave_out: str = "") -> str:
        """How many pumps stand behind it, in words."""
        count = len(self.evidence) - (leave_out in self.evidence)
        return f"{count} other pumps" if leave_out else f"{count} pumps"


def fit_fleet(pumps: Sequence[FleetPump], priors: WearPriors = DEFAULT_PRIORS) -> Fleet:
    """Share the wear of ``pumps``. Raises :class:`InputError` for histories that cannot be, or a name given twice."""
    check_priors(priors)
    names = [pump.name for pump in pumps]
    if len(set(names)) < len(names):
        raise wrong("fleet", "each pump once", f"{len(names) - len(set(names))} names twice", "name each pump apart")
    middle = math.log(priors.median_life.number) + np.linspace(-1.1, 1.1, 31)
    spread = np.geomspace(0.08, 1.2, 21)
    duty = math.log(priors.pressure_duty_factor.number) + np.linspace(-0.9, 0.9, 21)
    log_prior = (
        -0.5 * ((middle - math.log(priors.median_life.number)) / priors.median_life.spread)[:, None, None] ** 2
        - 0.5 * (np.log(spread / priors.unit_spread.number) / SPREAD_LOG_SD)[None, :, None] ** 2
        - 0.5
        * ((duty - math.log(priors.pressure_duty_factor.number)) / priors.pressure_duty_factor.spread)[None, None, :]
        ** 2
    )
    evidence = {pump.name: _on_grid(pump.history, priors, middle, spread, duty) for pump in pumps}
    return Fleet(middle, spread, duty, log_prior, evidence, priors)


def _on_grid(history: PumpHistory, priors: WearPriors, middle: Floats, spread: Floats, duty: Floats) -> Floats:
    """Log evidence of one pump at every (middle, spread, duty): its own life summed out."""
    check_history(history, priors)
    log_evidence, log_survival, unit, x = life_evidence(history, priors)
    step = LIFE_NODES[1] - LIFE_NODES[0]
    # The centre of this pump's life is middle - x duty: one axis of places covers all pairs.
    places = np.linspace(middle[0] - x * duty[-1], middle[-1] - x * duty[0], 161)
    life = LIFE_NODES + math.log(unit)
    z = (life[None, None, :] - places[:, None, None]) / spread[None, :, None]
    kernel = np.exp(-0.5 * z * z) / spread[None, :, None] * (step / math.sqrt(2 * math.pi))
    top = float(log_evidence.max())
    found = np.log(np.maximum(kernel @ np.exp(log_evidence - top), 1e-300)) + top
    if log_survival is not None:
        found = found - np.log(np.maximum(kernel @ np.exp(log_survival), 1e-300))
    out = np.empty((len(middle), len(spread), len(duty)))
    for j in range(len(spread)):
        out[:, j, :] = np.interp(middle[:, None] - x * duty[None, :], places, found[:, j])
    return out


def life_evidence(history: PumpHistory, priors: WearPriors) -> tuple[Floats, Floats | None, float, float]:
    """Log evidence at each of ``LIFE_NODES``, log chance to last to the entry (None without one), unit [h], duty.

    The duty is 1 where the whole life was in pressure duty, so that the duty factor decides its place; a pump that
    changed duty is counted in suction hours.
    """
    readings = _timed(history, priors)
    hours = sorted(
        {*(at for at, _ in readings), *([history.entry_hours] if history.entry_hours else []), history.hours_now}
    )
    asked = np.array(hours)
    exposed = exposure(history.conditions, history.earlier, history.events, asked, priors)
    branches = wear_posterior.build_branches(exposed, priors)
    order = sorted(readings, key=lambda pair: (pair[0], pair[1].kind, pair[1].value))
    columns = [hours.index(at) for at, _ in order] + [len(hours) - 1]
    observations = [*(seen for _, seen in order), Observation("none")]
    log_evidence = _combined(_with_clock(branches, columns), observations, priors, history.running)
    log_survival = None
    if history.entry_hours:
        entry = _with_clock(branches, [hours.index(history.entry_hours)])
        log_survival = _combined(entry, [Observation("none")], priors, True)
    constant = all(span.conditions.duty == history.conditions.duty for span in history.earlier)
    in_pressure = constant and history.conditions.duty == "pressure"
    return log_evidence, log_survival, exposed.life_unit_h, 1.0 if in_pressure else 0.0


def _timed(history: PumpHistory, priors: WearPriors) -> list[tuple[float, Observation]]:
    """Hours and observation of every reading; 'worn out' becomes good just before and bad just after."""
    out = []
    for reading in sorted(history.readings, key=reading_order):
        if reading.kind == "worn out":
            before = WearReading(hours=max(reading.hours - WORN_OUT_WITHIN_H, 0.0), kind="within limit")
            after = WearReading(hours=min(reading.hours + WORN_OUT_WITHIN_H, history.hours_now), kind="past limit")
            out += [(r.hours, Observation("within", good=r.kind == "within limit")) for r in (before, after)]
        else:
            out.append((reading.hours, observation_of(reading, history, priors)))
    return out


def _with_clock(branches: Branches, columns: Sequence[int]) -> Branches:
    return dataclasses.replace(branches, clock=branches.clock[:, list(columns)])


def _combined(branches: Branches, observations: Sequence[Observation], priors: WearPriors, running: bool) -> Floats:
    """Log evidence at each life node, all branches together."""
    parts = []
    for changing in (False, True):
        group = (branches.hazard > 0) == changing
        if not group.any():
            continue
        part = branches.take(group)
        log_life = LIFE_NODES[None, :] + part.log_shift[:, None]
        tolerance = wear_grid.tolerance_nodes(priors.new_length_sd.number, 2)
        grid = wear_grid.run(part, observations, log_life, tolerance, 112, None)
        log_evidence = grid.log_evidence
        if running:
            life = np.exp(part.run_in[:, None] * log_life)
            wear = grid.tolerance[None, None, :, None] + grid.worn[:, None, None, :] / life[:, :, None, None]
            alive = wear_posterior.still_running(wear, priors)
            log_evidence = log_evidence + np.log(np.maximum((grid.p * alive[:, None]).sum(axis=(1, 3, 4)), 1e-300))
        parts.append(np.log(part.weight)[:, None] + log_evidence)
    return np.asarray(np.logaddexp.reduce(np.concatenate(parts), axis=0))
