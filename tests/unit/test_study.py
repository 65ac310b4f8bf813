"""A study in the core: chunks that depend on nothing but their number, counts that add up, bounded memory."""

from __future__ import annotations

import tracemalloc
from importlib import resources

import msgspec
import numpy as np
import pytest

from vanewise import pipeline
from vanewise.aircraft.layouts import make
from vanewise.errors import InputError
from vanewise.network import OperatingPoint, branch_flows, cases, observe, pack, solve_batch
from vanewise.network.band import band
from vanewise.study import Axis, Draw, Part, Progress, Study, Varied, added_up, prepare, run, work_out
from vanewise.study.drawing import drawn, uniforms
from vanewise.study.reading import read_study
from vanewise.study.running import flow_branches
from vanewise.study.tally import counted
from vanewise.study.types import WIDTHS, canonical, digest, from_canonical

PA_PER_INHG = 3386.389
"""NIST SP 811, appendix B.8: conventional inch of mercury."""
M3S_PER_CFM = 0.3048**3 / 60.0
D1 = pipeline.describe(
    resources.files("vanewise.demo").joinpath("d1_club_aircraft.toml").read_text(encoding="utf-8"), "d1"
)
SLIP = Varied(key="pump.slip", draw=Draw(kind="log uniform", low=1.0, high=8.0))
RPMS = Axis(key="rpm", values=(1000.0, 1800.0, 2400.0))


def small(**changes: object) -> Study:
    given = {"title": "small", "description": D1, "seed": 5, "draws": 40, "axes": (RPMS,), "varied": (SLIP,)}
    return Study(**{"by": ("rpm",), **given, **changes})  # type: ignore[arg-type]


def same(one: Part, other: Part) -> bool:
    first, second = one.tally.outcomes, other.tally.outcomes
    return first.keys() == second.keys() and all(
        np.array_equal(getattr(first[name], field), getattr(second[name], field))
        for name in first
        for field in type(first[name]).__slots__
    )


# ---- drawing ---------------------------------------------------------------------------------------------------------


def test_a_stretch_is_drawn_the_same_wherever_it_begins() -> None:
    whole = uniforms(7, "pump.slip", 0, 1000)
    pieces = [uniforms(7, "pump.slip", first, 7) for first in range(0, 994, 7)]
    assert np.array_equal(np.concatenate(pieces), whole[:994])
    assert whole.min() > 0.0 and whole.max() < 1.0


def test_keys_and_seeds_draw_apart() -> None:
    one = uniforms(7, "pump.slip", 0, 4000)
    for other in (uniforms(8, "pump.slip", 0, 4000), uniforms(7, "filter.loading", 0, 4000)):
        assert abs(np.corrcoef(one, other)[0, 1]) < 4.0 / np.sqrt(4000)


@pytest.mark.parametrize(
    ("draw", "median"),
    [
        (Draw(kind="uniform", low=2.0, high=6.0), 4.0),
        (Draw(kind="log uniform", low=1.0, high=16.0), 4.0),
        (Draw(kind="normal", middle=3.0, spread=0.5, low=1.0, high=5.0), 3.0),
        (Draw(kind="lognormal", middle=3.0, spread=0.5, low=0.41, high=22.0), 3.0),
    ],
    ids=lambda item: getattr(item, "kind", ""),
)
def test_a_draw_has_its_median_and_keeps_its_ends(draw: Draw, median: float) -> None:
    numbers = drawn(draw, 3, "x", 0, 20_000)
    assert np.mean(numbers < median) == pytest.approx(0.5, abs=4 * 0.5 / np.sqrt(20_000))
    assert numbers.min() >= draw.ends[0] and numbers.max() <= draw.ends[1]


def test_one_of_some_values_by_their_weights_and_only_so_often() -> None:
    draw = Draw(kind="one of", values=(1.0, 5.0), weights=(1.0, 3.0), chance=0.4, otherwise=9.0)
    numbers = drawn(draw, 3, "x", 0, 20_000)
    assert set(numbers) == {1.0, 5.0, 9.0}
    for value, share in ((9.0, 0.6), (5.0, 0.3), (1.0, 0.1)):
        assert np.mean(numbers == value) == pytest.approx(share, abs=0.015)


# ---- counting --------------------------------------------------------------------------------------------------------


