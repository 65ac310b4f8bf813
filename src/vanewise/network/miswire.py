"""What a system does when lines are joined to other ports than they should be: solved, and held against the right one.

A reassembly that differs from the hose map is told as what the pilot and the gyros would get, not only as two names.
The regulator keeps the spring it was set with in the right system; nobody would turn its screw in between.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import combinations
from math import isfinite
from typing import Final

import msgspec

from vanewise.aircraft.description import AircraftDescription, Line
from vanewise.aircraft.names import SURROUNDINGS
from vanewise.aircraft.wiring import Wiring
from vanewise.errors import wrong
from vanewise.network.observe import gauge_reading
from vanewise.network.pack import pack
from vanewise.network.packed import PackedNetwork
from vanewise.network.solve import cases, solve_batch
from vanewise.network.sweep import SweepPoint, sweep
from vanewise.network.types import Engine, OperatingPoint
from vanewise.quantities import PA_PER_INHG

_STUB_M: Final = 0.01
"""Length of the stub that stands for a port left open, with the bore of the line that belongs there."""
SAME_INHG: Final = 0.1
"""A difference no gauge in the panel shows (half a division of the usual scale, common practice)."""
BACKWARDS_CFM: Final = 0.02
"""Less flow than this has no direction worth naming."""


class Wired(msgspec.Struct, frozen=True, kw_only=True):
    """An aircraft with its lines as found. ``open_ports`` have no line now, ``shared_ports`` more than one."""

    description: AircraftDescription
    assumed: tuple[str, ...] = ()
    """Lines nobody confirmed that were taken to sit on the one port left over."""
    open_ports: tuple[str, ...] = ()
    shared_ports: tuple[str, ...] = ()


class Compared(msgspec.Struct, frozen=True, kw_only=True):
    """One engine speed, right against found: gauge [inHg], drop across each gyro [inHg], load of each pump [inHg]."""

    rpm: float
    gauge_inhg: tuple[float | None, float | None]
    drops_inhg: Mapping[str, tuple[float, float]]
    pump_load_inhg: Mapping[str, tuple[float, float]]
    backwards: tuple[str, ...]
    """Parts that air now goes through the other way."""
    unfiltered: tuple[str, ...]
    """Gyros whose air comes through a filter when joined right, and now does not."""
    solved: bool
    now: SweepPoint
    """The system as found, every part and line of it."""


class SwapRead(msgspec.Struct, frozen=True, kw_only=True):
    """Two hose ends exchanged, and what the panel gauge would read [inHg] at each asked engine speed."""

    one: tuple[str, str]
    """Line and port of the first end."""
    other: tuple[str, str]
    gauge_inhg: tuple[float | None, ...]
    off_inhg: float
    """Largest distance from what was read."""
    same_bore: bool
    """False where the two hoses differ in bore: that swap takes some force, or two adapters."""


def hose_ends(description: AircraftDescription) -> tuple[tuple[str, str], ...]:
    """Every end of a line that sits on a port: (line, port), in the order of the description."""
    return tuple(
        (line.id, port) for line in description.lines for port in (line.start, line.end) if port not in SURROUNDINGS
    )


def swaps_by_reading(
    description: AircraftDescription,
    readings_inhg: Mapping[float, float],
    altitude_m: float = 0.0,
    *,
    engine: Engine = "numpy",
) -> tuple[SwapRead, ...]:
    """Every swap of two hose ends held against gauge readings [inHg] by engine speed [rpm], the nearest first.

    The regulators keep the springs of the system as mapped. A swap that could not be solved at every speed is left
    out. The gauge's connection must be known. Raises InputError for a speed outside the range.
    """
    packed = pack(description)
    points = [OperatingPoint(engine_rpm=float(rpm), altitude_m=altitude_m) for rpm in readings_inhg]
    batch = cases(points)
    read = list(readings_inhg.values())
    bores = {line.id: line.values["bore"].number for line in description.lines}
    found = []
    for one, other in combinations(hose_ends(description), 2):
        if one[0] == other[0] or one[1] == other[1]:
            continue
        trial = _with_springs(pack(swapped(description, one, other), calibrate=False), packed)
        gauge = gauge_reading(trial, solve_batch(trial, batch, engine).pressure_pa) / PA_PER_INHG
        off = [abs(float(now) - was) for now, was in zip(gauge, read, strict=True)]
        if all(isfinite(value) for value in off):
            found.append(
                SwapRead(
                    one=one,
                    other=other,
                    gauge_inhg=tuple(float(value) for value in gauge),
                    off_inhg=max(off),
                    same_bore=abs(bores[one[0]] - bores[other[0]]) < 5e-4,
                )
            )
    return tuple(sorted(found, key=lambda swap: (round(swap.off_inhg, 1), not swap.same_bore, swap.off_inhg)))


def swapped(description: AircraftDescription, one: tuple[str, str], other: tuple[str, str]) -> AircraftDescription:
    """The aircraft with two hose ends exchanged, each (line, the port it should sit on).

    Raises KeyError for a line that is not there or does not end at that port.
    """
    (first, at), (second, there) = one, other
    lines = {line.id: line for line in description.lines}
    for name, port in (one, other):
        if port not in (lines[name].start, lines[name].end):
            raise KeyError(f"{name} does not end at {port}")
    moved = {first: _moved(lines[first], at, there), second: _moved(lines[second], there, at)}
    if first == second:
        # Both ends of one line: it is turned end for end and joins the same ports.
        moved = {first: msgspec.structs.replace(lines[first], start=lines[first].end, end=lines[first].start)}
    return msgspec.structs.replace(description, lines=tuple(moved.get(line.id, line) for line in description.lines))


def _moved(line: Line, was: str, now: str) -> Line:
    return msgspec.structs.replace(line, start=now) if line.start == was else msgspec.structs.replace(line, end=now)


def wired(description: AircraftDescription, connections: Mapping[str, tuple[str, str]]) -> Wired:
    """The aircraft with its lines as found connected; lines that nobody looked at yet sit where they are mapped.

    Where a confirmed line sits on another's port and exactly one port is left over, the other is taken to sit there:
    that is what a swap of two ends looks like after the first of them was traced. A port still without a line is open
    to the air around it. Raises :class:`InputError` for a port this aircraft does not have.
    """
    known = Wiring(description).ports | set(SURROUNDINGS)
    for line_id, pair in connections.items():
        for port in pair:
            if port not in known:
                raise wrong(f"line {line_id}", "a port of this aircraft", f'"{port}"', "choose one of its ports")
    ends = {line.id: connections.get(line.id, (line.start, line.end)) for line in description.lines}
    assumed = _take_the_place_left(description, connections, ends)
    lines = tuple(
        msgspec.structs.replace(line, start=ends[line.id][0], end=ends[line.id][1]) for line in description.lines
    )
    taken = Counter(end for pair in ends.values() for end in pair if end not in SURROUNDINGS)
    left = tuple(port for port in _mapped_ports(description) if port not in taken)
    stubs = tuple(_stub(description, number, port) for number, port in enumerate(left, start=1))
    return Wired(
        description=msgspec.structs.replace(description, lines=(*lines, *stubs)),
        assumed=assumed,
        open_ports=left,
        shared_ports=tuple(port for port, times in taken.items() if times > 1),
    )


def _mapped_ports(description: AircraftDescription) -> tuple[str, ...]:
    return tuple(
        dict.fromkeys(end for line in description.lines for end in (line.start, line.end) if end not in SURROUNDINGS)
    )


def _take_the_place_left(
    description: AircraftDescription,
    connections: Mapping[str, tuple[str, str]],
    ends: dict[str, tuple[str, str]],
) -> tuple[str, ...]:
    assumed = []
    for _ in description.lines:
        taken = Counter(end for pair in ends.values() for end in pair)
        left = [port for port in _mapped_ports(description) if not taken[port]]
        pushed = [
            (line.id, port)
            for line in description.lines
            if line.id not in connections
            for port in ends[line.id]
            if taken[port] > 1 and port not in SURROUNDINGS
        ]
        if len(left) != 1 or len(pushed) != 1:
            break
        name, port = pushed[0]
        first, second = ends[name]
        ends[name] = (left[0], second) if first == port else (first, left[0])
        assumed.append(name)
    return tuple(assumed)


def _stub(description: AircraftDescription, number: int, port: str) -> Line:
    line = next(line for line in description.lines if port in (line.start, line.end))
    short = msgspec.structs.replace(line.values["length"], number=_STUB_M)
    return msgspec.structs.replace(
        line, id=f"open_port_{number}", start=port, end=line.runs_in, values={**line.values, "length": short}
    )


def compare(
    right: AircraftDescription,
    found: AircraftDescription,
    rpms: Sequence[float],
    altitude_m: float = 0.0,
    *,
    engine: Engine = "numpy",
) -> tuple[Compared, ...]:
    """Both systems solved at each engine speed [rpm] and a pressure altitude [m], sound otherwise.

    ``found`` has the parts of ``right``, joined in another way. The numbers are what a steady engine gives; a gyro fed
    backwards is not modelled beyond its flow and its pressure.
    """
    packed = pack(right)
    other = _with_springs(pack(found, calibrate=False), packed)
    before = sweep(packed, rpms, altitude_m, engine=engine).points
    after = sweep(other, rpms, altitude_m, engine=engine).points
    return tuple(_compared(right, found, one, two) for one, two in zip(before, after, strict=True))


def _with_springs(found: PackedNetwork, right: PackedNetwork) -> PackedNetwork:
    return found.with_values(
        {
            f"{name}.preload": entry.values["preload"]
            for name, entry in right.owners.items()
            if entry.kind == "regulator"
        }
    )


def _compared(mapped: AircraftDescription, found: AircraftDescription, right: SweepPoint, now: SweepPoint) -> Compared:
    solved = "not converged" not in (right.status, now.status)
    flows = ({part.id: part.flow_cfm for part in point.parts} for point in (right, now))
    was, turned = flows
    parts = [part.id for part in found.parts if was.get(part.id) is not None and turned.get(part.id) is not None]
    backwards = tuple(
        part
        for part in parts
        if abs(turned[part] or 0.0) > BACKWARDS_CFM and (was[part] or 0.0) * (turned[part] or 0.0) < 0.0
    )
    return Compared(
        rpm=right.rpm,
        gauge_inhg=(right.gauge_inhg, now.gauge_inhg),
        drops_inhg={name: (drop, now.drops_inhg[name]) for name, drop in right.drops_inhg.items()} if solved else {},
        pump_load_inhg={name: (load, now.pump_load_inhg[name]) for name, load in right.pump_load_inhg.items()}
        if solved
        else {},
        backwards=backwards,
        unfiltered=tuple(gyro for gyro in _unfiltered(found, turned) if gyro not in _unfiltered(mapped, was))
        if solved
        else (),
        solved=solved,
        now=now,
    )


def _unfiltered(found: AircraftDescription, flow: Mapping[str, float | None]) -> tuple[str, ...]:
    """Gyros that air, or what a pump blows out, reaches past every filter: followed from each against the flow."""
    wiring = Wiring(found)
    sources = {*SURROUNDINGS, *wiring.pump_ports("outlet")}
    filters = {part.id for part in found.parts if "filter" in part.kind}
    bare = []
    for gyro in wiring.gyros:
        amount = flow.get(gyro.id) or 0.0
        if abs(amount) <= BACKWARDS_CFM:
            continue
        # Upstream is the inlet while air goes the right way through it, else the outlet.
        upstream = f"{gyro.id}.{'inlet' if amount > 0 else 'outlet'}"
        if wiring.reaches(upstream, sources, without=filters):
            bare.append(gyro.id)
    return tuple(bare)
