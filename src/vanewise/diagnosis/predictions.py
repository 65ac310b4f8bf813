"""What each row says the evidence would have read: from the bank's grid, or solved at the reported operating points."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from vanewise.diagnosis.bank import SOUND_BLOCK, Bank, observable_taps
from vanewise.diagnosis.evidence import CheckItem, GaugeGroup, GaugeItem, LampItem, Prepared
from vanewise.diagnosis.nuisance import Drawn
from vanewise.diagnosis.solving import Point, point_at, solve_together, suction_flows, tapped, taps
from vanewise.diagnosis.symptoms import SYMPTOMS, Condition
from vanewise.network.observe import gyros
from vanewise.network.packed import PackedNetwork
from vanewise.network.types import Engine, Floats
from vanewise.quantities import M3S_PER_CFM, PA_PER_INHG

_LAMP_STEP_RPM: Final = 25.0
TAXI_RPM: Final = 1000.0
FAST_TAXI_RPM: Final = 1200.0
EARLIER: Final = " earlier"
"""Ends the name of an observable of the system as it was at the time of the baseline."""


@dataclass(frozen=True, slots=True)
class Predicted:
    """Predictions for rows of one hypothesis (or block): shapes start with (rows,), differences inHg, flow cfm."""

    gauges: tuple[Floats, ...]
    """Per gauge group: (rows, readings)."""
    gauge_variance: tuple[Floats, ...]
    """Per gauge group: interpolation variance, (readings,)."""
    lamp: Floats
    """(rows, lamp readings)."""
    lamp_slope: Floats
    """inHg per rpm, (rows, lamp readings)."""
    felt: Mapping[tuple[str, Condition], Floats]
    """Observable (``gauge``, ``lamp``, ``drop GYRO``; ``gauge`` or ``lamp`` with :data:`EARLIER` for the baseline's
    system) at a condition: (rows, variants), variants being altitudes."""
    checks: Mapping[str, Floats]
    """Solver checks by evidence id: (rows,)."""
    set_off: Floats
    """True difference less the setting when the regulator was set [inHg], (rows,): what the gauge was off by then."""
    turned: Floats
    """What is wrong with the regulator's setting itself [inHg], (rows,): nothing unless it was set wrong."""
    without: Predicted | None = None
    """The same rows without the fault, where its effect may go in the course of a run."""

    def set_again(self) -> Predicted:
        """The same, the gauge being off by what the regulator's setting is wrong by: it was set by that gauge."""
        return replace(self, set_off=self.set_off + self.turned)


def turned_inhg(packed: PackedNetwork, columns: Mapping[str, Floats], sound: Mapping[str, Floats]) -> Floats:
    """What state columns turn the regulators' setting by, against those of the sound system, (rows,)."""
    found = np.zeros(len(next(iter(columns.values()))))
    for part in packed.description.parts_of("regulator"):
        key = f"{part.id}.set_shift_inhg"
        today, then = columns.get(key), sound.get(key)
        if today is then:
            continue
        off = (0.0 if today is None else today) - (0.0 if then is None else then)
        found = np.where(np.abs(off) > np.abs(found), off, found)
    return found


def picked(predicted: Predicted, rows: slice | NDArray[np.int64]) -> Predicted:
    """The predictions of some rows."""
    return Predicted(
        gauges=tuple(values[rows] for values in predicted.gauges),
        gauge_variance=predicted.gauge_variance,
        lamp=predicted.lamp[rows],
        lamp_slope=predicted.lamp_slope[rows],
        felt={key: values[rows] for key, values in predicted.felt.items()},
        checks={key: values[rows] for key, values in predicted.checks.items()},
        set_off=predicted.set_off[rows],
        turned=predicted.turned[rows],
        without=None if predicted.without is None else picked(predicted.without, rows),
    )


