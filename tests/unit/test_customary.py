"""Customary limits and cards: never mandatory, fitted to what is on the aircraft."""

from __future__ import annotations

import pytest

from vanewise.aircraft.layouts import layouts, make
from vanewise.watch.customary import CARDS, customary_limits
from vanewise.watch.due import check_limit


@pytest.mark.parametrize("layout", sorted(layouts()))
def test_every_layout_starts_with_limits_that_are_common_practice(layout: str) -> None:
    limits = customary_limits(make(layout))
    for limit in limits:
        check_limit(limit)
        assert not limit.is_mandatory and "no source" in limit.source
    assert len({limit.item for limit in limits}) == len(limits)
    assert any("wear port" in limit.item for limit in limits)


def test_only_what_is_fitted_is_listed() -> None:
    suction = {limit.item for limit in customary_limits(make("suction-one-pump"))}
    pressure = {limit.item for limit in customary_limits(make("pressure-one-pump"))}
    twin = {limit.item for limit in customary_limits(make("suction-twin-pumps"))}
    assert "central filter" in suction and "inline filter" not in suction
    assert {"inline filter", "pump inlet filter"} <= pressure
    assert any("check valves" in item for item in twin - suction)


def test_cards_carry_their_cautions() -> None:
    assert len({card.title for card in CARDS.values()}) == 3
    assert all(card.lines and card.cautions for card in CARDS.values())
    assert any("propeller as live" in caution for card in CARDS.values() for caution in card.cautions)
