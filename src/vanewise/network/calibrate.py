"""Find the regulator's spring: the preload at which the sound system reads its setting where and when it is set.

A regulator is set by a person who turns a screw until the gauge reads right at a stated engine speed. So its preload
is not a number of the part but of the part in its system, and a system of other bores or another pump has another.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import msgspec
import numpy as np
from numpy.typing import NDArray

from vanewise.network.delivery import delivered
from vanewise.network.observe import gauge_reading
from vanewise.network.packed import GUESS_RPM, PackedNetwork, breathed_temperature
from vanewise.network.solve import cases, solve_batch
from vanewise.network.types import BatchCases, Engine, Floats, OperatingPoint

TOLERANCE_PA = 0.5
MOST_ROUNDS = 16
_FLATTEST, _STEEPEST = 0.1, 3.0
_HIGHEST_SHARE = 3.0
_ROUNDS_UNASKED = 5
_FIRST_SLOPE = 0.8
"""Rise of the reading with the preload, guessed for the first step only; a regulator that droops gives back some."""


def regulators(packed: PackedNetwork) -> tuple[str, ...]:
    """Ids of the regulators of a network."""
    return tuple(owner for owner, entry in packed.owners.items() if entry.kind == "regulator")


def calibrated(packed: PackedNetwork) -> PackedNetwork:
    """The network with every regulator set: sound, at ``set_at_rpm``, at the home field on a standard day.

    Its sound solutions become the network's first guess for others. With several regulators one common turn of all
    screws is found, at the lowest ``set_at_rpm``, for the lowest setting. A pump too weak to reach the setting leaves
    the preload at the setting itself.
    """
    names = regulators(packed)
    settings = [packed.owners[name].values["setting"] for name in names]
    point = OperatingPoint(
        engine_rpm=min(packed.owners[name].values["set_at_rpm"] for name in names),
        altitude_m=packed.description.field.elevation.number,
    )
    batch = cases([point])
    preload = calibrate_preload(packed, batch, np.array([min(settings)]), engine="numpy")
    shift = float(preload[0]) - min(settings)
    ready = packed.with_values({f"{name}.preload": at + shift for name, at in zip(names, settings, strict=True)})
    points = [msgspec.structs.replace(point, engine_rpm=rpm) for rpm in GUESS_RPM]
    sound_cases = cases(points)
    sound = solve_batch(ready, sound_cases, "numpy")
    if (sound.status == 3).any():
        return ready
    breathed = breathed_temperature(packed.description.duty, sound_cases)
    return replace(
        ready,
        guess=sound.pressure_pa[:, : packed.free] / batch.ambient_pa[0],
        warmth=delivered(ready, sound_cases, sound.pressure_pa) / breathed,
    )


def calibrate_preload(
    packed: PackedNetwork,
    batch: BatchCases,
    target_pa: Floats | float,
    *,
    engine: Engine | None = None,
    tolerance_pa: float = TOLERANCE_PA,
    start_pa: Floats | None = None,
    looks: int = MOST_ROUNDS,
) -> Floats:
    """Preload [Pa], shape (n,), at which each scenario's gauge reads ``target_pa``.

    Use it as the column ``regulator.preload`` (each regulator's, plus how far its setting is above the lowest).
    ``batch`` holds the sound system (its own bores, pump, jets) at the speed and place where it was set. The reading
    rises with the preload until the regulator stays shut; where even that is below the target, the preload returned
    is the target. Where even no preload reads above the target, it is none: a spring only pushes. A search ends where
    the reading is within ``tolerance_pa``, with one more step that is not looked at and leaves a fraction of that. A
    scenario that cannot be solved returns the target too.

    Where ``start_pa``, (n,), is known to be near already, a few ``looks`` at the reading will do: what is then not yet
    within tolerance keeps the step that followed the last.
    """
    names = regulators(packed)
    settings = np.array([packed.owners[name].values["setting"] for name in names])
    columns = tuple(f"{name}.preload" for name in names)
    kept = [i for i, key in enumerate(batch.columns) if key not in columns]

    def reading(rows: NDArray[np.int64], preload: Floats) -> Floats:
        offsets = preload[:, None] + (settings - settings.min())
        trial = replace(
            batch.rows(rows),
            columns=(*(batch.columns[i] for i in kept), *columns),
            values=np.concatenate([batch.values[rows][:, kept], offsets], axis=1),
        )
        return gauge_reading(packed, solve_batch(packed, trial, engine).pressure_pa)

    target = np.broadcast_to(np.asarray(target_pa, float), (batch.count,)).copy()
    lowest = names[int(np.argmin(settings))]
    start = target + packed.owners[lowest].values["preload"] - settings.min() if start_pa is None else start_pa
    return pushing(_roots(reading, target, start, tolerance_pa, looks))


def pushing(preload_pa: Floats) -> Floats:
    """A spring only pushes: with the screw all the way out the valve opens at any difference, and no further."""
    return np.maximum(preload_pa, 0.0)


def _roots(
    reading: Callable[[NDArray[np.int64], Floats], Floats],
    target: Floats,
    start: Floats,
    tolerance_pa: float,
    looks: int,
) -> Floats:
    """Where a rising reading meets its target, each scenario on its own: secant steps kept inside a bracket.

    Most arrive in two or three steps from ``start``. Only for those that do not is it asked whether the target can be
    reached at all.
    """
    every = np.arange(target.size)
    ceiling = _HIGHEST_SHARE * target
    answer, x = target.copy(), start.copy()
    low, high = -ceiling, ceiling.copy()
    last_x, last_error = x - 1.0, np.full(target.size, np.nan)
    rows = every
    for number in range(looks):
        if number == _ROUNDS_UNASKED and rows.size:
            reachable = reading(rows, ceiling[rows]) >= target[rows]
            answer[rows[~reachable]] = target[rows[~reachable]]
            rows = rows[reachable]
        if not rows.size:
            break
        error = reading(rows, x[rows]) - target[rows]
        solved = np.isfinite(error)
        answer[rows[~solved]] = target[rows[~solved]]
        rows, error = rows[solved], error[solved]
        here = x[rows]
        low[rows] = np.where(error < 0.0, here, low[rows])
        high[rows] = np.where(error > 0.0, here, high[rows])
        slope = (error - last_error[rows]) / (here - last_x[rows])
        slope = np.clip(np.where(np.isfinite(slope), slope, _FIRST_SLOPE), _FLATTEST, _STEEPEST)
        last_x[rows], last_error[rows] = here, error
        proposed = here - error / slope
        inside = (proposed > low[rows]) & (proposed < high[rows])
        x[rows] = np.where(inside, proposed, 0.5 * (low[rows] + high[rows]))
        answer[rows] = x[rows]
        rows = rows[np.abs(error) > tolerance_pa]
    return answer
