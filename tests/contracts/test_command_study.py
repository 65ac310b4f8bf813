"""``vanewise study``: what it prints and writes, on a terminal and without one, and what it says of a wrong file."""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from tests.contracts.answer_shapes import ROOT, answer, example, hold, run

D1 = example("d1_study.toml")
ASKED = (
    'title = "Small"\naircraft = "{aircraft}"\nrows = true\n[at]\nrpm = [1000, 2400]\n[[vary]]\nwhat = "pump.slip"\n'
)


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """Two engine speeds and three states of a pump, none drawn."""
    path = tmp_path / "small.toml"
    aircraft = example("d1_club_aircraft.toml").as_posix()
    path.write_text(ASKED.format(aircraft=aircraft) + "every = [1, 3, 8]\n", encoding="utf-8")
    return path


def test_the_demo_study(tmp_path: Path) -> None:
    found = answer("study", D1, "--out", tmp_path / "out")
    assert (found["scenarios"], found["unsolved"]) == (4500, 0)
    assert [group["at"]["rpm"] for group in found["groups"]] == [1000, 1800, 2400]
    gauges = [next(one for one in group["outcomes"] if one["name"] == "gauge") for group in found["groups"]]
    middles = [next(item["value"] for item in gauge["quantiles"] if item["share"] == 0.5) for gauge in gauges]
    assert middles == sorted(middles) and gauges[0]["below"] == 1500
    kept = json.loads((tmp_path / "out" / "study.json").read_text(encoding="utf-8"))
    hold("vanewise study", kept)
    assert kept == found
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == sorted(found["files"])


def test_files_agree_with_each_other_and_with_a_sweep(small: Path, tmp_path: Path) -> None:
    found = answer("study", small, "--out", tmp_path / "out")
    swept = answer("sweep", example("d1_club_aircraft.toml"), "--rpm", "1000,2400", "--state", "pump.slip=8")
    with (tmp_path / "out" / "summary.csv").open(encoding="utf-8") as stream:
        lines = [line for line in csv.DictReader(stream) if line["outcome"] == "gauge"]
    assert len(lines) == len(found["groups"]) == 6
    worn = [line for line in lines if float(line["pump.slip [times]"]) == 8.0]
    for line, point in zip(worn, swept["points"], strict=True):
        assert float(line["mean"]) == pytest.approx(point["gauge_inhg"], abs=2e-4)
    with np.load(tmp_path / "out" / "rows.npz") as rows:
        assert rows["gauge"].shape == (6,) and set(rows["status"]) <= {0, 1, 2}
        assert rows["gauge"][-1] / 3386.389 == pytest.approx(swept["points"][1]["gauge_inhg"], abs=2e-4)
    with (tmp_path / "out" / "histogram.csv").open(encoding="utf-8") as stream:
        counts = [int(line["scenarios"]) for line in csv.DictReader(stream) if line["outcome"] == "gauge"]
    assert sum(counts) == 6


def test_the_same_seed_gives_the_same_bytes(tmp_path: Path) -> None:
    for name in ("one", "two"):
        assert run("study", D1, "--out", tmp_path / name).exit_code == 0
    for path in (tmp_path / "one").iterdir():
        assert path.read_bytes() == (tmp_path / "two" / path.name).read_bytes()


def test_progress_is_shown_on_a_terminal_and_nowhere_else(small: Path, tmp_path: Path) -> None:
    command = [sys.executable, "-m", "vanewise", "study", str(small), "--json", "--out"]
    env = {**os.environ, "PYTHONPATH": str(ROOT / "src"), "TERM": "xterm"}
    pty = pytest.importorskip("pty", reason="this system has no terminals of that kind")
    bare = subprocess.run([*command, "bare"], cwd=tmp_path, env=env, capture_output=True, text=True, check=True)
    assert bare.stderr == "" and json.loads(bare.stdout)["scenarios"] == 6
    ours, theirs = pty.openpty()
    try:
        done = subprocess.run(
            [*command, "seen"], cwd=tmp_path, env=env, stdout=subprocess.PIPE, stderr=theirs, check=True
        )
        shown = os.read(ours, 65536).decode()
    finally:
        os.close(theirs)
        os.close(ours)
    assert "scenarios" in shown and "6/6" in shown and json.loads(done.stdout)["scenarios"] == 6


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "aircraft"),
        ('aircraft = "nowhere.toml"', "nowhere.toml"),
        ('aircraft = "study.toml"', "study.toml"),
        ("aircraft = ", "TOML"),
    ],
)
def test_a_wrong_file_is_told_and_nothing_is_written(text: str, said: str, tmp_path: Path) -> None:
    path = tmp_path / "study.toml"
    path.write_text(text, encoding="utf-8")
    done = run("study", path, "--out", tmp_path / "out", "--json")
    assert done.exit_code == 2 and said in done.stderr and "Expected" in done.stderr
    assert json.loads(done.stdout)["error"] == "wrong input"
    assert not (tmp_path / "out").exists()
