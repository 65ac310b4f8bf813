"""The regulator's spring: its regression against the search for it, and what a valve that is open all the way reads."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from vanewise.aircraft import layouts
from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis import nuisance, sampling, springs
from vanewise.diagnosis.infer import Options, State, infer
from vanewise.diagnosis.posterior import log_mean
from vanewise.diagnosis.proposals import Proposal, fit, told_by
from vanewise.diagnosis.rounds import (
    FIRST_ROWS,
    NO_AIMS,
    SHORT,
    Aims,
    FamilyStart,
    Refined,
    aims_beside,
    refine_family,
    second_chance,
)
from vanewise.diagnosis.set_by_gauge import tie_of
from vanewise.diagnosis.solving import point_at, solve_rows, tapped, taps
from vanewise.diagnosis.springs import WITHIN_PA
from vanewise.diagnosis.types import Evidence, Reading, Remark
from vanewise.network import OperatingPoint, pack, solve_batch
from vanewise.network.observe import observe
from vanewise.network.packed import PackedNetwork
from vanewise.network.solve import best_engine, cases
from vanewise.quantities import PA_PER_INHG

NAMES = ("suction-one-pump", "suction-twin-pumps", "pressure-one-pump")
NOTHING_CHANGED: frozenset[str] = frozenset()


@cache
def packed_of(name: str) -> PackedNetwork:
    return pack(layouts.make(name))


def drawn(name: str, z: np.ndarray, springs=None) -> nuisance.Drawn:
    packed = packed_of(name)
    return nuisance.draw(packed, z, NOTHING_CHANGED, best_engine(), springs, tie_of(packed.description))


def spring_of(found: nuisance.Drawn) -> np.ndarray:
    return next(values for key, values in found.before.items() if key.endswith(".preload"))


@pytest.mark.parametrize("name", NAMES)
def test_the_regression_finds_the_spring_that_a_search_finds(name: str):
    """On rows it has not seen. Of the bank's nineteen in twenty are within a gauge's finest step; here nine in ten.

    Where of the bank's fewer are, as now and then with twin pumps, a search of two looks begins there.
    """
    bank = drawn(name, sampling.normals(sampling.uniforms(1024, nuisance.COUNT, 3)))
    assert bank.springs is not None
    fresh = sampling.normals(sampling.uniforms(256, nuisance.COUNT, 4))
    searched, found = spring_of(drawn(name, fresh)), spring_of(drawn(name, fresh, bank.springs))
    assert np.quantile(np.abs(found - searched), 0.9) < WITHIN_PA


def test_the_regression_is_worked_out_as_its_table_of_terms_says():
    generator = np.random.default_rng(1)
    x, ratio = generator.normal(size=(50, 6)), generator.lognormal(0.0, 0.3, 50)
    table = springs._design(x, ratio)
    terms = generator.normal(size=table.shape[1])
    assert springs._regression(terms, x, ratio) == pytest.approx(table @ terms, abs=1e-11)


def test_where_the_regression_is_not_near_a_short_search_begins_there():
    name = "suction-twin-pumps"
    bank = drawn(name, sampling.normals(sampling.uniforms(1024, nuisance.COUNT, 3)))
    assert bank.springs is not None
    fresh = sampling.normals(sampling.uniforms(256, nuisance.COUNT, 4))
    searched = spring_of(drawn(name, fresh))
    off = {
        near: np.abs(spring_of(drawn(name, fresh, replace(bank.springs, near=near))) - searched)
        for near in (True, False)
    }
    assert np.median(off[False]) < 0.1 * np.median(off[True])
    assert np.quantile(off[False], 0.95) < 0.5 * np.quantile(off[True], 0.95)


@pytest.mark.parametrize("name", NAMES)
def test_a_spring_only_pushes(name: str):
    z = sampling.normals(sampling.uniforms(256, nuisance.COUNT, 5)) * 1.5
    found = drawn(name, z)
    assert spring_of(found).min() >= 0.0
    if found.springs is not None:
        assert spring_of(drawn(name, z, found.springs)).min() >= 0.0


def test_pumps_too_strong_for_the_valve_read_over_the_setting_with_the_screw_all_the_way_out():
    """Twin pumps of three spreads more: the valve is open all the way and passes no more, so the gauge reads high."""
    name = "suction-twin-pumps"
    z = np.zeros((2, nuisance.COUNT))
    z[1, nuisance.DIMENSIONS.index("pump output")] = 3.0
    found = drawn(name, z)
    usual, strong = spring_of(found)
    assert usual > 3.0 * PA_PER_INHG
    assert strong == 0.0
    packed = packed_of(name)
    regulator = packed.description.parts_of("regulator")[0]
    point = point_at(regulator.values["set_at_rpm"].number, packed.description.field.elevation.number, None)
    pressure = solve_rows(packed, found.before, [point], best_engine())[:, 0, :]
    read = tapped(pressure, taps(packed, None, None)) / PA_PER_INHG
    setting = regulator.values["setting"].number / PA_PER_INHG
    assert read[0] == pytest.approx(setting, abs=0.05)
    assert read[1] > setting + 1.0


def blocked_outlet() -> tuple[AircraftDescription, Evidence]:
    """Twin pumps a fifth stronger, a seat 30 % smaller than described, at their setting: no plateau at all.

    Solved apart from the diagnosis: sound at first, then with the outlet of the second pump blocked.
    """
    packed = packed_of("suction-twin-pumps")
    true: dict[str, float] = {}
    for part in packed.description.parts_of("pump"):
        true[f"{part.id}.displacement"] = 1.2 * part.values["displacement"].number
        true[f"{part.id}.slip_area"] = 0.7 * part.values["slip_area"].number
    regulator = packed.description.parts_of("regulator")[0]
    true |= {
        f"{regulator.id}.flow_area": 0.7 * regulator.values["flow_area"].number,
        f"{regulator.id}.droop": 0.7 * regulator.values["droop"].number,
        f"{regulator.id}.set_shift_inhg": -2.0,
    }
    blocked = f"{packed.description.parts_of('pump')[1].id}"
    hurt = true | {f"{blocked}.outlet_blocked": 0.95}
    speeds = (700.0, 1000.0, 1200.0, 1500.0, 1800.0, 2100.0, 2400.0)
    readings = []
    for what, states in (("earlier", true), ("found", hurt)):
        batch = cases([OperatingPoint(engine_rpm=rpm) for rpm in speeds], states)
        gauge = observe(packed, batch, solve_batch(packed, batch, "numpy")).gauge_pa / PA_PER_INHG
        readings += [
            Reading(
                id=f"{what} {rpm:.0f}",
                value_pa=round(float(value), 1) * PA_PER_INHG,
                engine_rpm=rpm,
                sound=what == "earlier",
            )
            for rpm, value in zip(speeds, gauge, strict=True)
        ]
    remarks = (Remark(id="nest", symptom="nest_in_outlet", present=True, who="mechanic"),)
    return packed.description, Evidence(readings=tuple(readings), remarks=remarks)


QUICK = Options(weights=False, next_checks=False)


@pytest.mark.parametrize("seeds", [3, pytest.param(8, marks=pytest.mark.long)])
def test_a_blocked_outlet_is_found_behind_a_valve_that_is_open_all_the_way(seeds: int):
    """With band and area as one number the evidence lay eight nats off any draw."""
    description, evidence = blocked_outlet()
    shares = []
    for seed in range(seeds):
        found = infer(description, evidence, seed=seed, options=QUICK).posterior
        numbers = [
            n for n, h in enumerate(found.hypotheses) if h.id.startswith("pump_outlet_blocked@") and ">" not in h.id
        ]
        shares.append(found.probability[numbers].sum())
        assert found.log_evidence[numbers].min() > -5.0
    # Counted roughly, and said so: of single draws one in six gives it less.
    assert np.median(shares) > 0.3


def test_a_pump_left_far_behind_its_like_is_drawn_from_where_that_one_ended():
    """Left after its first rounds, with rows in a wrong region; a round from nowhere near leaves it as it was."""

    def rounds_of(state: State, number: int, aims: Aims) -> tuple[FamilyStart, Refined]:
        scorer, rows = state.scorer, state.posterior.rows
        subject = state.bank.hypotheses[number]
        start, _ = fit(scorer, subject, rows[number], told_by(state.bank, subject))
        family = FamilyStart(number, (number,), start)
        return family, refine_family(state.bank, state.prepared, scorer, family, aims, {number: rows[number]})

    def evidence_of(found: Refined, number: int) -> float:
        return log_mean(found.rows[number].log_weights())[0]

    # Which seeds leave a pump behind changes with every mode that is added; some two in five do, and half of those
    # are brought up, by seven to fifteen nats. Of the others both places agree with one region each.
    left_behind, brought_up = 0, []
    for seed in range(30):
        state = infer(*blocked_outlet(), seed=seed, refine=False, options=replace(QUICK, rows=256))
        bank, prepared, scorer = state.bank, state.prepared, state.scorer
        ids = [subject.id for subject in bank.hypotheses]
        left, right = (ids.index(f"pump_outlet_blocked@{side}_pump") for side in ("left", "right"))
        _, alike = rounds_of(state, left, NO_AIMS)
        family, behind = rounds_of(state, right, Aims(np.inf, np.inf))
        worth, before = evidence_of(alike, left), evidence_of(behind, right)
        if before >= worth - SHORT:
            continue
        left_behind += 1
        beside, _ = fit(scorer, bank.hypotheses[left], alike.rows[left], family.proposal.told)
        aims = aims_beside(worth, 0.0)
        again = second_chance(bank, prepared, scorer, family, aims, behind, beside)
        assert evidence_of(again, right) > before - 1.0, "a chance more is no loss"
        if evidence_of(again, right) > worth - SHORT:
            brought_up.append((state, left, right, family, behind, before, beside, aims, again))
    assert left_behind, "else there is nothing to mend"
    assert len(brought_up) >= left_behind / 3
    state, left, right, family, behind, before, beside, aims, again = brought_up[0]
    bank, prepared, scorer = state.bank, state.prepared, state.scorer
    assert len(again.rows[right].log_base) == len(again.rows[right].deviates) == sum(again.mixture.shares)
    nowhere = Proposal(beside.told, np.full(len(beside.told), 2.0), 0.1 * np.eye(len(beside.told)))
    same = second_chance(bank, prepared, scorer, family, aims, behind, nowhere)
    assert evidence_of(same, right) == pytest.approx(before, abs=0.5)
    assert len(same.rows[right].log_base) == len(behind.rows[right].log_base) + FIRST_ROWS[bank.engine]
    assert evidence_of(behind, right) == before
    assert sum(behind.mixture.shares) == len(behind.rows[right].log_base)
