"""The shortest check of all: what the panel gauge shows at run-up, asked only where nobody has read it."""

from __future__ import annotations

from pathlib import Path
from types import MappingProxyType

import msgspec
import pytest

from vanewise import demo, pipeline
from vanewise.aircraft import layouts
from vanewise.diagnosis import expected, infer, next_check
from vanewise.diagnosis.checks import CHECKS
from vanewise.diagnosis.evidence import prepare
from vanewise.diagnosis.expected import Candidate
from vanewise.diagnosis.infer import Options
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.solving import point_at
from vanewise.diagnosis.types import Causes
from vanewise.diagnosis.vocabulary import check_named

DEMO = Path(demo.__file__).parent
SUCTION = layouts.make("suction-one-pump")
RUN_UP = ("gauge_at_run_up", "")
LEANS = '[[remarks]]\nid="leans"\nsymptom="ai_leans"\n'
BELOW = "[[sweeps]]\nrpm = [700, 900, 1000, 1200, 1400]\nreading = [0.8, 1.3, 1.6, 2.3, 3.0]\n"


def one(reading: str = "4.9 inHg", rpm: str = "1800 rpm", more: str = "") -> str:
    return f'[[readings]]\nreading="{reading}"\nrpm="{rpm}"\n{more}\n'


def done(text: str, of: object = SUCTION) -> bool:
    return RUN_UP in prepare(of, read_evidence(text, "e.toml")).done  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "as_done"),
    [
        (LEANS, False),
        (one(rpm="1500 rpm"), True),
        (one(rpm="2400 rpm", more='altitude="6000 ft"'), True),
        (one(rpm="1499 rpm"), False),
        (BELOW, True),
        (one(more="sound=true"), False),
        (one(more="under={'regulator.covered'=1}"), False),
        (one(more="instrument='test gauge'\nhigh='cabin'\nlow='pump.inlet'"), False),
    ],
    ids=["words", "fast", "cruise", "slow", "sweep", "baseline", "covered", "test gauge"],
)
def test_it_is_done_once_todays_gauge_was_read_fast_enough(text: str, as_done: bool):
    assert done(text) == as_done


def test_an_engine_run_up_slower_than_that_is_read_at_its_own_speed():
    value = msgspec.structs.replace(SUCTION.engine.run_up_rpm, number=1300.0)
    slow = msgspec.structs.replace(SUCTION, engine=msgspec.structs.replace(SUCTION.engine, run_up_rpm=value))
    assert done(one(rpm="1300 rpm"), slow)
    assert not done(one(rpm="1200 rpm"), slow)


def test_it_is_charged_less_than_a_sweep_and_more_than_a_look():
    check = CHECKS["gauge_at_run_up"]
    assert check_named("C25") is check
    assert next_check.minutes_of(Candidate(check)) == pytest.approx(4.0 + 8.0 + next_check.ENGINE_RISK_MIN)


def test_its_reading_is_foreseen_at_run_up_speed_on_the_ground():
    check = Candidate(CHECKS["gauge_at_run_up"])
    (point,) = expected._points(check, SUCTION, 300.0, None)
    assert point == point_at(SUCTION.engine.run_up_rpm.number, 300.0, None)


def answered(text: str, of: object = SUCTION) -> Causes:
    options = Options(rows=256, pairs=False)
    evidence = read_evidence(text, "e.toml")
    return infer.diagnose(of, evidence, seed=0, refine=False, options=options)  # type: ignore[arg-type]


@pytest.fixture
def without(monkeypatch: pytest.MonkeyPatch) -> None:
    rest = {name: check for name, check in CHECKS.items() if name != RUN_UP[0]}
    monkeypatch.setattr(next_check, "CHECKS", MappingProxyType(rest))


def chances(answer: Causes) -> dict[str, float]:
    return {cause.id: cause.probability for cause in answer.causes}


def test_where_only_words_were_told_it_is_offered():
    assert "gauge_at_run_up" in {check.id for check in answered(LEANS).next_checks}


def test_it_changes_no_probability_where_it_is_offered(request: pytest.FixtureRequest):
    offered = answered(LEANS)
    request.getfixturevalue("without")
    assert chances(answered(LEANS)) == chances(offered)


@pytest.mark.parametrize("told", ["demo", "cruise"])
def test_nothing_changes_where_the_gauge_was_read(told: str, request: pytest.FixtureRequest):
    """Probabilities and proposals of a demonstration with a sweep, and of a reading in cruise, with and without it."""
    aircraft = pipeline.describe((DEMO / "d1_club_aircraft.toml").read_text(), "d1_club_aircraft.toml")
    cruise = LEANS + one(rpm="2400 rpm", more='altitude="6000 ft"')
    text = cruise if told == "cruise" else (DEMO / "d1_evidence_27h.toml").read_text()
    now = answered(text, aircraft)
    assert now.next_checks
    request.getfixturevalue("without")
    before = answered(text, aircraft)
    assert chances(now) == chances(before)
    assert now.next_checks == before.next_checks
