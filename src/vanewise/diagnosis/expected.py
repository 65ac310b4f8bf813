"""What each state says a check would show, and how much that would say about what to repair."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis import likelihood
from vanewise.diagnosis.checks import Check
from vanewise.diagnosis.checks.base import GAUGE_READ
from vanewise.diagnosis.evidence import COVER_TEST_RPM, SUCTION_INHG, cover_points, filter_ends
from vanewise.diagnosis.likelihood import Bools
from vanewise.diagnosis.resampling import Ints, Sample, number_of
from vanewise.diagnosis.scored_checks import cover_sd, flow_sd, outcome_probabilities
from vanewise.diagnosis.solving import Point, SuctionPoint, point_at, solve_rows, suction_flows, tapped, taps
from vanewise.diagnosis.state import State
from vanewise.network.types import Floats
from vanewise.quantities import M3S_PER_CFM, PA_PER_INHG
from vanewise.values import judgement

_NODES, _NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(3)
_NODE_SHARES: Final = _NODE_WEIGHTS / _NODE_WEIGHTS.sum()
_SWEEP_RPM: Final = (1000.0, 1500.0)
_SIMULATED_GRADE: Final = 2
_POOLED_ROWS: Final = 2.0
"""Rows that the density of a repair's readings borrows from all rows."""
_WIDER: Final = (1.5, 2.0)
"""How much wider than its own spread a row judges a reading, one alone and several at once: few of a repair's rows lie
near a reading in two or three dimensions. Of what 6,400 rows give on eleven reports in words, three readings came to
about 0.3, two to 0.6 and one to 0.7 without both; to 0.68, 0.76 and 0.80 with borrowed rows alone; to 0.87, 0.88 and
0.86 with both, none of them above it."""


@dataclass(frozen=True, slots=True)
class Candidate:
    check: Check
    place: str = ""

    @property
    def id(self) -> str:
        return f"{self.check.id}@{self.place}" if self.place else self.check.id


@dataclass(frozen=True, slots=True)
class Measurable:
    """A measured quantity per row: mean (rows, n) and covariance (rows, n, n), with the unit it is told in."""

    mean: Floats
    covariance: Floats
    unit: str
    rise: bool = False


def measurables(state: State, sample: Sample, wanted: Sequence[Candidate]) -> dict[str, Measurable]:
    """Solve everything the measuring candidates need, in one batch of operating points."""
    packed, engine = state.bank.packed, state.bank.engine
    description = packed.description
    field_m = description.field.elevation.number
    temperature = state.prepared.temperature_k
    plans: dict[str, list[Point]] = {}
    for candidate in wanted:
        plans[candidate.id] = _points(candidate, description, field_m, temperature)
    points = list(dict.fromkeys(point for plan in plans.values() for point in plan))
    pressure = solve_rows(packed, sample.columns, points, engine) if points else np.zeros((sample.size, 0, 0))
    found = {}
    for candidate in wanted:
        if candidate.check.kind == "suction flow":
            found[candidate.id] = _suction(state, sample, candidate, field_m, temperature)
            continue
        own = [pressure[:, points.index(point), :] for point in plans[candidate.id]]
        found[candidate.id] = _from_pressures(state, sample, candidate, own)
    return found


def _points(
    candidate: Candidate, description: AircraftDescription, field_m: float, temperature: float | None
) -> list[Point]:
    cruise = description.engine.cruise_rpm.number
    kind = candidate.check.kind
    if kind == "cover test":
        return list(cover_points(description, COVER_TEST_RPM, field_m, temperature))
    if kind == "run-up":
        return [point_at(description.engine.run_up_rpm.number, field_m, temperature)]
    if kind == "sweep":
        return [point_at(rpm, field_m, temperature) for rpm in (*_SWEEP_RPM, cruise)]
    if kind == "capped sweep":
        under = {f"{candidate.place}.capped": 1.0}
        return [point_at(rpm, field_m, temperature, under=under) for rpm in (COVER_TEST_RPM, cruise)]
    if kind in ("gauge across instrument", "filter drop"):
        return [point_at(cruise, field_m, temperature)]
    return []


