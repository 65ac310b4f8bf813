"""What the readings leave open about one pump: weighted atoms of wear and life, and the questions put to them.

An atom is (branch and state, wear W now, life m, weight). The remaining resource up to any wear w is R = (w - W) m, so
the limit (w = 1), a breakage point, or the next reading are all asked of the same atoms.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from vanewise.watch import wear_grid
from vanewise.watch.arrays import Flags, Floats, Integers
from vanewise.watch.wear_grid import Branches, Observation
from vanewise.watch.wear_priors import WearPriors
from vanewise.watch.wear_rates import Exposure

LifeDensity = Callable[[Floats], Floats]
"""Log density of log(life / life unit), any shape in, same shape out."""

KEPT_SHARE = 3e-4
"""Branches below this share of the posterior are left out of the fine pass."""
ATOM_FLOOR = 1e-9
"""Grid points below this share of the greatest are left out."""
WEAR_NODES = 144
"""Nodes that the wear of an atom is gathered on."""


@dataclasses.dataclass(frozen=True, slots=True)
class Resolution:
    """Nodes of the coarse pass that finds where the answer lies, and of the fine one that gives it.

    The defaults keep hours left within half a per cent of a grid four times as dense.
    """

    coarse_life: int = 64
    coarse_wear: int = 64
    life: int = 28
    wear: int = 112
    tolerance: int = 2


DEFAULT_RESOLUTION = Resolution()
SHARED_RESOLUTION = Resolution(coarse_life=48, coarse_wear=48, life=24, wear=96)
"""Where rate nodes multiply the branches: averaging over them smooths what each grid alone would not."""


@dataclasses.dataclass(frozen=True, slots=True)
class Posterior:
    """Atoms (each array shape (n,)) over ``branches``; weights sum to 1 given that the pump still runs.

    ``log_evidence``: of everything seen, for comparing assumptions. ``surprise``: probability integral of the newest
    reading. ``member_weight``: posterior share of each branch.
    """

    branches: Branches
    states: int
    slot: Integers
    wear: Floats
    life: Floats
    weight: Floats
    life_unit_h: float
    log_evidence: float
    surprise: float | None

    @property
    def past_now(self) -> float:
        """P(the limit is already passed)."""
        return float(self.weight[self.wear >= 1.0].sum())

    def reweighted(self, factor: Floats) -> Posterior:
        """The same atoms after one more independent piece of evidence with likelihood ``factor`` (n,)."""
        weight = self.weight * factor
        return dataclasses.replace(self, weight=weight / weight.sum())

    def resource_masses(self, wear_level: float, weight: Floats | None = None) -> Floats:
        """Masses (branch-state, node) of the remaining resource up to ``wear_level``; what is used up is left out."""
        weight = self.weight if weight is None else weight
        nodes = wear_grid.resource_nodes()
        resource = (wear_level - self.wear) * self.life
        live = (resource > 0.0) & (weight > 0.0)
        inside = np.minimum(resource[live], nodes[-1]) / nodes[1]
        # Nodes lie at the squares of whole numbers: below is the root, and to the next one it is 2 root + 1.
        low = np.minimum(np.sqrt(inside * (1.0 - 1e-12)).astype(np.int64), len(nodes) - 2)
        held = weight[live]
        above = (inside - low * low) / (2 * low + 1) * held
        flat = self.slot[live] * len(nodes) + low
        size = len(self.branches.weight) * self.states * len(nodes)
        masses: Floats = np.bincount(flat, held - above, size).astype(float)
        masses += np.bincount(flat + 1, above, size)[:size]
        return masses.reshape(-1, len(nodes))

    def survival(self, hours: Floats, wear_level: float = 1.0) -> Floats:
        """P(wear stays below ``wear_level`` for a further ``hours``), hours (T,) from now at the present rate."""
        return self.survival_of(self.resource_masses(wear_level), hours)

    def survival_of(self, masses: Floats, hours: Floats) -> Floats:
        """P(a resource with these ``masses`` lasts a further ``hours``), summed over branches and states."""
        out = np.zeros(len(hours))
        branches = self.branches
        shapes: dict[tuple[float, float, float, bool], list[int]] = {}
        for place in np.nonzero(masses.sum(axis=1) > 1e-9)[0]:
            b, state = divmod(int(place), self.states)
            shape = (float(branches.scatter[b]), float(branches.hazard[b]), float(branches.factor[b]), state == 1)
            shapes.setdefault(shape, []).append(int(place))
        # Summed over what differs in shape alone: the same clock serves them all.
        by_clock: dict[tuple[float, float, float], Floats] = {}
        for shape, slots in shapes.items():
            # One product for all slots of a shape: the table is read once.
            lasting = masses[slots] @ wear_grid.survival_table(*shape)[2].T
            for slot, row in zip(slots, lasting, strict=True):
                b = slot // self.states
                key = (float(branches.clock[b, -1]), float(branches.rate_now[b]), float(branches.run_in[b]))
                by_clock[key] = by_clock[key] + row if key in by_clock else row
        # The tables are even in the square root of the clock, where survival is smooth down to 0.
        root = np.sqrt(wear_grid.clock_nodes())
        for (now, rate, run_in), lasting in by_clock.items():
            ahead = now + hours * (rate / self.life_unit_h)
            # A power of an array and of one number may differ in the last bit, by the machine: never below 0.
            gone = np.maximum(ahead**run_in - now**run_in, 0.0)
            out += np.interp(np.sqrt(gone), root, lasting)
        return out


def build_branches(exposure: Exposure, priors: WearPriors) -> Branches:
    """Every mixture member on every rate node."""
    members = [m for m in priors.members if m.weight > 0]
    hazard = priors.hidden_changes_per_life.number
    factor = priors.hidden_change_factor.number
    rows = [(m, j) for m in members for j in range(len(exposure.weights))]
    return Branches(
        weight=np.array([m.weight * exposure.weights[j] for m, j in rows]),
        scatter=np.array([m.scatter for m, _ in rows]),
        run_in=np.array([m.run_in for m, _ in rows]),
        hazard=np.array([hazard if m.may_change else 0.0 for m, _ in rows]),
        factor=np.array([factor if m.may_change else 1.0 for m, _ in rows]),
        log_shift=np.array([np.log(priors.changing_life) if m.may_change else 0.0 for m, _ in rows]),
        clock=np.array([exposure.clock[j] for _, j in rows]),
        rate_now=np.array([exposure.rate_now[j] for _, j in rows]),
    )


def normal_life(log_sd: float) -> LifeDensity:
    """Log-normal life around the life unit."""

    def density(x: Floats) -> Floats:
        z = x / log_sd
        return np.asarray(-0.5 * z * z - np.log(log_sd * np.sqrt(2.0 * np.pi)))

    return density


def infer(
    branches: Branches,
    observations: Sequence[Observation],
    priors: WearPriors,
    life_unit_h: float,
    life_density: LifeDensity,
    life_range: tuple[float, float],
    newest: int | None,
    running: bool,
    resolution: Resolution = DEFAULT_RESOLUTION,
) -> Posterior:
    """The posterior now, from observations in the order of the branches' clock; the last one is at now."""
    changing = branches.hazard > 0
    parts = [branches.take(group) for group in (~changing, changing) if group.any()]
    coarse = [_coarse(part, observations, priors, life_density, life_range, newest, resolution) for part in parts]
    log_total = np.logaddexp.reduce(np.concatenate([c.log_share for c in coarse]))
    surprise = _surprise(coarse) if newest is not None else None
    pieces: list[_Piece] = []
    for part, found in zip(parts, coarse, strict=True):
        keep = found.log_share - log_total > np.log(KEPT_SHARE)
        if keep.any():
            pieces.append(_fine(part.take(keep), found.take(keep), observations, priors, life_density, resolution))
    return _gather(pieces, priors, life_unit_h, surprise, running)


