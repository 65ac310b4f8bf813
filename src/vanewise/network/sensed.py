"""A regulator that holds the pressure of another place than its own port: one number to find around the solver.

Its opening (``lift``, 0 shut to 1 full) is taken as given; what is left is a network like any other, with one answer
and its proof. Then the lift is looked for at which the spring agrees with the pressure sensed. More lift never lowers
the difference that shuts the regulator and never raises the one that opens it, so there is exactly one such lift:
``docs/explanation/physics.md`` has the argument, ``network.pack`` refuses wiring that it does not hold for.

The lift is held between two whose solutions are proven to lie on either side. Every pressure moves one way with the
lift, so the pressures found there enclose the answer's, whatever was done to find them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from vanewise.network import law_constants as c
from vanewise.network import oracle
from vanewise.network.elements import VALVE_BAND, VALVE_START
from vanewise.network.packed import PackedNetwork, overrides
from vanewise.network.problem import Problem, prepare_batch
from vanewise.network.types import BatchCases, BatchSolution, Floats

Run = Callable[[Problem], oracle.Answer]
Rows = NDArray[np.int64]

FIRST_LIFT: Final = 0.15
"""Where the search starts beside a shut valve: what a sound regulator opens to, more or less."""
CLOSE_PA: Final = 1e-3
"""The two lifts that enclose the answer are aimed to be so far apart, in pressure difference on the spring [Pa]."""
CLOSEST_PA: Final = 1e-7
"""Aimed at no closer: what is then still wide in pressure is left so, and its radius says it."""
CERTAIN: Final = 3.0
"""... and no closer than this many radii of the answers there, two of which the difference may be off."""
MOST_ROUNDS: Final = 40
POLISH_AFTER: Final = 10
"""Rounds after which answers that are proven too loosely to end the search are polished: few take that long."""
SLOW_AFTER: Final = 3
"""Rounds without halving the enclosure after which it is halved."""


def with_lift(packed: PackedNetwork, batch: BatchCases, lift: Floats) -> BatchCases:
    """The batch with the opening of the regulator that senses elsewhere as one more column, ``lift`` (n,)."""
    assert packed.sensing is not None
    return replace(
        batch,
        columns=(*batch.columns, f"{packed.sensing.owner}.lift"),
        values=np.column_stack([batch.values, np.nan_to_num(lift)]),
        run=1,
    )


def spring(packed: PackedNetwork, batch: BatchCases) -> tuple[Floats, Floats]:
    """Difference at which the regulator starts to open and its opening band [Pa], both (n,)."""
    assert packed.sensing is not None
    branch, place, values = overrides(packed, batch.columns, batch.values)
    found = []
    for wanted in (VALVE_START, VALVE_BAND):
        column = np.flatnonzero((branch == packed.sensing.branch) & (place == wanted))
        built = np.full(batch.count, packed.geometry[packed.sensing.branch, wanted])
        found.append(values[:, column[0]] if column.size else built)
    return found[0], found[1]


def difference(packed: PackedNetwork, pressure_pa: Floats) -> Floats:
    """What works against the spring [Pa], (n,): chamber over the sensed place in suction duty, the other way round
    in pressure duty. From junction pressures (n, junctions)."""
    sensing = packed.sensing
    assert sensing is not None
    return np.asarray(pressure_pa[:, sensing.high] - pressure_pa[:, sensing.low])


def solve(
    packed: PackedNetwork, batch: BatchCases, delivery_k: Floats, start_pa: Floats | None, run: Run
) -> BatchSolution:
    """The one answer of every scenario, by ``run`` at a few lifts each; see :func:`vanewise.network.solve_batch`.

    ``radius_pa`` counts the inner answers' own radii and the distance between the two that enclose the lift. The
    imbalance counts what the valve would pass with the spring's own lift at these pressures.
    """
    search = _Search(packed, batch, delivery_k, start_pa, run)
    search.look(np.arange(batch.count), np.zeros(batch.count))
    search.settle_shut()
    for number in range(MOST_ROUNDS):
        rows = np.flatnonzero(search.open)
        if not rows.size:
            break
        lift = search.proposed(rows) if number else np.full(rows.size, FIRST_LIFT)
        search.look(rows, lift, polish=number >= POLISH_AFTER)
        search.settle(rows)
    return search.answer()


class _Search:
    """Where every scenario's search stands: the enclosing lifts with their solutions, and the last two looked at."""

    def __init__(
        self, packed: PackedNetwork, batch: BatchCases, delivery_k: Floats, start_pa: Floats | None, run: Run
    ) -> None:
        assert packed.sensing is not None
        n = batch.count
        self.packed, self.run = packed, run
        self.start, self.band = spring(packed, batch)
        self.problem = prepare_batch(packed, with_lift(packed, batch, np.ones(n)), delivery_k)
        row = int(np.cumsum(self.problem.kept)[packed.sensing.branch]) - 1
        at = (self.problem.override_branch == row) & (self.problem.override_place == 0)
        self.column = int(np.flatnonzero(at)[0])
        self.area = self.problem.override_values[:, self.column].copy()
        junctions = len(packed.junction_names)
        # Below and above: lift, how far the difference is from the spring's there, pressures and their radius.
        self.lift = np.stack([np.zeros(n), np.ones(n)])
        self.off = np.full((2, n), np.nan)
        self.pressure = np.full((2, n, junctions), np.nan)
        self.radius = np.full((2, n), np.nan)
        self.residual = np.full((2, n), np.nan)
        self.last_lift, self.last_off = np.full((2, n), np.nan), np.full((2, n), np.nan)
        self.unsure = np.zeros(n, bool)
        self.aim, self.push, self.last_radius = np.full(n, CLOSE_PA), np.ones(n), np.zeros(n)
        self.width, self.slow = np.ones(n), np.zeros(n, np.int64)
        self.delivery_k = delivery_k
        self.warm = np.full((n, junctions), np.nan) if start_pa is None else start_pa.copy()
        self.status = np.zeros(n, np.int8)
        self.taken = np.zeros(n)
        self.open = np.ones(n, bool)
        self.best = np.zeros(n, np.int64)
        self.found_radius = np.full(n, np.nan)

    def look(self, rows: Rows, lift: Floats, *, polish: bool = False) -> None:
        """Solve ``rows`` at their lifts, and let each proven answer narrow its enclosure.

        ``polish`` brings answers that are proven less closely than the lifts have to be told apart nearer by a plain
        Newton step and a proof of its own.
        """
        problem = self.problem.rows(rows)
        problem.override_values[:, self.column] = self.area[rows] * lift
        problem = problem.starting_at(self.warm[rows])
        pressure, status, radius, residual, taken = self.run(problem)
        if polish:
            self._polished(problem, np.flatnonzero((status != 3) & (radius > CLOSE_PA)), pressure, radius, residual)
        self.taken[rows] += taken
        self.status[rows] = np.maximum(self.status[rows], status)
        failed = status == 3
        self.open[rows[failed]] = False
        rows, lift, pressure, radius, residual = (kept[~failed] for kept in (rows, lift, pressure, radius, residual))
        self.warm[rows] = pressure
        off = difference(self.packed, pressure) - self.start[rows] - self.band[rows] * lift
        self.last_lift[:, rows] = np.stack([self.last_lift[1, rows], lift])
        self.last_off[:, rows] = np.stack([self.last_off[1, rows], off])
        # A lift of 0 is never too far open, one of 1 never too far shut; others by what their own radius allows.
        below = ((off >= 2.0 * radius) & (lift < 1.0)) | (lift <= 0.0)
        above = ((off <= -2.0 * radius) | (lift >= 1.0)) & ~below
        self.unsure[rows] = ~(below | above)
        self.push[rows] = np.where(self.unsure[rows], 2.0 * self.push[rows], 1.0)
        self.last_radius[rows] = radius
        for side, hit in enumerate((below, above)):
            at = rows[hit]
            self.lift[side, at], self.off[side, at] = lift[hit], off[hit]
            self.pressure[side, at], self.radius[side, at] = pressure[hit], radius[hit]
            self.residual[side, at] = residual[hit]

    @staticmethod
    def _polished(problem: Problem, at: Rows, pressure: Floats, radius: Floats, residual: Floats) -> None:
        if not at.size:
            return
        nearer = oracle.plain_step(problem, pressure[at], at)
        proven, off = oracle.certify(problem, nearer, at)
        better = proven < radius[at]
        at = at[better]
        pressure[at], radius[at], residual[at] = nearer[better], proven[better], off[better]

    def settle_shut(self) -> None:
        """Scenarios whose regulator is proven to stay shut have their answer."""
        shut = self.open & (self.off[0] <= -2.0 * self.radius[0])
        self.found_radius[shut] = self.radius[0, shut]
        self.open[shut] = False

    def settle(self, rows: Rows) -> None:
        """Scenarios enclosed closely enough, or fully open, have their answer."""
        rows = rows[self.open[rows]]
        full = (self.lift[1, rows] >= 1.0) & (self.off[1, rows] >= 2.0 * self.radius[1, rows])
        at = rows[full]
        self.best[at], self.found_radius[at] = 1, self.radius[1, at]
        self.open[at] = False
        rows = rows[~full]
        apart = np.abs(self.pressure[1, rows] - self.pressure[0, rows]).max(axis=1)
        radius = apart + self.radius[:, rows].max(axis=0)
        better = np.isfinite(radius) & ~(radius >= self.found_radius[rows])
        at = rows[better]
        self.found_radius[at] = radius[better]
        self.best[at] = np.abs(self.off[:, at]).argmin(axis=0)
        self.open[rows] = ~(radius <= c.LARGEST_RADIUS) & (self.aim[rows] > CLOSEST_PA)

    def proposed(self, rows: Rows) -> Floats:
        """The next lift of each: where the last two differences point, or beyond it to close the enclosure."""
        low, high = self.lift[:, rows]
        known = ~np.isnan(self.radius[1, rows])
        root, slope = self._pointed(rows)
        room = np.maximum(self.aim[rows], CERTAIN * self.last_radius[rows]) * self.push[rows] / slope
        near_low, near_high = root - low <= 2.0 * room, known & (high - root <= 2.0 * room)
        both = near_low & near_high
        beyond_high = near_low & (~both | (high - root >= root - low)) | (self.unsure[rows] & ~near_high)
        beyond_low = near_high & (~both | (high - root < root - low))
        # Enclosed closely in lift but not in pressure: aim closer, as far as the inner answers allow.
        self.aim[rows] = np.where(both, 0.25 * self.aim[rows], self.aim[rows])
        room = np.where(both, np.maximum(self.aim[rows], CERTAIN * self.last_radius[rows]) / slope, room)
        lift = np.where(beyond_high, root + room, np.where(beyond_low, root - room, root))
        width = high - low
        halved = width <= 0.5 * self.width[rows]
        self.width[rows] = np.where(halved, width, self.width[rows])
        self.slow[rows] = np.where(halved | both, 0, self.slow[rows] + 1)
        halve = ~((lift >= low) & (lift <= high)) | (self.slow[rows] > SLOW_AFTER)
        self.slow[rows] = np.where(halve, 0, self.slow[rows])
        middle = np.where(known, 0.5 * (low + high), np.minimum(4.0 * low + FIRST_LIFT, 1.0))
        return np.where(halve, middle, lift)

    def _pointed(self, rows: Rows) -> tuple[Floats, Floats]:
        """Where the difference would meet the spring's, and by how much it falls with the lift [Pa]."""
        (before, here), (off_before, off) = self.last_lift[:, rows], self.last_off[:, rows]
        with np.errstate(divide="ignore", invalid="ignore"):
            slope = (off_before - off) / (here - before)
        # The spring alone gives that much, however little the network answers.
        slope = np.maximum(np.where(np.isfinite(slope), slope, 0.0), self.band[rows])
        return here + off / slope, slope

    def _full_flow(self, pressure: Floats) -> Floats:
        """What the regulator's passage would pass at full lift at these pressures [kg/s], (n,)."""
        problem, packed = self.problem, self.packed
        assert packed.sensing is not None
        branch = packed.sensing.branch
        conductance = self.area * c.NOZZLE_K / problem.air.root_t[:, packed.zone[branch]]
        ends = pressure[:, packed.branch_a[branch]], pressure[:, packed.branch_b[branch]]
        flow, _, _ = oracle.orifice(conductance, packed.geometry[branch, 1], *ends)
        return np.abs(flow)

    def answer(self) -> BatchSolution:
        """The nearer of the two enclosing solutions of each scenario; NaN where there is none within a pascal."""
        at = np.arange(self.best.size)
        lost = (self.status == 3) | ~(self.found_radius < c.WIDEST_RADIUS)
        pressure, lift = self.pressure[self.best, at], self.lift[self.best, at]
        residual = self.residual[self.best, at]
        self._between(np.flatnonzero(~lost & (self.found_radius > c.LARGEST_RADIUS)), pressure, lift, residual)
        wanted = np.clip((difference(self.packed, pressure) - self.start) / self.band, 0.0, 1.0)
        residual = residual + 2.0 * np.abs(wanted - lift) * self._full_flow(pressure)
        pressure[lost] = np.nan
        return BatchSolution(
            pressure_pa=np.concatenate([pressure[:, : self.packed.free], self.problem.fixed_pa], axis=1),
            status=np.where(lost, 3, self.status).astype(np.int8),
            radius_pa=np.where(lost, np.nan, self.found_radius),
            mass_residual=residual,
            iterations=np.minimum(self.taken, 32767).astype(np.int16),
            delivery_k=self.delivery_k,
            lift=np.where(lost, np.nan, lift),
        )

    def _between(self, rows: Rows, pressure: Floats, lift: Floats, residual: Floats) -> None:
        """Where the enclosing solutions are far apart, put the point between them to which their differences point.

        It is enclosed as they are; its imbalance is worked out anew.
        """
        rows = rows[np.isfinite(self.off[:, rows]).all(axis=0)]
        if not rows.size:
            return
        low, high = self.off[:, rows]
        share = np.clip(low / (low - high), 0.0, 1.0)
        lift[rows] = (1.0 - share) * self.lift[0, rows] + share * self.lift[1, rows]
        share = share[:, None]
        pressure[rows] = (1.0 - share) * self.pressure[0, rows] + share * self.pressure[1, rows]
        problem = self.problem.rows(rows)
        problem.override_values[:, self.column] = self.area[rows] * lift[rows]
        off = oracle.imbalance(problem, pressure[rows], np.arange(rows.size))
        residual[rows] = np.abs(off).sum(axis=1)
