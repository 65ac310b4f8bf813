"""How hot the air leaves the pump: what the law must do, and that the pass around the solver ends where it says."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.contracts.hard_scenarios import hard_batch
from vanewise.aircraft.layouts import layouts, make
from vanewise.network import OperatingPoint, cases, delivery, observe, pack, solve_batch
from vanewise.network.delivery import SETTLED_BEHIND_K, SETTLED_K, delivered, warming
from vanewise.network.packed import breathed_temperature

NAMES = sorted(layouts())
ratios = st.floats(0.2, 20.0)


@given(ratio=ratios, more=st.floats(1e-6, 5.0))
def test_more_work_never_cools(ratio: float, more: float):
    less, greater = warming(np.array([ratio, ratio + more]))
    assert 1.0 <= less <= greater <= 2.0


@given(ratio=st.floats(1.001, 5.0))
def test_its_slope_is_that_of_the_isentrope(ratio: float):
    """d ln(1 + eta (w - 1)) / d ln r is (k - 1)/k = 2/7 wherever the ratio is not held."""
    step = 1e-6
    near, far = 1.0 + 0.6 * (warming(np.array([ratio, ratio * (1.0 + step)])) - 1.0)
    assert np.log(far / near) / np.log1p(step) == pytest.approx(2.0 / 7.0, rel=1e-4)


@pytest.mark.parametrize("name", NAMES)
def test_the_temperature_used_is_the_one_found(name: str):
    packed = pack(make(name))
    close = SETTLED_K if packed.description.duty == "pressure" else SETTLED_BEHIND_K
    for batch in (hard_batch(packed, 60, seed=41), cases([OperatingPoint(engine_rpm=rpm) for rpm in (700.0, 2400.0)])):
        solution = solve_batch(packed, batch, "numpy")
        solved = solution.status != 3
        off = np.abs(delivered(packed, batch, solution.pressure_pa) - solution.delivery_k)
        assert solved.sum() >= batch.count - 1
        assert off[solved].max() <= close
        assert (solution.delivery_k >= breathed_temperature(packed.description.duty, batch) - 0.01).all()


@settings(max_examples=15)
@given(rpm=st.floats(600.0, 2800.0), blocked=st.floats(0.0, 0.9))
def test_a_blocked_outlet_heats_the_air(rpm: float, blocked: float):
    packed = pack(make("pressure-one-pump"))
    batch = cases([OperatingPoint(engine_rpm=rpm)] * 2, [{"pump.outlet_blocked": b} for b in (0.0, blocked)])
    free, held = solve_batch(packed, batch, "numpy").delivery_k
    assert held >= free - SETTLED_K


def test_a_pump_at_rest_heats_nothing():
    packed = pack(make("pressure-one-pump"))
    batch = cases([OperatingPoint(engine_rpm=1500.0)], {"pump.stopped": 1.0})
    solution = solve_batch(packed, batch, "numpy")
    assert solution.delivery_k == pytest.approx(breathed_temperature("pressure", batch), abs=SETTLED_K)


@pytest.mark.parametrize(("name", "most_pa"), [("pressure-one-pump", 60.0), ("suction-one-pump", 1.0)])
def test_what_ten_kelvin_are_worth_at_a_gyro(name: str, most_pa: float):
    """Why one correction is enough, and why they hardly matter behind a suction pump."""
    packed = pack(make(name))
    batch = cases([OperatingPoint(engine_rpm=rpm) for rpm in (900.0, 1500.0, 2400.0)])
    drops = []
    with pytest.MonkeyPatch.context() as patch:
        for extra in (0.0, 10.0):
            judged = delivery.judged(packed, batch) + extra
            patch.setattr(delivery, "judged", lambda packed, batch, judged=judged: judged.copy())
            patch.setattr(delivery, "delivered", lambda packed, batch, pressure, judged=judged: judged[: batch.count])
            solution = solve_batch(packed, batch, "numpy")
            drops.append(np.stack(list(observe(packed, batch, solution).drop_pa.values())))
    assert 0.0 < np.abs(drops[1] - drops[0]).max() < most_pa


def test_what_does_not_settle_has_no_answer(monkeypatch: pytest.MonkeyPatch):
    """A temperature that runs away with every pass: said so, and no pressures handed on."""
    packed = pack(make("pressure-one-pump"))
    batch = cases([OperatingPoint(engine_rpm=rpm) for rpm in (900.0, 1500.0)])
    real = delivery.delivered

    def runs_away(packed, batch, pressure):  # type: ignore[no-untyped-def]
        found = real(packed, batch, pressure)
        runs_away.passes += 1.0  # type: ignore[attr-defined]
        return np.where(batch.engine_rpm > 1000.0, found + runs_away.passes, found)  # type: ignore[attr-defined]

    runs_away.passes = 0.0  # type: ignore[attr-defined]
    monkeypatch.setattr(delivery, "delivered", runs_away)
    solution = solve_batch(packed, batch, "numpy")
    assert solution.status.tolist() == [0, 3]
    assert np.isnan(solution.pressure_pa[1]).all() and np.isfinite(solution.pressure_pa[0]).all()
