"""What counts as confirmed, what takes that back, and how it is said."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from vanewise.diagnosis import words
from vanewise.diagnosis.checks import CHECKS
from vanewise.wording import listed

if TYPE_CHECKING:
    from vanewise.diagnosis.evidence import CheckItem, Prepared

SEEN: Final = "seen directly"
BOTH_WAYS: Final = "proved both ways"


def check_words(item: CheckItem) -> str:
    """The check, and what it showed."""
    return f"{CHECKS[item.check].name}: {_showed(item)}"


def _showed(item: CheckItem) -> str:
    check = CHECKS[item.check]
    if check.kind == "table":
        return next(outcome.words for outcome in check.outcomes if outcome.id == item.outcome)
    if check.kind == "cover test" and item.value is not None:
        return f"rose by {words.inhg(item.value)}"
    return "measured"


def confirmed(prepared: Prepared, present: Mapping[str, float] = MappingProxyType({})) -> Mapping[str, str]:
    """Mode -> the check that confirms it: direct sight (grade 3), or a harmless act proved both ways.

    A result that another of the same check contradicts confirms nothing until one of them is withdrawn. Of several
    modes that are the thing seen the likeliest is confirmed, by ``present``, the chance of each being there at all.
    """
    found: dict[str, str] = {}
    doubted = set(contradicting(prepared))
    for item in prepared.checks:
        check = CHECKS[item.check]
        if item.outcome not in check.confirms or item.id in doubted:
            continue
        modes = (check.confirms[item.outcome], *check.or_confirms.get(item.outcome, ()))
        mode = max(modes, key=lambda one: present.get(one, 0.0))
        if not check.act and item.grade == 3:
            found.setdefault(mode, f"{SEEN}: {check_words(item)}")
        elif check.act and item.both_ways and check.harmless:
            found.setdefault(mode, f"{BOTH_WAYS}: {check_words(item)}")
    return found


def how(confirmed_by: str) -> str:
    """In which of the two ways a cause was confirmed, from the words it was confirmed by."""
    return BOTH_WAYS if confirmed_by.startswith(BOTH_WAYS) else SEEN


# ---- results that cannot both be so -----------------------------------------------------------------------------


def contradicting(prepared: Prepared) -> tuple[str, ...]:
    """Ids of the checks whose results cannot both be so."""
    return tuple(sorted({name for pair in prepared.disagreeing for name in pair}))


def in_doubt(prepared: Prepared, mode: str) -> bool:
    """Whether results that speak of ``mode`` disagree while nothing else confirms it: then nobody may stop there."""
    if mode in confirmed(prepared, {mode: 1.0}):
        return False
    doubted = set(contradicting(prepared))
    return any(_speaks_of(item, mode) for item in prepared.checks if item.id in doubted)


def _speaks_of(item: CheckItem, mode: str) -> bool:
    check = CHECKS[item.check]
    return check.kind != "table" or mode in check.table


def disagreements(prepared: Prepared) -> list[str]:
    """Each check whose results disagree, in words, with what to do."""
    items = {item.id: item for item in prepared.checks}
    groups: dict[tuple[str, str], list[CheckItem]] = {}
    for name in contradicting(prepared):
        groups.setdefault((items[name].check, items[name].place), []).append(items[name])
    return [_disagreement(group) for group in groups.values()]


def _disagreement(group: list[CheckItem]) -> str:
    check, place = CHECKS[group[0].check], group[0].place
    where = f", {place.replace('_', ' ')}" if place else ""
    shown = listed([f"{_showed_value(item)}{_by_whom(item)}" for item in group])
    return (
        f"Contradictory: {check.name}{where}: {shown}. Nothing is called seen by it while both stand. Look again; then "
        "withdraw the one that was wrong, or enter what tells them apart: their places, their dates, or the work done "
        "between."
    )


def _showed_value(item: CheckItem) -> str:
    return f"measured ({item.id})" if CHECKS[item.check].kind == "suction flow" else _showed(item)


def _by_whom(item: CheckItem) -> str:
    told = [*([item.who] if item.who else []), *([item.when.isoformat()] if item.when else [])]
    return f" ({', '.join(told)})" if told else ""
