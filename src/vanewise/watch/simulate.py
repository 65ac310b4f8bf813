"""Simulated pumps, for checking how honest the forecast is when its model is right and when it is wrong.

A truth says how wear really goes; the forecast never sees it. All chance comes from the seed given.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Sequence

import msgspec
import numpy as np

from vanewise.watch.arrays import Flags, Floats
from vanewise.watch.types import WearReading
from vanewise.watch.wear import Horizons, forecast, limit_chances
from vanewise.watch.wear_history import PumpHistory
from vanewise.watch.wear_posterior import Resolution
from vanewise.watch.wear_priors import DEFAULT_PRIORS, Member, WearPriors
from vanewise.watch.wear_rates import Conditions

STEP_H = 5.0
REACH_H = 9000.0


class Truth(msgspec.Struct, frozen=True, kw_only=True):
    """How the wear of simulated pumps really goes. The defaults are one fixed member of the forecast's mixture."""

    name: str
    members: tuple[Member, ...] = (Member(scatter=60.0, run_in=1.0, weight=1.0),)
    median_factor: float = 1.0
    """True median life over the one that the forecast assumes."""
    doubled_share: float = 0.0
    """Share of pumps whose rate doubles when half of their allowance is worn."""
    reading_sd: float = 0.05
    slips: bool = True
    """Whether lengths and looks are written wrongly as often as the forecast assumes."""


def mixture_truth(priors: WearPriors = DEFAULT_PRIORS) -> Truth:
    """Exactly what the forecast assumes."""
    return Truth(name="same mixture", members=priors.members)


def wrong_truths() -> tuple[Truth, ...]:
    """The ways in which the model may be wrong that the forecast is asked to stay honest under."""

    return (
        Truth(name="wear three times noisier in variance", members=(Member(scatter=20.0, run_in=1.0, weight=1.0),)),
        Truth(name="fast run-in (power 0.8)", members=(Member(scatter=60.0, run_in=0.8, weight=1.0),)),
        Truth(name="late speed-up (power 1.25)", members=(Member(scatter=60.0, run_in=1.25, weight=1.0),)),
        Truth(name="rate doubles at mid-life in half the pumps", doubled_share=0.5),
        Truth(name="reading error 0.08 entered as 0.05", reading_sd=0.08),
        Truth(name="assumed median 30 % too long", median_factor=1.0 / 1.3),
    )


@dataclasses.dataclass(frozen=True, slots=True)
class Pumps:
    """Simulated pumps: hours each is looked at (n, K), wear there (n, K), hours at the limit (n,), still running."""

    looks: Floats
    wear: Floats
    limit_hours: Floats
    running: Flags


@dataclasses.dataclass(frozen=True, slots=True)
class Paths:
    """Wear of simulated pumps (count, steps) at ``hours`` (steps,), and the wear at which each would break (count,)."""

    hours: Floats
    wear: Floats
    break_at: Floats

    def hours_at(self, level: float | Floats) -> Floats:
        """Hours (count,) at which each path first reaches a level of wear; the end of the path where it does not."""
        reached = self.wear >= np.asarray(level).reshape(-1, 1)
        after = np.where(reached.any(axis=1), reached.argmax(axis=1), self.wear.shape[1] - 1)
        row = np.arange(len(self.wear))
        low, high = self.wear[row, np.maximum(after - 1, 0)], self.wear[row, after]
        share = np.clip((level - low) / np.maximum(high - low, 1e-12), 0.0, 1.0)
        start = self.hours[np.maximum(after - 1, 0)]
        return np.asarray(np.where(after > 0, start + share * (self.hours[after] - start), 0.0))

    def wear_at(self, hours: Floats) -> Floats:
        """Wear (count, K) at ``hours`` (count, K), straight between the steps."""
        return np.array([np.interp(asked, self.hours, path) for asked, path in zip(hours, self.wear, strict=True)])


