"""The lock on the regulator's screw opens on proofs of today only, and a contradicted one is none."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vanewise.aircraft import layouts
from vanewise.diagnosis import regulator_lock
from vanewise.diagnosis.evidence import prepare
from vanewise.diagnosis.reading import read_evidence

SUCTION = layouts.make("suction-one-pump")
LOW = '[[readings]]\nreading="4.1 inHg"\nrpm="2300 rpm"\nwhen=2025-01-02\n'
FILTER = '[[events]]\nid="new"\nkind="intake_filter_changed"\nhours_ago="2 h"\n'


def look(check: str, outcome: str, day: int = 3, more: str = "") -> str:
    return f'[[checks]]\ncheck="{check}"\noutcome="{outcome}"\nwhen=2025-01-{day:02d}\n{more}'


AGREES, TIGHT = look("test_gauge", "agrees"), look("section_suction", "tight")
PROVED = (LOW, FILTER, AGREES, TIGHT)
AGAINST = {
    "filter": look("intake_filter_look", "loaded", 4),
    "lines": look("shop_air", "bubbles", 4),
    "gauge": look("test_gauge", "differs", 4),
}


def missing(*text: str) -> list[str]:
    """The proofs still missing, by a word of each."""
    found = regulator_lock.still_to_prove(prepare(SUCTION, read_evidence("".join(text), "evidence.toml")))
    return [next(word for word in ("filter", "lines", "gauge") if word in proof.what) for proof in found]


def test_three_proofs_of_today_open_it():
    assert missing(LOW) == ["filter", "lines", "gauge"]
    assert missing(*PROVED) == []


@given(st.sets(st.sampled_from(sorted(AGAINST))), st.randoms())
def test_each_opposite_result_takes_its_own_proof_away(names: set[str], random: object):
    texts = [*PROVED, *(AGAINST[name] for name in sorted(names))]
    random.shuffle(texts)  # type: ignore[attr-defined]
    assert set(missing(*texts)) == names


def test_what_speaks_against_a_proof_is_named():
    prepared = prepare(SUCTION, read_evidence("".join((*PROVED, AGAINST["gauge"])), "evidence.toml"))
    assert "against it stands compare the panel gauge" in regulator_lock.said(prepared)[0]


@pytest.mark.parametrize(
    "event",
    [
        FILTER.replace("2 h", "450 h"),
        FILTER.replace('hours_ago="2 h"', ""),
        f"{FILTER}when=2025-01-01\n",
        FILTER.replace('hours_ago="2 h"', "when=2022-01-01"),
    ],
    ids=["450 h ago", "of unknown age", "before the fault", "years before it"],
)
def test_a_filter_that_is_not_new_proves_nothing(event: str):
    assert missing(LOW, event, AGREES, TIGHT) == ["filter"]


def test_a_filter_fitted_since_the_fault_showed_is_new_by_its_date():
    assert missing(LOW, FILTER.replace('hours_ago="2 h"', "when=2025-01-03"), AGREES, TIGHT) == []


def test_hearsay_and_what_is_older_than_the_fault_prove_nothing():
    assert missing(LOW, FILTER, TIGHT, look("test_gauge", "agrees", more="grade=0\n")) == ["gauge"]
    assert missing(LOW, FILTER, TIGHT, look("test_gauge", "agrees", 1)) == ["gauge"]


def test_dated_work_since_settles_what_spoke_against():
    loaded = look("intake_filter_look", "loaded", 3)
    new = FILTER.replace('hours_ago="2 h"', "when=2025-01-04")
    assert missing(LOW, loaded, AGREES, TIGHT) == ["filter"]
    assert missing(LOW, loaded, new, AGREES, TIGHT) == []


@pytest.mark.parametrize(("about", "settles"), [("", True), ("attitude_filter", True), ("heading_filter", False)])
def test_another_filters_change_settles_nothing_that_was_seen_of_this_one(about: str, settles: bool):
    loaded = look("intake_filter_look", "loaded", 4, 'place="attitude_filter"\n')
    new = FILTER + "when=2025-01-05\n" + (f'about="{about}"\n' if about else "")
    evidence = read_evidence("".join((LOW, AGREES, TIGHT, loaded, new)), "evidence.toml")
    found = regulator_lock.still_to_prove(prepare(layouts.make("suction-own-filters"), evidence))
    assert [proof.what for proof in found] == ([] if settles else ["the filter new, or seen light"])
