"""The real machine object behind the set-up commands: programs that fail, do not exist, or do not end."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tools.devkit.machine import Machine


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    return Machine(tmp_path)


def python(text: str) -> list[str]:
    return [sys.executable, "-c", text]


def test_a_program_that_does_not_exist_has_failed(machine: Machine):
    result = machine.capture(["there-is-no-such-program"])
    assert not result.ok
    assert result.code == 127


def test_both_streams_are_kept(machine: Machine):
    result = machine.capture(python("import sys; print('one'); print('two', file=sys.stderr); sys.exit(3)"))
    assert result.code == 3
    assert {"one", "two"} <= set(result.text.split())


def test_programs_run_in_the_project_with_the_given_environment(machine: Machine, tmp_path: Path):
    result = machine.capture(python("import os; print(os.getcwd(), os.environ['WORD'])"), env={"WORD": "hello"})
    assert result.text.split() == [str(tmp_path), "hello"]


def test_a_program_asked_for_input_gets_none(machine: Machine):
    assert machine.capture(python("import sys; print(len(sys.stdin.read()))")).text.strip() == "0"


def test_a_program_that_does_not_end_is_ended(machine: Machine):
    with pytest.raises(TimeoutError):
        machine.run(python("import time; time.sleep(60)"), seconds=0.2)


def test_a_job_runs_beside_us_and_its_words_are_kept(machine: Machine, tmp_path: Path):
    job = machine.start(python("print('made')"), log=tmp_path / "build" / "job.log")
    result = job.wait()
    assert result.ok
    assert result.text.strip() == "made"


def test_a_job_that_is_given_up_ends(machine: Machine, tmp_path: Path):
    job = machine.start(python("import time; time.sleep(60)"), log=tmp_path / "job.log")
    job.stop()
    assert not job.wait().ok
    job.stop()


def test_modules_are_looked_for_without_importing_them(machine: Machine):
    assert machine.has_module("venv")
    assert not machine.has_module("there_is_no_such_module")


def test_files_are_looked_for_at_any_depth(machine: Machine, tmp_path: Path):
    machine.write_file(tmp_path / "fonts" / "deep" / "a.ttf", "")
    assert machine.has_files(str(tmp_path / "fonts"), "*.[to]tf")
    assert not machine.has_files(str(tmp_path / "nothing"), "*.[to]tf")
    machine.remove_file(tmp_path / "fonts" / "deep" / "a.ttf")
    assert not machine.has_files(str(tmp_path / "fonts"), "*.[to]tf")
