"""What the system would do with its lines joined otherwise: as found on a job, or two ends exchanged to see."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Final

import msgspec

from vanewise import pipeline
from vanewise.aircraft.description import AircraftDescription, Gauge
from vanewise.aircraft.names import nearest
from vanewise.errors import wrong
from vanewise.jobs.answers import Answer
from vanewise.jobs.compute import engine
from vanewise.jobs.words import table, wrapped
from vanewise.network.miswire import (
    SAME_INHG,
    Compared,
    SwapRead,
    Wired,
    compare,
    hose_ends,
    swapped,
    swaps_by_reading,
    wired,
)
from vanewise.network.observe import UNKNOWN, gauge_ports
from vanewise.network.sweep import SweepPoint
from vanewise.work.hose_map import port_words
from vanewise.work.types import JobLog, WorkPackage

NEAR_INHG: Final = 0.3
"""A swap reads like a reading within this: a panel gauge's own error and the eye (judgement)."""
SHOWN: Final = 12
NOT_ALONE: Final = (
    "Other faults read like this too. Trace each line by its tag before anything is moved; work out the causes from a "
    "report for the rest."
)


class Miswired(msgspec.Struct, frozen=True, kw_only=True):
    """The lines that differ, what that does in words, and the solved system as found for the drawing."""

    lines: tuple[str, ...]
    wired: Wired
    words: tuple[str, ...]
    point: SweepPoint | None
    """As found, at cruise speed; None where it could not be solved."""


def effect(toml: str, package: WorkPackage, log: JobLog) -> Miswired | None:
    """What the connections found so far would do; None while none differs from the map."""
    mapped = {tag.line: tag.ends for tag in package.hose_tags}
    differing = tuple(
        line for line, ends in log.connections.items() if line in mapped and set(ends) != set(mapped[line])
    )
    if not differing:
        return None
    return _effect(toml, differing, tuple(sorted(log.connections.items())))


@lru_cache(maxsize=16)
def _effect(toml: str, differing: tuple[str, ...], connections: tuple[tuple[str, tuple[str, str]], ...]) -> Miswired:
    from vanewise.jobs.casebook import parsed  # late: the commands on files need no store

    description = with_known_gauge(parsed(toml))
    found = wired(description, dict(connections))
    engine_rpm = description.engine
    altitude = description.field.elevation.number
    rpms = (engine_rpm.run_up_rpm.number, engine_rpm.cruise_rpm.number)
    points = compare(description, found.description, rpms, altitude)
    return Miswired(
        lines=(*differing, *found.assumed),
        wired=found,
        words=tuple(words(description, found, points)),
        point=points[-1].now if points[-1].solved else None,
    )


class TwoEnds(msgspec.Struct, frozen=True, kw_only=True):
    """Two hose ends exchanged: figures, and the same in words."""

    one: tuple[str, str]
    """Line and port of the first end."""
    other: tuple[str, str]
    words: tuple[str, ...]
    points: tuple[Compared, ...]


class ReadLike(msgspec.Struct, frozen=True, kw_only=True):
    """Which swaps of two hose ends would read like this, the nearest first."""

    readings_inhg: Mapping[float, float]
    as_mapped_inhg: Mapping[float, float | None]
    """What the gauge would read with every line in its place and all sound."""
    tried: int
    fits: tuple[SwapRead, ...]
    """Those within ``near_inhg`` of every reading."""
    nearest: tuple[SwapRead, ...]
    """The three nearest where none fits."""
    near_inhg: float = NEAR_INHG


def two_ends(description: AircraftDescription, one: str, other: str) -> TwoEnds:
    """The system with the hoses on these two ports exchanged. Raises InputError for a port that has no line."""
    described = with_known_gauge(description)
    ends = (_end_at(described, one), _end_at(described, other))
    if ends[0] == ends[1]:
        raise wrong("second end", "another end than the first", f'"{other}"', "choose two ends")
    found = swapped(described, *ends)
    engine_rpm = described.engine
    rpms = (engine_rpm.run_up_rpm.number, engine_rpm.cruise_rpm.number)
    points = compare(described, found, rpms, described.field.elevation.number, engine=engine())
    told = tuple(words(described, Wired(description=found), points))
    return TwoEnds(one=ends[0], other=ends[1], words=told, points=points)


def _end_at(description: AircraftDescription, port: str) -> tuple[str, str]:
    by_port = {at: (line, at) for line, at in hose_ends(description)}
    if port not in by_port:
        raise wrong("hose end", f"a port with a line: {', '.join(by_port)}", f'"{port}"', nearest(port, by_port))
    return by_port[port]


def read_like(description: AircraftDescription, readings: Mapping[float, float]) -> ReadLike:
    """Which swaps would make the gauge read these [inHg] at these engine speeds [rpm], at the home field.

    Raises InputError without a reading, and for a speed or a reading out of range.
    """
    if not readings:
        raise wrong("readings", "at least one, with its engine speed", "none", "give what the gauge shows in cruise")
    for rpm, reading in readings.items():
        if not 300.0 <= rpm <= 4000.0 or not -2.0 <= reading <= 20.0:
            raise wrong("reading", "300 to 4,000 rpm and up to 20 inHg", f"{reading:g} at {rpm:g}", "look at it again")
    described = with_known_gauge(description)
    height = described.field.elevation.number
    swaps = swaps_by_reading(described, readings, height, engine=engine())
    mapped = pipeline.solve(described, list(readings), height, None, {}, engine()).points
    fits = tuple(swap for swap in swaps if swap.off_inhg <= NEAR_INHG)
    return ReadLike(
        readings_inhg=dict(readings),
        as_mapped_inhg={point.rpm: point.gauge_inhg for point in mapped},
        tried=len(swaps),
        fits=fits,
        nearest=() if fits else swaps[:3],
    )