def paths(truth: Truth, count: int, seed: int, priors: WearPriors = DEFAULT_PRIORS, reach: float = REACH_H) -> Paths:
    """``count`` pumps from new, suction duty, reference conditions."""
    rng = np.random.default_rng(seed)
    median = priors.median_life.number
    life = truth.median_factor * np.exp(priors.life_log_sd * rng.standard_normal(count))
    pick = rng.choice(len(truth.members), size=count, p=[m.weight for m in truth.members])
    scatter = np.array([m.scatter for m in truth.members])[pick]
    run_in = np.array([m.run_in for m in truth.members])[pick]
    open_to_change = np.array([m.may_change for m in truth.members])[pick]
    hazard = priors.hidden_changes_per_life.number
    life = life * np.where(open_to_change, priors.changing_life, 1.0)
    change_at = np.where(open_to_change, rng.exponential(1.0 / max(hazard, 1e-12), count), np.inf)
    doubled = rng.random(count) < truth.doubled_share
    new_length = priors.new_length_sd.number * rng.standard_normal(count)
    break_at = priors.break_point.number * np.exp(priors.break_point.spread * rng.standard_normal(count))

    hours = np.arange(0.0, reach + STEP_H, STEP_H)
    wear = np.empty((count, len(hours)))
    wear[:, 0] = new_length
    worn, amount = np.zeros(count), life**run_in
    for index, (start, end) in enumerate(itertools.pairwise(hours / median)):
        extra = np.clip(end - np.maximum(change_at, start), 0.0, None) * (priors.hidden_change_factor.number - 1.0)
        step = end**run_in - start**run_in + extra
        step = step * np.where(doubled & (wear[:, index] >= 0.5), 2.0, 1.0)
        worn += rng.gamma(scatter * step) / scatter
        wear[:, index + 1] = new_length + worn / amount
    return Paths(hours, wear, break_at)


def simulate(truth: Truth, count: int, looks: Floats, seed: int, priors: WearPriors = DEFAULT_PRIORS) -> Pumps:
    """``count`` pumps seen at ``looks`` (count, K) hours, suction duty, reference conditions."""
    found = paths(truth, count, seed, priors)
    wear = found.wear_at(looks)
    return Pumps(looks, wear, found.hours_at(1.0), wear[:, -1] < found.break_at)


def histories(
    pumps: Pumps, kinds: Sequence[str], truth: Truth, seed: int, priors: WearPriors = DEFAULT_PRIORS
) -> list[PumpHistory]:
    """What people would have written down: ``kinds`` of reading at each look but the last, which is now.

    ``kinds`` has K entries of ``length``, ``look`` or ``none``. The error written is the one the forecast assumes,
    whatever the true one is. The wear port lies at 80 % wear.
    """
    rng = np.random.default_rng(seed)
    count = len(pumps.limit_hours)
    slip_length = rng.random(pumps.wear.shape) < (priors.reading_slip.number if truth.slips else 0.0)
    slip_look = rng.random(pumps.wear.shape) < (priors.port_misread.number if truth.slips else 0.0)
    lengths = pumps.wear + truth.reading_sd * rng.standard_normal(pumps.wear.shape)
    lengths = np.where(slip_length, rng.uniform(-0.1, 1.5, pumps.wear.shape), lengths)
    good = pumps.wear + priors.port_sd.number * rng.standard_normal(pumps.wear.shape) < 0.8
    good = np.where(slip_look, rng.random(pumps.wear.shape) < 0.5, good)
    out = []
    for i in range(count):
        readings = []
        for k, kind in enumerate(kinds):
            at = float(pumps.looks[i, k])
            if kind == "length":
                readings.append(
                    WearReading(hours=at, kind="length", wear_fraction=max(float(lengths[i, k]), -0.09), sd=0.05)
                )
            elif kind == "look":
                readings.append(WearReading(hours=at, kind="seen" if good[i, k] else "not seen"))
        out.append(
            PumpHistory(
                hours_now=float(pumps.looks[i, -1]),
                conditions=Conditions(duty="suction"),
                readings=tuple(readings),
                seen_means="good",
                polarity_confirmed_by="simulation",
                port_wear_fraction=0.8,
            )
        )
    return out


@dataclasses.dataclass(frozen=True, slots=True)
class Coverage:
    """How often the truth lay inside the intervals of hours left, over ``pumps`` simulated pumps that still ran."""

    pumps: int
    cover_80: float
    cover_95: float
    below_10: float
    """Share of pumps that passed their limit before the 10 % point: the unwarned ones."""
    width_80_h: float
    width_95_h: float
    """Median widths."""


