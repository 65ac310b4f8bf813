"""What a worker does, and what is said where a cluster cannot be used. The cluster itself is tried in hardship."""

from __future__ import annotations

import sys
from importlib import resources
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from vanewise import pipeline
from vanewise.errors import InputError, NoAnswer
from vanewise.jobs import study_cluster
from vanewise.jobs.study_parts import program_mark
from vanewise.study import Axis, Part, Study, prepare, work_out
from vanewise.study.types import canonical

D1 = pipeline.describe(
    resources.files("vanewise.demo").joinpath("d1_club_aircraft.toml").read_text(encoding="utf-8"), "d1"
)
ASKED = Study(title="t", description=D1, seed=1, draws=1, axes=(Axis(key="rpm", values=(1000.0, 2400.0)),), rows=True)


def test_a_worker_gives_what_would_come_out_here() -> None:
    part = study_cluster.on_worker(canonical(ASKED), 0, "numpy", program_mark("numpy"))
    here = work_out(prepare(ASKED), 0, engine="numpy")
    assert isinstance(part, Part) and part.rows is not None and here.rows is not None
    assert part.rows.keys() == here.rows.keys()
    assert all(np.array_equal(part.rows[name], here.rows[name]) for name in here.rows)


def test_a_worker_with_another_program_says_so_and_is_refused() -> None:
    answer = study_cluster.on_worker(canonical(ASKED), 0, "numpy", "another")
    assert answer == program_mark("numpy") != program_mark("kernel")
    future = SimpleNamespace(result=lambda: answer)
    with pytest.raises(NoAnswer) as caught:
        study_cluster._result(_library(), future, "tcp://there:1", "another")
    (problem,) = caught.value.problems
    assert "this very program" in problem.expected and "goes on from there" in problem.next_step


@pytest.mark.parametrize(
    ("raised", "said"),
    [
        (ModuleNotFoundError("No module named 'vanewise'"), "workers that have vanewise installed"),
        (OSError("gone"), "every chunk to come back"),
        (ZeroDivisionError("odd"), "every chunk to come back"),
    ],
)
def test_what_a_worker_met_is_told_in_four_parts(raised: Exception, said: str) -> None:
    def result() -> None:
        raise raised

    with pytest.raises(NoAnswer) as caught:
        study_cluster._result(_library(), SimpleNamespace(result=result), "tcp://there:1", "mark")
    (problem,) = caught.value.problems
    assert problem.expected == said and str(raised) in problem.found and "run the same command" in problem.next_step


def test_without_the_library_it_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(InputError) as caught:
        list(study_cluster.parts_from("tcp://there:1", ASKED, [0], "numpy"))
    (problem,) = caught.value.problems
    assert "vanewise[cluster]" in problem.next_step and "not installed" in problem.found


def _library() -> Any:
    """The two errors of the library that are looked for by name."""
    return SimpleNamespace(
        KilledWorker=type("KilledWorker", (Exception,), {}),
        core=SimpleNamespace(RPCClosed=type("RPCClosed", (OSError,), {})),
    )
