"""What every plan promises, for every failure mode at every place of every ready-made layout."""

from __future__ import annotations

import datetime

import pytest

from vanewise.aircraft.layouts import layouts, make
from vanewise.contamination import SheddingEvent, trace
from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.modes import MODES, applicable
from vanewise.diagnosis.types import Cause, Causes, HypothesisShare
from vanewise.work.cautions import CAUTIONS, texts
from vanewise.work.plan import plan
from vanewise.work.repairs import REPAIRS

TODAY = datetime.date(2025, 3, 1)
CAUTION_TEXTS = {caution.text for caution in CAUTIONS.values()}


def cases():
    """Each mode at each kind of part, once in either duty, and traced once in every layout."""
    seen = set()
    for layout in layouts():
        description = make(layout)
        kinds = {part.id: part.kind for part in description.parts}
        for mode, places in applicable(description):
            for place in places:
                for traced in (False, True) if mode.sheds is not None else (False,):
                    kind = kinds.get(place.part, "line" if place.part else "")
                    keys = {(mode.id, kind, description.duty, traced), (layout, traced)}
                    if keys <= seen:
                        continue
                    seen |= keys
                    yield pytest.param(layout, mode, place, traced, id=f"{layout}-{mode.id}-{place.part}-{traced}")


CASES = tuple(cases())


def package_of(layout, mode, place, traced):
    description = make(layout)
    scope = None
    if traced:
        part = place.part or description.parts_of("pump")[0].id
        scope = trace(description, None, *(SheddingEvent(part=part, kind=kind) for kind in mode.sheds.events))
    return plan(description, mode.id, scope, today=TODAY, place=place.part)


def test_every_mode_has_a_repair_and_no_repair_is_for_an_unknown_mode():
    assert set(REPAIRS) == set(MODES)


@pytest.mark.parametrize(("layout", "mode", "place", "traced"), CASES)
def test_a_plan_keeps_its_promises(layout, mode, place, traced):
    package = package_of(layout, mode, place, traced)
    ids = [task.id for task in package.tasks]
    assert len(set(ids)) == len(ids)
    done = set()
    for task in package.tasks:
        assert set(task.after) <= done, f"{task.id} stands before what comes first"
        done.add(task.id)
        assert task.title
        assert task.steps
        assert task.minutes > 0
        assert set(task.cautions) <= CAUTION_TEXTS
    assert ids[0] == "safe"
    for gate in package.gates:
        assert gate.needs
        assert gate.before
        assert set(gate.before) <= set(ids)
        assert "reason" in gate.override_by
    closed = {suspect for task in package.tasks for suspect in task.closes}
    assert closed == set(package.suspects), "every suspect has a task that can close it"
    assert package.cause_name
    assert len(package.id) == 64


@pytest.mark.parametrize(("layout", "mode", "place", "traced"), CASES)
def test_cautions_stand_at_their_steps(layout, mode, place, traced):
    package = package_of(layout, mode, place, traced)
    wanted = {
        "pump-off": ("propeller", "dropped hardware"),
        "pump-on": ("propeller", "drawing in"),
        "pump-look": ("vise",),
        "ground-run": ("engine run", "over the band"),
        "regulator-set": ("regulator lock",),
        "elbows": ("fitting turns", "thread sealant"),
        "hoses": ("cutting hose",),
        "filters": ("carbon dust",),
        "record": ("draft",),
    }
    for task in package.tasks:
        for caution in wanted.get(task.id, ()):
            assert CAUTIONS[caution].text in task.cautions, task.id
        if CAUTIONS["engine run"].text in task.cautions:
            assert CAUTIONS["over the band"].text in task.cautions, "an engine run that does not say when to stop"


@pytest.mark.parametrize(("layout", "mode", "place", "traced"), CASES)
def test_the_regulator_screw_stays_locked_behind_filter_leaks_and_gauge(layout, mode, place, traced):
    package = package_of(layout, mode, place, traced)
    if "regulator-set" not in {task.id for task in package.tasks}:
        return
    lock = next(gate for gate in package.gates if "regulator-set" in gate.before)
    assert {"task:filters", "task:leak-proof", "task:gauge-compare"} <= set(lock.needs)


@pytest.mark.parametrize(("layout", "mode", "place", "traced"), CASES)
def test_no_torque_is_invented(layout, mode, place, traced):
    for line in package_of(layout, mode, place, traced).torques:
        assert "own sheet" in line.wanted
        assert line.setting == ""


@pytest.mark.parametrize("mode", ["instrument_mounting", "port_plugged", "instrument_lines_exchanged"])
def test_what_is_put_right_in_the_panel_sends_no_instrument_to_a_shop(mode):
    description = make("suction-one-pump")
    ids = {task.id for task in plan(description, mode, None, today=TODAY, place="attitude").tasks}
    assert ids & {"mount", "ports"}
    assert not [task for task in ids if task.endswith(("-out", "-documents", "-on"))]
    assert {"ground-run", "close-up", "record"} <= ids