def joined(parts: Sequence[Predicted]) -> Predicted:
    """The predictions of several sets of rows, one after the other, with the interpolation variance of the first."""
    first = parts[0]
    without = [part.without for part in parts if part.without is not None]
    return Predicted(
        gauges=tuple(np.concatenate([part.gauges[n] for part in parts]) for n in range(len(first.gauges))),
        gauge_variance=first.gauge_variance,
        lamp=np.concatenate([part.lamp for part in parts]),
        lamp_slope=np.concatenate([part.lamp_slope for part in parts]),
        felt={key: np.concatenate([part.felt[key] for part in parts]) for key in first.felt},
        checks={key: np.concatenate([part.checks[key] for part in parts]) for key in first.checks},
        set_off=np.concatenate([part.set_off for part in parts]),
        turned=np.concatenate([part.turned for part in parts]),
        without=joined(without) if len(without) == len(parts) else None,
    )


def condition_points(prepared: Prepared, packed: PackedNetwork) -> dict[Condition, tuple[Point, ...]]:
    """Operating points where symptoms are noticed; in flight one for each altitude thought possible."""
    description = packed.description
    engine, field_m = description.engine, description.field.elevation.number
    run_up = engine.run_up_rpm.number

    def ground(rpm: float) -> tuple[Point, ...]:
        return (point_at(rpm, field_m, prepared.temperature_k),)

    flight = tuple(point_at(engine.cruise_rpm.number, altitude, None) for altitude in prepared.altitudes_m)
    return {
        "idle": ground(engine.idle_rpm.number),
        "taxi": ground(min(TAXI_RPM, run_up)),
        "fast taxi": ground(min(FAST_TAXI_RPM, run_up)),
        "run-up": ground(run_up),
        "cruise": flight,
    }


def felt_keys(prepared: Prepared, packed: PackedNetwork) -> tuple[tuple[str, Condition], ...]:
    """What the remarks of this evidence need, in canonical order."""
    instruments = set(gyros(packed.description))
    keys: set[tuple[str, Condition]] = set()
    for group in prepared.remarks:
        for item in group.items:
            symptom = SYMPTOMS[item.symptom]
            for drive in (symptom.drive, symptom.over):
                if drive is not None and item.about in instruments:
                    keys.update((f"drop {item.about}", condition) for condition in drive.at)
            if symptom.gauge is not None:
                name = "lamp" if symptom.gauge.of_lamp and packed.description.lamp is not None else "gauge"
                keys.add((name, symptom.gauge.at))
                if symptom.gauge.against_earlier:
                    keys.add((name + EARLIER, symptom.gauge.at))
    return tuple(sorted(keys))


Felt = Mapping[tuple[str, Condition], tuple[str, tuple[Point, ...]]]
"""What is felt (an observable at a condition) -> the observable's name and the points it is felt at."""


def _felt_points(
    key: tuple[str, Condition], conditions: Mapping[Condition, tuple[Point, ...]]
) -> tuple[str, tuple[Point, ...]]:
    """The observable of a key and the points it is felt at."""
    name, condition = key
    if not name.endswith(EARLIER):
        return name, conditions[condition]
    return name.removesuffix(EARLIER), tuple(replace(point, before=True) for point in conditions[condition])


# ---- from the bank ---------------------------------------------------------------------------------------------


def from_bank(bank: Bank, prepared: Prepared) -> tuple[Predicted, ...]:
    """Predictions of every block (index = block)."""
    gauges = [_gauge_group(bank, group) for group in prepared.gauges]
    lamp, lamp_slope = _lamps(bank, prepared.lamps)
    points = condition_points(prepared, bank.packed)
    felt = {key: _felt_in_bank(bank, *_felt_points(key, points)) for key in felt_keys(prepared, bank.packed)}
    measured = [item for item in prepared.checks if item.points or item.suction is not None]
    found = [
        Predicted(
            gauges=tuple(values[block] for values, _ in gauges),
            gauge_variance=tuple(variance for _, variance in gauges),
            lamp=lamp[block],
            lamp_slope=lamp_slope[block],
            felt={key: values[block] for key, values in felt.items()},
            checks={item.id: _bank_check(bank, block, item) for item in measured},
            set_off=bank.drawn.set_off,
            turned=turned_inhg(bank.packed, bank.columns[block], bank.drawn.now),
        )
        for block in range(bank.blocks)
    ]
    sound = found[SOUND_BLOCK]
    for block in {block for block, subject in zip(bank.block_of, bank.hypotheses, strict=True) if subject.goes}:
        found[block] = replace(found[block], without=sound)
    return tuple(found)


