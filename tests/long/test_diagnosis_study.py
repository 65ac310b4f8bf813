"""The diagnosis on 2,000 generated cases with known truths, their seed reserved for this run.

Asserted is what the published figures hold (docs/explanation/diagnosis.md says which aims are open).
"""

from __future__ import annotations

import pytest

from benches.study_diagnosis import STUDY_SEED, run, summary

pytestmark = pytest.mark.long


def test_levels_faults_outside_and_minutes_over_two_thousand_cases():
    rows, paths = run(2000, STUDY_SEED, refined_every=25, path_every=25)
    found = summary(rows, paths, 2000, STUDY_SEED)
    first, policy = found["first answers"], found["policy"]
    assert found["cases judged"] >= 2000
    assert first["fault outside"]["none or undecided"]["value"] >= 0.80
    assert first["model true"]["level right when named"]["value"] >= 0.90
    for arm in ("gauge biased", "other drive ratio", "defaults wrong"):
        given = first[arm]["as given"]
        assert given["true cause under 1 in 100"]["low"] <= 0.02
        assert given["calibration error"]["value"] <= max(0.10, given["calibration error of a perfect answer"]["mean"])
    equal = found["two equal causes"]
    assert equal["undecided kept"] is None or equal["undecided kept"]["value"] == 1.0
    assert policy["proposed"]["right part within three when stopped"]["value"] >= 0.95
    assert policy["median ratio"] <= 0.60
