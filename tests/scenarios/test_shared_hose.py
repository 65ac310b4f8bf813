"""The one hose that all the gyros' air goes through has come off: the pump draws through the regulator's open end."""

from __future__ import annotations

from pathlib import Path

from vanewise.aircraft.reading import read_description
from vanewise.diagnosis import infer
from vanewise.diagnosis.infer import Options
from vanewise.diagnosis.reading import read_evidence

DEMO = Path(__file__).resolve().parents[2] / "src" / "vanewise" / "demo"

REPORT = """
[[sweeps]]
id = "earlier"
rpm = [700, 1000, 1200, 1500, 1800, 2100, 2400]
reading = [2.2, 4.0, 4.5, 4.7, 4.9, 5.1, 5.2]
sound = true

[[sweeps]]
id = "as found"
rpm = [700, 1800, 2400]
reading = [0.2, 0.9, 1.4]

[[remarks]]
symptom = "ai_tumbles"

[[remarks]]
symptom = "hi_drifts"

[[remarks]]
symptom = "stopped_suddenly"
"""


def test_a_gauge_beside_the_regulator_that_shows_a_little_is_not_all_put_down_to_its_seat():
    """Some inHg at full speed with both gyros dead: a seat stuck open leaves that, and so does the hose beyond it."""
    description = read_description((DEMO / "d3_case_leak.toml").read_text(encoding="utf-8"), "d3_case_leak.toml")
    evidence = read_evidence(REPORT, "shared hose off")
    answer = infer.diagnose(description, evidence, seed=0, options=Options(weights=False))
    first = {cause.id: cause for cause in answer.causes[:2]}
    assert {"hose_off", "regulator_stuck_open"} == set(first)
    assert first["hose_off"].part == "shared_hose"
    assert first["hose_off"].probability > 0.2
    assert answer.level == "supply dead"
    assert {"open_ports_look", "hose_squeeze"} & {check.id for check in answer.next_checks[:3]}
