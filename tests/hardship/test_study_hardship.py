"""A study under hardship: on a cluster, with a worker killed, stopped half way, without a scheduler. Same bytes."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
RESULTS = ("histogram.csv", "rows.npz", "study.json", "summary.csv")
STUDY = """
title = "Wear of the pump"
aircraft = "aircraft.toml"
draws = {draws}
seed = 4
rows = true

tell = ["gauge", "drops", "flows"]

[at]
rpm = ["1000 rpm", "1800 rpm", "2400 rpm"]
altitude = {{ draw = "uniform", low = "0 ft", high = "8000 ft" }}

[[vary]]
what = "pump.slip"
draw = "log uniform"
low = 1
high = 8
"""
ENVIRONMENT = {
    **os.environ,
    "PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}",
    "NUMBA_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
}


def started(folder: Path, *words: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "vanewise", "study", "study.toml", *words]
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        # A shell that runs the tests in the background has interrupts ignored, and so would what they start.
        signal.signal(signal.SIGINT, signal.default_int_handler)
    return subprocess.Popen(
        command, cwd=folder, env=ENVIRONMENT, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )


def ended(process: subprocess.Popen[str]) -> tuple[int, str]:
    _, told = process.communicate(timeout=120)
    return process.returncode, told


def bytes_of(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in RESULTS}


def wait_for_parts(folder: Path, count: int, process: subprocess.Popen[str]) -> None:
    """Until so many parts are kept; it must not be done by then."""
    until = time.monotonic() + 60.0
    while len(list(folder.glob("parts/[0-9]*.npz"))) < count:
        assert process.poll() is None, process.communicate()[1]
        assert time.monotonic() < until, "no part was kept"
        time.sleep(0.005)


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a study of some chunks, worked out here in ``alone``: enough that one can be stopped half way."""
    folder = tmp_path_factory.mktemp("study")
    aircraft = resources.files("vanewise.demo").joinpath("d1_club_aircraft.toml").read_text(encoding="utf-8")
    (folder / "aircraft.toml").write_text(aircraft, encoding="utf-8")
    (folder / "study.toml").write_text(STUDY.format(draws=60_000), encoding="utf-8")
    code, told = ended(started(folder, "--out", "alone"))
    assert (code, told) == (0, "")
    return folder


@pytest.fixture(scope="module")
def cluster() -> Iterator[dict[str, Any]]:
    """Scheduler and two workers, each a process of its own; all are ended on leaving."""
    process = subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("study_cluster.py"))],
        env=ENVIRONMENT,
        text=True,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )
    assert process.stdout is not None and process.stdin is not None
    try:
        yield {**json.loads(process.stdout.readline()), "scheduler": process.pid}
    finally:
        process.stdin.close()
        try:
            process.wait(timeout=30)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        process.stdout.close()


def test_two_workers_give_the_same_bytes(asked: Path, cluster: dict[str, Any]) -> None:
    code, told = ended(started(asked, "--out", "spread", "--scheduler", cluster["address"]))
    assert code == 0, told
    assert bytes_of(asked / "spread") == bytes_of(asked / "alone")
    assert not (asked / "spread" / "parts").exists()


def test_a_worker_killed_half_way_changes_nothing(asked: Path, cluster: dict[str, Any]) -> None:
    """It is killed at its work; its chunks go to the other, or to the one that takes its place."""
    process = started(asked, "--out", "killed", "--scheduler", cluster["address"])
    wait_for_parts(asked / "killed", 1, process)
    os.kill(cluster["workers"][0], signal.SIGKILL)
    code, told = ended(process)
    assert code == 0, told
    assert bytes_of(asked / "killed") == bytes_of(asked / "alone")


@pytest.mark.parametrize(("sign", "kept"), [(signal.SIGINT, True), (signal.SIGKILL, False)])
def test_what_was_stopped_goes_on_where_it_was(asked: Path, sign: signal.Signals, kept: bool) -> None:
    out = asked / f"stopped-{sign.name}"
    process = started(asked, "--out", str(out))
    wait_for_parts(out, 2, process)
    process.send_signal(sign)
    code, told = ended(process)
    parts = sorted(out.glob("parts/[0-9]*.npz"))
    assert code != 0 and len(parts) >= 2 and not (out / "study.json").exists()
    if kept:
        assert code == 3 and "stopped by hand after" in told and "run the same command again" in told
    before = parts[0].stat().st_mtime_ns, parts[0].stat().st_ino
    (out / "seen").hardlink_to(parts[0])
    code, told = ended(started(asked, "--out", str(out)))
    assert code == 0, told
    assert bytes_of(out) == bytes_of(asked / "alone")
    again = (out / "seen").stat()
    assert (again.st_mtime_ns, again.st_ino, again.st_nlink) == (*before, 1), "the kept part was used, then taken away"


def test_parts_of_another_study_are_not_taken(asked: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    (out / "parts").mkdir(parents=True)
    (out / "parts" / "of.json").write_text('{"study":"other","program":"other"}', encoding="utf-8")
    code, told = ended(started(asked, "--out", str(out)))
    assert code == 2 and "parts of another study" in told and "--fresh" in told
    (out / "parts" / "0000000.npz").write_bytes(b"no part at all")
    code, told = ended(started(asked, "--out", str(out), "--fresh"))
    assert code == 0, told
    assert bytes_of(out) == bytes_of(asked / "alone")


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "nonsense://", "127.0.0.1"])
def test_a_scheduler_that_is_not_there_is_told_in_four_parts(asked: Path, address: str, tmp_path: Path) -> None:
    small = (asked / "study.toml").read_text(encoding="utf-8").replace("20000", "5")
    (tmp_path / "study.toml").write_text(small, encoding="utf-8")
    (tmp_path / "aircraft.toml").write_bytes((asked / "aircraft.toml").read_bytes())
    code, told = ended(started(tmp_path, "--out", "out", "--scheduler", address))
    assert code == 2, told
    assert told.startswith(f"--scheduler {address}\n  Expected") and "Next:" in told and "Traceback" not in told


def test_a_scheduler_that_goes_away_is_told_and_what_was_done_is_kept(asked: Path, cluster: dict[str, Any]) -> None:
    """The last to use the cluster: it ends its scheduler, and the workers end without it."""
    out = asked / "lost"
    process = started(asked, "--out", str(out), "--scheduler", cluster["address"])
    wait_for_parts(out, 1, process)
    os.kill(cluster["scheduler"], signal.SIGKILL)
    code, told = ended(process)
    assert code == 3, told
    assert told.startswith(f"--scheduler {cluster['address']}\n  Expected") and "goes on from there" in told
    assert len(list(out.glob("parts/[0-9]*.npz"))) >= 1 and not (out / "study.json").exists()