@pytest.mark.parametrize("mode", ["port_plugged", "instrument_lines_exchanged"])
def test_a_spare_port_keeps_its_plug(mode):
    """Many gyros have a second pair of ports: only those in use are freed and held to be open."""
    ports = next(
        task
        for task in plan(make("suction-one-pump"), mode, None, today=TODAY, place="heading").tasks
        if task.id == "ports"
    )
    assert "in use open" in ports.hold_point and "spare port plugged" in ports.hold_point
    said = " ".join(ports.steps)
    assert "which spare" in said
    asked = "A spare port keeps its plug" if mode == "port_plugged" else "where only the trace of the hoses said so"
    assert asked in said
    look = CHECKS["ports_look"]
    assert "spare port is rightly plugged" in look.method
    assert any("Leak check" in caution for caution in look.cautions)
    assert "its hose belongs on" in next(one.words for one in look.outcomes if one.id == "plugged")


@pytest.mark.parametrize("mode", ["indicator_bearing", "indicator_contaminated", "instrument_case_leak"])
def test_what_a_shop_puts_right_goes_there(mode):
    tasks = plan(make("suction-one-pump"), mode, None, today=TODAY, place="attitude").tasks
    assert {"attitude-out", "attitude-documents", "attitude-on"} <= {task.id for task in tasks}


def test_an_instrument_that_debris_reached_goes_to_a_shop_only_for_that():
    """Askew in the panel as well: it is on the list, and goes where its port is dirty."""
    description = make("pressure-one-pump")
    scope = trace(description, None, SheddingEvent(part="pump", kind="running"))
    assert "attitude" in {suspect.id for suspect in scope.suspects}
    tasks = plan(description, "instrument_mounting", scope, today=TODAY, place="attitude").tasks
    assert next(task for task in tasks if task.id == "attitude-out").only_if


def seen_and_likely(seen: float, likely: float) -> Causes:
    """An answer that is undecided between a loose mount that was seen and a worn bearing."""
    chances = {"instrument_mounting": seen, "indicator_bearing": likely}
    found = tuple(
        Cause(
            id=mode,
            name=MODES[mode].name,
            part="attitude",
            probability=chance,
            present=chance,
            hypotheses=(
                HypothesisShare(id=mode, share=chance, modes=(mode,), effective_rows=1000.0, log_evidence_se=0.0),
            ),
            evidence=(),
            effective_rows=1000.0,
            log_evidence_se=0.0,
            count_is_rough=False,
            confirmed=mode == "instrument_mounting",
        )
        for mode, chance in chances.items()
    )
    return Causes(
        causes=tuple(sorted(found, key=lambda cause: -cause.probability)),
        undecided=max(chances.values()) < 0.8,
        group=tuple(mode for mode, chance in chances.items() if chance > 0.1),
        next_checks=(),
        remarks=(),
        refined=True,
        engine="kernel",
        rows_per_hypothesis=512,
        rests_on_priors=False,
        sources=(),
        description_digest="",
        seed=0,
    )


@pytest.mark.parametrize(
    ("seen", "likely", "planned"),
    [
        (0.70, 0.20, "instrument_mounting"),
        (0.30, 0.60, "instrument_mounting"),
        (0.15, 0.70, "none_of_these"),
        (0.05, 0.90, "indicator_bearing"),
    ],
)
def test_what_was_seen_is_planned_for_unless_another_cause_leads_clearly(seen, likely, planned):
    """A loose screw is seen on one sound aircraft in sixteen: it confirms a mount, and explains nothing by itself."""
    assert plan(make("suction-one-pump"), seen_and_likely(seen, likely), None, today=TODAY).cause == planned


def test_a_plan_for_no_fault_says_so_and_is_written_down():
    tasks = {task.id: task for task in plan(make("suction-one-pump"), "nothing_wrong", None, today=TODAY).tasks}
    assert "record" in tasks and set(tasks["record"].after) >= {"widen"}
    assert "No cause stands out" not in tasks["widen"].why and "no proof that there is none" in tasks["widen"].why
    unknown = {task.id: task for task in plan(make("suction-one-pump"), "none_of_these", None, today=TODAY).tasks}
    assert "No cause stands out" in unknown["widen"].why


def test_same_input_same_package_and_another_date_another():
    first = package_of("suction-one-pump", MODES["worn_vanes"], applicable(make("suction-one-pump"))[0][1][0], False)
    again = package_of("suction-one-pump", MODES["worn_vanes"], applicable(make("suction-one-pump"))[0][1][0], False)
    assert first == again
    later = plan(make("suction-one-pump"), "worn_vanes", None, today=TODAY + datetime.timedelta(days=1), place="pump")
    assert later.id != first.id


def test_unknown_caution_is_an_error():
    with pytest.raises(KeyError):
        texts("no such caution")
