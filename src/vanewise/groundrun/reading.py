"""The readings of a ground run from a file (TOML text), with every problem collected before anything is refused.

Gauge readings stand as two short tables, ``[rising]`` and ``[falling]``: engine speed = reading with its unit.
Everything else seen in the run is a ``[[seen]]`` of its own. ``[baseline]`` holds an earlier sound sweep.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from typing import Any, Final

import msgspec

from vanewise.aircraft.tables import Table
from vanewise.diagnosis.types import LampReading, Reading
from vanewise.errors import InputError, Problem, in_file, wrong
from vanewise.groundrun.types import GroundRunReading
from vanewise.groundrun.verdict import KNOWN
from vanewise.quantities import to_si

_DIMENSION: Final = {
    "lamp out": "rpm",
    "lamp on": "rpm",
    "cover test": "pressure",
    "erect": "minutes",
    "drift": "angle",
    "taxi turn": "angle",
}
"""What a ``[[seen]]`` measures; the others are told in words, pass or fail."""
_MOST: Final = 200


class GroundRunFile(msgspec.Struct, frozen=True, kw_only=True):
    """What a file of ground-run readings says. Altitude None: the home field; temperature None: standard."""

    readings: tuple[GroundRunReading, ...]
    baseline: tuple[Reading | LampReading, ...] = ()
    altitude_m: float | None = None
    temperature_k: float | None = None
    changed: tuple[str, ...] = ()
    gauge_proved_pa: float | None = None


def read_ground_run(text: str, path: str) -> GroundRunFile:
    """The readings of a run. Raises InputError with every problem of the text."""
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise wrong(path, "a TOML text", str(error), "put numbers with their unit in quotes") from None
    problems: list[Problem] = []
    top = Table(data, "", "", problems)
    readings = [
        GroundRunReading(id=f"{direction} {rpm:.0f}", what="gauge", engine_rpm=rpm, value=value, direction=direction)
        for direction in ("rising", "falling")
        for rpm, value in _sweep(top, direction)
    ]
    readings += [_seen(top, index, entry) for index, entry in top.items("seen", _MOST)]
    altitude_m = top.quantity("altitude", "length")
    out = GroundRunFile(
        readings=tuple(readings),
        baseline=_baseline(top),
        altitude_m=altitude_m,
        temperature_k=top.quantity("temperature", "temperature"),
        changed=tuple(top.words("changed")),
        gauge_proved_pa=top.quantity("gauge_compared_within", "pressure"),
    )
    top.text("title")
    top.refuse_unknown_keys()
    if problems:
        raise InputError([in_file(path, problem) for problem in problems])
    return out


def _sweep(table: Table, key: str) -> Iterator[tuple[float, float]]:
    """Engine speed [rpm] and reading [Pa] of a table such as ``[rising]``, lowest speed first."""
    entries = table.table(key)
    found = []
    for rpm in entries.data:
        try:
            speed = to_si(rpm, "ratio", entries.where(rpm)) if not rpm.isdigit() else float(rpm)
            found.append((speed, to_si(entries.data[rpm], "pressure", entries.where(rpm))))
        except InputError as error:
            table.problems.extend(error.problems)
    yield from sorted(found)


def _seen(top: Table, index: int, entry: Mapping[str, Any]) -> GroundRunReading:
    table = Table(entry, f"seen[{index}]", "", top.problems)
    what = table.choice("what", [word for word in KNOWN if word != "gauge"], "") or "drain"
    value = table.quantity("value", _DIMENSION[what]) if what in _DIMENSION else None
    outcome = table.text("outcome")
    if what in _DIMENSION and value is None:
        table.problem("value", "the figure with its unit", "nothing", "write what was read")
    if what not in _DIMENSION and not outcome:
        table.problem("outcome", '"pass" or "fail", and what was seen', "nothing", "write what was seen")
    reading = GroundRunReading(
        id=f"{what} {index + 1}",
        what=what,
        engine_rpm=table.quantity("rpm", "rpm"),
        value=value,
        outcome=outcome,
        minutes=table.quantity("minutes", "minutes") or 15.0,
        latitude_deg=table.quantity("latitude", "angle"),
        eastward_knots=_knots(table),
    )
    table.refuse_unknown_keys()
    return reading


def _knots(table: Table) -> float:
    """Average speed towards the east while the drift was watched: a plain number of knots, west negative."""
    text = table.text("eastward").removesuffix("kt").strip()
    try:
        return float(text) if text else 0.0
    except ValueError:
        table.problem("eastward", 'knots towards the east, like "12 kt"', f'"{text}"', "write it, west negative")
        return 0.0


def _baseline(top: Table) -> tuple[Reading | LampReading, ...]:
    """An earlier sweep taken while the system was sound, with its own place and date."""
    table = top.table("baseline")
    if not table.data:
        return ()
    altitude_m = table.quantity("altitude", "length")
    temperature_k = table.quantity("temperature", "temperature")
    when = table.date("date")
    lamp = table.quantity("lamp_out", "rpm")
    found: list[Reading | LampReading] = [
        Reading(
            id=f"baseline {rpm:.0f}",
            value_pa=value,
            engine_rpm=rpm,
            altitude_m=altitude_m,
            temperature_k=temperature_k,
            direction="rising",
            when=when,
            sound=True,
        )
        for rpm, value in _sweep(table, "rising")
    ]
    if lamp is not None:
        found.append(LampReading(id="baseline lamp", engine_rpm=lamp, altitude_m=altitude_m, when=when, sound=True))
    table.refuse_unknown_keys()
    return tuple(found)
