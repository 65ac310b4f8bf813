"""Work plan and ground run of every ready-made layout: they name what it has and no more, and gates close."""

from __future__ import annotations

import datetime
import re

import msgspec
import pytest

from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.layouts import layouts, make
from vanewise.contamination import SheddingEvent, trace
from vanewise.contamination.types import Closure
from vanewise.groundrun import predict
from vanewise.work.cautions import CAUTIONS
from vanewise.work.gates import gate_state
from vanewise.work.log import start
from vanewise.work.plan import plan
from vanewise.work.types import WorkPackage

TODAY = datetime.date(2025, 3, 1)
#: Words that a task may only use of an aircraft that has such a part.
ONLY_WHERE_FITTED = {
    "inline filter": {"inline filter"},
    "pump inlet filter": {"inlet filter"},
    "check valve": {"check valve"},
    "de-ice boots": {"de-ice boots"},
    "door seal": {"door seal"},
    "turn indicator": {"turn indicator"},
    "restrictor": {"restrictor"},
}


@pytest.fixture(scope="module", params=layouts())
def planned(request: pytest.FixtureRequest) -> tuple[AircraftDescription, WorkPackage]:
    """The rebuild after a pump that stopped and shed carbon both ways."""
    description = make(request.param)
    pump = description.parts_of("pump")[0].id
    scope = trace(description, None, *(SheddingEvent(part=pump, kind=kind) for kind in ("running", "stop")))
    return description, plan(description, "worn_vanes", scope, today=TODAY, place=pump)


def test_the_plan_speaks_of_parts_this_layout_has(planned: tuple[AircraftDescription, WorkPackage]) -> None:
    description, package = planned
    owners = {part.id for part in description.parts} | {line.id for line in description.lines}
    # A suspect is a part, a line, or a place in one: the regulator's own filter, the tap of gauge or lamp.
    closed = {suspect.partition(".")[0] for task in package.tasks for suspect in task.closes}
    assert closed <= owners | {"gauge", "lamp"}
    assert {tag.line for tag in package.hose_tags} == {line.id for line in description.lines}
    kinds = {part.kind for part in description.parts}
    said = " ".join(f"{task.title} {' '.join(task.steps)} {' '.join(task.parts)}" for task in package.tasks).lower()
    for words, needed in ONLY_WHERE_FITTED.items():
        assert needed & kinds or not re.search(rf"\b{words}s?\b", said), words


def test_the_caution_stands_at_the_step(planned: tuple[AircraftDescription, WorkPackage]) -> None:
    _, package = planned
    at = {task.id: task.cautions for task in package.tasks}
    assert CAUTIONS["propeller"].text in at["pump-off"]
    assert CAUTIONS["engine run"].text in at["ground-run"]


def test_a_gate_is_shut_at_first_and_opens_when_its_needs_are_met(
    planned: tuple[AircraftDescription, WorkPackage],
) -> None:
    _, package = planned
    assert package.scope is not None
    log = start(package)
    everything = msgspec.structs.replace(
        log,
        done=tuple(task.id for task in package.tasks),
        closures=tuple(
            Closure(
                suspect=suspect.id,
                how="replaced",
                by="A. Mechanic",
                method="new part",
                proof="seen",
                answers=suspect.events,
            )
            for suspect in package.scope.suspects
        ),
    )
    plain = [gate for gate in package.gates if all(need.startswith(("task:", "suspect:")) for need in gate.needs)]
    assert plain
    for gate in plain:
        assert not gate_state(package, log, gate).is_open
        assert gate_state(package, everything, gate).missing == ()


def test_the_ground_run_asks_for_what_this_layout_reads(planned: tuple[AircraftDescription, WorkPackage]) -> None:
    description, _ = planned
    run = predict(description, altitude_m=122.0, rows=64, engine="numpy", rpms=(1000.0, 1800.0, 2400.0))
    assert run.duty == description.duty
    assert set(run.gyros) <= {part.label for part in description.parts} | {part.id for part in description.parts}
    middles = [point.middle_pa for point in run.points]
    assert middles == sorted(middles) and all(point.low_pa < point.middle_pa < point.high_pa for point in run.points)
    assert run.cautions and (run.lamp_rpm_low is not None) == (description.lamp is not None)
