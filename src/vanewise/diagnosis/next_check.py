"""Which single check splits the causes best for its minutes, and what must not be touched yet.

The expected information of a check is the mutual information between its outcome and what would be repaired. Rows are
resampled from the posterior and cut in two halves: outcomes are simulated from one and judged by the other, because a
row that judges itself recognises itself. The error of a gauge already read is carried along with what its readings
have said of it, so that a fifth reading of the same gauge does not look as good as another gauge.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis import likelihood, nuisance, words
from vanewise.diagnosis.checks import ACCESS_MINUTES, CHECKS, Check
from vanewise.diagnosis.effects import combine
from vanewise.diagnosis.evidence import COVER_TEST_RPM, PANEL, SUCTION_INHG, Prepared, cover_points, filter_ends
from vanewise.diagnosis.hypotheses import Hypothesis
from vanewise.diagnosis.likelihood import Bools
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.scoring import cover_sd, flow_sd, outcome_probabilities, wide_error
from vanewise.diagnosis.solving import Point, SuctionPoint, point_at, solve_rows, suction_flows, tapped, taps
from vanewise.diagnosis.types import Cause, Evidence, NextCheck
from vanewise.errors import Problem
from vanewise.network.observe import gyros
from vanewise.network.types import Floats
from vanewise.provenance import Value
from vanewise.quantities import M3S_PER_CFM, PA_PER_INHG
from vanewise.values import judgement

if TYPE_CHECKING:
    from vanewise.diagnosis.infer import State

Ints = NDArray[np.int64]

SAMPLE: Final = 400
LEAST_BITS: Final = 0.05
SHARE_OF_BEST: Final = 0.10
MOST_SHOWN: Final = 6
ENGINE_RISK_MIN: Final = 5.0
"""What running the engine is charged beside its minutes (judgement)."""
SHOP_MIN: Final = 960.0
"""What sending a part away is charged (judgement): two working days."""
_DEAD: Final = 0.5
_SHEDDING: Final = 0.2
_SIMULATED_GRADE: Final = 2
_NODES, _NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(3)
_NODE_SHARES: Final = _NODE_WEIGHTS / _NODE_WEIGHTS.sum()
_SWEEP_RPM: Final = (1000.0, 1500.0)


@dataclass(frozen=True, slots=True, eq=False)
class _Sample:
    """Rows resampled from the posterior, with what would be repaired in each."""

    subjects: tuple[Hypothesis, ...]
    """Hypothesis of each row."""
    quantiles: Floats
    columns: Mapping[str, Floats]
    causes: tuple[str, ...]
    groups: tuple[str, ...]
    """Names of the repair groups, in order."""
    group: Ints
    """Number of each row's repair group."""
    gauge_error: tuple[Floats, Floats]
    """Mean (rows, 2) and covariance (rows, 2, 2) of the panel gauge's offset [inHg] and scale, readings included."""

    by_subject: tuple[tuple[Hypothesis, Bools], ...]
    """Each hypothesis with its rows."""

    @property
    def size(self) -> int:
        return len(self.subjects)


@dataclass(frozen=True, slots=True)
class _Candidate:
    check: Check
    place: str = ""

    @property
    def id(self) -> str:
        return f"{self.check.id}@{self.place}" if self.place else self.check.id


@dataclass(frozen=True, slots=True)
class _Worth:
    """Expected information of a candidate, and what leading causes say it would show."""

    candidate: _Candidate
    bits: float
    se: float
    shows: Mapping[str, str]

    @property
    def minutes(self) -> float:
        check = self.candidate.check
        total = check.minutes + access_minutes(check)
        if check.needs_running_pump:
            total += ENGINE_RISK_MIN
        return total + (SHOP_MIN if check.elsewhere else 0.0)

    @property
    def rate(self) -> float:
        return self.bits / self.minutes


def access_minutes(check: Check) -> float:
    """Minutes to get at a check, everything closed (shared with others that need the same)."""
    return sum(ACCESS_MINUTES[name] for name in check.access)


