"""Readings over time: has anything changed, how much, since when, and how sure is that.

Two cumulative sums watch one series. The *step* sum scores each reading by what all readings before it would have led
to expect; it is quick to find a jump, and slowly gets used to a creeping change. The *creep* sum compares each reading
with the baseline, the first readings after work; it never gets used to anything. Their alarm limits are set so that
both together give a sound aircraft a false alarm no more often than stated, with the error of a short baseline counted.
Trends miss sudden failures, and every answer says so.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from typing import Literal

import msgspec
import numpy as np
from scipy.special import ndtr, ndtri, stdtr

from vanewise import chances
from vanewise.errors import InputError, Problem, wrong
from vanewise.watch import cusum
from vanewise.watch.arrays import Floats

TREND_WARNING = "Trends miss sudden failures. Keep a back-up."
STEP_SHIFT = 0.5
"""What the step sum takes off each score: half the jump, in standard deviations, that it is quickest to find."""
CREEP_SHIFT = 1.25
"""The same for the creep sum: more, because the error of a short baseline would add up otherwise."""


class TrendReading(msgspec.Struct, frozen=True, kw_only=True):
    """One value of a series, at hours of the aircraft (tach or hour meter, one of them throughout)."""

    hours: float
    value: float
    date: datetime.date | None = None


class Series(msgspec.Struct, frozen=True, kw_only=True):
    """One signal of one aircraft. ``scatter``: usual standard deviation of a reading, counted as ``scatter_weight``.

    ``worse``: the direction in which a change is bad; ``either`` watches both.
    """

    name: str
    unit: str
    worse: Literal["rising", "falling", "either"]
    scatter: float
    readings: tuple[TrendReading, ...]
    scatter_weight: float = 4.0
    """Degrees of freedom that the usual scatter counts for beside the baseline's own."""
    new_baselines: tuple[float, ...] = ()
    """Hours at which work was done that makes what came before no measure of what comes after."""


class Budget(msgspec.Struct, frozen=True, kw_only=True):
    """How many false alarms are accepted: a chance over so many readings of a sound aircraft."""

    chance: float = 0.05
    readings: int = 100
    baseline_readings: int = 5


class SumPoint(msgspec.Struct, frozen=True, kw_only=True):
    """One point of the plot: both sums as shares of their alarm limits, negative when falling."""

    hours: float
    step: float
    creep: float


class Trend(msgspec.Struct, frozen=True, kw_only=True):
    """What a series says. Values in the series' unit; ``since_hours`` is where the change most likely began."""

    name: str
    state: Literal["too few", "steady", "changed"]
    how: Literal["", "jumped", "crept"]
    baseline: float | None
    baseline_sd: float | None
    baseline_from_hours: float | None
    change: float | None
    change_sd: float | None
    since_hours: float | None
    alarm_hours: float | None
    sums: tuple[SumPoint, ...]
    false_alarms: str
    words: tuple[str, ...]


DEFAULT_BUDGET = Budget()


class _Track(msgspec.Struct, frozen=True):
    """One sum in one direction over the readings after the baseline, as a share of its limit."""

    how: Literal["jumped", "crept"]
    sign: int
    shares: tuple[float, ...]

    @property
    def alarm(self) -> int | None:
        return next((i for i, share in enumerate(self.shares) if share > 1.0), None)


