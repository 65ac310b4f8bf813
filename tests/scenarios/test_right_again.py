"""A supply that was right again by itself was not lost to something parted, off or crossed."""

from __future__ import annotations

from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis import infer
from vanewise.diagnosis.infer import Options, State
from vanewise.diagnosis.modes import MODES
from vanewise.diagnosis.noticing import Noticing
from vanewise.diagnosis.reading import read_evidence

QUICK = Options(weights=False, next_checks=False)
ZERO = '[[remarks]]\nsymptom = "gauge_zero"\n'
WARM = '[[remarks]]\nsymptom = "right_again_once_warm"\n'
STAYS = ("coupling_sheared", "hose_off", "lines_misrouted", "pump_turns_wrong_way")


@cache
def state(text: str) -> State:
    return infer.infer(
        layouts.make("suction-one-pump"), read_evidence(text, "case"), seed=0, refine=False, options=QUICK
    )


def noticed(hypothesis: str) -> float:
    """How often *right again once warm* is said under a hypothesis."""
    found = state(WARM)
    (item,) = found.prepared.remarks[0].items
    number = [entry.id for entry in found.bank.hypotheses].index(hypothesis)
    rows = found.posterior.rows[number]
    said = found.scorer.remarks.noticed(item, found.bank.hypotheses[number], rows.quantiles, rows.predicted)
    return float(np.mean(said))


def test_what_stays_is_what_stops_the_only_pump_for_good():
    assert {mode.id for mode in MODES.values() if mode.stays} == set(STAYS)


@pytest.mark.parametrize("mode", STAYS)
def test_it_is_hardly_said_of_what_stays(mode: str):
    found = state(WARM)
    own = [entry.id for entry in found.bank.hypotheses if mode in entry.mode_ids]
    assert own
    for hypothesis in own:
        assert noticed(hypothesis) == pytest.approx(0.002), hypothesis


def test_of_two_pumps_one_may_be_lost_and_the_supply_right_again():
    def away(layout: str) -> bool:
        lost = SimpleNamespace(members=(SimpleNamespace(mode=MODES["coupling_sheared"]),))
        return Noticing.stays_away(SimpleNamespace(description=layouts.make(layout)), lost)  # type: ignore[arg-type]

    assert away("suction-one-pump")
    assert not away("suction-twin-pumps")


def test_who_saw_it_right_again_has_less_of_a_dead_pump():
    """Zero on the gauge is a dead pump first; right again once warm it hardly is, beside a supply lost to
    what may let go again, of which the remark says nothing either way."""

    def there(text: str) -> dict[str, float]:
        return {cause.id: cause.present for cause in infer.answer(state(text), 0, QUICK).causes}

    before, after = there(ZERO), there(ZERO + WARM)
    for mode in STAYS:
        beside = [found[mode] / found["regulator_stuck_open"] for found in (before, after)]
        assert beside[1] < 0.5 * beside[0], mode
    assert after["moisture_or_ice"] > before["moisture_or_ice"]
