"""Monotone interpolation of stored observables in engine speed, quadratic in the logarithm of ambient density.

Each observable of each row is kept as values and slopes at the grid's nodes; a query is then one row of weights, and
all queries of all rows are one matrix product. Slopes are those of Fritsch and Carlson (SIAM J. Numer. Anal. 17, 1980;
from memory), which never overshoot: a cubic across the regulator's knee would.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vanewise.network.types import Floats

Singles = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Grid:
    """Nodes: engine speeds [rpm] rising, and ambient densities [kg/m3] falling, at standard altitudes [m]."""

    rpm: Floats
    density: Floats
    altitude_m: tuple[float, ...]

    @property
    def columns(self) -> int:
        return 2 * len(self.rpm) * len(self.density)


def slopes(rpm: Floats, values: Floats) -> Floats:
    """Monotone slopes at the nodes along the last axis but one; same shape as ``values``, (..., rpms, rows)."""
    step = np.diff(rpm)[:, None]
    secant = np.diff(values, axis=-2) / step
    out = np.zeros_like(values)
    before, after = secant[..., :-1, :], secant[..., 1:, :]
    w1 = 2.0 * step[1:] + step[:-1]
    w2 = step[1:] + 2.0 * step[:-1]
    same = before * after > 0.0
    safe_before, safe_after = np.where(same, before, 1.0), np.where(same, after, 1.0)
    out[..., 1:-1, :] = np.where(same, (w1 + w2) / (w1 / safe_before + w2 / safe_after), 0.0)
    out[..., 0, :] = _end_slope(step[0, 0], step[1, 0], secant[..., 0, :], secant[..., 1, :])
    out[..., -1, :] = _end_slope(step[-1, 0], step[-2, 0], secant[..., -1, :], secant[..., -2, :])
    return out


def _end_slope(near: float, far: float, first: Floats, second: Floats) -> Floats:
    slope = ((2.0 * near + far) * first - near * second) / (near + far)
    slope = np.where(np.sign(slope) != np.sign(first), 0.0, slope)
    steep = (np.sign(first) != np.sign(second)) & (np.abs(slope) > 3.0 * np.abs(first))
    return np.asarray(np.where(steep, 3.0 * first, slope))


def store(grid: Grid, values: Floats, into: Singles) -> None:
    """Values and slopes in single precision: ``values`` (rows, densities * rpms) ``into`` (grid.columns, rows)."""
    nodes = np.ascontiguousarray(values.T).reshape(len(grid.density), len(grid.rpm), len(values))
    into[0::2] = nodes.reshape(-1, len(values))
    into[1::2] = slopes(grid.rpm, nodes).reshape(-1, len(values))


def weights(grid: Grid, rpm: float, density: float) -> Floats:
    """Weights of a query, shape (grid.columns,): stored @ weights is the observable."""
    return _outer(_density_weights(grid, density), _rpm_weights(grid, rpm))


def slope_weights(grid: Grid, rpm: float, density: float) -> Floats:
    """Weights of the derivative by engine speed [per rpm]."""
    return _outer(_density_weights(grid, density), _rpm_slope_weights(grid, rpm))


def _outer(across: Floats, along: Floats) -> Floats:
    return np.asarray((across[:, None] * along.reshape(-1)[None, :]).reshape(-1))


def _density_weights(grid: Grid, density: float) -> Floats:
    """Quadratic Lagrange weights in log density; held at the ends a little beyond the grid."""
    x = np.log(grid.density).tolist()
    at = min(max(math.log(density), min(x) - 0.05), max(x) + 0.15)
    found = [1.0] * len(x)
    for i, here in enumerate(x):
        for j, other in enumerate(x):
            if i != j:
                found[i] *= (at - other) / (here - other)
    return np.array(found)


def density_position(grid: Grid, density: float) -> float:
    """Position between the two nearest densities, 0 to 1."""
    falling = grid.density
    k = min(max(int(np.searchsorted(-falling, -density, side="right")) - 1, 0), len(falling) - 2)
    s = math.log(density / falling[k]) / math.log(falling[k + 1] / falling[k])
    return float(min(max(s, 0.0), 1.0))


def interval(grid: Grid, rpm: float) -> tuple[int, float]:
    """Interval number and position in it, 0 to 1; speeds off the grid are held at its ends."""
    k = min(max(int(np.searchsorted(grid.rpm, rpm, side="right")) - 1, 0), len(grid.rpm) - 2)
    low, high = grid.rpm[k : k + 2].tolist()
    return k, min(max((rpm - low) / (high - low), 0.0), 1.0)


def _rpm_weights(grid: Grid, rpm: float) -> Floats:
    k, t = interval(grid, rpm)
    h = float(grid.rpm[k + 1] - grid.rpm[k])
    out = np.zeros((len(grid.rpm), 2))
    out[k] = (2 * t**3 - 3 * t**2 + 1, h * (t**3 - 2 * t**2 + t))
    out[k + 1] = (-2 * t**3 + 3 * t**2, h * (t**3 - t**2))
    return out


def _rpm_slope_weights(grid: Grid, rpm: float) -> Floats:
    k, t = interval(grid, rpm)
    h = float(grid.rpm[k + 1] - grid.rpm[k])
    out = np.zeros((len(grid.rpm), 2))
    out[k] = ((6 * t**2 - 6 * t) / h, 3 * t**2 - 4 * t + 1)
    out[k + 1] = ((-6 * t**2 + 6 * t) / h, 3 * t**2 - 2 * t)
    return out
