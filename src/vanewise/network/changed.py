"""What if the layout were another: an instrument goes electronic or comes off, or a standby source is added.

The description is changed as a mechanic would change the aircraft, and both are solved: first with the regulator's
spring as it is, which is what the first run-up would show, and with the spring set again. What hangs on the part is
named; whether the change may be made is for the person who approves it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import msgspec
import numpy as np

from vanewise.aircraft.checks import refuse_unsound
from vanewise.aircraft.description import AircraftDescription, Part
from vanewise.aircraft.kinds import KINDS
from vanewise.aircraft.names import nearest
from vanewise.aircraft.wiring import through_ports
from vanewise.errors import wrong
from vanewise.network.calibrate import regulators
from vanewise.network.observe import across_gyro, gyros, observe
from vanewise.network.pack import pack
from vanewise.network.packed import PackedNetwork
from vanewise.network.solve import branch_flows, cases, solve_batch
from vanewise.network.standby import StandbyKind, with_standby
from vanewise.network.types import Engine, OperatingPoint
from vanewise.quantities import M_PER_FT, PA_PER_INHG
from vanewise.values import standard_atmosphere_1976 as usa76

_CFM = 0.3048**3 / 60.0
STANDBY_M: Final = (0.0, 5e3 * M_PER_FT, 10e3 * M_PER_FT, 15e3 * M_PER_FT, 20e3 * M_PER_FT)
_NOT_ALONE = frozenset({"pump", "standby pump", "regulator", "check valve"})


class AtSpeed(msgspec.Struct, frozen=True, kw_only=True):
    """One engine speed: gauge, drops and pump loads in inHg, the instruments' air in cubic feet of free air a minute.

    None where the point could not be solved.
    """

    rpm: float
    gauge_inhg: float | None
    drops_inhg: Mapping[str, float | None]
    pump_load_inhg: Mapping[str, float | None]
    demand_cfm: float | None


class OnStandby(msgspec.Struct, frozen=True, kw_only=True):
    """What the instruments get from the standby alone at one altitude, in inHg; None where not solved."""

    altitude_ft: float
    gauge_inhg: float | None
    drops_inhg: Mapping[str, float | None]


class ChangedLayout(msgspec.Struct, frozen=True, kw_only=True):
    """The system before and after, and what to see to. Ports and parts by their ids."""

    removed: tuple[str, ...]
    added: tuple[str, ...]
    to_cap: tuple[str, ...]
    hangs_on_it: tuple[str, ...]
    before: tuple[AtSpeed, ...]
    spring_as_it_is: tuple[AtSpeed, ...]
    spring_set_again: tuple[AtSpeed, ...]
    spring_change_inhg: Mapping[str, float]
    """How far each regulator's spring has to move for the gauge to read its setting again; above zero is tighter."""
    to_approve: tuple[str, ...]
    on_standby: tuple[OnStandby, ...] = ()
    """The engine-driven pump stopped and the standby on, by altitude; empty where none was added."""


