"""The pump comes off its pad, for itself or for what leaks behind it: its ports are looked into, and it stays shut."""

from __future__ import annotations

from vanewise.aircraft import layouts
from vanewise.diagnosis.infer import diagnose
from vanewise.diagnosis.types import CheckResult, Evidence, Reading, Remark
from vanewise.quantities import PA_PER_INHG

ONE_PUMP = layouts.make("suction-one-pump")
READ = tuple(Reading(id=f"{rpm:.0f}", value_pa=4.8 * PA_PER_INHG, engine_rpm=rpm) for rpm in (1500.0, 2300.0))
OIL = tuple(Remark(id=symptom, symptom=symptom) for symptom in ("oil_at_drain", "oil_on_coupling"))
WET = (
    CheckResult(id="drain", check="drain_look", outcome="wet"),
    CheckResult(id="joint", check="pad_joint_look", outcome="from_drain"),
)


def asked(evidence: Evidence) -> list[str]:
    return [check.id for check in diagnose(ONE_PUMP, evidence, seed=0).next_checks]


def test_where_oil_comes_past_the_pads_seal_the_ports_are_looked_into_and_the_pump_is_not_opened():
    """The seal is renewed behind the pump. Nothing else was left to ask, with a third still open."""
    found = diagnose(ONE_PUMP, Evidence(readings=READ, remarks=OIL, checks=WET), seed=0)
    assert found.repairs["pad seal"] + found.repairs["pump"] > 0.95
    checks = [check.id for check in found.next_checks]
    assert "pump_off_look" in checks
    assert "pump_teardown" not in checks
    look = next(check for check in found.next_checks if check.id == "pump_off_look")
    assert any("stays closed" in caution for caution in look.cautions)
    assert any("propeller as live" in caution for caution in look.cautions)


def test_what_is_in_the_ports_says_which_of_the_two_it_is():
    oily, clean = (
        diagnose(
            ONE_PUMP,
            Evidence(
                readings=READ,
                remarks=OIL,
                checks=(*WET, CheckResult(id="ports", check="pump_off_look", outcome=outcome)),
            ),
            seed=0,
        )
        for outcome in ("oily", "clean")
    )
    assert oily.repairs["pad seal"] < clean.repairs["pad seal"]
    wet, dry = (next(cause for cause in found.causes if cause.id == "oil_in_pump").present for found in (oily, clean))
    assert wet > 0.9, "whether the seal or something else let it in"
    assert dry < 0.3


def test_a_pump_that_stays_on_is_not_taken_off_for_a_look():
    leans = Evidence(readings=READ, remarks=(Remark(id="leans", symptom="ai_leans"),))
    assert "pump_off_look" not in asked(leans)