@dataclasses.dataclass(frozen=True, slots=True)
class _Coarse:
    log_share: Floats
    low: Floats
    high: Floats
    log_before: Floats
    surprise: Floats

    def take(self, keep: Flags) -> _Coarse:
        return _Coarse(*(getattr(self, field.name)[keep] for field in dataclasses.fields(self)))


def _coarse(
    part: Branches,
    observations: Sequence[Observation],
    priors: WearPriors,
    life_density: LifeDensity,
    life_range: tuple[float, float],
    newest: int | None,
    resolution: Resolution,
) -> _Coarse:
    """Share of each branch, where its life lies, and the surprise of the newest reading."""
    count = resolution.coarse_life
    nodes = np.linspace(*life_range, count)
    log_life = np.broadcast_to(nodes, (len(part.weight), count))
    # Here the tolerance of the new length only widens each reading; the fine pass keeps it as one unknown of the pump.
    blurred = [dataclasses.replace(o, sd=float(np.hypot(o.sd, priors.new_length_sd.number))) for o in observations]
    grid = wear_grid.run(part, blurred, log_life, wear_grid.tolerance_nodes(0.0), resolution.coarse_wear, newest)
    step = nodes[1] - nodes[0]
    prior = np.log(part.weight)[:, None] + life_density(log_life - part.log_shift[:, None]) + np.log(step)
    log_joint = prior + grid.log_evidence
    peak = log_joint.max(axis=1)
    inside = log_joint > peak[:, None] - 20.0
    first = inside.argmax(axis=1)
    final = count - 1 - inside[:, ::-1].argmax(axis=1)
    log_share = np.logaddexp.reduce(log_joint, axis=1)
    before = prior + grid.log_before
    log_before = np.logaddexp.reduce(before, axis=1)
    surprise = (np.exp(before - log_before[:, None]) * grid.surprise).sum(axis=1)
    return _Coarse(log_share, nodes[first] - step, nodes[final] + step, log_before, surprise)