def without_instrument(
    description: AircraftDescription, gyro: str
) -> tuple[AircraftDescription, tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """The description without one air-driven instrument and what served it alone; what went, ports to cap, what hangs.

    Raises InputError for an unknown instrument, and for the last one: then there is no air system left.
    """
    known = gyros(description)
    if gyro not in known:
        raise wrong("instrument", f"one of {', '.join(known)}", f'"{gyro}"', nearest(gyro, known))
    if len(known) == 1:
        raise wrong(
            "instrument", "another air-driven instrument to stay", f"{gyro} is the last", "there is nothing to compute"
        )
    gone, lines, capped = _unserved(description, gyro)
    parts = tuple(
        msgspec.structs.replace(part, capped=(*part.capped, *(port for owner, port in capped if owner == part.id)))
        for part in description.parts
        if part.id not in gone
    )
    changed = msgspec.structs.replace(
        description,
        parts=parts,
        lines=tuple(line for line in description.lines if line.id not in lines),
        layout="",
        turn_instrument="electric" if description.part(gyro).kind == "turn indicator" else description.turn_instrument,
    )
    changed, hangs = _taps_moved(description, changed, gone)
    return refuse_unsound(changed), (*gone, *lines), tuple(f"{owner}.{port}" for owner, port in capped), hangs


def _unserved(
    description: AircraftDescription, gyro: str
) -> tuple[tuple[str, ...], tuple[str, ...], tuple[tuple[str, str], ...]]:
    """Parts and lines that serve this instrument alone, and the manifold ports that they leave open."""
    parts = {part.id: part for part in description.parts}
    gone, lines, capped = [gyro], [], []
    for owner in gone:
        for line in description.lines:
            ends = [end.partition(".")[::2] for end in (line.start, line.end)]
            if line.id in lines or owner not in (ends[0][0], ends[1][0]):
                continue
            lines.append(line.id)
            for other, port in ends:
                if other in parts and other not in gone:
                    if _serves_one(parts[other]):
                        gone.append(other)
                    else:
                        capped.append((other, port))
    return tuple(gone), tuple(lines), tuple(capped)


def _serves_one(part: Part) -> bool:
    return through_ports(part.kind) is not None and part.kind not in _NOT_ALONE


def _taps_moved(
    before: AircraftDescription, after: AircraftDescription, gone: Sequence[str]
) -> tuple[AircraftDescription, tuple[str, ...]]:
    """Gauge and lamp on another instrument where theirs is gone, and in words all that hung on it."""
    hangs = []
    high, low = across_gyro(after)
    across = " and ".join(_port_words(after, port) if "." in port else f"the {port}" for port in (high, low))
    if any(tap.partition(".")[0] in gone for tap in (before.gauge.high, before.gauge.low)):
        hangs.append(f"the panel gauge: its tap comes off with the part; computed here across {across}")
        after = msgspec.structs.replace(after, gauge=msgspec.structs.replace(before.gauge, high=high, low=low))
    lamp = before.lamp
    if lamp and any(tap.partition(".")[0] in gone for tap in (lamp.high, lamp.low)):
        hangs.append(f"the warning lamp: its switch comes off with the part; computed here across {across}")
        after = msgspec.structs.replace(after, lamp=msgspec.structs.replace(lamp, high=high, low=low))
    kinds = {before.part(part).kind for part in gone if KINDS[before.part(part).kind].is_gyro}
    if "attitude indicator" in kinds and before.autopilot_takes_attitude in ("yes", "unknown"):
        sure = "takes" if before.autopilot_takes_attitude == "yes" else "may take"
        hangs.append(f"the autopilot: it {sure} its attitude from this indicator and has none without it")
    if "heading indicator" in kinds and before.autopilot_takes_attitude != "no autopilot":
        hangs.append("the autopilot: look whether its heading comes from this indicator")
    return after, tuple(hangs)


def changed_layout(
    description: AircraftDescription, gyro: str, rpms: Sequence[float], altitude_m: float, *, engine: Engine = "numpy"
) -> ChangedLayout:
    """Both systems at these engine speeds [rpm] and this pressure altitude [m], on a standard day.

    Raises InputError as :func:`without_instrument`, and for a speed or altitude outside its range.
    """
    after, removed, to_cap, hangs = without_instrument(description, gyro)
    found = _compared(description, after, rpms, altitude_m, engine)
    return msgspec.structs.replace(
        found,
        removed=removed,
        to_cap=to_cap,
        hangs_on_it=hangs,
        to_approve=_to_approve([_port_words(description, port) for port in to_cap], hangs),
    )


def added_standby(
    description: AircraftDescription,
    kind: StandbyKind,
    rpms: Sequence[float],
    altitude_m: float,
    *,
    standby_altitudes_m: Sequence[float] = STANDBY_M,
    engine: Engine = "numpy",
) -> ChangedLayout:
    """The system with a standby source added, and what the instruments get from it alone at these altitudes [m].

    Raises InputError as :func:`vanewise.network.standby.with_standby`, and for a point outside its range.
    """
    after, added, cut = with_standby(description, kind)
    found = _compared(description, after, rpms, altitude_m, engine)
    standby = next(part.id for part in after.parts if part.kind == kind)
    packed = pack(after).with_values(_preloads(pack(description)))
    pump = after.parts_of("pump")[0].id
    on = "running" if kind == "standby pump" else "selected"
    states = {f"{pump}.stopped": 1.0, f"{standby}.{on}": 1.0}
    rpm = description.engine.cruise_rpm.number
    batch = cases([OperatingPoint(engine_rpm=rpm, altitude_m=height) for height in standby_altitudes_m], states)
    seen = observe(packed, batch, solve_batch(packed, batch, engine))
    return msgspec.structs.replace(
        found,
        added=added,
        hangs_on_it=cut,
        to_approve=_standby_to_approve(kind),
        on_standby=tuple(
            OnStandby(
                altitude_ft=height / M_PER_FT,
                gauge_inhg=_number(seen.gauge_pa[row] / PA_PER_INHG),
                drops_inhg={gyro: _number(drop[row] / PA_PER_INHG) for gyro, drop in seen.drop_pa.items()},
            )
            for row, height in enumerate(standby_altitudes_m)
        ),
    )


def _preloads(packed: PackedNetwork) -> dict[str, float]:
    return {f"{name}.preload": packed.owners[name].values["preload"] for name in regulators(packed)}


def _compared(
    before: AircraftDescription, after: AircraftDescription, rpms: Sequence[float], altitude_m: float, engine: Engine
) -> ChangedLayout:
    """Figures of both systems; the regulators' springs as they are, then set again."""
    old, again = pack(before), pack(after)
    kept, found = _preloads(old), _preloads(again)
    points = [OperatingPoint(engine_rpm=float(rpm), altitude_m=altitude_m) for rpm in rpms]
    return ChangedLayout(
        removed=(),
        added=(),
        to_cap=(),
        hangs_on_it=(),
        before=_figures(old, points, engine),
        spring_as_it_is=_figures(again.with_values(kept), points, engine),
        spring_set_again=_figures(again, points, engine),
        spring_change_inhg={name.partition(".")[0]: (found[name] - kept[name]) / PA_PER_INHG for name in found},
        to_approve=(),
    )


def _figures(packed: PackedNetwork, points: Sequence[OperatingPoint], engine: Engine) -> tuple[AtSpeed, ...]:
    batch = cases(points)
    solution = solve_batch(packed, batch, engine)
    seen, flow = observe(packed, batch, solution), branch_flows(packed, batch, solution)
    jets = [packed.branch(gyro) for gyro in gyros(packed.description)]
    demand = np.abs(flow[:, jets]).sum(axis=1) / usa76.SEA_LEVEL_DENSITY.number / _CFM
    return tuple(
        AtSpeed(
            rpm=point.engine_rpm,
            gauge_inhg=_number(seen.gauge_pa[row] / PA_PER_INHG),
            drops_inhg={gyro: _number(drop[row] / PA_PER_INHG) for gyro, drop in seen.drop_pa.items()},
            pump_load_inhg={pump: _number(load[row] / PA_PER_INHG) for pump, load in seen.pump_load_pa.items()},
            demand_cfm=_number(demand[row]),
        )
        for row, point in enumerate(points)
    )


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _port_words(description: AircraftDescription, port: str) -> str:
    part, _, name = port.partition(".")
    return f"the {description.part(part).label}, port {name.replace('_', ' ')}"


def _to_approve(to_cap: Sequence[str], hangs: Sequence[str]) -> tuple[str, ...]:
    """What the person who approves the change has to have in front of them; the decision is theirs. Ports in words."""
    return (
        "the data that approves taking this instrument off the air system, and what replaces it",
        "the aircraft's own equipment list and limitations with the instrument changed: day, night, instruments",
        *(f"a cap on {port}, of the fitting's own size, and a leak check after it" for port in to_cap),
        *(f"{what.partition(':')[0]}: where it is connected now" for what in hangs),
        "the regulator set again by the aircraft's own manual, with the gauge proved first, and the sweep as a record",
        "weight and balance, placards, and the record entry",
    )


def _standby_to_approve(kind: StandbyKind) -> tuple[str, ...]:
    own = (
        (
            "the motor's current, its breaker and switch, and the electrical load with it on and the alternator lost",
            "what switches it on, how the pilot learns that the pump is lost, and the time that takes",
        )
        if kind == "standby pump"
        else (
            "its altitude and power limits, in the manual and on a placard: full throttle high up gives almost none",
            "its cable, selector and shuttle valve, with the inspections and the function test that its data ask for",
        )
    )
    return (
        "the data that approves this standby on this aircraft",
        *own,
        "both check valves the right way round, each proved with one source off",
        "a leak check of the new lines and the tee",
        "the regulator proved, and set again by the aircraft's own manual where it moved, with the gauge proved first",
        "a function test before flight and at an interval, with its result written down",
        "it backs up the pump alone: not the lines, the filter, the regulator or an instrument",
        "weight and balance, equipment list, placards, and the record entry",
    )
