"""What a cause would have read stands beside what was read: weighted quantiles, worked out here by counting."""

from __future__ import annotations

import numpy as np

from vanewise.aircraft import layouts
from vanewise.diagnosis.against_readings import _quantiles
from vanewise.diagnosis.infer import Options, diagnose
from vanewise.diagnosis.types import Evidence, Reading
from vanewise.network.observe import observe
from vanewise.network.pack import pack
from vanewise.network.solve import cases, solve_batch
from vanewise.network.types import OperatingPoint
from vanewise.quantities import PA_PER_INHG
from vanewise.web.views.causes import overlay

QUICK = Options(weights=False, next_checks=False, rows=64)


def test_weighted_quantiles_are_those_of_the_repeated_values():
    values, times = np.array([3.0, 1.0, 2.0, 5.0]), np.array([1, 4, 2, 3])
    columns = np.stack([values, -values], axis=1)
    for column, found in zip(columns.T, _quantiles(columns, times.astype(float)), strict=True):
        repeated = np.sort(np.repeat(column, times))
        count = len(repeated)
        assert found == [repeated[0], repeated[count // 2 - 1], repeated[int(0.9 * count) - 1]]


def test_leading_causes_stand_beside_the_readings_of_today_only():
    now = {1000.0: 1.6, 1800.0: 4.2, 2400.0: 5.0}
    readings = tuple(Reading(id=f"now {rpm:.0f}", value_pa=v * PA_PER_INHG, engine_rpm=rpm) for rpm, v in now.items())
    sound = Reading(id="then", value_pa=5.0 * PA_PER_INHG, engine_rpm=2400.0, sound=True)
    causes = diagnose(
        layouts.make("suction-one-pump"), Evidence(readings=(*readings, sound)), seed=0, refine=False, options=QUICK
    )
    first = causes.causes[0]
    assert [(entry.engine_rpm, round(entry.read_inhg, 1)) for entry in first.would_read] == sorted(now.items())
    assert all(entry.low_inhg <= entry.middle_inhg <= entry.high_inhg for entry in first.would_read)
    assert all(cause.would_read == () for cause in causes.causes if cause.probability < 0.05)
    drawn = overlay(first)
    assert drawn is not None
    assert drawn["svg"].startswith("<svg") and "8 in 10" in drawn["key"]
    assert drawn["svg"].count('class="point ring"') == 3


def truth(rpms: tuple[float, ...], states: dict[str, float]) -> np.ndarray:
    """What the hidden truth would read [inHg], solved here."""
    description = layouts.make("suction-one-pump")
    packed = pack(description)
    height = description.field.elevation.number
    batch = cases([OperatingPoint(engine_rpm=rpm, altitude_m=height) for rpm in rpms], states)
    return observe(packed, batch, solve_batch(packed, batch, "numpy")).gauge_pa / PA_PER_INHG


def test_the_whole_curve_goes_on_between_and_beyond_the_speeds_read():
    """Four readings of a leak; the curve of the leak holds the truth from idle to cruise, and meets the spans read."""
    states, speeds = {"manifold.leak": 4.0}, (1000.0, 1400.0, 1800.0, 2200.0)
    readings = tuple(
        Reading(id=f"now {rpm:.0f}", value_pa=round(float(value), 1) * PA_PER_INHG, engine_rpm=rpm)
        for rpm, value in zip(speeds, truth(speeds, states), strict=True)
    )
    causes = diagnose(
        layouts.make("suction-one-pump"),
        Evidence(readings=readings),
        seed=0,
        options=Options(weights=False, next_checks=False, rows=256),
    )
    leak = next(cause for cause in causes.causes if cause.id == "leak")
    curve = leak.would_sweep
    assert curve is not None
    assert curve.engine_rpm[0] < min(speeds)
    assert curve.engine_rpm[-1] > max(speeds)
    assert len(curve.engine_rpm) >= 12
    real = truth(curve.engine_rpm, states)
    assert np.all(real > np.array(curve.low_inhg) - 0.35)
    assert np.all(real < np.array(curve.high_inhg) + 0.35)
    for entry in leak.would_read:
        middle = np.interp(entry.engine_rpm, curve.engine_rpm, curve.middle_inhg)
        assert entry.low_inhg - 0.15 <= middle <= entry.high_inhg + 0.15
    drawn = overlay(leak)
    assert drawn is not None
    assert drawn["svg"].count('class="point ring"') == len(speeds)


def test_a_cause_without_a_reading_of_the_panel_gauge_has_no_curve():
    from vanewise.diagnosis.types import Remark

    causes = diagnose(
        layouts.make("suction-one-pump"),
        Evidence(remarks=(Remark(id="a", symptom="oil_at_drain"),)),
        seed=0,
        options=QUICK,
    )
    assert all(cause.would_sweep is None for cause in causes.causes)
