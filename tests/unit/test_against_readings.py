"""What a cause would have read stands beside what was read: weighted quantiles, worked out here by counting."""

from __future__ import annotations

import numpy as np

from vanewise.aircraft import layouts
from vanewise.diagnosis.against_readings import _quantiles
from vanewise.diagnosis.infer import Options, diagnose
from vanewise.diagnosis.types import Evidence, Reading
from vanewise.quantities import PA_PER_INHG
from vanewise.web.views.causes import overlay

QUICK = Options(weights=False, next_checks=False, rows=64)


def test_weighted_quantiles_are_those_of_the_repeated_values():
    values, times = np.array([3.0, 1.0, 2.0, 5.0]), np.array([1, 4, 2, 3])
    repeated = np.sort(np.repeat(values, times))
    low, middle, high = _quantiles(values, times.astype(float))
    count = len(repeated)
    assert (low, middle, high) == (repeated[0], repeated[count // 2 - 1], repeated[int(0.9 * count) - 1])


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