# ---- candidates -----------------------------------------------------------------------------------------------


def candidates(
    description: AircraftDescription, prepared: Prepared, causes: Sequence[Cause], not_possible: Sequence[str] = ()
) -> tuple[_Candidate, ...]:
    """Checks whose preconditions hold and that have not been done, each at each instrument where that matters."""
    present = {cause.id: cause.present for cause in causes}
    dead = present.get("coupling_sheared", 0.0) + present.get("hose_off", 0.0) > _DEAD
    done = {(item.check, item.place) for item in prepared.checks}
    found: list[_Candidate] = []
    for check in CHECKS.values():
        if check.id in not_possible or (dead and check.needs_running_pump):
            continue
        if not _fits(check, description, prepared, present):
            continue
        places = [place for place in _places(check, description) if (check.id, place) not in done]
        found.extend(_Candidate(check, place) for place in places)
    return tuple(found)


def _fits(check: Check, description: AircraftDescription, prepared: Prepared, present: Mapping[str, float]) -> bool:
    if check.kind == "table" and not any(mode in present for mode in check.table):
        return False
    if check.needs_part == "lamp" and description.lamp is None:
        return False
    if check.needs_part not in ("", "lamp") and not description.parts_of(check.needs_part):
        return False
    if check.kind == "cover test":
        return any(part.open.get("air") == "cabin" for part in description.parts_of("regulator"))
    if check.id == "stop_each_source":
        return len(description.parts_of("pump")) > 1
    if check.id == "records_look":
        return not prepared.events
    if check.id == "swap_indicator":
        shedding = sum(present.get(mode, 0.0) for mode in ("debris_left_in_lines", "inline_filter_loaded"))
        if description.duty == "pressure":
            shedding += present.get("worn_vanes", 0.0)
        return shedding < _SHEDDING
    return True


def _places(check: Check, description: AircraftDescription) -> tuple[str, ...]:
    if check.at_instrument:
        return gyros(description)
    if check.kind == "filter drop":
        return tuple(part.id for part in description.parts if part.kind in ("intake filter", "inline filter"))
    if check.kind == "suction flow":
        regulators = description.parts_of("regulator")
        return (f"{regulators[0].id}.gyro_side",) if regulators else ()
    return ("",)


# ---- resampling ------------------------------------------------------------------------------------------------


def _resample(state: State) -> _Sample:
    """Systematic resampling over hypotheses and rows: even numbers are one half, odd numbers the other."""
    posterior = state.posterior
    rows_of, row_of, weight = [], [], []
    for number, own in enumerate(posterior.rows):
        log = own.log_weights()
        if posterior.probability[number] <= 0.0 or not np.isfinite(log).any():
            continue
        share = np.where(np.isfinite(log), np.exp(log - log[np.isfinite(log)].max()), 0.0)
        rows_of.append(np.full(len(log), number))
        row_of.append(np.arange(len(log)))
        weight.append(posterior.probability[number] * share / share.sum())
    cumulative = np.cumsum(np.concatenate(weight))
    at = (np.arange(SAMPLE) + 0.5) / SAMPLE * cumulative[-1]
    chosen = np.searchsorted(cumulative, at)
    hypothesis, row = np.concatenate(rows_of)[chosen], np.concatenate(row_of)[chosen]
    subjects = tuple(posterior.hypotheses[number] for number in hypothesis.tolist())
    deviates = np.stack([posterior.rows[h].deviates[r] for h, r in zip(hypothesis, row, strict=True)])
    quantiles = np.stack([posterior.rows[h].quantiles[r] for h, r in zip(hypothesis, row, strict=True)])
    causes = tuple(subject.source.id for subject in subjects)
    groups = tuple(dict.fromkeys(sorted(causes, key=list(MODES).index)))
    return _Sample(
        subjects=subjects,
        quantiles=quantiles,
        columns=_columns(state, subjects, deviates, quantiles),
        causes=causes,
        groups=groups,
        group=np.array([groups.index(cause) for cause in causes], dtype=np.int64),
        gauge_error=_gauge_error(state, hypothesis.tolist(), row.tolist()),
        by_subject=tuple(
            (subject, np.array([entry is subject for entry in subjects])) for subject in dict.fromkeys(subjects)
        ),
    )