def test_quantiles_of_bins_are_those_of_the_numbers_to_a_bin() -> None:
    rng = np.random.default_rng(1)
    values, group = rng.normal(0.0, 3.0, 5000), rng.integers(0, 2, 5000)
    outcome = counted(values, group, 2, 0.01, (-1.0, 2.0))
    for at in (0, 1):
        here = values[group == at]
        for share in (0.01, 0.1, 0.5, 0.9):
            exact = np.quantile(here, share, method="inverted_cdf")
            assert outcome.quantile(at, share, 0.01) == pytest.approx(exact, abs=0.01)
        assert (outcome.below[at], outcome.above[at]) == ((here < -1.0).sum(), (here > 2.0).sum())
        assert (outcome.least[at], outcome.most[at]) == (here.min(), here.max())


def test_tallies_add_up() -> None:
    rng = np.random.default_rng(2)
    values, group = rng.normal(0.0, 3.0, 3000), rng.integers(0, 3, 3000)
    whole = counted(values, group, 3, 0.1)
    parts = [counted(values[i::4], group[i::4], 3, 0.1) for i in range(4)]
    both = parts[0].plus(parts[1]).plus(parts[2]).plus(parts[3])
    assert np.array_equal(whole.codes, both.codes) and np.array_equal(whole.hits, both.hits)
    assert both.total == pytest.approx(whole.total)


# ---- running ---------------------------------------------------------------------------------------------------------


def test_what_comes_out_is_what_the_network_gives_one_by_one() -> None:
    """The same systems put together by hand, solved as any batch is."""
    asked = small(draws=6, told=("gauge", "lamp", "drops", "pump load", "flows"), rows=True)
    kept: list[Part] = []
    run(asked, engine="numpy", sink=kept.append)
    rows = kept[0].rows
    assert rows is not None and len(kept) == 1
    packed = pack(D1)
    slips = drawn(SLIP.draw, asked.seed, SLIP.key, 0, 6)
    field = D1.field.elevation.number
    points = [OperatingPoint(engine_rpm=rpm, altitude_m=field) for _ in slips for rpm in RPMS.values]
    batch = cases(points, [{"pump.slip": float(slip)} for slip in slips for _ in RPMS.values])
    solution = solve_batch(packed, batch, "numpy")
    seen = observe(packed, batch, solution)
    flows = branch_flows(packed, batch, solution) * 287.05287 * batch.temperature_k[:, None]
    flows /= batch.ambient_pa[:, None]
    assert rows["gauge"] == pytest.approx(seen.gauge_pa, abs=0.1)
    assert rows["drop heading"] == pytest.approx(seen.drop_pa["heading"], abs=0.1)
    assert rows["load pump"] == pytest.approx(seen.pump_load_pa["pump"], abs=0.1)
    assert rows["flow attitude"] == pytest.approx(flows[:, dict(flow_branches(packed))["attitude"]], rel=1e-5)
    assert D1.lamp is not None and seen.lamp_pa is not None
    assert np.array_equal(rows["lamp on"], seen.lamp_pa < D1.lamp.trip.number)


def test_a_chunk_depends_on_its_number_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("vanewise.study.types.CHUNK", 24)
    ready = prepare(small())
    assert ready.study.chunks == 5
    onwards = [work_out(ready, number) for number in range(5)]
    alone = work_out(prepare(from_canonical(canonical(ready.study))), 3, threads=1)
    assert same(onwards[3], alone)
    assert not same(onwards[3], onwards[2])
    shuffled = {number: work_out(ready, number, threads=2) for number in (4, 0, 3, 1, 2)}
    assert all(same(onwards[number], part) for number, part in shuffled.items())


