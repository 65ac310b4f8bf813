"""The page on finding the source says the figures that the study's own file holds."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from benches.study_figures import headline
from tools.study_page import with_figures

ROOT = Path(__file__).resolve().parents[2]
STUDY = json.loads((ROOT / "benches" / "diagnosis_study.json").read_text(encoding="utf-8"))
RESULTS = json.loads((ROOT / "benches" / "results.json").read_text(encoding="utf-8"))
PAGE = (ROOT / "docs" / "explanation" / "diagnosis.md").read_text(encoding="utf-8")
TEXT = " ".join(PAGE.split())
ARMS = ["model true", "gauge biased", "other drive ratio", "defaults wrong"]


@pytest.mark.parametrize("arm", ARMS)
@pytest.mark.parametrize(("answers", "prefix"), [("refined answers", ""), ("first answers", "first: ")])
def test_a_row_of_the_tables_is_what_was_measured(answers: str, prefix: str, arm: str):
    (row,) = [line for line in PAGE.splitlines() if line.startswith(f"| {prefix}{arm} |")]
    cells = [cell.strip() for cell in row.strip("|").split("|")]
    own = STUDY[answers][arm]
    assert int(cells[1]) == own["cases"]
    assert cells[2].startswith(f"{own['calibration error']['value']:.3f}")
    assert cells[3] == f"{own['calibration error of a perfect answer']['mean']:.3f}"
    assert cells[4].startswith(f"{100 * own['true cause under 1 in 100']['value']:.1f} %")
    assert cells[5] == f"{100 * own['given to causes under 1 in 100']['value']:.1f} %"
    for cell, figure in zip(cells[6:9], ("first is right", "level named", "level right when named"), strict=True):
        assert cell.startswith(f"{100 * own[figure]['value']:.0f} %"), figure


def test_the_page_says_how_many_cases_and_minutes():
    policy = STUDY["policy"]
    assert f"judged {STUDY['cases judged']} cases (seed {STUDY['seed']}" in TEXT
    assert f"Following the checks: {policy['cases']} cases" in TEXT
    assert f"median {policy['proposed']['median minutes']:.0f} min" in TEXT
    assert f"median {policy['cheapest first']['median minutes']:.0f} min" in TEXT
    assert f"Ratio of the medians: {policy['median ratio']:.2f}" in TEXT


def test_the_page_says_what_became_of_faults_outside_and_of_equal_causes():
    outside, equal = STUDY["refined answers"]["fault outside"], STUDY["two equal causes"]
    assert f"{100 * outside['none or undecided']['value']:.0f} %" in TEXT
    assert f"led in {equal['with two equal causes']} of {equal['answers looked at']} answers" in TEXT


def test_the_page_is_made_from_the_files():
    assert with_figures(PAGE, STUDY, RESULTS) == PAGE


def test_the_page_says_how_soon_an_answer_is_there():
    figures = {entry["name"]: entry["figure"] for entry in RESULTS["results"]}
    first = figures["first answer after a new reading, bank warm"]
    refined = figures["refined answer with weights and next checks, bank warm"]
    assert f"the first answer takes {first:.0f} ms (at most 50 ms is aimed at: {'not ' * (first > 50)}held)" in TEXT
    assert (
        f"the refined one takes {refined:.0f} ms (at most 1000 ms is aimed at: {'not ' * (refined > 1000)}held)" in TEXT
    )


def test_a_page_without_its_marks_is_refused():
    with pytest.raises(ValueError, match="expected the lines"):
        with_figures("no marks", STUDY, RESULTS)


def test_the_benches_file_holds_what_is_aimed_at_as_it_was_measured():
    assert RESULTS["diagnosis_study"] == headline(STUDY)
