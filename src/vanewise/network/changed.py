"""What if the layout were another: an instrument goes electronic or comes off, and the rest lives with what is left.

The description is changed as a mechanic would change the aircraft, and both are solved: first with the regulator's
spring as it is, which is what the first run-up would show, and with the spring set again. What hangs on the part is
named; whether the change may be made is for the person who approves it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

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
from vanewise.network.types import Engine, OperatingPoint
from vanewise.quantities import PA_PER_INHG
from vanewise.values import standard_atmosphere_1976 as usa76

_CFM = 0.3048**3 / 60.0
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


class ChangedLayout(msgspec.Struct, frozen=True, kw_only=True):
    """The system before and after, and what to see to. Ports and parts by their ids."""

    removed: tuple[str, ...]
    to_cap: tuple[str, ...]
    hangs_on_it: tuple[str, ...]
    before: tuple[AtSpeed, ...]
    spring_as_it_is: tuple[AtSpeed, ...]
    spring_set_again: tuple[AtSpeed, ...]
    spring_change_inhg: Mapping[str, float]
    """How far each regulator's spring has to move for the gauge to read its setting again; above zero is tighter."""
    to_approve: tuple[str, ...]


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
    if any(tap.partition(".")[0] in gone for tap in (before.gauge.high, before.gauge.low)):
        hangs.append(f"the panel gauge: its tap comes off with the part; computed here across {high} and {low}")
        after = msgspec.structs.replace(after, gauge=msgspec.structs.replace(before.gauge, high=high, low=low))
    lamp = before.lamp
    if lamp and any(tap.partition(".")[0] in gone for tap in (lamp.high, lamp.low)):
        hangs.append(f"the warning lamp: its switch comes off with the part; computed here across {high} and {low}")
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
    old, again = pack(description), pack(after)
    kept = {f"{name}.preload": old.owners[name].values["preload"] for name in regulators(old)}
    moved = {
        name: (again.owners[name].values["preload"] - old.owners[name].values["preload"]) / PA_PER_INHG
        for name in regulators(again)
    }
    points = [OperatingPoint(engine_rpm=float(rpm), altitude_m=altitude_m) for rpm in rpms]
    return ChangedLayout(
        removed=removed,
        to_cap=to_cap,
        hangs_on_it=hangs,
        before=_figures(old, points, engine),
        spring_as_it_is=_figures(again.with_values(kept), points, engine),
        spring_set_again=_figures(again, points, engine),
        spring_change_inhg=moved,
        to_approve=_to_approve(to_cap, hangs),
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


def _to_approve(to_cap: Sequence[str], hangs: Sequence[str]) -> tuple[str, ...]:
    """What the person who approves the change has to have in front of them; the decision is theirs."""
    return (
        "the data that approves taking this instrument off the air system, and what replaces it",
        "the aircraft's own equipment list and limitations with the instrument changed: day, night, instruments",
        *(f"a cap on {port}, of the fitting's own size, and a leak check after it" for port in to_cap),
        *(f"{what.partition(':')[0]}: where it is connected now" for what in hangs),
        "the regulator set again by the aircraft's own manual, with the gauge proved first, and the sweep as a record",
        "weight and balance, placards, and the record entry",
    )
