"""Faults of public reports that were graver than the modes believed possible, or came where none was believed.

A filter wet through that left no air at all, a setting screw that had backed off by two inches, a pump just fitted that
cannot be worn yet.
"""

from __future__ import annotations

import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis.infer import diagnose
from vanewise.diagnosis.types import Event, Evidence, Reading, Remark
from vanewise.quantities import PA_PER_INHG

AIRCRAFT = layouts.make("suction-one-pump")
RAIN = Event(id="rain", kind="rain", hours_ago=1.0)


def read(**inhg_at_rpm: float) -> tuple[Reading, ...]:
    return tuple(
        Reading(id=name, value_pa=value * PA_PER_INHG, engine_rpm=float(name.removeprefix("at_")))
        for name, value in inhg_at_rpm.items()
    )


def given(evidence: Evidence, cause: str) -> float:
    return next(own.probability for own in diagnose(AIRCRAFT, evidence, seed=0).causes if own.id == cause)


@pytest.mark.parametrize(
    "evidence",
    [
        Evidence(remarks=(Remark(id="zero", symptom="gauge_zero"),), events=(RAIN,)),
        Evidence(readings=read(at_2400=0.3), events=(RAIN,)),
    ],
)
def test_after_rain_no_air_at_all_may_be_a_filter_wet_through(evidence: Evidence):
    assert given(evidence, "intake_filter_wet_or_tarred") > 0.05


def test_two_inches_low_may_be_the_setting():
    assert given(Evidence(readings=read(at_2400=3.0)), "regulator_low") > 0.05


def test_a_pump_just_fitted_has_hardly_worn():
    dead = (Remark(id="zero", symptom="gauge_zero"),)
    new = Event(id="pump", kind="pump_changed", hours_ago=1.0)
    old = Event(id="pump", kind="pump_changed", hours_ago=400.0)
    fitted, long_ago, unknown = (
        given(Evidence(remarks=dead, events=events), "worn_vanes") for events in ((new,), (old,), ())
    )
    assert fitted < 0.5 * unknown
    assert long_ago > 0.8 * unknown