def follow(series: Series, budget: Budget = DEFAULT_BUDGET) -> Trend:
    """Compare the newest stretch of a series with its baseline.

    Raises :class:`InputError` for a scatter that is not positive, values that are no numbers, or a useless budget.
    """
    _check(series, budget)
    start = max(series.new_baselines, default=-math.inf)
    # A reading at the very hours of the work was taken after it: that is what the run after the work is for.
    stretch = sorted((r for r in series.readings if r.hours >= start), key=lambda r: (r.hours, r.value))
    count = budget.baseline_readings
    if len(stretch) <= count:
        return _too_few(series, stretch, count)
    values = np.array([r.value for r in stretch])
    mean = float(values[:count].mean())
    freedom = series.scatter_weight + count - 1
    squares = series.scatter_weight * series.scatter**2 + float(((values[:count] - mean) ** 2).sum())
    sd = math.sqrt(squares / freedom)
    tracks = _tracks(series, values, mean, sd, freedom, budget)
    told = _false_alarms(budget)
    blank = Trend(
        name=series.name,
        state="steady",
        how="",
        baseline=mean,
        baseline_sd=sd,
        baseline_from_hours=stretch[0].hours,
        change=None,
        change_sd=None,
        since_hours=None,
        alarm_hours=None,
        sums=_points(stretch[count:], tracks),
        false_alarms=told,
        words=(
            f"{series.name}: steady at {mean:,.4g} {series.unit} since {stretch[0].hours:,.1f} h.",
            told,
            TREND_WARNING,
        ),
    )
    raised = [(alarm, track) for track in tracks if (alarm := track.alarm) is not None]
    if not raised:
        return blank
    alarm, track = min(raised, key=lambda pair: (pair[0], pair[1].how, pair[1].sign))
    began = _last_zero(track.shares, alarm)
    since = values[count + began :]
    change = float(since.mean()) - mean
    change_sd = sd * math.sqrt(1.0 / len(since) + 1.0 / count)
    since_hours = stretch[count + began].hours
    return msgspec.structs.replace(
        blank,
        state="changed",
        how=track.how,
        change=change,
        change_sd=change_sd,
        since_hours=since_hours,
        alarm_hours=stretch[count + alarm].hours,
        words=(_changed_words(series, track.how, mean, change, change_sd, since_hours), told, TREND_WARNING),
    )


def _tracks(
    series: Series, values: Floats, mean: float, sd: float, freedom: float, budget: Budget
) -> tuple[_Track, ...]:
    """Every sum in every watched direction, over the readings after the baseline."""
    count = budget.baseline_readings
    signs = {"rising": (1,), "falling": (-1,), "either": (1, -1)}[series.worse]
    each = round(budget.chance / (2.0 * len(signs)), 6)
    step_limit = cusum.decision_limit_known(STEP_SHIFT, each, budget.readings)
    creep_limit = cusum.decision_limit(CREEP_SHIFT, each, budget.readings, count, float(freedom))
    scores = step_scores(values, series.scatter, series.scatter_weight)[count - 1 :]
    creep = (values[count:] - mean) / sd
    out = []
    for sign in signs:
        out.append(_Track("jumped", sign, _sums(sign * scores, STEP_SHIFT, step_limit)))
        out.append(_Track("crept", sign, _sums(sign * creep, CREEP_SHIFT, creep_limit)))
    return tuple(out)


def step_scores(values: Floats, scatter: float, weight: float) -> Floats:
    """Normal scores (n - 1,) of the second reading and each after it, given those before.

    With the variance scaled-inverse-chi-square (``scatter``, ``weight`` degrees of freedom) and the mean unknown, each
    next reading is Student t about the mean so far; its probability, put to the normal scale, is an independent
    standard normal deviate as long as nothing changes.
    """
    n = np.arange(1, len(values), dtype=float)
    means = np.cumsum(values)[:-1] / n
    squares = np.cumsum(values**2)[:-1] - n * means**2
    freedom = weight + n - 1.0
    spread = np.sqrt(np.maximum(weight * scatter**2 + squares, 0.0) / freedom * (1.0 + 1.0 / n))
    t = (values[1:] - means) / spread
    # From the nearer tail, so that far readings do not all become certain.
    tail = stdtr(freedom, -np.abs(t))
    return np.asarray(np.sign(t) * -ndtri(np.maximum(tail, 1e-300)))


def _points(readings: Sequence[TrendReading], tracks: Sequence[_Track]) -> tuple[SumPoint, ...]:
    """Both sums in whichever direction each stands higher at the end."""
    best = {
        how: max((t for t in tracks if t.how == how), key=lambda t: (t.shares[-1], t.sign))
        for how in ("jumped", "crept")
    }
    return tuple(
        SumPoint(
            hours=r.hours,
            step=best["jumped"].sign * best["jumped"].shares[i],
            creep=best["crept"].sign * best["crept"].shares[i],
        )
        for i, r in enumerate(readings)
    )