def _columns(state: State, subjects: Sequence[Hypothesis], deviates: Floats, quantiles: Floats) -> Mapping[str, Floats]:
    """State columns of every sampled row, all hypotheses side by side."""
    bank = state.bank
    drawn = nuisance.draw(bank.packed, deviates, bank.changed, bank.engine)
    merged = {key: values.copy() for key, values in drawn.now.items()}
    for subject in dict.fromkeys(subjects):
        here = np.array([entry is subject for entry in subjects])
        base = {key: values[here] for key, values in drawn.now.items()}
        own = combine(base, subject.changes(bank.packed.description, quantiles[here]), int(here.sum()))
        for key, values in own.items():
            if key not in merged:
                merged[key] = np.full(len(subjects), bank.packed.neutral(key))
            merged[key][here] = values
    return merged


def _number(value: Value | None, default: Value) -> float:
    return (default if value is None else value).number


def _gauge_error(state: State, hypothesis: Sequence[int], row: Sequence[int]) -> tuple[Floats, Floats]:
    """What the readings so far say of the panel gauge's offset and scale in each sampled row."""
    gauge = state.bank.packed.description.gauge
    usual = (
        _number(gauge.bias_sd, judgement.GAUGE_BIAS_SD) / PA_PER_INHG,
        _number(gauge.scale_sd, judgement.GAUGE_SCALE_SD),
    )
    mean, covariance = np.zeros((len(row), 2)), np.zeros((len(row), 2, 2))
    number = next((n for n, group in enumerate(state.prepared.gauges) if group.instrument == PANEL), None)
    for place, (h, r) in enumerate(zip(hypothesis, row, strict=True)):
        subject = state.posterior.hypotheses[h]
        wrong = subject.has("gauge_in_error")
        sd = (wide_error().bias_sd, wide_error().scale_sd) if wrong else usual
        precision = np.diag([1.0 / sd[0] ** 2, 1.0 / sd[1] ** 2])
        right = np.zeros(2)
        if number is not None:
            group = state.prepared.gauges[number]
            value, observed, variance = _terms_of_row(state, number, subject, h, r)
            kept = np.array([not (wrong and item.point.before) for item in group.items], dtype=bool)
            design = np.stack([np.ones(kept.sum()), value[kept]], axis=1)
            precision = precision + (design / variance[kept, None]).T @ design
            right = (design / variance[kept, None]).T @ (observed - value)[kept]
        covariance[place] = np.linalg.inv(precision)
        mean[place] = covariance[place] @ right
    return mean, covariance


def _terms_of_row(
    state: State, number: int, subject: Hypothesis, hypothesis: int, row: int
) -> tuple[Floats, Floats, Floats]:
    predicted = state.posterior.rows[hypothesis].predicted
    one = type(predicted)(
        gauges=tuple(values[row : row + 1] for values in predicted.gauges),
        gauge_variance=predicted.gauge_variance,
        lamp=predicted.lamp[row : row + 1],
        lamp_slope=predicted.lamp_slope[row : row + 1],
        felt={},
        checks={},
    )
    value, observed, variance = state.scorer.gauge_terms(number, subject, one)
    return value[0], observed, variance[0]


# ---- what each row says a check would show --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Measurable:
    """A measured quantity per row: mean (rows, n) and covariance (rows, n, n), with the unit it is told in."""

    mean: Floats
    covariance: Floats
    unit: str
    rise: bool = False