def readings_of(texts: Sequence[str]) -> dict[float, float]:
    """``RPM=INHG`` texts as a mapping. Raises InputError for one that is not so."""
    found = {}
    for text in texts:
        rpm, _, reading = text.partition("=")
        try:
            found[float(rpm)] = float(reading)
        except ValueError:
            raise wrong(f'reading "{text}"', "RPM=INHG, like 2400=3.1", f'"{text}"', "write it so") from None
    return found


def swap_words(description: AircraftDescription, one: tuple[str, str], other: tuple[str, str]) -> str:
    """Two ends exchanged, as a sentence."""
    labels = description.labels()
    (first, at), (second, there) = one, other
    return (
        f"the {labels[first]} on {port_words(description, there)}, "
        f"and the {labels[second]} on {port_words(description, at)}"
    )


def swap_from_file(text: str, path: str, one: str, other: str) -> Answer:
    """Two hose ends exchanged in a described aircraft."""
    description = pipeline.describe(text, path)
    data = two_ends(description, one, other)
    lead = f"{description.name} with {swap_words(description, data.one, data.other)}:"
    return Answer(data=data, words="\n".join([wrapped(lead, ""), *(wrapped(f"- {line}") for line in data.words)]))


def read_like_from_file(text: str, path: str, readings: Mapping[float, float]) -> Answer:
    """Which swap of two hose ends reads like this, for a described aircraft."""
    description = pipeline.describe(text, path)
    data = read_like(description, readings)
    rpms = list(data.readings_inhg)
    rows = [
        [
            swap_words(description, swap.one, swap.other) + ("" if swap.same_bore else " (bores differ)"),
            *("-" if value is None else f"{value:.1f}" for value in swap.gauge_inhg),
        ]
        for swap in data.fits[:SHOWN] or data.nearest
    ]
    mapped = ["as mapped", *("-" if value is None else f"{value:.1f}" for value in data.as_mapped_inhg.values())]
    read = ["as read", *(f"{value:.1f}" for value in data.readings_inhg.values())]
    more = len(data.fits) - SHOWN
    lead = f"{data.tried} swaps of two hose ends tried; {len(data.fits)} read within {data.near_inhg:g} inHg of it."
    lead += " The nearest three:" if data.nearest else ""
    blocks = [lead, table(["", *(f"{rpm:.0f} rpm" for rpm in rpms)], [read, mapped, *rows])]
    if more > 0:
        blocks.append(f"And {more} more: give a reading at another engine speed.")
    blocks.append(wrapped(NOT_ALONE, ""))
    return Answer(data=data, words="\n\n".join(blocks))


def with_known_gauge(description: AircraftDescription) -> AircraftDescription:
    """The description with its gauge where it most likely sits: both systems are read at the same two points."""
    if UNKNOWN not in (description.gauge.high, description.gauge.low):
        return description
    high, low = gauge_ports(description)
    gauge: Gauge = msgspec.structs.replace(description.gauge, high=high, low=low)
    return msgspec.structs.replace(description, gauge=gauge)


def words(description: AircraftDescription, found: Wired, points: tuple[Compared, ...]) -> list[str]:
    """The difference as sentences, worst first: dirt, air going backwards, gauge, gyros, pump."""
    labels = description.labels()
    cruise = points[-1]
    told = [f"{_the(labels[line])} is taken to sit where the other was: trace it too." for line in found.assumed]
    told += [f"{_the(port_words(description, port))} would have no line: open to the air." for port in found.open_ports]
    told += [f"{_the(port_words(description, port))} has two lines on the sheet." for port in found.shared_ports]
    if not cruise.solved:
        return [*told, "What it would do could not be worked out. Put it right; do not run it."]
    shown = [f"{_the(labels[gyro])} would get air past its filter." for gyro in cruise.unfiltered]
    shown += [f"Air would go through {_the(labels[part], small=True)} backwards." for part in cruise.backwards]
    shown += _readings(labels, points)
    if not shown:
        shown = ["The gauge and the gyros would show nothing: only the tags tell. Put it back as mapped."]
    return [*told, *shown]


def _readings(labels: Mapping[str, str], points: tuple[Compared, ...]) -> list[str]:
    told = []
    for point in points:
        right, now = point.gauge_inhg
        if right is not None and now is not None and abs(right - now) >= SAME_INHG:
            told.append(f"At {point.rpm:,.0f} rpm the gauge would read {_inhg(now)} instead of {_inhg(right)}.")
    cruise = points[-1]
    if not told:
        told.append("The gauge would look right.")
    for what, pairs in (("would get", cruise.drops_inhg), ("would work against", cruise.pump_load_inhg)):
        told += [
            f"{_the(labels[part])} {what} {_inhg(now)} instead of {_inhg(right)} in cruise."
            for part, (right, now) in pairs.items()
            if abs(right - now) >= SAME_INHG
        ]
    return told if len(told) > 1 or told[0].startswith("At") else []


def _inhg(value: float) -> str:
    if abs(value) < 0.05:
        return "nothing"
    return f"{value:.1f} inHg" if value > 0.0 else f"{-value:.1f} inHg the wrong way round"


def _the(label: str, *, small: bool = False) -> str:
    return f"{'the' if small else 'The'} {label}"
