"""Limits and cards that are common practice for this system, to start from and to overwrite.

None of them is mandatory and none has a source; the aircraft's own manual goes before each. They exist so that a first
list of what comes next is not empty, and say on every line what they are.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

import msgspec

from vanewise.aircraft.description import AircraftDescription
from vanewise.watch.types import Limit

SOURCE: Final = "common practice, no source; the aircraft's own manual goes first"


class Card(msgspec.Struct, frozen=True, kw_only=True):
    """A card of looks and tests. Each line is one thing to do; ``cautions`` stand at the top."""

    title: str
    lines: tuple[str, ...]
    cautions: tuple[str, ...] = ()


def customary_limits(description: AircraftDescription) -> tuple[Limit, ...]:
    """Starting limits for what is fitted to this aircraft."""
    kinds = {part.kind for part in description.parts}
    limits = [
        _custom("gauge against a second gauge", condition="a reading that nothing explains"),
        _custom("clamps", condition="loose, cracked or rusted"),
        _custom(
            "soft hoses of the air system", months=60, counted_from="fitted", condition="hard, cracked or collapsed"
        ),
        _custom("yearly walk-round of the air system", months=12),
        _custom("gyros", condition="slow, drifting or noisy; no calendar life is usual"),
    ]
    if "intake filter" in kinds:
        why = "sooner where people smoke or after it got wet"
        limits.append(_custom("central filter", hours=50_000, months=12, counted_from="fitted", why=why))
    if "inline filter" in kinds:
        why = "after any shedding of the pump at once"
        limits.append(_custom("inline filter", hours=10_000, months=12, counted_from="fitted", why=why))
    if "inlet filter" in kinds:
        limits.append(_custom("pump inlet filter", hours=10_000, months=12, counted_from="fitted"))
    if "regulator" in kinds:
        limits.append(_custom("regulator filter", hours=10_000, months=12, counted_from="fitted"))
    if "pump" in kinds:
        limits.append(
            _custom("wear port of the pump", hours=10_000, first=50_000, why="the forecast may ask for it sooner")
        )
        limits.append(_custom("pump coupling", months=72, counted_from="fitted"))
    if "check valve" in kinds:
        limits.append(_custom("function test of the other source and its check valves", months=12))
    return tuple(limits)


def _custom(
    item: str,
    hours: int | None = None,
    months: int | None = None,
    first: int | None = None,
    counted_from: str = "done",
    condition: str = "",
    why: str = "",
) -> Limit:
    return Limit(
        item=item,
        nature="custom",
        source=SOURCE,
        hours_centi=hours,
        calendar_months=months,
        first_hours_centi=first,
        counted_from=counted_from,  # type: ignore[arg-type]
        condition=condition,
        why=why,
    )


WALK_ROUND: Final = Card(
    title="Yearly walk-round of the air system",
    cautions=(
        "Magnetos off and grounded, key out, mixture cut off, chocks: treat the propeller as live.",
        "After an engine run the gyros spin for a quarter of an hour: do not move, tilt or bump the aircraft.",
    ),
    lines=(
        "Pump: oil or soot at the outlet and the drain, paint marks on its nuts, play in its mounting.",
        "Wear port: every slot turned to the hole, as the pump's manual says; write down hours and what was seen.",
        "Hoses: hard, cracked, collapsed, chafed, hot against the exhaust; the date on each; clamps.",
        "Filters: central, inline, inlet, regulator: date and hours on each; wet, oily, black?",
        "Regulator: lock and paint mark where they were; threads showing as written last time.",
        "Instruments: glass, case, lines behind them; rings of dust at the joints.",
        "Gauge: pointer on its stop with the engine off.",
        "Run: lamp out at which speed, gauge at 1,000, 1,500, 1,800 and 2,400 rpm, needle steady?",
        "Gyros: minutes to erect, level in taxi turns, heading drift in 15 minutes.",
        "Other source, if fitted: its function test, alone and together.",
        "Write every figure into the readings over time: one look says little, five say a lot.",
    ),
)

STANDBY_TEST: Final = Card(
    title="Function test of the standby source",
    cautions=("Follow the supplement of the standby source where it differs from this card.",),
    lines=(
        "Engine off or at idle, as its supplement says: switch it on, read the gauge.",
        "Main source alone, standby alone, both: three readings at the same speed.",
        "Switch it off: the gauge comes back to what the main source gave alone, or a check valve hangs.",
        "Lamp and caption of the standby itself.",
        "Write down the readings, the hours and the date.",
    ),
)

AFTER_STORAGE: Final = Card(
    title="After a long stand, before the first flight in cloud",
    cautions=(
        "Do not turn the propeller backwards: some pumps are hurt by it.",
        "No compressed air into gyros, gauge or their ports.",
    ),
    lines=(
        "Intakes, outlet and drain: insects, mice, water; cut or change a filter that got wet.",
        "Hoses and clamps after the cold: soft ones may have set.",
        "First start: gauge rising within seconds, lamp out, no knock, no soot.",
        "Let the gyros run a quarter of an hour; then time, level and drift as on the yearly card.",
        "Readings into the readings over time, with the days it stood.",
    ),
)

CARDS: Final[Mapping[str, Card]] = MappingProxyType(
    {"walk-round": WALK_ROUND, "standby-test": STANDBY_TEST, "after-storage": AFTER_STORAGE}
)


def cards_for(description: AircraftDescription) -> Mapping[str, Card]:
    """The cards that make sense for what is fitted: no standby test where there is no second source."""
    sources = [
        part for part in description.parts if part.kind in ("pump", "standby pump", "intake source", "check valve")
    ]
    has_standby = len(sources) > 1
    return {name: card for name, card in CARDS.items() if name != "standby-test" or has_standby}