def _measurables(state: State, sample: _Sample, wanted: Sequence[_Candidate]) -> dict[str, _Measurable]:
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
    candidate: _Candidate, description: AircraftDescription, field_m: float, temperature: float | None
) -> list[Point]:
    cruise = description.engine.cruise_rpm.number
    kind = candidate.check.kind
    if kind == "cover test":
        return list(cover_points(description, COVER_TEST_RPM, field_m, temperature))
    if kind == "sweep":
        return [point_at(rpm, field_m, temperature) for rpm in (*_SWEEP_RPM, cruise)]
    if kind == "capped sweep":
        under = {f"{candidate.place}.capped": 1.0}
        return [point_at(rpm, field_m, temperature, under=under) for rpm in (COVER_TEST_RPM, cruise)]
    if kind in ("gauge across instrument", "filter drop"):
        return [point_at(cruise, field_m, temperature)]
    return []


def _from_pressures(state: State, sample: _Sample, candidate: _Candidate, pressure: Sequence[Floats]) -> _Measurable:
    packed = state.bank.packed
    kind = candidate.check.kind
    panel = taps(packed, None, None)
    if kind == "cover test":
        rise = (tapped(pressure[1], panel) - tapped(pressure[0], panel)) / PA_PER_INHG
        sd = np.array([float(cover_sd(r, s, None)) for r, s in zip(rise, sample.subjects, strict=True)])
        return _Measurable(rise[:, None], (sd**2)[:, None, None], "inHg", rise=True)
    if kind in ("sweep", "capped sweep"):
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
    return _Measurable(values, variance[:, :, None], "inHg")


def _with_panel_error(state: State, sample: _Sample, values: Floats) -> _Measurable:
    """Readings of the panel gauge, its error as known from the readings so far."""
    read = _number(state.bank.packed.description.gauge.read_sd, judgement.GAUGE_READ_SD) / PA_PER_INHG
    mean, covariance = sample.gauge_error
    design = np.stack([np.ones_like(values), values], axis=2)
    centre = values + np.einsum("rnk,rk->rn", design, mean)
    spread = np.einsum("rnk,rkl,rml->rnm", design, covariance, design)
    own = read**2 + (likelihood.MODEL_SD * values) ** 2
    return _Measurable(centre, spread + own[:, :, None] * np.eye(values.shape[1])[None], "inHg")


def _suction(
    state: State, sample: _Sample, candidate: _Candidate, field_m: float, temperature: float | None
) -> _Measurable:
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
    return _Measurable(values, covariance, "cfm")


# ---- information -----------------------------------------------------------------------------------------------


Judge = Callable[[Ints, Ints], Floats]
"""(rows simulating, rows judging) -> likelihood of each simulated outcome, (simulating, outcomes, judging)."""


def information(judge: Judge, weights: Floats, group: Ints, groups: int) -> tuple[float, float]:
    """Mutual information [bit] of outcome and repair group, with its standard error.

    ``weights`` (rows, outcomes) are those of the simulated outcomes. Even rows simulate for odd rows and the reverse.
    """
    rows = len(group)
    per_row = np.zeros(rows)
    for first in (0, 1):
        here, there = np.arange(first, rows, 2), np.arange(1 - first, rows, 2)
        table = judge(here, there)
        overall = table.mean(axis=2)
        own = overall.copy()
        for number in range(groups):
            mine: Bools = np.asarray(group[here] == number)
            theirs: Bools = np.asarray(group[there] == number)
            if mine.any() and theirs.any():
                own[mine] = table[mine][:, :, theirs].mean(axis=2)
        with np.errstate(divide="ignore", invalid="ignore"):
            gain = np.where(own > 0.0, np.log2(own / overall), 0.0)
        per_row[here] = (weights[here] * np.nan_to_num(gain)).sum(axis=1)
    return max(0.0, float(per_row.mean())), float(per_row.std() / math.sqrt(rows))


