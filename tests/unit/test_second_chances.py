"""Which families of hypotheses are drawn again from where the same faults at another place ended."""

from __future__ import annotations

import numpy as np
import pytest

from vanewise.aircraft import layouts
from vanewise.diagnosis.hypotheses import singles_and_chains
from vanewise.diagnosis.proposals import Proposal
from vanewise.diagnosis.refine import chances_of
from vanewise.diagnosis.rounds import LEAST_KEPT, MINOR_SHARE, SHORT, FamilyStart, Refined
from vanewise.diagnosis.scoring import Rows

HYPOTHESES = singles_and_chains(layouts.make("suction-twin-pumps"))
NUMBER = {subject.id: number for number, subject in enumerate(HYPOTHESES)}
LEFT, RIGHT = "pump_outlet_blocked@left_pump", "pump_outlet_blocked@right_pump"
FAR = SHORT + 1.0


def family(name: str, told: int = 3) -> FamilyStart:
    start = Proposal(np.arange(told), np.zeros(told), np.eye(told))
    return FamilyStart(NUMBER[name], (NUMBER[name],), start)


def ended(name: str, log_evidence: float) -> Refined:
    """As rounds leave a family, of eight rows of like weight."""
    nothing = np.zeros((8, 3))
    rows = Rows(NUMBER[name], nothing, nothing, np.full(8, log_evidence), None, {})  # type: ignore[arg-type]
    return Refined({NUMBER[name]: rows}, None)  # type: ignore[arg-type]


def chances(
    found: dict[str, float],
    *,
    best: float = 0.0,
    prior: dict[str, float] | None = None,
    told: dict[str, int] | None = None,
) -> list[tuple[str, str]]:
    """Of log evidences: which families are drawn again, and beside which. Priors alike unless told."""
    log_prior = np.zeros(len(HYPOTHESES))
    for name, log in (prior or {}).items():
        log_prior[NUMBER[name]] = log
    families = [family(name, (told or {}).get(name, 3)) for name in found]
    drawn = [ended(name, log) for name, log in found.items()]
    given = chances_of(HYPOTHESES, log_prior, best, families, drawn)
    return [(HYPOTHESES[chance.family.lead].id, HYPOTHESES[chance.alike.hypothesis].id) for chance in given]


def test_a_place_far_behind_the_same_fault_at_another_gets_a_chance():
    assert chances({LEFT: 0.0, RIGHT: -FAR}) == [(RIGHT, LEFT)]
    assert chances({LEFT: -FAR, RIGHT: 0.0}) == [(LEFT, RIGHT)]


def test_what_two_counts_of_a_few_rows_may_differ_by_gives_none():
    assert chances({LEFT: 0.0, RIGHT: 1.0 - SHORT}) == []


@pytest.mark.parametrize(
    ("share", "given"), [(2.0 * MINOR_SHARE, True), (0.5 * MINOR_SHARE, False), (LEAST_KEPT, False)]
)
def test_only_where_it_would_be_major_if_it_were_worth_as_much(share: float, given: bool):
    at = float(np.log(share))
    assert bool(chances({LEFT: at, RIGHT: at - FAR})) == given
    # Its own prior counts, not that of the other place.
    assert bool(chances({LEFT: 0.0, RIGHT: -FAR}, prior={RIGHT: at})) == given


def test_other_faults_and_other_unknowns_are_not_alike():
    assert chances({LEFT: 0.0, "worn_vanes@right_pump": -FAR}) == []
    assert chances({LEFT: 0.0, RIGHT: -FAR}, told={RIGHT: 2}) == []


def test_of_several_places_the_best_is_followed():
    hoses = [name for name in NUMBER if name.startswith("leak@")][:3]
    found = dict(zip(hoses, (-FAR, 0.0, -2.0 * FAR), strict=True))
    assert chances(found) == [(hoses[0], hoses[1]), (hoses[2], hoses[1])]