def _check(series: Series, budget: Budget) -> None:
    problems = []
    if not (math.isfinite(series.scatter) and series.scatter > 0.0 and series.scatter_weight > 0.0):
        problems.append(
            Problem(
                where=f"{series.name}, scatter",
                expected="the usual scatter of a reading, above 0",
                found=str(series.scatter),
                next_step="take the spread of a few readings on one day",
            )
        )
    problems += [
        Problem(
            where=f"{series.name} at {r.hours:g} h",
            expected=f"a number in {series.unit}",
            found=str(r.value),
            next_step="correct the reading",
        )
        for r in series.readings
        if not (math.isfinite(r.value) and math.isfinite(r.hours))
    ]
    if not (0.0 < budget.chance < 0.5 and budget.readings >= 1 and budget.baseline_readings >= 2):
        problems.append(
            Problem(
                where="false-alarm budget",
                expected="a chance below 1 in 2 over at least one reading, and a baseline of at least two",
                found=f"{budget.chance:g} over {budget.readings}, baseline {budget.baseline_readings}",
                next_step="state how often a false alarm is accepted",
            )
        )
    if problems:
        raise InputError(problems)


def _sums(scores: Floats, shift: float, limit: float) -> tuple[float, ...]:
    """The cumulative sum after each score, as a share of its limit."""
    out, total = [], 0.0
    for score in scores:
        total = max(0.0, total + float(score) - shift)
        out.append(total / limit)
    return tuple(out)


def _last_zero(track: Sequence[float], alarm: int) -> int:
    """The reading after the sum last stood at zero before the alarm: where the change most likely began."""
    zeros = [i for i in range(alarm) if track[i] == 0.0]
    return zeros[-1] + 1 if zeros else 0


def _too_few(series: Series, stretch: Sequence[TrendReading], count: int) -> Trend:
    needed = count + 1 - len(stretch)
    return Trend(
        name=series.name,
        state="too few",
        how="",
        baseline=None,
        baseline_sd=None,
        baseline_from_hours=stretch[0].hours if stretch else None,
        change=None,
        change_sd=None,
        since_hours=None,
        alarm_hours=None,
        sums=(),
        false_alarms="",
        words=(f"{series.name}: {needed} more readings until a change can be told from scatter.", TREND_WARNING),
    )


def _false_alarms(budget: Budget) -> str:
    chance = chances.chance(budget.chance)
    return f"A sound aircraft gives a false alarm in at most {chance} spells of {budget.readings} readings."


def _changed_words(series: Series, how: str, mean: float, change: float, sd: float, since: float) -> str:
    direction = "up" if change > 0 else "down"
    amount = f"{abs(change):,.3g} {series.unit} (give or take {sd:,.2g})"
    return (
        f"{series.name}: {how} {direction} by {amount} from {mean:,.4g} {series.unit}, since about {since:,.1f} h. "
        "Look now."
    )


class RunRule(msgspec.Struct, frozen=True, kw_only=True):
    """An alarm after so many readings in a row beyond a fixed limit, as a card or manual may state it."""

    limit: float
    runs: int = 3
    beyond: Literal["above", "below"] = "above"


class RunRuleAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """``alarm_hours``: hours of the reading that completed the first run; None when there was none."""

    alarm_hours: float | None
    words: tuple[str, ...]
    readings_between_false_alarms: float | None
    """For a sound aircraft with the baseline given; None without one."""


def run_rule(
    readings: Sequence[TrendReading],
    rule: RunRule,
    name: str,
    unit: str,
    baseline: tuple[float, float] | None = None,
) -> RunRuleAnswer:
    """Apply a run rule to readings in order of hours. ``baseline``: mean and standard deviation of a sound aircraft."""
    if rule.runs < 1:
        raise wrong(f"{name}, runs", "1 or more readings in a row", rule.runs, "3 is usual")
    in_row, alarm = 0, None
    for reading in sorted(readings, key=lambda r: r.hours):
        beyond = reading.value > rule.limit if rule.beyond == "above" else reading.value < rule.limit
        in_row = in_row + 1 if beyond else 0
        if in_row >= rule.runs and alarm is None:
            alarm = reading.hours
    length = None
    if baseline is not None:
        z = (rule.limit - baseline[0]) / baseline[1]
        p = float(ndtr(-z if rule.beyond == "above" else z))
        length = cusum.run_rule_length(p, rule.runs)
    stated = f"{rule.beyond} {rule.limit:,.4g} {unit} on {rule.runs} runs in a row"
    lines = [f"{name}: {stated}, at {alarm:,.1f} h. Look now." if alarm is not None else f"{name}: not {stated}."]
    if length is not None and math.isfinite(length):
        lines.append(f"A sound aircraft does this once in about {chances.one_figure(length):,} runs.")
    return RunRuleAnswer(alarm_hours=alarm, words=(*lines, TREND_WARNING), readings_between_false_alarms=length)