def coverage(
    truth: Truth,
    kinds: Sequence[str],
    count: int,
    seed: int,
    priors: WearPriors = DEFAULT_PRIORS,
    age: tuple[float, float] = (0.2, 0.6),
    resolution: Resolution | None = None,
) -> Coverage:
    """Simulate ``count`` pumps, forecast each, and count how often the truth is covered.

    Now is drawn evenly between the two ages (in assumed median lives), whatever the pump's own life, and the looks are
    spaced evenly up to now: a timing that leaned on the pump's true life would tell the forecast what it should not
    know. A pump that has already passed its limit counts by chance within the probability told for that.
    """
    rng = np.random.default_rng(seed)
    median = priors.median_life.number
    now = rng.uniform(*age, count) * median
    looks = now[:, None] * np.arange(1, len(kinds) + 1) / len(kinds)
    pumps = simulate(truth, count, looks, seed + 1, priors)
    place, widths = [], []
    for i, history in enumerate(histories(pumps, kinds, truth, seed + 2, priors)):
        lot = rng.random()
        if not pumps.running[i]:
            continue
        hours, chance = limit_chances(history, priors=priors, resolution=resolution)
        left = float(pumps.limit_hours[i]) - history.hours_now
        place.append(lot * chance[0] if left <= 0.0 else float(np.interp(left, hours, chance)))
        rising = np.maximum.accumulate(chance)
        asked = np.array([0.025, 0.1, 0.9, 0.975])
        points = np.where(asked <= chance[0], 0.0, np.interp(asked, rising, hours))
        widths.append((points[2] - points[1], points[3] - points[0]))
    pit = np.array(place)
    wide = np.median(np.array(widths), axis=0)
    return Coverage(
        pumps=len(pit),
        cover_80=float(np.mean((pit > 0.1) & (pit < 0.9))),
        cover_95=float(np.mean((pit > 0.025) & (pit < 0.975))),
        below_10=float(np.mean(pit <= 0.1)),
        width_80_h=float(wide[0]),
        width_95_h=float(wide[1]),
    )


@dataclasses.dataclass(frozen=True, slots=True)
class LookPolicy:
    """What following the forecast's 'look again by' came to, over simulated pumps."""

    pumps: int
    passed_unseen: float
    """Share of pumps that passed their limit between two looks, once in their life."""
    looks_per_pump: float
    life_used: float
    """Median share of the hours to the limit that a pump was used."""


def follow_look_again(
    truth: Truth,
    count: int,
    seed: int,
    risk_per_pump_life: float = 0.10,
    replace_at: float = 0.9,
    priors: WearPriors = DEFAULT_PRIORS,
    most_looks: int = 40,
) -> LookPolicy:
    """Look when told to, measure a length, and replace the pump at a reading of ``replace_at`` or above."""
    rng = np.random.default_rng(seed + 1)
    found = paths(truth, count, seed, priors)
    limit = found.hours_at(1.0)
    horizons = Horizons(risk_per_pump_life=risk_per_pump_life)
    unseen, looks, used = 0, 0, []
    for i in range(count):
        now = 0.0
        readings: list[WearReading] = []
        for _ in range(most_looks):
            history = PumpHistory(hours_now=now, conditions=Conditions(duty="suction"), readings=tuple(readings))
            now += max(forecast(history, priors=priors, horizons=horizons).look_again_in_h, 10.0)
            looks += 1
            if now >= limit[i]:
                unseen += 1
                break
            wear = float(np.interp(now, found.hours, found.wear[i]))
            slip = rng.random() < priors.reading_slip.number
            share = rng.uniform(0.0, 1.5) if slip else wear + truth.reading_sd * rng.standard_normal()
            if share >= replace_at:
                break
            readings.append(WearReading(hours=now, kind="length", wear_fraction=max(share, -0.09), sd=0.05))
        used.append(min(now, float(limit[i])) / float(limit[i]))
    return LookPolicy(count, unseen / count, looks / count, float(np.median(used)))