def test_the_size_of_a_chunk_changes_no_count(monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where a chunk's end falls within a system."""
    asked = small(axes=(Axis(key="filter.loading", values=(1.0, 4.0, 9.0, 20.0)), RPMS), by=("filter.loading", "rpm"))
    whole = run(asked, engine="numpy")
    monkeypatch.setattr("vanewise.study.types.CHUNK", 20)
    cut = run(asked, engine="numpy")
    assert asked.chunk_size == 18 and asked.chunks == 27
    for name, outcome in whole.outcomes.items():
        assert np.array_equal(outcome.codes, cut.outcomes[name].codes)
        assert np.array_equal(outcome.hits, cut.outcomes[name].hits)
    assert np.array_equal(whole.scenarios, np.full(12, 40))


def test_progress_is_told_and_reaches_the_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("vanewise.study.types.CHUNK", 30)
    told: list[Progress] = []
    run(small(), engine="numpy", progress=told.append)
    assert [item.scenarios for item in told] == [30, 60, 90, 120]
    assert {item.of for item in told} == {120}


def test_unknowns_are_drawn_as_the_band_draws_them() -> None:
    """Two ways to the same distribution: independent draws here, a Latin hypercube of another seed there."""
    asked = small(varied=(), unknowns=True, draws=800, told=("gauge",))
    found = run(asked).outcomes["gauge"]
    other = band(D1, RPMS.values, seed=99, rows=800)
    for group, point in enumerate(other.points):
        spread = point.high_pa - point.low_pa
        middle = found.quantile(group, 0.5, WIDTHS["inHg"])
        assert middle == pytest.approx(point.middle_pa, abs=0.08 * spread)
        assert found.quantile(group, 0.9, WIDTHS["inHg"]) == pytest.approx(point.high_pa, abs=0.1 * spread)


def test_a_spring_is_set_on_each_system_or_left_alone() -> None:
    bore = Varied(key="firewall_hose.bore", draw=Draw(kind="uniform", low=0.008, high=0.016))
    asked = small(varied=(bore,), axes=(Axis(key="rpm", values=(2400.0,)),), told=("gauge",), rows=True, draws=12)

    def spread(study: Study) -> float:
        kept: list[Part] = []
        run(study, engine="numpy", sink=kept.append)
        assert kept[0].rows is not None
        return float(np.ptp(kept[0].rows["gauge"]))

    assert spread(asked) < 2.0 * 0.5 + 0.1
    assert spread(msgspec.structs.replace(asked, set_anew=False)) > 30.0


def test_a_scenario_that_is_not_solved_is_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    from vanewise.study import running

    real = running.solve_batch

    def failing(*given: object, **named: object) -> object:
        solution = real(*given, **named)  # type: ignore[arg-type]
        solution.status[1], solution.pressure_pa[1] = 3, np.nan
        return solution

    monkeypatch.setattr(running, "solve_batch", failing)
    tally = run(small(draws=4), engine="numpy")
    assert tally.unsolved.tolist() == [0, 1, 0] and tally.scenarios.tolist() == [4, 4, 4]
    assert tally.outcomes["gauge"].bins(1)[1].sum() == 3


def test_memory_is_that_of_one_chunk(monkeypatch: pytest.MonkeyPatch) -> None:
    """Five times the scenarios take no more: the most that is held at once, as Python counts it."""
    monkeypatch.setattr("vanewise.study.types.CHUNK", 3000)

    def most(draws: int) -> int:
        asked = small(draws=draws, unknowns=True, rows=True)
        tracemalloc.start()
        run(asked)
        _, peak = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        return peak

    few, many = most(3000), most(15_000)
    assert many < 1.25 * few


def test_a_study_is_the_same_after_it_was_written_down() -> None:
    asked = small(unknowns=True)
    assert from_canonical(canonical(asked)) == asked
    assert digest(asked) == digest(small(unknowns=True)) != digest(small(unknowns=True, seed=6))


def test_parts_in_order_add_up_to_the_run() -> None:
    ready = prepare(small())
    tally = added_up(ready.study, [work_out(ready, number) for number in range(ready.study.chunks)])
    assert np.array_equal(tally.outcomes["gauge"].hits, run(ready.study).outcomes["gauge"].hits)


# ---- reading ---------------------------------------------------------------------------------------------------------

HEAD = 'aircraft = "d1.toml"\n'


def problems(text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        read_study(HEAD + text, "study.toml", D1)
    for problem in caught.value.problems:
        assert problem.where.startswith("study.toml: ") and problem.expected and problem.found and problem.next_step
    return [problem.path.removeprefix("study.toml: ") for problem in caught.value.problems]


VARY = '[[vary]]\nwhat = "pump.slip"\n'


@pytest.mark.parametrize(
    ("text", "where"),
    [
        ("sed = 1", ["sed"]),
        ("seed = -1", ["seed"]),
        ("draws = 0", ["draws"]),
        ("draws = 10", ["draws"]),
        ('draws = 2_000_000_000\n[[vary]]\nwhat = "pump.slip"\ndraw = "uniform"\nlow = 1\nhigh = 2', ["draws"]),
        ('tell = ["suction"]', ["tell"]),
        ('by = ["rpm"]', ["by"]),
        ('needed = "4.5"', ["needed"]),
        ('regulator = "by hand"', ["regulator"]),
        ('[at]\nrpm = ["9000 rpm"]', ["at.rpm"]),
        ('[at]\nrpm = ["900 rpm", "900 rpm"]', ["at.rpm"]),
        ("[at]\nrpm = []", ["at.rpm"]),
        ('[at]\nheight = "400 ft"', ["at.height"]),
        ('[at]\naltitude = ["36000 ft"]\nwarmer = -40', ["at"]),
        ('[[vary]]\nwhat = "pump.slipp"\nevery = [1]', ["vary[0].what"]),
        ("[[vary]]\nevery = [1]", ["vary[0].what"]),
        (f"{VARY}every = [1]\n{VARY}every = [2]", ["vary[1].what"]),
        (f"{VARY}", ["vary[0].draw"]),
        (f'{VARY}draw = "uniform"\nlow = 3\nhigh = 2', ["vary[0].low"]),
        (f'{VARY}draw = "uniform"\nlow = 3', ["vary[0].high"]),
        (f'{VARY}draw = "log uniform"\nlow = 0\nhigh = 2', ["vary[0].low"]),
        (f'{VARY}draw = "normal"\nmiddle = 2', ["vary[0].spread"]),
        (f'{VARY}draw = "normal"\nmiddle = 2\nspread = 0', ["vary[0].spread"]),
        (f'{VARY}draw = "one of"\nvalues = [1, 2]\nweights = [1]', ["vary[0].weights"]),
        (f'{VARY}draw = "one of"\nvalues = 3', ["vary[0].values"]),
        (f'{VARY}draw = "uniform"\nlow = 1\nhigh = 2\nchance = 2', ["vary[0].chance"]),
        (f'{VARY}draw = "uniform"\nlow = 1\nhigh = 2\nmiddle = 2', ["vary[0].middle"]),
        (f"{VARY}every = [1]\nlow = 2", ["vary[0].low"]),
        (f"{VARY}every = [1000000]", ["vary[0].every"]),
        ('[[vary]]\nwhat = "firewall_hose.bore"\nevery = [5]', ["vary[0].every"]),
        ("seed = 1\nseed = 2", ["study.toml"]),
        ('draws = "many"\ntell = "gauge"\nodd = 1', ["draws", "tell", "odd"]),
    ],
)
def test_every_mistake_is_told_in_four_parts(text: str, where: list[str]) -> None:
    if where == ["study.toml"]:
        with pytest.raises(InputError) as caught:
            read_study(HEAD + text, "study.toml", D1)
        assert caught.value.problems[0].where == "study.toml"
    else:
        assert sorted(problems(text)) == sorted(where)


def test_a_file_says_what_the_study_is() -> None:
    asked = read_study(
        HEAD
        + 'draws = 7\nseed = 3\ntell = ["flows"]\nneeded = "4.5 inHg"\n[at]\nrpm = [1000, "2400 rpm"]\n'
        + 'altitude = { draw = "normal", middle = "3000 ft", spread = "500 ft", low = "0 ft" }\n'
        + '[[vary]]\nwhat = "firewall_hose.bore"\nevery = ["1/2 in", "5/8 in"]\n',
        "study.toml",
        D1,
    )
    assert asked.axes == (
        Axis(key="firewall_hose.bore", values=(0.0127, 0.015875)),
        Axis(key="rpm", values=(1000.0, 2400.0)),
    )
    (height,) = asked.varied
    assert height.key == "altitude"
    assert height.draw.ends == pytest.approx((1000.0 * 0.3048, 5000.0 * 0.3048))
    assert (asked.count, asked.groups, asked.by) == (28, 4, ("firewall_hose.bore", "rpm"))
    assert asked.needed_pa == pytest.approx(4.5 * PA_PER_INHG)


@pytest.mark.parametrize("layout", ["pressure-one-pump", "suction-twin-pumps"])
def test_it_runs_on_other_layouts(layout: str) -> None:
    description = make(layout)
    pump = description.parts_of("pump")[0].id
    asked = small(description=description, varied=(Varied(key=f"{pump}.slip", draw=SLIP.draw),), draws=5)
    tally = run(asked, engine="numpy")
    assert tally.unsolved.sum() == 0 and tally.outcomes["gauge"].most.max() > 3.0 * PA_PER_INHG