def _from_pressures(state: State, sample: Sample, candidate: Candidate, pressure: Sequence[Floats]) -> Measurable:
    packed = state.bank.packed
    kind = candidate.check.kind
    panel = taps(packed, None, None)
    if kind == "cover test":
        rise = (tapped(pressure[1], panel) - tapped(pressure[0], panel)) / PA_PER_INHG
        sd = np.array([float(cover_sd(r, s, None)) for r, s in zip(rise, sample.subjects, strict=True)])
        return Measurable(rise[:, None], (sd**2)[:, None, None], "inHg", rise=True)
    if kind in (*GAUGE_READ, "capped sweep"):
        values = np.stack([tapped(own, panel) for own in pressure], axis=1) / PA_PER_INHG
        return _with_panel_error(state, sample, values)
    place = candidate.place
    ends = (
        (f"{place}.inlet", f"{place}.outlet")
        if kind == "gauge across instrument"
        else filter_ends(packed.description, place)
    )
    values = tapped(pressure[0], taps(packed, *ends))[:, None] / PA_PER_INHG
    variance = 0.06**2 + 0.03**2 + (likelihood.MODEL_SD * values) ** 2
    return Measurable(values, variance[:, :, None], "inHg")


def _with_panel_error(state: State, sample: Sample, values: Floats) -> Measurable:
    """Readings of the panel gauge, its error as known from the readings so far."""
    read = number_of(state.bank.packed.description.gauge.read_sd, judgement.GAUGE_READ_SD) / PA_PER_INHG
    mean, covariance = sample.gauge_error
    design = np.stack([np.ones_like(values), values], axis=2)
    centre = values + np.einsum("rnk,rk->rn", design, mean)
    spread = np.einsum("rnk,rkl,rml->rnm", design, covariance, design)
    own = read**2 + (likelihood.MODEL_SD * values) ** 2
    return Measurable(centre, spread + own[:, :, None] * np.eye(values.shape[1])[None], "inHg")


def _suction(
    state: State, sample: Sample, candidate: Candidate, field_m: float, temperature: float | None
) -> Measurable:
    """Flow with the regulator fitted, and with its intake covered."""
    packed = state.bank.packed
    at = point_at(0.0, field_m, temperature)
    covered = {f"{part.id}.covered": 1.0 for part in packed.description.parts_of("regulator")}
    flows = []
    for under in ({}, covered):
        point = SuctionPoint(
            candidate.place, SUCTION_INHG * PA_PER_INHG, at.ambient_pa, at.temperature_k, tuple(sorted(under.items()))
        )
        flows.append(suction_flows(packed, sample.columns, point, state.bank.engine) / M3S_PER_CFM)
    values = np.stack(flows, axis=1)
    sd = flow_sd(values, None)
    covariance = (sd**2)[:, :, None] * np.eye(2)[None]
    return Measurable(values, covariance, "cfm")


Judge = Callable[[Ints, Ints], Floats]
"""(rows simulating, rows judging) -> likelihood of each simulated outcome, (simulating, outcomes, judging)."""


def information(
    judge: Judge, weights: Floats, group: Ints, groups: int, pooled_rows: float = 0.0
) -> tuple[float, float]:
    """Mutual information [bit] of outcome and repair group, with its standard error.

    ``weights`` (rows, outcomes) are those of the simulated outcomes. Even rows simulate for odd rows and the reverse.
    The likelihood of a group is the mean over its rows and ``pooled_rows`` more that are like all rows.
    """
    rows = len(group)
    per_row = np.zeros(rows)
    for first in (0, 1):
        here, there = np.arange(first, rows, 2), np.arange(1 - first, rows, 2)
        there = there[np.argsort(group[there], kind="stable")]
        table = judge(here, there)
        present, starts = np.unique(group[there], return_index=True)
        # Summed group by group and not by a product of matrices, which comes out by how many threads it is worked on.
        total = np.add.reduceat(table, starts, axis=2)
        overall = total.sum(axis=2) / len(there)
        mean = np.full((*table.shape[:2], groups), overall[:, :, None])
        count = np.diff(starts, append=len(there))
        mean[:, :, present] = (total + pooled_rows * overall[:, :, None]) / (count + pooled_rows)
        own = np.take_along_axis(mean, group[here][:, None, None], axis=2)[:, :, 0]
        with np.errstate(divide="ignore", invalid="ignore"):
            gain = np.where(own > 0.0, np.log2(own / overall), 0.0)
        per_row[here] = (weights[here] * np.nan_to_num(gain)).sum(axis=1)
    return max(0.0, float(per_row.mean())), float(per_row.std() / math.sqrt(rows))


