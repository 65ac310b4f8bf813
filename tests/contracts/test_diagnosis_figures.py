"""The page on finding the source says the figures that the study's own file holds."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
STUDY = json.loads((ROOT / "benches" / "diagnosis_study.json").read_text(encoding="utf-8"))
PAGE = (ROOT / "docs" / "explanation" / "diagnosis.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("arm", ["model true", "gauge biased", "other drive ratio", "defaults wrong"])
def test_a_row_of_the_table_is_what_was_measured(arm: str):
    (row,) = [line for line in PAGE.splitlines() if line.startswith(f"| {arm} |")]
    cells = [cell.strip() for cell in row.strip("|").split("|")]
    own = STUDY["first answers"][arm]
    assert int(cells[1]) == own["cases"]
    assert cells[2].startswith(f"{own['calibration error']['value']:.3f}")
    for cell, figure in zip(cells[3:], list(own)[3:7], strict=True):
        assert cell.startswith(f"{100 * own[figure]['value']:.0f} %"), figure


def test_the_page_says_how_many_cases_and_minutes():
    policy = STUDY["policy"]
    text = " ".join(PAGE.split())
    assert f"judged {STUDY['cases judged']} cases (seed {STUDY['seed']}" in text
    assert f"median {policy['proposed']['median minutes']:.0f} min" in text
    assert f"median {policy['cheapest first']['median minutes']:.0f} min" in text