def _surprise(coarse: Sequence[_Coarse]) -> float:
    log_before = np.concatenate([c.log_before for c in coarse])
    share = np.exp(log_before - np.logaddexp.reduce(log_before))
    value = float((share * np.concatenate([c.surprise for c in coarse])).sum())
    return min(max(value, 0.0), 1.0)


@dataclasses.dataclass(frozen=True, slots=True)
class _Piece:
    """Atoms of some branches on the scale exp(``log_scale``). ``cell`` numbers the pair of slot and life node."""

    branches: Branches
    states: int
    slot: Integers
    cell: Integers
    wear: Floats
    life: Floats
    log_scale: float
    weight: Floats


def _fine(
    part: Branches,
    found: _Coarse,
    observations: Sequence[Observation],
    priors: WearPriors,
    life_density: LifeDensity,
    resolution: Resolution,
) -> _Piece:
    position = (np.arange(resolution.life) + 0.5) / resolution.life
    width = found.high - found.low
    log_life = found.low[:, None] + width[:, None] * position[None, :]
    tolerance = wear_grid.tolerance_nodes(priors.new_length_sd.number, resolution.tolerance)
    grid = wear_grid.run(part, observations, log_life, tolerance, resolution.wear, None)
    step = width / resolution.life
    prior = np.log(part.weight * step)[:, None] + life_density(log_life - part.log_shift[:, None])
    log_joint = prior + grid.log_evidence
    scale = float(log_joint.max())
    flat = (np.exp(log_joint - scale)[:, None, :, None, None] * grid.p).ravel()
    life = np.exp(part.run_in[:, None] * log_life)
    b, s, m, z, n = grid.p.shape
    wear = grid.tolerance[None, None, :, None] + grid.worn[:, None, None, :] / life[:, :, None, None]
    chosen = np.nonzero(flat > ATOM_FLOOR * flat.max())[0]
    branch, rest = np.divmod(chosen, s * m * z * n)
    state, inner = np.divmod(rest, m * z * n)
    node = inner // (z * n)
    slot = branch * s + state
    return _Piece(
        part, s, slot, slot * m + node, wear.reshape(b, -1)[branch, inner], life[branch, node], scale, flat[chosen]
    )


