"""The band of a sweep: reproducible, narrow where the regulator was set, narrower for whoever knows more."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest

from vanewise.aircraft.answers import describe_from_answers
from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.fields import parse_field
from vanewise.aircraft.layouts import make
from vanewise.aircraft.versions import revise
from vanewise.errors import NoAnswer
from vanewise.network import sweep
from vanewise.network.band import Band, band, explained_shares, latin_normal
from vanewise.quantities import PA_PER_INHG

RPMS = (700.0, 1000.0, 1200.0, 1800.0, 2400.0)
SUCTION = make("suction-one-pump")


def quick(description: AircraftDescription, seed: int = 1, rows: int = 96) -> Band:
    return band(description, RPMS, seed=seed, rows=rows, engine="numpy")


def widths(found: Band) -> list[float]:
    return [(point.high_pa - point.low_pa) / PA_PER_INHG for point in found.points]


@pytest.fixture(scope="module")
def example() -> Band:
    return quick(SUCTION, rows=128)


def test_shares_of_a_sum_are_its_squared_weights() -> None:
    """Derived: y = a1 z1 + a2 z2 + a3 (z3^2 - 1)/sqrt 2 has variance a1^2 + a2^2 + a3^2, each term its own share."""
    z = latin_normal(2000, 5, seed=3)
    weights = np.array([3.0, 2.0, 1.0])
    y = 3.0 * z[:, 0] + 2.0 * z[:, 1] + (z[:, 2] ** 2 - 1.0) / np.sqrt(2.0)
    shares = explained_shares(z, np.stack([y, 2.0 * y], axis=1))
    assert shares[:3] == pytest.approx(weights**2 / 14.0, abs=0.02)
    assert shares[3:] == pytest.approx(0.0, abs=0.01)


def test_draws_are_stratified_and_follow_their_seed() -> None:
    from scipy.stats import norm

    z = latin_normal(64, 7, seed=5)
    assert (z == latin_normal(64, 7, seed=5)).all()
    assert (z != latin_normal(64, 7, seed=6)).any()
    strata = np.floor(norm.cdf(z) * 64).astype(int)
    assert all(sorted(strata[:, i]) == list(range(64)) for i in range(7))


def test_same_seed_same_band_and_points_in_order(example: Band) -> None:
    few = quick(SUCTION, rows=16)
    assert few == quick(SUCTION, rows=16)
    assert few != quick(SUCTION, rows=16, seed=2)
    assert [point.engine_rpm for point in example.points] == list(RPMS)
    assert all(point.low_pa < point.middle_pa < point.high_pa for point in example.points)
    assert example.solved > 0.98


def test_middle_is_near_the_line_and_narrow_where_it_was_set(example: Band) -> None:
    found = example
    line = [point.gauge_inhg for point in sweep(SUCTION, RPMS).points]
    middle = [point.middle_pa / PA_PER_INHG for point in found.points]
    assert middle == pytest.approx(line, abs=0.3)
    assert widths(found)[-1] < 0.6
    assert min(widths(found)[0], widths(found)[1]) > 2 * widths(found)[-1]


def test_three_inputs_are_named_in_words_with_how_to_find_them_out(example: Band) -> None:
    found = example
    assert len(found.wideners) == 3
    assert found.wideners[0].path == "pump.displacement"
    shares = [widener.share for widener in found.wideners]
    assert shares == sorted(shares, reverse=True)
    assert sum(shares) < 1.0
    assert all(widener.words and widener.find_out and widener.assumed for widener in found.wideners)
    assert "baseline sweep" in found.offer


def test_knowing_the_widest_input_narrows_the_band_by_its_share(example: Band) -> None:
    before = example
    share = before.wideners[0].share
    value = SUCTION.part("pump").values["displacement"]
    known = revise(SUCTION, "pump.displacement", msgspec.structs.replace(value, spread=0.0, standing="measured"))
    after = quick(known, rows=128)
    variances = [sum(width**2 for width in widths(found)) for found in (before, after)]
    assert 1.0 - variances[1] / variances[0] == pytest.approx(share, abs=0.2)
    assert "pump.displacement" not in [widener.path for widener in after.wideners]


def test_an_unknown_gauge_gives_both_curves() -> None:
    found = quick(describe_from_answers({}), rows=16)
    assert found.other_connection is not None
    assert (found.gauge_high, found.gauge_low) == ("attitude.inlet", "attitude.outlet")
    assert (found.other_connection.gauge_high, found.other_connection.gauge_low) == ("cabin", "regulator.gyro_side")


def test_a_system_that_cannot_be_solved_gives_no_band(monkeypatch: pytest.MonkeyPatch) -> None:
    from vanewise.network import band as module

    monkeypatch.setattr(module, "gauge_reading", lambda packed, pressure: np.full(len(pressure), np.nan))
    with pytest.raises(NoAnswer):
        quick(SUCTION)


def test_a_measured_hose_counts_as_known() -> None:
    value = parse_field("line", "length", "0.95 m (measured)", "x")
    found = quick(revise(SUCTION, "firewall_hose.length", value), rows=64)
    assert all(widener.path != "firewall_hose.length" for widener in found.wideners)