def _felt_in_bank(bank: Bank, observable: str, points: Sequence[Point]) -> Floats:
    """(blocks, rows, points) inHg; the baseline's system is that of the first block, whatever is wrong today."""
    if not points[0].before:
        return bank.on_grid(observable, points) / PA_PER_INHG
    found = bank.on_grid(observable, points, blocks=slice(0, 1)) / PA_PER_INHG
    return np.broadcast_to(found, (bank.blocks, *found.shape[1:]))


def _gauge_group(bank: Bank, group: GaugeGroup) -> tuple[Floats, Floats]:
    """(blocks, rows, readings) in inHg and the interpolation variance (readings,)."""
    lines = np.empty((len(group.items), bank.blocks, bank.rows))
    variance = np.zeros(len(group.items))
    for before in (True, False):
        numbers = [n for n, item in enumerate(group.items) if item.on_grid and item.point.before == before]
        if numbers:
            points = [group.items[number].point for number in numbers]
            blocks = slice(0, 1) if before else slice(None)
            lines[numbers] = bank.on_grid("gauge", points, blocks=blocks).transpose(2, 0, 1) / PA_PER_INHG
            variance[numbers] = [(bank.grid_error("gauge", point) / PA_PER_INHG) ** 2 for point in points]
    for number, item in enumerate(group.items):
        if not item.on_grid:
            lines[number] = _exact_everywhere(bank, item) / PA_PER_INHG
    return lines.transpose(1, 2, 0), variance


def _exact_everywhere(bank: Bank, item: GaugeItem) -> Floats:
    pairs = taps(bank.packed, item.high, item.low)
    blocks = [0] if item.point.before else range(bank.blocks)
    solved = [tapped(bank.pressures(block, item.point), pairs) for block in blocks]
    return np.broadcast_to(np.stack(solved), (bank.blocks, bank.rows))


def _lamps(bank: Bank, items: tuple[LampItem, ...]) -> tuple[Floats, Floats]:
    if not items:
        nothing = np.zeros((bank.blocks, bank.rows, 0))
        return nothing, nothing
    points = [item.point for item in items]
    value = bank.on_grid("lamp", points) / PA_PER_INHG
    slope = bank.on_grid("lamp", points, slope=True) / PA_PER_INHG
    for number, item in enumerate(items):
        if item.point.before:
            value[:, :, number], slope[:, :, number] = value[0, :, number], slope[0, :, number]
    return value, slope


def _bank_check(bank: Bank, block: int, item: CheckItem) -> Floats:
    if item.suction is not None:
        return bank.flows(block, item.suction) / M3S_PER_CFM
    pairs = taps(bank.packed, None, None)
    plain, covered = (tapped(bank.pressures(block, point), pairs) for point in item.points)
    return np.asarray((covered - plain) / PA_PER_INHG)


# ---- solved at the reported points ---------------------------------------------------------------------------


def solved_exactly(
    packed: PackedNetwork,
    drawn: Drawn,
    columns: Mapping[str, Floats],
    prepared: Prepared,
    engine: Engine,
    *,
    goes: bool = False,
    threads: int | None = None,
) -> Predicted:
    """Predictions of drawn rows, with their state columns today, at exactly the reported points.

    ``goes`` for a fault whose effect may go in the course of a run: then also of the rows without it.
    """
    conditions = condition_points(prepared, packed)
    felt = {key: _felt_points(key, conditions) for key in felt_keys(prepared, packed)}
    today = (columns, drawn.now) if goes else (columns,)
    solved = _solve_all(packed, today, drawn.before, _wanted(prepared, felt), engine, threads)
    found = [
        _from_solved(packed, drawn, own, prepared, felt, here, engine, threads)
        for own, here in zip(today, solved, strict=True)
    ]
    return replace(found[0], without=found[1]) if goes else found[0]


