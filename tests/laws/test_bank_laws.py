"""What the bank keeps is what the solver says, and drawing again near the evidence does not change the answer."""

from __future__ import annotations

import numpy as np
import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis import infer, nuisance, sampling
from vanewise.diagnosis.bank import Bank, bank_for, observable_taps
from vanewise.diagnosis.infer import Options
from vanewise.diagnosis.solving import Point, point_at, solve_rows, tapped
from vanewise.diagnosis.types import Evidence, Reading
from vanewise.network.solve import cases, solve_batch
from vanewise.network.types import OperatingPoint
from vanewise.quantities import PA_PER_INHG

DESCRIPTION = layouts.make("suction-one-pump")
FIELD_M = DESCRIPTION.field.elevation.number
QUARTER_OF_A_READING_INHG = 0.06 / 4.0


@pytest.fixture(scope="module")
def bank() -> Bank:
    return bank_for(DESCRIPTION, seed=1, rows=64)


def exact(bank: Bank, block: int, points: list[Point], observable: str) -> np.ndarray:
    pressure = solve_rows(bank.packed, bank.columns[block], points, bank.engine)
    return tapped(pressure, observable_taps(bank.packed)[observable]) / PA_PER_INHG


@pytest.mark.parametrize("observable", ["gauge", "lamp", "drop attitude", "drop heading", "load pump"])
def test_at_the_usual_speeds_the_grid_is_the_solver(bank: Bank, observable: str):
    """Within a quarter of the smallest gauge error at every speed of the usual sweep, on the home field's day."""
    points = [point_at(rpm, FIELD_M, None) for rpm in (700.0, 1000.0, 1200.0, 1500.0, 1800.0, 2100.0, 2400.0)]
    for block in range(0, bank.blocks, 5):
        stored = bank.on_grid(observable, points)[block] / PA_PER_INHG
        assert np.abs(stored - exact(bank, block, points, observable)).max() < QUARTER_OF_A_READING_INHG


def test_between_nodes_the_stated_error_covers_the_true_one(bank: Bank):
    """At other speeds, on a hot day and in cruise, the variance that is added holds what the interpolation costs."""
    points = [point_at(1270.0, FIELD_M, 303.0), point_at(1740.0, FIELD_M, None), point_at(2400.0, 1700.0, None)]
    for point in points:
        square = []
        for block in range(1, bank.blocks, 4):
            stored = bank.on_grid("gauge", [point])[block, :, 0] / PA_PER_INHG
            square.append(((stored - exact(bank, block, [point], "gauge")[:, 0]) ** 2).mean())
        claimed = bank.grid_error("gauge", point) / PA_PER_INHG
        assert np.sqrt(np.mean(square)) < 2.5 * claimed + QUARTER_OF_A_READING_INHG


def test_every_row_reads_its_own_setting_where_it_was_set(bank: Bank):
    """The regulator is set anew in every draw: its gauge reads near 5.0 at 2400 rpm whatever the pump and bores, and
    what that gauge is off by is missing from the true difference; but for a pump that is too small for its setting."""
    point = point_at(2400.0, FIELD_M, None, before=True)
    true = bank.on_grid("gauge", [point])[0, :, 0] / PA_PER_INHG
    assert true.mean() == pytest.approx(5.0, abs=0.03)
    short = 5.0 + bank.drawn.set_off - true
    spring = bank.drawn.before["regulator.preload"] / PA_PER_INHG
    weak = short > 0.04  # a small pump against a high setting: its valve stays shut, and the pump pulls no more
    assert (spring[weak] > true[weak] + 0.04).all() and weak.mean() < 0.05
    assert np.abs(short[~weak]).max() < 0.04, "the setting and the gauge, not pump or bores"
    assert bank.tie is not None and bank.drawn.set_off.std() > 1.2 * bank.tie.sd
    low = bank.on_grid("gauge", [point_at(1000.0, FIELD_M, None)])[0, :, 0] / PA_PER_INHG
    assert low.std() > 0.2, "below the knee pump and jets show"


def test_hypotheses_share_the_same_draws_of_everything_unknown(bank: Bank):
    sound = bank.columns[1]
    for columns in bank.columns[2:]:
        for key in ("pump.displacement", "attitude.reference_flow", "regulator.preload"):
            assert np.array_equal(columns[key], sound[key])


def test_what_was_changed_since_is_another_draw_before_and_after():
    z = sampling.normals(sampling.uniforms(64, nuisance.COUNT, seed=3))
    packed = bank_for(DESCRIPTION, seed=1, rows=64).packed
    same = nuisance.draw(packed, z, frozenset(), "numpy")
    other = nuisance.draw(packed, z, frozenset({"pump", "setting"}), "numpy")
    assert np.array_equal(same.before["pump.displacement"], same.now["pump.displacement"])
    assert abs(np.corrcoef(other.before["pump.displacement"], other.now["pump.displacement"])[0, 1]) < 0.3
    assert np.std(other.now["regulator.set_shift_inhg"]) > 4 * np.std(same.now["regulator.set_shift_inhg"])


def test_refined_and_plain_counts_agree_within_their_errors():
    """Dull readings, so that the bank alone has rows enough: both are estimates of the same mean likelihood."""
    sweep = cases([OperatingPoint(engine_rpm=rpm, altitude_m=FIELD_M) for rpm in (1000.0, 1800.0)], {"pump.slip": 2.5})
    bank = bank_for(DESCRIPTION, seed=2, rows=256)
    pressure = solve_batch(bank.packed, sweep).pressure_pa[:, None, :]
    values = tapped(pressure, observable_taps(bank.packed)["gauge"])[:, 0]
    evidence = Evidence(
        readings=tuple(
            Reading(id=f"{rpm:.0f}", value_pa=float(value), engine_rpm=rpm, sd_pa=0.5 * PA_PER_INHG)
            for rpm, value in zip((1000.0, 1800.0), values, strict=True)
        )
    )
    options = Options(rows=256, pairs=False)
    plain = infer.infer(DESCRIPTION, evidence, seed=2, refine=False, options=options).posterior
    refined = infer.infer(DESCRIPTION, evidence, seed=2, options=options).posterior
    compared = 0
    for number, probability in enumerate(plain.probability):
        if probability < 0.01 or plain.hypotheses[number].kind == "none":
            continue
        error = np.hypot(plain.log_evidence_se[number], refined.log_evidence_se[number])
        assert abs(plain.log_evidence[number] - refined.log_evidence[number]) < 4.0 * error + 0.03
        compared += 1
    assert compared >= 5