def _gather(
    pieces: Sequence[_Piece], priors: WearPriors, life_unit_h: float, surprise: float | None, running: bool
) -> Posterior:
    """One posterior of all pieces, given that the pump still runs (its breakage point lies above its wear)."""
    states = max(piece.states for piece in pieces)
    scale = max(piece.log_scale for piece in pieces)
    slots, lives, wears, weights = [], [], [], []
    offset = 0
    for piece in pieces:
        weight = piece.weight * np.exp(piece.log_scale - scale)
        if running:
            weight = weight * still_running(piece.wear, priors)
        kept, wear, weight = _gather_wear(piece.cell, piece.wear, weight)
        branch, state = np.divmod(_of_cell(piece.cell, piece.slot)[kept], piece.states)
        slots.append((branch + offset) * states + state)
        lives.append(_of_cell(piece.cell, piece.life)[kept])
        wears.append(wear)
        weights.append(weight)
        offset += len(piece.branches.weight)
    weight = np.concatenate(weights)
    total = float(weight.sum())
    branches = Branches(
        *(
            np.concatenate([getattr(piece.branches, field.name) for piece in pieces])
            for field in dataclasses.fields(Branches)
        )
    )
    return Posterior(
        branches=branches,
        states=states,
        slot=np.concatenate(slots),
        wear=np.concatenate(wears),
        life=np.concatenate(lives),
        weight=weight / total,
        life_unit_h=life_unit_h,
        log_evidence=scale + float(np.log(total)),
        surprise=surprise,
    )


def _of_cell(cell: Integers, value: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """The value that all atoms of a cell share, by cell number."""
    out = np.zeros(int(cell.max()) + 1, dtype=value.dtype)
    out[cell] = value
    return out


def _gather_wear(cell: Integers, wear: Floats, weight: Floats) -> tuple[Integers, Floats, Floats]:
    """(cell, wear, weight) of atoms gathered on common wear nodes; mass and mean are kept, no mass crosses the limit.

    The resource R = (w - W) m is linear in W, so its mean survives the gathering too.
    """
    low, high = float(wear.min()), float(wear.max()) + 1e-9
    limit = 1.0 - 1e-12
    if low < limit < high:
        # Dense towards the limit, where the resource that is left is small.
        towards = 1.0 - (1.0 - low) * np.linspace(1.0, 0.0, WEAR_NODES) ** 2
        nodes = np.concatenate([np.minimum(towards, limit), np.linspace(1.0, max(high, 1.001), WEAR_NODES // 3)])
    else:
        nodes = np.linspace(low, high, WEAR_NODES)
    left = np.clip(np.searchsorted(nodes, wear, side="right") - 1, 0, len(nodes) - 2)
    share = np.clip((wear - nodes[left]) / (nodes[left + 1] - nodes[left]), 0.0, 1.0)
    size = (int(cell.max()) + 1) * len(nodes)
    flat = cell * len(nodes) + left
    masses: Floats = np.bincount(flat, weight * (1.0 - share), size).astype(float)
    masses += np.bincount(flat + 1, weight * share, size)[:size]
    chosen = np.nonzero(masses > 1e-12 * masses.max())[0]
    return chosen // len(nodes), nodes[chosen % len(nodes)], masses[chosen]


def break_nodes(priors: WearPriors, count: int = 9) -> tuple[Floats, Floats]:
    """Wear levels at which a vane breaks, and their weights: Gauss-Hermite on the log-normal breakage point."""
    x, w = np.polynomial.hermite_e.hermegauss(count)
    return priors.break_point.number * np.exp(priors.break_point.spread * x), w / w.sum()


def still_running(wear: Floats, priors: WearPriors) -> Floats:
    """P(not yet broken | wear): the breakage point lies above it."""
    level = np.log(np.maximum(wear, 1e-9) / priors.break_point.number) / max(priors.break_point.spread, 1e-6)
    return np.asarray(1.0 - ndtr(level))


def stop_masses(posterior: Posterior, priors: WearPriors) -> Floats:
    """Masses of the resource up to the breakage point, which has a spread and lies above the present wear.

    Put them to :meth:`Posterior.survival_of` for P(no stop by wear).
    """
    levels, shares = break_nodes(priors)
    weights = shares[:, None] * (levels[:, None] > posterior.wear[None, :])
    # Each atom's breakage point is conditioned on lying above that atom's wear.
    reach = weights.sum(axis=0)
    weights *= posterior.weight / np.maximum(reach, 1e-300) / float(posterior.weight[reach > 0.0].sum())
    masses = np.zeros((len(posterior.branches.weight) * posterior.states, len(wear_grid.resource_nodes())))
    for level, weight in zip(levels, weights, strict=True):
        masses += posterior.resource_masses(float(level), weight)
    return masses
