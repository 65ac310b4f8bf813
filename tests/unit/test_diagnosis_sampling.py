"""Draws of the bank: stratified, balanced, a function of the seed; and the interpolation of what is stored."""

from __future__ import annotations

import numpy as np
import pytest

from vanewise.diagnosis import interpolation, sampling
from vanewise.diagnosis.interpolation import Grid


@pytest.mark.parametrize("count", [64, 256, 1024])
def test_every_dimension_is_stratified(count: int):
    """Folding puts two shifted strata into each half: any interval of one n-th holds at most two points, and none is
    further from even than that."""
    draws = sampling.uniforms(count, 17, seed=5)
    assert draws.shape == (count, 17)
    assert draws.min() > 0.0
    assert draws.max() < 1.0
    for column in draws.T:
        filled = np.histogram(column, bins=count // 2, range=(0.0, 1.0))[0]
        assert np.abs(np.cumsum(filled) - 2 * np.arange(1, count // 2 + 1)).max() <= 2


def test_pairs_of_dimensions_are_not_correlated():
    draws = sampling.uniforms(1024, 17, seed=3)
    off = np.corrcoef(draws.T) - np.eye(17)
    assert np.abs(off).max() < 0.05


def test_same_seed_same_draws_other_seed_others():
    first = sampling.uniforms(64, 5, seed=1)
    assert np.array_equal(first, sampling.uniforms(64, 5, seed=1))
    assert not np.allclose(first, sampling.uniforms(64, 5, seed=2))


def test_lattice_beats_plain_random_numbers_on_a_smooth_mean():
    """The mean of a smooth function of ten unknowns: error over 20 seeds, against independent draws."""

    def f(u: np.ndarray) -> np.ndarray:
        return np.prod(1.0 + 0.3 * (u[:, :10] - 0.5), axis=1)

    lattice = [f(sampling.uniforms(256, 17, seed)).mean() - 1.0 for seed in range(20)]
    plain = [f(np.random.default_rng(seed).random((256, 17))).mean() - 1.0 for seed in range(20)]
    assert np.std(lattice) < 0.2 * np.std(plain)


def test_count_must_be_a_power_of_two():
    with pytest.raises(ValueError, match="power of two"):
        sampling.uniforms(1000, 3, seed=1)


def test_normals_and_quantiles_are_inverse():
    u = sampling.uniforms(64, 3, seed=9)
    assert sampling.quantiles(sampling.normals(u)) == pytest.approx(u, abs=1e-12)


def test_seed_depends_on_every_part():
    seeds = {sampling.seed_of(1, "a"), sampling.seed_of(2, "a"), sampling.seed_of(1, "b"), sampling.seed_of("1a")}
    assert len(seeds) == 4


GRID = Grid(np.array([500.0, 800.0, 1000.0, 1400.0, 2000.0, 2700.0]), np.array([1.2, 0.95, 0.7]), (0.0, 2500.0, 5500.0))


def kinked(rpm: np.ndarray, density: float) -> np.ndarray:
    """A sweep with a knee: rises with speed, then a nearly level plateau."""
    return np.minimum(3.0 * rpm / 1000.0, 4.5 + 0.0002 * (rpm - 1500.0)) * (1.0 + 0.2 * np.log(density))


def stored() -> np.ndarray:
    """Table of one row, (1, columns)."""
    values = np.concatenate([kinked(GRID.rpm, density) for density in GRID.density])[None]
    table = np.empty((GRID.columns, 1), np.float32)
    interpolation.store(GRID, values, table)
    return table.T


def test_interpolation_is_exact_at_nodes():
    table = stored()
    for rpm in GRID.rpm:
        for density in GRID.density:
            found = table @ interpolation.weights(GRID, float(rpm), float(density))
            assert found[0] == pytest.approx(kinked(np.array([rpm]), density)[0], rel=1e-5)


def test_interpolation_never_overshoots_the_knee():
    table = stored()
    values = [float((table @ interpolation.weights(GRID, rpm, 1.2))[0]) for rpm in np.linspace(500, 2700, 200)]
    assert np.all(np.diff(values) >= -1e-5), "a rising sweep stays rising"
    assert max(values) <= kinked(np.array([2700.0]), 1.2)[0] + 1e-4


def test_interpolation_is_quadratic_in_log_density():
    table = stored()
    found = float((table @ interpolation.weights(GRID, 1000.0, 0.85))[0])
    assert found == pytest.approx(kinked(np.array([1000.0]), 0.85)[0], rel=1e-5)


def test_slope_weights_are_the_derivative():
    table = stored()
    ahead, behind = (float((table @ interpolation.weights(GRID, 900.0 + s, 1.0))[0]) for s in (1.0, -1.0))
    assert float((table @ interpolation.slope_weights(GRID, 900.0, 1.0))[0]) == pytest.approx(
        0.5 * (ahead - behind), rel=1e-3
    )
