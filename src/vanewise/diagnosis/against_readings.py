"""What each leading cause says the panel gauge would have read where it was read: predicted beside measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import msgspec
import numpy as np

from vanewise.diagnosis import nuisance
from vanewise.diagnosis.bank import Bank
from vanewise.diagnosis.effects import combine
from vanewise.diagnosis.evidence import PANEL, GaugeItem
from vanewise.diagnosis.modes import NONE_OF_THESE
from vanewise.diagnosis.solving import Point, solve_rows, tapped, taps
from vanewise.diagnosis.state import State
from vanewise.diagnosis.types import Cause, WouldRead, WouldSweep
from vanewise.network.types import Floats
from vanewise.quantities import PA_PER_INHG

_SPAN: Final = (0.1, 0.5, 0.9)
_LEADING: Final = 4
_WORTH_SHOWING: Final = 0.05
_SWEPT_STATES: Final = 64
"""States of a cause that its curve is worked out for, drawn by their weight in equal steps."""
_SPEEDS: Final = 14
_LEAST_WEIGHT: Final = 1e-9
"""States of less weight than this, the likeliest having one, move no quantile."""


def beside_readings(state: State, found: tuple[Cause, ...]) -> tuple[Cause, ...]:
    """The causes, the leading ones with what they say the gauge would have read, by their likeliest hypothesis."""
    numbers = {hypothesis.id: number for number, hypothesis in enumerate(state.posterior.hypotheses)}
    return tuple(
        msgspec.structs.replace(
            cause,
            would_read=would_read(state, numbers[cause.hypotheses[0].id]),
            would_sweep=would_sweep(state, numbers[cause.hypotheses[0].id]) if state.refined else None,
        )
        if place < _LEADING and cause.probability >= _WORTH_SHOWING and cause.id != NONE_OF_THESE.id
        else cause
        for place, cause in enumerate(found)
    )


def would_read(state: State, hypothesis: int) -> tuple[WouldRead, ...]:
    """Today's readings of the panel gauge in running order, each with the span that 8 in 10 of its states read there.

    The spans are of what a right gauge would show: what the gauge itself adds shows as a shift that all share. An
    effect that goes in the course of a run counts as far as it was likeliest left.
    """
    weight = _weight(state, hypothesis)
    if not weight.any():
        return ()
    own, subject = state.posterior.rows[hypothesis], state.posterior.hypotheses[hypothesis]
    counts = np.flatnonzero(weight >= _LEAST_WEIGHT)
    weight = weight[counts]
    found: list[WouldRead] = []
    for number, group in enumerate(state.prepared.gauges):
        if group.instrument != PANEL:
            continue
        expected = state.scorer.likely_terms(number, subject, own.predicted)[0]
        plain = [place for place, item in enumerate(group.items) if _plain_today(item)]
        for place, (low, middle, high) in zip(plain, _quantiles(expected[counts][:, plain], weight), strict=True):
            item = group.items[place]
            found.append(
                WouldRead(
                    id=item.id,
                    engine_rpm=item.point.rpm,
                    density_kg_m3=item.point.density,
                    read_inhg=item.value,
                    low_inhg=low,
                    middle_inhg=middle,
                    high_inhg=high,
                )
            )
    return tuple(sorted(found, key=lambda entry: (entry.engine_rpm, entry.id)))


def _weight(state: State, hypothesis: int) -> Floats:
    """Weight of each state of a hypothesis, the largest 1; all zero where none explains the evidence."""
    log = state.posterior.rows[hypothesis].log_weights()
    finite = np.isfinite(log)
    if not finite.any():
        return np.zeros(len(log))
    return np.where(finite, np.exp(log - log[finite].max()), 0.0)


def _plain_today(item: GaugeItem) -> bool:
    """True for a reading of today's system by the panel gauge as it is connected, under no test condition."""
    return not item.point.before and not item.point.under and item.high is None