def _table_information(table: Floats, group: Ints, groups: int) -> tuple[float, float]:
    """:func:`information` where an outcome's likelihood is the judging row's own table, (rows, outcomes)."""
    rows = len(group)
    per_row = np.zeros(rows)
    numbers = np.arange(groups)[:, None]
    for first in (0, 1):
        here, there = slice(first, rows, 2), slice(1 - first, rows, 2)
        theirs = (group[there][None, :] == numbers).astype(np.float64)
        count = theirs.sum(axis=1, keepdims=True)
        own = theirs @ table[there] / np.maximum(count, 1.0)
        with np.errstate(divide="ignore", invalid="ignore"):
            gain = np.where(own > 0.0, np.log2(own / table[there].mean(axis=0)), 0.0)
        per_row[here] = (table[here] * np.nan_to_num(gain)[group[here]]).sum(axis=1)
    return max(0.0, float(per_row.mean())), float(per_row.std() / math.sqrt(rows))


def table_worth(sample: Sample, candidate: Candidate) -> tuple[float, float, Floats]:
    """Information of a table check, and the outcome probabilities of each row."""
    check = candidate.check
    table = np.tile(np.array(check.background), (sample.size, 1))
    for subject, here in sample.by_subject:
        if subject.kind == "none" or any(mode in check.table for mode in subject.mode_ids):
            table[here] = outcome_probabilities(check, candidate.place, subject, sample.quantiles[here])
    table = likelihood.with_misjudgement(table, _SIMULATED_GRADE)
    bits, se = _table_information(table, sample.group, len(sample.groups))
    return bits, se, table


def measured_worth(sample: Sample, measurable: Measurable) -> tuple[float, float]:
    """Information of a measurement: outcomes at nodes of each row's own spread, judged by normal densities."""
    mean, covariance = measurable.mean, measurable.covariance
    size = mean.shape[1]
    solved: Bools = np.asarray(np.isfinite(mean).all(axis=1))
    mean = np.where(solved[:, None], mean, 0.0)
    covariance = np.where(solved[:, None, None], covariance, np.eye(size)[None])
    none = np.array([subject.kind == "none" for subject in sample.subjects])
    covariance = covariance + np.where(none, likelihood.NONE_SCALE_INHG**2, 0.0)[:, None, None] * np.eye(size)
    factor = np.linalg.cholesky(covariance)
    steps, shares = _node_steps(size)
    outcomes = mean[:, None, :] + np.einsum("rnm,sm->rsn", factor, steps)
    judging = factor * _WIDER[min(size, 2) - 1]
    whiten = np.linalg.inv(judging)
    volume = np.exp(-np.log(np.diagonal(judging, axis1=1, axis2=2)).sum(axis=1)) / (2.0 * math.pi) ** (0.5 * size)
    slip = likelihood.OUTLIER * 0.1**size

    def judge(here: Ints, there: Ints) -> Floats:
        # Whitened by each judging row: the distance is that of two points, which one matrix product gives. Single
        # precision is good to 1e-4 of a density here, and four times as fast.
        seen, own = outcomes[here], np.einsum("tij,tj->ti", whiten[there], mean[there])
        distance = np.zeros((len(here), len(steps), len(there)), np.float32)
        for row in range(size):
            along = (seen @ whiten[there, row].T).astype(np.float32)
            along -= own[:, row].astype(np.float32)
            along *= along
            distance += along
        distance *= np.float32(-0.5)
        core = np.exp(distance, out=distance)
        core *= ((1.0 - likelihood.OUTLIER) * volume[there]).astype(np.float32)
        core += np.float32(slip)
        return core

    weights = np.broadcast_to(shares[None, :], (len(mean), len(steps)))
    return information(judge, weights, sample.group, len(sample.groups), _POOLED_ROWS)


def _node_steps(dimensions: int) -> tuple[Floats, Floats]:
    """Standard normal steps and their shares: Gauss and Hermite's three in one dimension, a star in several."""
    if dimensions == 1:
        return np.asarray(_NODES[:, None]), np.asarray(_NODE_SHARES)
    scale = math.sqrt(dimensions)
    star = [scale * sign * np.eye(dimensions)[axis] for axis in range(dimensions) for sign in (1.0, -1.0)]
    return np.stack(star), np.full(len(star), 1.0 / len(star))
