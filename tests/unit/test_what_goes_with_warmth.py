"""Ice and water are all there at the start of a run and may be gone at its end: readings are scored for both."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis.contradicting import contradictions
from vanewise.diagnosis.hypotheses import singles_and_chains
from vanewise.diagnosis.infer import Options, State, infer
from vanewise.diagnosis.lateness import UNKNOWN, WARMED, lateness
from vanewise.diagnosis.likelihood import MODEL_SD, gauge_logs, log_added
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.predictions import from_bank
from vanewise.diagnosis.reading import read_evidence
from vanewise.diagnosis.symptoms import SYMPTOMS
from vanewise.diagnosis.types import Reading
from vanewise.diagnosis.wandering import GONE_AT, STANDS, UNEVEN, Manner, courses_of, felt_in, manners_of
from vanewise.network.types import Floats
from vanewise.quantities import PA_PER_INHG

RPM = (700.0, 1000.0, 1200.0, 1500.0, 1800.0, 2100.0, 2400.0)
BEFORE = '[[sweeps]]\nid = "before"\nsound = true\nrpm = {rpm}\nreading = {values}\n'
NOW = '[[sweeps]]\nid = "now"\nrpm = {rpm}\nreading = {values}\n'
SOUND = (4.3, 4.8, 4.9, 5.0, 5.0, 5.0, 5.0)
ICE = "moisture_or_ice@pump"
PINCHED = "line_restricted"


def text_of(values: tuple[float, ...]) -> str:
    rpm = list(RPM)
    return BEFORE.format(rpm=rpm, values=list(SOUND)) + NOW.format(rpm=rpm, values=list(values))


@cache
def state_of(text: str, refine: bool = False) -> State:
    description = layouts.make("suction-one-pump")
    return infer(description, read_evidence(text, "case"), seed=3, refine=refine, options=Options(rows=256))


def probability(state: State, mode: str) -> float:
    posterior = state.posterior
    return float(
        sum(
            share
            for hypothesis, share in zip(posterior.hypotheses, posterior.probability, strict=True)
            if hypothesis.source.id == mode
        )
    )


def reading(name: str, rpm: float, **more: object) -> Reading:
    return Reading(id=name, value_pa=5.0 * PA_PER_INHG, engine_rpm=rpm, **more)  # type: ignore[arg-type]


def test_a_sweep_is_read_from_its_slowest_speed_up_and_down_again():
    up = [reading(f"up {rpm:.0f}", rpm, direction="rising") for rpm in (2400.0, 700.0, 1500.0)]
    down = [reading(f"down {rpm:.0f}", rpm, direction="falling") for rpm in (700.0, 1500.0)]
    found = lateness((*down, *up), 100.0)
    order = sorted(found, key=lambda name: found[name])
    assert order == ["up 700", "up 1500", "up 2400", "down 1500", "down 700"]
    assert (found[order[0]], found[order[-1]]) == (0.0, 1.0)


def test_flight_is_late_and_a_reading_alone_is_anywhere():
    found = lateness((reading("alone", 1500.0), reading("cruise", 2400.0, altitude_m=1500.0, who="pilot")), 100.0)
    assert found == {"alone": UNKNOWN, "cruise": 1.0}


def test_beside_a_cold_reading_a_warm_one_is_of_when_it_has_gone():
    cold, warm = reading("cold", 1500.0, warm=False, who="a"), reading("warm", 1500.0, warm=True, who="b")
    assert lateness((cold, warm), 100.0) == {"cold": 0.0, "warm": WARMED}
    assert all(Manner(1.0, gone_at=at).left(WARMED) == 0.0 for at in GONE_AT), "by then it has gone"
    sweep = [reading(f"{rpm:.0f}", rpm, warm=False) for rpm in RPM] + [reading("warm", 700.0, warm=True)]
    assert lateness(sweep, 100.0)["2400"] == 1.0, "the cold run is a run of its own, in one visit too"
    assert lateness((warm,), 100.0) == {"warm": UNKNOWN}, "nothing says that anything was colder"
    baseline = reading("baseline", 1500.0, warm=False, sound=True)
    assert lateness((baseline, warm), 100.0)["warm"] == UNKNOWN, "a cold baseline is no cold reading of today"


def test_the_ways_it_may_have_stood_share_one_probability():
    for hypothesis in singles_and_chains(layouts.make("suction-one-pump")):
        for ways in (manners_of(hypothesis), courses_of(hypothesis)):
            assert sum(way.chance for way in ways) == pytest.approx(1.0), hypothesis.id
            assert all(way.chance > 0.0 for way in ways)


def test_what_goes_is_said_of_what_is_right_again_once_warm():
    """The chance that it goes is the mode's own sign that it was right again, and only such modes have one."""
    for mode in MODES.values():
        assert 0.0 <= mode.goes <= 1.0
        if mode.goes:
            assert mode.goes == pytest.approx(mode.signs["right_again_once_warm"], abs=0.1)
            assert mode.wander > 0.0


