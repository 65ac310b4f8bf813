"""The bench runner's arithmetic, on a clock that the test turns by hand."""

from __future__ import annotations

import pytest

from benches import harness
from benches.harness import Bench, Comparison, measure


class Clock:
    """Time passes only when work says so."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now

    def work(self, seconds: float):
        def act() -> None:
            self.now += seconds

        return act


@pytest.fixture
def clock() -> Clock:
    return Clock()


def a_bench(comparison: Comparison, unit: str = "ms per piece") -> Bench:
    return Bench("a bench", unit, lambda: comparison)


def test_figure_and_ratio_are_per_piece(clock: Clock):
    comparison = Comparison(
        ours=clock.work(0.2),
        ours_per_call=100,
        reference=clock.work(0.5),
        reference_per_call=10,
        reference_name="other",
    )
    found = measure(a_bench(comparison), clock)
    assert found.figure == pytest.approx(2.0)
    assert found.reference_figure == pytest.approx(50.0)
    assert found.ratio == pytest.approx(25.0)
    assert not found.noisy


def test_the_first_call_does_not_count(clock: Clock):
    calls = []

    def ours() -> None:
        clock.now += 0.1 if calls else 30.0
        calls.append(1)

    found = measure(a_bench(Comparison(ours=ours, reference=clock.work(0.1))), clock)
    assert found.figure == pytest.approx(100.0)


def test_a_reference_that_drifts_by_more_than_a_fifth_gives_no_figure(clock: Clock):
    """Ours is called between the two timings of the reference, which slows down for good each time."""
    state = {"slow": 0.1}

    def ours() -> None:
        state["slow"] *= 1.05
        clock.now += 0.1

    def reference() -> None:
        clock.now += state["slow"]

    found = measure(a_bench(Comparison(ours=ours, reference=reference, at_least=1e9)), clock)
    assert found.noisy
    assert (found.figure, found.reference_figure, found.ratio) == (None, None, None)
    assert not found.missed


def test_a_busy_moment_is_measured_again(clock: Clock):
    state = {"calls": 0}

    def reference() -> None:
        state["calls"] += 1
        clock.now += 0.1 if state["calls"] <= 6 else 0.2

    found = measure(a_bench(Comparison(ours=clock.work(0.1), reference=reference)), clock)
    assert not found.noisy
    assert found.reference_figure == pytest.approx(200.0)


@pytest.mark.parametrize(
    ("demand", "missed"),
    [({"at_least": 4.9}, False), ({"at_least": 5.1}, True), ({"at_most": 101.0}, False), ({"at_most": 99.0}, True)],
)
def test_a_demand_that_is_not_met_is_missed(clock: Clock, demand: dict, missed: bool):
    comparison = Comparison(ours=clock.work(0.1), reference=clock.work(0.5), **demand)
    assert measure(a_bench(comparison), clock).missed == missed


def test_a_bench_says_its_unit_of_time():
    with pytest.raises(ValueError, match="unit"):
        harness.bench("nameless", unit="scenarios per second")


def test_two_benches_may_not_share_a_name(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(harness, "BENCHES", {})
    harness.bench("one", unit="ms")(lambda: Comparison(ours=lambda: None))
    with pytest.raises(ValueError, match="two benches"):
        harness.bench("one", unit="ms")(lambda: Comparison(ours=lambda: None))


@pytest.mark.parametrize(("seconds_large", "exponent", "missed"), [(8.0, 1.0, False), (16.0, 1.3333, True)])
def test_growth_with_size_is_an_exponent(clock: Clock, seconds_large: float, exponent: float, missed: bool):
    """Eight times the size: eight times the time is linear, sixteen times is size to the power 4/3."""
    comparison = Comparison(
        ours=clock.work(seconds_large),
        ours_per_call=80,
        reference=clock.work(1.0),
        reference_per_call=10,
        most_exponent=1.05,
    )
    found = measure(a_bench(comparison), clock)
    assert found.exponent == pytest.approx(exponent, abs=1e-3) and found.missed == missed


def test_no_exponent_where_none_is_asked(clock: Clock):
    assert measure(a_bench(Comparison(ours=clock.work(0.1), reference=clock.work(0.1))), clock).exponent is None


def test_a_bench_that_needs_what_is_not_there_is_said_and_passed_over(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    from benches import run

    def prepare() -> Comparison:
        raise harness.NotRunHere("it is made with: python3 dev.py oracles")

    monkeypatch.setattr(run, "BENCHES", {"one": harness.Bench("one", "ms", prepare)})
    monkeypatch.setattr(run.importlib, "import_module", lambda name: None)
    assert run.main(["one"]) == 0
    assert capsys.readouterr().out == "one: not run here: it is made with: python3 dev.py oracles\n"