def _from_solved(
    packed: PackedNetwork,
    drawn: Drawn,
    columns: Mapping[str, Floats],
    prepared: Prepared,
    felt_at: Felt,
    solved: _Solved,
    engine: Engine,
    threads: int | None,
) -> Predicted:
    """Predictions of drawn rows from their pressures; what workshop suction draws is solved here."""
    pairs = observable_taps(packed)
    gauges = []
    for group in prepared.gauges:
        values = [tapped(solved.at(item.point), taps(packed, item.high, item.low)) for item in group.items]
        gauges.append((np.stack(values) / PA_PER_INHG).T)  # one reading after the other, as they are scored
    lamp, slope = _exact_lamps(solved, prepared.lamps, pairs)
    felt = {}
    for key, (name, points) in felt_at.items():
        felt[key] = np.stack([tapped(solved.at(point), pairs[name]) for point in points], axis=1) / PA_PER_INHG
    checks = {}
    for item in prepared.checks:
        if item.suction is not None:
            checks[item.id] = suction_flows(packed, columns, item.suction, engine, threads=threads) / M3S_PER_CFM
        elif item.points:
            plain, covered = (tapped(solved.at(point), pairs["gauge"]) for point in item.points)
            checks[item.id] = np.asarray((covered - plain) / PA_PER_INHG)
    none = tuple(np.zeros(len(group.items)) for group in prepared.gauges)
    turned = turned_inhg(packed, columns, drawn.now)
    return Predicted(tuple(gauges), none, lamp, slope, felt, checks, drawn.set_off, turned)


@dataclass(frozen=True, slots=True)
class _Solved:
    """Pressures (rows, points, junctions) of rows as they are today and as they were at the time of the baseline."""

    place: Mapping[Point, int]
    """Of each point among those of its time."""
    today: Floats
    earlier: Floats

    def at(self, point: Point) -> Floats:
        """Junction pressures (rows, junctions)."""
        return np.asarray((self.earlier if point.before else self.today)[:, self.place[point], :])


def _solve_all(
    packed: PackedNetwork,
    today: Sequence[Mapping[str, Floats]],
    before: Mapping[str, Floats],
    wanted: Sequence[Point],
    engine: Engine,
    threads: int | None,
) -> list[_Solved]:
    """For each of some state columns of today; at the time of the baseline they were the same."""
    now = [point for point in wanted if not point.before]
    then = [point for point in wanted if point.before]
    systems = (*((columns, now) for columns in today), (before, then))
    *found, earlier = solve_together(packed, systems, engine, threads=threads)
    place = {point: number for points in (now, then) for number, point in enumerate(points)}
    return [_Solved(place, own, earlier) for own in found]


def _a_little_faster(point: Point) -> Point:
    return Point(point.rpm + _LAMP_STEP_RPM, point.ambient_pa, point.temperature_k, point.before)


def _wanted(prepared: Prepared, felt: Felt) -> list[Point]:
    """Every point that some evidence asks for, once each."""
    points = [item.point for group in prepared.gauges for item in group.items]
    for lamp in prepared.lamps:
        points += [lamp.point, _a_little_faster(lamp.point)]
    points += [point for _, own in felt.values() for point in own]
    points += [point for check in prepared.checks for point in check.points]
    return list(dict.fromkeys(points))


def _exact_lamps(
    solved: _Solved, items: tuple[LampItem, ...], pairs: Mapping[str, tuple[tuple[int, int], ...]]
) -> tuple[Floats, Floats]:
    if not items:
        nothing = np.zeros((len(solved.today), 0))
        return nothing, nothing
    value, slope = [], []
    for item in items:
        here, faster = (tapped(solved.at(point), pairs["lamp"]) for point in (item.point, _a_little_faster(item.point)))
        value.append(here)
        slope.append((faster - here) / _LAMP_STEP_RPM)
    return np.stack(value, axis=1) / PA_PER_INHG, np.stack(slope, axis=1) / PA_PER_INHG
