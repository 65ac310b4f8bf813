"""A setting made by a gauge that may be wrong: held against the joint distribution worked out on a grid."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from vanewise.aircraft import layouts
from vanewise.diagnosis.set_by_gauge import GaugeKind, SetByGauge, tie_of

TIE = SetByGauge(5.0, 0.12, (GaugeKind(0.9, 0.15, 0.02), GaugeKind(0.1, 0.5, 0.02)))


def joint(offset: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Bias and scale on a grid, and their density given the offset: setting error = offset + bias + 5 scale."""
    bias, scale = np.meshgrid(np.linspace(-3.0, 3.0, 1201), np.linspace(-0.12, 0.12, 241), indexing="ij")
    density = np.zeros(bias.shape)
    for kind in TIE.kinds:
        own = stats.norm.pdf(bias, 0.0, kind.bias_sd) * stats.norm.pdf(scale, 0.0, kind.scale_sd)
        density += kind.share * own * stats.norm.pdf(offset + bias + 5.0 * scale, 0.0, TIE.sd)
    return bias, scale, density / density.sum()


@pytest.mark.parametrize("offset", [-0.9, -0.2, 0.0, 0.4, 1.3])
def test_what_the_gauge_is_off_by_given_the_true_setting(offset: float):
    bias, scale, density = joint(offset)
    found = TIE.errors(np.array([offset]))
    share = np.exp([chance[0] for chance, _ in found])
    means = np.array([error.mean[0] for _, error in found if error.mean is not None])
    middle = share @ means
    assert share.sum() == pytest.approx(1.0)
    assert middle == pytest.approx([(density * bias).sum(), (density * scale).sum()], abs=1e-3)
    spread = sum(
        own * (error.covariance() + np.outer(mean - middle, mean - middle))
        for own, mean, (_, error) in zip(share, means, found, strict=True)
    )
    off = np.stack([bias - middle[0], scale - middle[1]])
    assert spread == pytest.approx(np.einsum("iab,jab,ab->ij", off, off, density), rel=0.01, abs=1e-5)


def test_offsets_are_drawn_from_both_kinds_of_gauge():
    deviate = stats.norm.ppf((np.arange(4000) + 0.5) / 4000)
    found = np.sort(TIE.offsets(deviate))
    assert found == pytest.approx(-found[::-1], abs=1e-9)
    below = sum(kind.share * stats.norm.cdf(found, 0.0, TIE.spread(kind)) for kind in TIE.kinds)
    assert below == pytest.approx((np.arange(4000) + 0.5) / 4000, abs=1e-3)


def test_a_far_off_setting_speaks_for_a_far_off_gauge():
    near, far = (np.exp(TIE.errors(np.array([offset]))[1][0][0]) for offset in (0.0, -1.2))
    assert near < 0.05 < 0.95 < far


def test_the_setting_in_inches_and_how_near_it_was_set():
    tie = tie_of(layouts.make("suction-one-pump"))
    assert tie is not None and tie.setting == pytest.approx(5.0) and tie.sd >= 0.1