def would_sweep(state: State, hypothesis: int) -> WouldSweep | None:
    """The panel gauge over the whole range of engine speed in the densest air it was read in; None without a reading.

    Solved for :data:`_SWEPT_STATES` states of the hypothesis, drawn by their weight; the span is of 8 in 10 of them.
    """
    panel = [number for number, group in enumerate(state.prepared.gauges) if group.instrument == PANEL]
    read = [item for number in panel for item in state.prepared.gauges[number].items if _plain_today(item)]
    points = [item.point for item in read]
    weight = _weight(state, hypothesis)
    if not points or not weight.any():
        return None
    air = max(points, key=lambda point: point.density)
    speeds = _speeds(state, [point.rpm for point in points])
    at = [Point(rpm, air.ambient_pa, air.temperature_k) for rpm in speeds]
    faulty, sound = _columns(state, hypothesis, weight)
    shown = _shown(state.bank, faulty, at)
    subject, predicted = state.posterior.hypotheses[hypothesis], state.posterior.rows[hypothesis].predicted
    manner = state.scorer.likely_manner(panel[0], subject, predicted)
    if manner.gone_at is not None:
        gone = _shown(state.bank, sound, at)
        shown = gone + manner.left(_late(read, speeds)) * (shown - gone)
    if not np.isfinite(shown).all():
        return None
    low, middle, high = np.quantile(shown, _SPAN, axis=0)
    return WouldSweep(
        density_kg_m3=air.density,
        engine_rpm=speeds,
        low_inhg=tuple(low.tolist()),
        middle_inhg=tuple(middle.tolist()),
        high_inhg=tuple(high.tolist()),
    )


def _speeds(state: State, read: list[float]) -> tuple[float, ...]:
    engine = state.bank.packed.description.engine
    low = min(engine.idle_rpm.number, *read)
    high = max(engine.cruise_rpm.number, *read)
    return tuple(np.linspace(low, high, _SPEEDS).tolist())


def _shown(bank: Bank, columns: Mapping[str, Floats], at: Sequence[Point]) -> Floats:
    """What the panel gauge shows of some states at some points, (states, points) inHg."""
    return tapped(solve_rows(bank.packed, columns, at, bank.engine), taps(bank.packed, None, None)) / PA_PER_INHG


def _late(read: Sequence[GaugeItem], speeds: Sequence[float]) -> Floats:
    """How late in a run each speed is come to: as it was the first time it was read."""
    first: dict[float, float] = {}
    for item in read:
        first[item.point.rpm] = min(item.late, first.get(item.point.rpm, item.late))
    rpm = sorted(first)
    return np.interp(speeds, rpm, [first[own] for own in rpm])


def _columns(state: State, hypothesis: int, weight: Floats) -> tuple[Mapping[str, Floats], Mapping[str, Floats]]:
    """Part states with the fault and without, of rows drawn by weight in equal steps, so that the same answer gives the
    same curve."""
    share = np.cumsum(weight)
    steps = (np.arange(_SWEPT_STATES) + 0.5) / _SWEPT_STATES * share[-1]
    chosen = np.minimum(np.searchsorted(share, steps), len(weight) - 1)
    own, subject, bank = state.posterior.rows[hypothesis], state.posterior.hypotheses[hypothesis], state.bank
    drawn = nuisance.draw(bank.packed, own.deviates[chosen], bank.changed, bank.engine, bank.drawn.springs, bank.tie)
    changes = subject.changes(bank.packed.description, own.quantiles[chosen])
    return combine(drawn.now, changes, _SWEPT_STATES), drawn.now


def _quantiles(values: Floats, weight: Floats) -> list[list[float]]:
    """The quantiles :data:`_SPAN` of each column of (rows, readings), the rows weighted."""
    lines = np.ascontiguousarray(values.T)
    order = np.argsort(lines, axis=1, kind="stable")
    share = np.cumsum(weight[order], axis=1)
    found = []
    for line, own, reached in zip(lines, order, share, strict=True):
        places = np.searchsorted(reached, np.array(_SPAN) * reached[-1])
        found.append(line[own[np.minimum(places, len(line) - 1)]].tolist())
    return found