def _table_worth(sample: _Sample, candidate: _Candidate) -> tuple[float, float, Floats]:
    """Information of a table check, and the outcome probabilities of each row."""
    table = np.empty((sample.size, len(candidate.check.outcomes)))
    for subject, here in sample.by_subject:
        own = outcome_probabilities(candidate.check, candidate.place, subject, sample.quantiles[here])
        table[here] = likelihood.with_misjudgement(own, _SIMULATED_GRADE)

    def judge(here: Ints, there: Ints) -> Floats:
        return np.broadcast_to(table[there].T[None, :, :], (len(here), table.shape[1], len(there)))

    bits, se = information(judge, table, sample.group, len(sample.groups))
    return bits, se, table


def _measured_worth(sample: _Sample, measurable: _Measurable) -> tuple[float, float]:
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
    whiten = np.linalg.inv(factor)
    volume = np.exp(-np.log(np.diagonal(factor, axis1=1, axis2=2)).sum(axis=1)) / (2.0 * math.pi) ** (0.5 * size)
    slip = likelihood.OUTLIER * 0.1**size

    def judge(here: Ints, there: Ints) -> Floats:
        distance = np.zeros((len(here), len(steps), len(there)))
        for row in range(size):
            along = np.zeros_like(distance)
            for column in range(row + 1):
                off = outcomes[here][:, :, None, column] - mean[there][None, None, :, column]
                along += whiten[there][None, None, :, row, column] * off
            distance += along * along
        core = np.exp(-0.5 * distance) * volume[there][None, None, :]
        return np.asarray((1.0 - likelihood.OUTLIER) * core + slip)

    weights = np.broadcast_to(shares[None, :], (len(mean), len(steps)))
    return information(judge, weights, sample.group, len(sample.groups))


def _node_steps(dimensions: int) -> tuple[Floats, Floats]:
    """Standard normal steps and their shares: Gauss and Hermite's three in one dimension, a star in several."""
    if dimensions == 1:
        return np.asarray(_NODES[:, None]), np.asarray(_NODE_SHARES)
    scale = math.sqrt(dimensions)
    star = [scale * sign * np.eye(dimensions)[axis] for axis in range(dimensions) for sign in (1.0, -1.0)]
    return np.stack(star), np.full(len(star), 1.0 / len(star))


# ---- the answer ------------------------------------------------------------------------------------------------


def next_checks(state: State, causes: Sequence[Cause], *, not_possible: Sequence[str] = ()) -> tuple[NextCheck, ...]:
    """Checks worth doing next, best first: most expected information for the minutes, none that says next to nothing.

    Empty when the first cause is decided and seen directly: then there is nothing left to ask.
    """
    if causes and causes[0].confirmed and causes[0].probability >= 0.95:
        return ()
    description = state.bank.packed.description
    wanted = candidates(description, state.prepared, causes, not_possible)
    sample = _resample(state)
    measuring = [candidate for candidate in wanted if candidate.check.kind != "table"]
    measurables = _measurables(state, sample, measuring)
    worths = []
    for candidate in wanted:
        if candidate.check.kind == "table":
            bits, se, table = _table_worth(sample, candidate)
            shows = _table_shows(sample, candidate, table, causes)
        else:
            measurable = measurables[candidate.id]
            bits, se = _measured_worth(sample, measurable)
            shows = _measured_shows(sample, measurable, causes)
        worths.append(_Worth(candidate, bits, se, shows))
    return tuple(_told(worth) for worth in ranked(worths)[:MOST_SHOWN])


def ranked(worths: Sequence[_Worth]) -> list[_Worth]:
    """By information per minute among those that say enough; within the sampling error fewer minutes come first."""
    most = max((worth.bits for worth in worths), default=0.0)
    left = [worth for worth in worths if worth.bits >= max(LEAST_BITS, SHARE_OF_BEST * most)]
    left.sort(key=lambda worth: (-worth.rate, worth.minutes, worth.candidate.id))
    found: list[_Worth] = []
    while left:
        best = left[0]
        margin = best.rate - best.se / best.minutes
        tied = [worth for worth in left if worth.rate + worth.se / worth.minutes >= margin]
        chosen = min(
            tied,
            key=lambda worth: (
                worth.minutes,
                worth.candidate.check.needs_running_pump,
                -worth.rate,
                worth.candidate.id,
            ),
        )
        found.append(chosen)
        left.remove(chosen)
    return found


