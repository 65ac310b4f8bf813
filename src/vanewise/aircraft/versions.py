"""An aircraft changes: revised numbers and replaced parts make a new description, the former one is kept."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

import msgspec

from vanewise.aircraft.description import AircraftDescription, Line, Part
from vanewise.aircraft.kinds import KINDS, SECTIONS, field_of, fields_of
from vanewise.aircraft.names import nearest
from vanewise.errors import InputError, Problem, wrong
from vanewise.provenance import Value
from vanewise.quantities import shown

_replace = msgspec.structs.replace


def kind_at(description: AircraftDescription, owner_id: str) -> str | None:
    """What fields ``owner_id`` has: a kind of part, ``line``, or a section (``gauge``). None when there is no such."""
    if owner_id in SECTIONS:
        return owner_id if getattr(description, owner_id) is not None else None
    for part in description.parts:
        if part.id == owner_id:
            return part.kind if part.kind in KINDS else None
    return "line" if any(line.id == owner_id for line in description.lines) else None


def revise(
    description: AircraftDescription, path: str, value: Value, *, valid_from: datetime.date | None = None
) -> AircraftDescription:
    """The description with one number replaced, such as ``pump.drive_ratio`` or ``gauge.band_low``.

    ``valid_from`` is the day from which the aircraft is known to stand like this; without it the former day stays (a
    better knowledge of the same aircraft). Raises :class:`InputError` naming ``path``.
    """
    owner_id, _, field = path.partition(".")
    kind = kind_at(description, owner_id)
    if kind is None:
        owners = [*(section for section in SECTIONS), *(part.id for part in description.parts)]
        owners += [line.id for line in description.lines]
        raise wrong(
            path,
            "a part, a line, engine, field, gauge or lamp of this aircraft",
            f'"{owner_id}"',
            nearest(owner_id, owners),
        )
    spec = field_of(kind, field)
    if spec is None or value.dimension != spec.dimension:
        known = [spec.name for spec in fields_of(kind)]
        found = f'"{field}"' if spec is None else f"a {value.dimension} for {field}"
        raise wrong(path, f"a field of {kind}: {', '.join(known) or 'none'}", found, nearest(field, known))
    revised = _with_value(description, owner_id, field, value)
    return revised if valid_from is None else _replace(revised, valid_from=valid_from)


def _with_value(description: AircraftDescription, owner_id: str, field: str, value: Value) -> AircraftDescription:
    if owner_id in SECTIONS:
        section = _replace(getattr(description, owner_id), **{field: value})
        return _replace(description, **{owner_id: section})

    def part_revised(part: Part) -> Part:
        return _replace(part, values={**part.values, field: value}) if part.id == owner_id else part

    def line_revised(line: Line) -> Line:
        return _replace(line, values={**line.values, field: value}) if line.id == owner_id else line

    parts = tuple(part_revised(part) for part in description.parts)
    return _replace(description, parts=parts, lines=tuple(line_revised(line) for line in description.lines))


def in_force(versions: Sequence[AircraftDescription], on: datetime.date) -> AircraftDescription:
    """The version that held on that day: of those with a day not after it the latest, of equal days the last given.

    A version without a day holds from the beginning. Raises :class:`InputError` when none holds yet.
    """
    first = datetime.date.min
    held = [version for version in versions if (version.valid_from or first) <= on]
    if not held:
        days = ", ".join(str(version.valid_from) for version in versions) or "none"
        raise InputError(
            Problem(
                where="valid_from",
                expected=f"a description that held on {on}",
                found=f"descriptions from {days}",
                next_step="enter how the aircraft stood on that day, or choose a later day",
            )
        )
    return max(enumerate(held), key=lambda numbered: ((numbered[1].valid_from or first), numbered[0]))[1]


def changes(before: AircraftDescription, after: AircraftDescription) -> tuple[str, ...]:
    """What differs between two versions, in words, one line each: numbers, parts, lines, gauge, duty."""
    lines = [*_set_changes("part", before.parts, after.parts), *_set_changes("line", before.lines, after.lines)]
    old, new = dict(before.all_values()), dict(after.all_values())
    lines += [
        f"{path}: {_told(old[path])} becomes {_told(new[path])}"
        for path in sorted(old.keys() & new.keys())
        if old[path] != new[path]
    ]
    lines += [
        f"{what}: {getattr(before, what)} becomes {getattr(after, what)}"
        for what in ("name", "duty", "duty_confirmed", "turn_instrument", "autopilot_takes_attitude")
        if getattr(before, what) != getattr(after, what)
    ]
    for what in ("gauge", "lamp"):
        ends = [_ends(getattr(version, what)) for version in (before, after)]
        if ends[0] != ends[1]:
            lines.append(f"{what}: {ends[0]} becomes {ends[1]}")
    return tuple(lines)


def _ends(tap: object) -> str:
    return "none" if tap is None else f"{getattr(tap, 'high', '')} to {getattr(tap, 'low', '')}"


def _told(value: Value) -> str:
    return f"{shown(value.number, value.dimension)} ({value.standing})"


def _set_changes(what: str, before: Sequence[Part | Line], after: Sequence[Part | Line]) -> list[str]:
    old, new = {item.id: item for item in before}, {item.id: item for item in after}
    lines = [f"{what} {item_id} taken out" for item_id in old if item_id not in new]
    lines += [f"{what} {item_id} added" for item_id in new if item_id not in old]
    for item_id in old.keys() & new.keys():
        bare = [_replace(item, values={}) for item in (old[item_id], new[item_id])]
        if bare[0] != bare[1]:
            lines.append(f"{what} {item_id} changed: {_differing_keys(*bare)}")
    return sorted(lines)


def _differing_keys(before: Part | Line, after: Part | Line) -> str:
    keys = [key for key in before.__struct_fields__ if getattr(before, key) != getattr(after, key, None)]
    return ", ".join(keys)
