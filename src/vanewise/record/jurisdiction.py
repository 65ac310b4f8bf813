"""What a country's rules ask of a record, how long it is kept, and which limits they set: a dated file of data.

A pack is text that a local person has read and checked; the tool holds no rule of its own. A rule's number is printed
only where its text was read (``text_read``), otherwise the duty is told in words. Packs say nothing about who may sign.
"""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Mapping
from typing import Any

import msgspec

from vanewise.errors import InputError, Problem, wrong
from vanewise.watch.types import Limit, Overrun

FIELDS = ("description", "date", "worker", "signature", "certificate number", "certificate kind")
"""What an entry may be asked to hold. ``worker``: who did the work, where another person signs."""


class Duty(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One thing that a record entry must hold."""

    field: str
    words: str
    citation: str = ""
    text_read: bool = False

    @property
    def told(self) -> str:
        """The duty as printed: with the rule's number only where its text was read."""
        return f"{self.words} ({self.citation})" if self.citation and self.text_read else self.words


class Keeping(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How long a kind of record is kept, and whether it goes with the aircraft."""

    what: str
    how_long: str
    with_aircraft: bool
    kinds: tuple[str, ...] = ()
    """Kinds of entry of the journal that it covers."""
    citation: str = ""
    text_read: bool = False


class Jurisdiction(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One pack. ``as_of`` is the date of the text it was made from; ``checked_by`` the local person who checked it."""

    name: str
    as_of: datetime.date
    source: str
    duties: tuple[Duty, ...]
    keeping: tuple[Keeping, ...] = ()
    limits: tuple[Limit, ...] = ()
    signature_means: str = ""
    before_flight: str = ""
    who_may: tuple[str, ...] = ()
    checked_by: str = ""

    def duty(self, field: str) -> Duty | None:
        return next((duty for duty in self.duties if duty.field == field), None)


def read_pack(text: str, path: str) -> Jurisdiction:
    """A pack from its TOML text. Raises :class:`InputError` for what is not TOML, unknown, missing or contradictory."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise wrong(path, "a TOML text", str(error), "compare it with the empty template") from None
    try:
        pack = msgspec.convert({**data, "limits": [_limit(item) for item in data.get("limits", [])]}, Jurisdiction)
    except (msgspec.ValidationError, TypeError) as error:
        raise wrong(path, "the fields of a jurisdiction pack", str(error), "compare it with the template") from None
    problems = list(_problems(pack, path))
    if problems:
        raise InputError(problems)
    return pack


def _limit(item: Mapping[str, Any]) -> Limit:
    overrun = item.get("overrun")
    fields = {**item, "overrun": msgspec.convert(overrun, Overrun, strict=True) if overrun else None}
    unknown = set(fields) - set(Limit.__struct_fields__)
    if unknown:
        raise TypeError(f"a limit has no field {min(unknown)!r}")
    return msgspec.convert({name: value for name, value in fields.items() if value is not None}, Limit)


def _problems(pack: Jurisdiction, path: str) -> list[Problem]:
    problems = []
    for index, duty in enumerate(pack.duties):
        if duty.field not in FIELDS:
            problems.append(
                Problem(
                    where=f"{path}, duties[{index}].field",
                    expected=", ".join(FIELDS),
                    found=duty.field,
                    next_step="choose one of these",
                )
            )
    if not pack.duties:
        problems.append(
            Problem(
                where=f"{path}, duties",
                expected="what a record entry must hold",
                found="nothing",
                next_step="fill in the template with a person who knows the local rules",
            )
        )
    problems += [
        Problem(
            where=f"{path}, limits[{index}]",
            expected="limits that a rule or a directive sets",
            found=f"{limit.item}: {limit.nature}",
            next_step="keep makers' and own limits with the aircraft, not in a pack",
        )
        for index, limit in enumerate(pack.limits)
        if not limit.is_mandatory
    ]
    return problems