def _leading(causes: Sequence[Cause]) -> list[Cause]:
    return [cause for cause in causes[:4] if cause.probability >= 0.03]


def _rows_of(sample: _Sample, cause: str) -> Floats:
    return np.array([entry == cause for entry in sample.causes])


def _table_shows(sample: _Sample, candidate: _Candidate, table: Floats, causes: Sequence[Cause]) -> Mapping[str, str]:
    shows = {}
    for cause in _leading(causes):
        rows = _rows_of(sample, cause.id).astype(bool)
        if rows.any():
            mean = table[rows].mean(axis=0)
            best = int(np.argmax(mean))
            shows[cause.id] = f"{candidate.check.outcomes[best].words} ({words.chance(float(mean[best]))})"
    return shows


def _measured_shows(sample: _Sample, measurable: _Measurable, causes: Sequence[Cause]) -> Mapping[str, str]:
    shows = {}
    for cause in _leading(causes):
        rows = _rows_of(sample, cause.id).astype(bool) & np.isfinite(measurable.mean).all(axis=1)
        if not rows.any():
            continue
        low, high = np.quantile(measurable.mean[rows], (0.1, 0.9), axis=0)
        spans = [_span(a, b, measurable.unit) for a, b in zip(low, high, strict=True)]
        told = ", then ".join(spans)
        if measurable.rise:
            told = "no change" if max(abs(low[0]), abs(high[0])) < 0.1 else f"rises {told}"
        shows[cause.id] = told
    return shows


def _span(low: float, high: float, unit: str) -> str:
    low, high = low + 0.0, high + 0.0
    if abs(high - low) < 0.1:
        return f"about {0.5 * (low + high):.1f} {unit}"
    return f"{low:.1f} to {high:.1f} {unit}"


def _told(worth: _Worth) -> NextCheck:
    check = worth.candidate.check
    access = f", and {access_minutes(check):.0f} min for {words.listed(check.access)}" if check.access else ""
    return NextCheck(
        id=check.id,
        name=check.name,
        minutes=check.minutes,
        expected_bits=worth.bits,
        bits_se=worth.se,
        why=f"{worth.bits:.2f} bit expected for {check.minutes:.0f} min{access}: splits what is still open",
        who=check.who,
        cautions=check.cautions,
        preconditions=check.preconditions,
        predicted=worth.shows,
        place=worth.candidate.place,
        code=check.code,
        access_minutes=access_minutes(check),
        access=check.access,
        tools=check.tools,
        method=check.method,
    )


# ---- the regulator lock -------------------------------------------------------------------------------------------


def regulator_lock(evidence: Evidence) -> tuple[Problem, ...]:
    """What is still to be proved before anybody turns the regulator screw; empty when the lock is open.

    Filter, leaks and gauge first: a turned screw hides them. A named person may override with a reason.
    """
    results = {(result.check, result.outcome) for result in evidence.checks}
    kinds = {event.kind for event in evidence.events}
    proofs = (
        (
            "filter",
            "the filter new, or seen light",
            bool(kinds & {"intake_filter_changed", "inline_filter_changed"})
            or bool(results & {("intake_filter_look", "light"), ("inline_filter_look", "light")}),
            "look at the filter, or fit a new one and log it",
        ),
        (
            "leaks",
            "the lines tight, by suction with a flow meter or by shop air",
            bool(results & {("section_suction", "tight"), ("shop_air", "dry")}),
            "leak test the lines section by section",
        ),
        (
            "gauge",
            "the panel gauge compared with a calibrated one",
            ("test_gauge", "agrees") in results,
            "compare the panel gauge with a test gauge",
        ),
    )
    return tuple(
        Problem(where=f"regulator screw: {name}", expected=expected, found="not yet", next_step=step)
        for name, expected, proved, step in proofs
        if not proved
    )
