"""What the system would do as its lines were found connected, for the page where connections are confirmed."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import msgspec

from vanewise.aircraft.description import AircraftDescription, Gauge
from vanewise.jobs.casebook import parsed
from vanewise.network.miswire import SAME_INHG, Compared, Wired, compare, wired
from vanewise.network.observe import UNKNOWN, gauge_ports
from vanewise.network.sweep import SweepPoint
from vanewise.work.hose_map import port_words
from vanewise.work.types import JobLog, WorkPackage


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
    description = with_known_gauge(parsed(toml))
    found = wired(description, dict(connections))
    engine = description.engine
    altitude = description.field.elevation.number
    rpms = (engine.run_up_rpm.number, engine.cruise_rpm.number)
    points = compare(description, found.description, rpms, altitude)
    return Miswired(
        lines=(*differing, *found.assumed),
        wired=found,
        words=tuple(words(description, found, points)),
        point=points[-1].now if points[-1].solved else None,
    )


def with_known_gauge(description: AircraftDescription) -> AircraftDescription:
    """The description with its gauge where it most likely sits: both systems are read at the same two points."""
    if UNKNOWN not in (description.gauge.high, description.gauge.low):
        return description
    high, low = gauge_ports(description)
    gauge: Gauge = msgspec.structs.replace(description.gauge, high=high, low=low)
    return msgspec.structs.replace(description, gauge=gauge)


def words(description: AircraftDescription, found: Wired, points: tuple[Compared, ...]) -> list[str]:
    """The difference as sentences, worst first: dirt, air going backwards, gauge, gyros, pump."""
    labels = {part.id: part.label for part in description.parts} | {line.id: line.label for line in description.lines}
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
