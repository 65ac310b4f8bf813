"""Evidence of another state than the one that is asked about: set aside, and said.

Of a part that has come off since, so that it is not laid on the part fitted now; and what was read before the supply
stopped, which the model of a system that has stopped cannot use. Only dates decide. What is dated before that part's
change, while something of the complaint is dated after it, is of the former part; what carries no date is kept, and
asked about. Sound readings are a baseline and stay: what they may say of the new part is settled where they are scored.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import msgspec

from vanewise.aircraft.description import AircraftDescription
from vanewise.diagnosis.checks.base import GAUGE_READ
from vanewise.diagnosis.parts_changed import CHECKS_OF, ONLY_NAMED, PART_OF, SYMPTOMS_OF
from vanewise.diagnosis.symptoms import EVENTS, SUPPLY_LOST
from vanewise.diagnosis.types import CheckResult, Evidence, LampReading, Reading, Remark
from vanewise.diagnosis.vocabulary import SYMPTOMS, check_named
from vanewise.wording import capital, listed

_RUN_BY_THE_PUMP: Final = ("gauge across instrument", "capped sweep")
"""Kinds of check that are readings of what the pump gives."""
_READ: Final = (*_RUN_BY_THE_PUMP, "filter drop", "cover test", *GAUGE_READ)
"""Kinds of check that are read with the engine running."""

_CAME_BACK: Final = frozenset({"comes_and_goes", "right_again_once_warm"})
"""Symptoms of a supply that was right again by itself."""

_DIRT_INSIDE: Final = ("indicator_bench", "dirty")
"""A result that says as much of what is still fitted: the dirt came through the lines."""

_SAME_AGAIN: Final = f" If the same one went back in, enter {EVENTS['panel_work'].words} instead."

Item = Reading | LampReading | Remark | CheckResult


@dataclass(frozen=True, slots=True)
class Former:
    """What belongs to former parts: ``left_out``, id -> why, and all of it in words, with what carries no date."""

    left_out: Mapping[str, str]
    said: tuple[str, ...]
    highest_pa: float = 0.0
    """The most the panel gauge was read at before the supply stopped, nothing covered: for cautions."""


NO_FORMER: Final = Former({}, ())


def set_aside(description: AircraftDescription, evidence: Evidence) -> tuple[Evidence, Former]:
    """The evidence without what is of a former part, and what was set aside, with why."""
    left_out: dict[str, str] = {}
    said: list[str] = []
    for kind, about, changed in _changes(description, evidence):
        mine = [
            item
            for item in _current(evidence)
            if _is_of(kind, item) and about in ("", _part_of(description, kind, item))
        ]
        part = _part_words(description, kind, about)
        former = [item for item in mine if (when := _day(item)) is not None and when < changed]
        undated = [item for item in mine if _day(item) is None]
        refit = kind == "gyro_changed"
        why = f"{part} was {'changed or refitted' if refit else 'changed'} on {changed.isoformat()}"
        left_out |= {item.id: f"from before {why}" for item in former}
        if former:
            said.append(f"Left out, as of the former part: {_named(former)}; {why}.{_SAME_AGAIN if refit else ''}")
        if undated:
            said.append(f"Without a date: {_named(undated)}. {capital(why)}: enter whether that was before or after.")
    return without(evidence, left_out), Former(left_out, tuple(said))


def before_it_stopped(evidence: Evidence, former: Former) -> tuple[Evidence, Former]:
    """The evidence without what was read before the supply stopped, and ``former`` with it.

    Nothing is where it came back by itself: what was read between is of the same trouble.
    """
    present = [item for item in evidence.remarks if item.present]
    lost = [when for item in present if item.symptom in SUPPLY_LOST and (when := _day(item)) is not None]
    if not lost or any(item.symptom in _CAME_BACK for item in present):
        return evidence, former
    stopped = min(lost)
    read = [
        item for item in _current(evidence) if _is_read(item) and (when := _day(item)) is not None and when < stopped
    ]
    if not read:
        return evidence, former
    why = f"the supply stopped on {stopped.isoformat()}"
    left_out = {item.id: f"read before {why}" for item in read}
    panel = [item for item in read if isinstance(item, Reading) and item.high is None and not item.under]
    told = f"Left out, as of the state before: {_named(read)}; {why}."
    highest = max((item.value_pa for item in panel), default=0.0)
    return without(evidence, left_out), Former({**former.left_out, **left_out}, (*former.said, told), highest)


def _is_read(item: Item) -> bool:
    if isinstance(item, CheckResult):
        check = check_named(item.check)
        return check is not None and check.kind in _READ
    return isinstance(item, Reading | LampReading)


def without(evidence: Evidence, left_out: Collection[str]) -> Evidence:
    """The evidence without the items of some ids; events stay."""
    if not left_out:
        return evidence

    def kept(items: Sequence[Any]) -> tuple[Any, ...]:
        return tuple(item for item in items if item.id not in left_out)

    return msgspec.structs.replace(
        evidence,
        readings=kept(evidence.readings),
        lamp_readings=kept(evidence.lamp_readings),
        remarks=kept(evidence.remarks),
        checks=kept(evidence.checks),
    )


def _changes(description: AircraftDescription, evidence: Evidence) -> Iterator[tuple[str, str, datetime.date]]:
    """Dated changes with something of the complaint on that day or after it: word, part, day. Of a part of which there
    is one, without its id; of several, or of an instrument or a hose, the part has to be named."""
    days = [when for item in _current(evidence) if (when := _day(item)) is not None]
    if not days:
        return
    for kind, (part, _) in PART_OF.items():
        one = kind not in ONLY_NAMED and (not part or len(description.parts_of(part)) <= 1)
        dated = [
            ("" if one else event.about, event.when)
            for event in evidence.events
            if event.kind == kind and event.when is not None and event.when <= max(days)
        ]
        last = {about: when for about, when in sorted(dated) if one or about}
        for about, when in last.items():
            yield kind, about, when


def _part_words(description: AircraftDescription, kind: str, about: str) -> str:
    """The part that was changed, in words; of several by its name."""
    if not about:
        return PART_OF[kind][1]
    label = f"the {description.labels()[about]}"
    return f"{label}'s foam" if kind == "regulator_filter_changed" else label


def _part_of(description: AircraftDescription, kind: str, item: Item) -> str:
    """The part an item is said to be of, or the only one it can be of; empty where that is open, and for readings."""
    if isinstance(item, CheckResult):
        return item.place.partition(".")[0]
    if not isinstance(item, Remark):
        return ""
    if item.about or kind != "gyro_changed":
        return item.about
    own = description.parts_of(SYMPTOMS[item.symptom].instrument)
    return own[0].id if len(own) == 1 else ""


def first_sign(evidence: Evidence) -> datetime.date | None:
    """The first dated sign of the complaint: a reading that is no baseline, or what somebody noticed."""
    signs = [
        when
        for item in _current(evidence)
        if not isinstance(item, CheckResult)
        and not (isinstance(item, Remark) and not item.present)
        and (when := _day(item)) is not None
    ]
    return min(signs, default=None)


def _current(evidence: Evidence) -> Iterator[Item]:
    """What was read, noticed and looked at, without the sound baselines."""
    yield from (reading for reading in evidence.readings if not reading.sound and not reading.sister)
    yield from (lamp for lamp in evidence.lamp_readings if not lamp.sound)
    yield from evidence.remarks
    yield from evidence.checks


def _day(item: Item) -> datetime.date | None:
    """When it was: its date, or the date a flight is named by."""
    if item.when is not None or isinstance(item, LampReading | CheckResult):
        return item.when
    try:
        return datetime.date.fromisoformat(item.flight.strip()[:10])
    except ValueError:
        return None


def _is_of(kind: str, item: Item) -> bool:
    if isinstance(item, Remark):
        return item.symptom in SYMPTOMS_OF[kind]
    if isinstance(item, CheckResult):
        check = check_named(item.check)
        if check is None or (check.id, item.outcome) == _DIRT_INSIDE:
            return False
        return check.id in CHECKS_OF[kind] or (kind == "pump_changed" and check.kind in _RUN_BY_THE_PUMP)
    return kind == "pump_changed"


def _named(items: Sequence[Item]) -> str:
    """What they are, in words; readings by their number."""
    looks = [_words(item) for item in items if isinstance(item, Remark | CheckResult)]
    read = sum(isinstance(item, Reading | LampReading) for item in items)
    counted = [f"{read} reading{'s' if read > 1 else ''}"] if read else []
    return listed([*dict.fromkeys(looks), *counted])


def _words(item: Remark | CheckResult) -> str:
    if isinstance(item, Remark):
        what = SYMPTOMS[item.symptom].words
    else:
        check = check_named(item.check)
        what = item.check if check is None else check.name
        outcome = [known.words for known in check.outcomes if known.id == item.outcome] if check else []
        what = f"{what}: {outcome[0]}" if outcome else what
    day = _day(item)
    return f"{what} ({day.isoformat()})" if day else what