def test_an_effect_that_goes_is_whole_at_first_and_nothing_in_the_end():
    late = np.linspace(0.0, 1.0, 11)
    for at in GONE_AT:
        left = Manner(1.0, gone_at=at).left(late)
        assert left[0] == 1.0
        assert np.all(np.diff(left) <= 0.0)
        assert left[-1] == pytest.approx(max(0.0, 1.0 - 1.0 / at))
    assert np.all(STANDS.left(late) == 1.0)


def test_readings_are_scored_as_the_mean_over_the_ways_it_may_have_stood():
    """Worked out apart: predictions taken down from the row with the fault to the same row without it."""
    values = (1.0, 2.4, 3.4, 4.4, 4.8, 5.0, 5.0)
    state = state_of(text_of(values))
    number = [hypothesis.id for hypothesis in state.bank.hypotheses].index(ICE)
    subject, rows, scorer = state.bank.hypotheses[number], state.posterior.rows[number], state.scorer
    predicted = from_bank(state.bank, state.prepared)
    sound = predicted[1].gauges[0]
    group = state.prepared.gauges[0]
    now = np.array([not item.point.before for item in group.items])
    late = np.array([np.interp(item.point.rpm, RPM, np.arange(7) / 6) for item in group.items])
    read = np.array([item.read_sd for item in group.items])
    whole = predicted[state.bank.block_of[number]].gauges[0]
    observed = np.array([item.value for item in group.items])
    kinds = scorer.errors(0, predicted[1])
    logs: list[Floats] = []
    for manner in manners_of(subject):
        if manner.gone_at is None:
            terms = scorer.gauge_terms(0, subject, rows.predicted, manner)
        else:
            left = np.where(now, np.maximum(1.0 - late / manner.gone_at, 0.0), 1.0)
            value = sound + left * (whole - sound)
            spread = (
                read**2 + rows.predicted.gauge_variance[0] + (MODEL_SD * value) ** 2 + (UNEVEN * (whole - sound)) ** 2
            )
            terms = value, observed, spread
            own = scorer.gauge_terms(0, subject, rows.predicted, manner)
            assert own[0] == pytest.approx(value, abs=1e-5)
        scored = log_added(gauge_logs(*terms, kinds, deep=0 in scorer.deep))
        logs.append(np.log(manner.chance) + scored)
    found = scorer.group_log(("gauge", 0), number, rows.quantiles, rows.predicted)
    assert found == pytest.approx(np.logaddexp.reduce(logs), abs=1e-3)
    assert len(logs) == 1 + len(GONE_AT)


def test_in_the_taxi_it_is_felt_whole_and_in_cruise_hardly():
    text = text_of(SOUND) + '[[remarks]]\nsymptom = "ai_slow_erect"\n[[remarks]]\nsymptom = "gauge_low_cruise"\n'
    state = state_of(text)
    number = [hypothesis.id for hypothesis in state.bank.hypotheses].index(ICE)
    predicted = state.posterior.rows[number].predicted
    assert predicted.without is not None
    felt = felt_in(predicted, Manner(1.0, gone_at=0.7)).felt
    assert felt
    for key, values in felt.items():
        whole, sound = predicted.felt[key], predicted.without.felt[key]
        share = {"idle": 1.0, "taxi": 1.0 - 0.2 / 0.7, "run-up": 1.0 - 0.5 / 0.7, "cruise": 0.0}[key[1]]
        assert values == pytest.approx(sound + share * (whole - sound), abs=1e-9), key
    assert felt_in(predicted, STANDS) is predicted
    assert SYMPTOMS["gauge_low_cruise"].gauge is not None


COLD = '[[sweeps]]\nid = "cold"\nwarm = false\nrpm = {rpm}\nreading = {values}\n'
WARM = '[[sweeps]]\nid = "warm"\nwarm = true\nrpm = {rpm}\nreading = {values}\n'
LOW = (1.0, 1.7, 2.1, 2.7, 3.3, 3.8, 4.2)


@pytest.mark.parametrize("refine", [False, True])
def test_low_when_cold_and_right_when_warm_is_ice_before_what_stays(refine: bool):
    """What stays low when warm is hardly ice; what is right again then is hardly anything else that closes a line."""

    def told(cold: tuple[float, ...], warm: tuple[float, ...]) -> State:
        rpm = list(RPM)
        before = BEFORE.format(rpm=rpm, values=list(SOUND))
        now = COLD.format(rpm=rpm, values=list(cold)) + WARM.format(rpm=rpm, values=list(warm))
        return state_of(before + now, refine)

    went, stayed = told(LOW, SOUND), told(LOW, LOW)
    assert probability(went, "moisture_or_ice") > 0.5
    assert probability(stayed, "moisture_or_ice") < 0.05
    assert probability(went, "moisture_or_ice") > 100.0 * probability(went, PINCHED)
    today = [name for name in contradictions(went) if not name.startswith("before")]
    assert today == [], "what it was and what it became are both of the ice"
