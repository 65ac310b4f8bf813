"""What a pump works against, which the panel gauge does not show; what raises it; and where the pump's air goes.

The load is the pump's outlet minus its inlet. A collapsed hose at the pump or a blocked outlet raises it while the
gauge keeps still, because the gauge is connected elsewhere.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final, Literal

import msgspec
import numpy as np

from vanewise.aircraft.description import AircraftDescription
from vanewise.errors import NoAnswer, Problem
from vanewise.network import atmosphere
from vanewise.network.observe import gyros, observe
from vanewise.network.pack import pack
from vanewise.network.packed import PackedNetwork
from vanewise.network.solve import branch_flows, cases, solve_batch
from vanewise.network.types import BatchCases, BatchSolution, Engine, Floats, Observables, OperatingPoint, States
from vanewise.quantities import M3S_PER_CFM, M_PER_FT, PA_PER_INHG

#: What is tried, by kind of part: its state, how far it is taken, and that in words. The amounts are judgement: far
#: enough to show the direction, and within what is found on aircraft.
_ON_PARTS: Final[Mapping[str, tuple[tuple[str, float, str], ...]]] = {
    "pump": (
        ("outlet_blocked", 0.85, "outlet blocked to 3/20 of its passage"),
        ("slip", 3.0, "worn: it leaks inside three times as much"),
    ),
    "regulator": (
        ("filter_loading", 100.0, "its own filter clogged, 100 times the resistance of a new one"),
        ("stuck_shut", 1.0, "stuck shut"),
        ("set_shift_inhg", 0.5, "screw turned in by 0.5 inHg"),
    ),
    "intake filter": (("loading", 10.0, "loaded, 10 times the resistance of a new one"),),
    "inline filter": (("loading", 10.0, "loaded, 10 times the resistance of a new one"),),
    "inlet filter": (("loading", 10.0, "loaded, 10 times the resistance of a new one"),),
}
_ON_LINES: Final = ("open_fraction", 0.2, "collapsed or kinked to a fifth of its bore area")
_LEAKS: Final = frozenset({"leak", "open_end", "case_leak"})


class LoadPoint(msgspec.Struct, frozen=True, kw_only=True):
    """One engine speed at one altitude. Gauge and load in inHg; None where the point was not solved."""

    rpm: float
    altitude_ft: float
    gauge_inhg: float | None
    load_inhg: Mapping[str, float | None]
    """By pump: outlet minus inlet."""
    pressure_ratio: Mapping[str, float | None]
    """By pump: outlet over inlet, absolute. It rises with altitude where the load does not, and heats the pump."""


class Raiser(msgspec.Struct, frozen=True, kw_only=True):
    """One thing gone wrong, and what it does at one point: before and after, inHg; None where not solved."""

    part: str
    state: str
    amount: float
    words: str
    load_inhg: tuple[float | None, float | None]
    gauge_inhg: tuple[float | None, float | None]
    least_drop_inhg: tuple[float | None, float | None]
    """The smallest drop across any instrument that takes the same need."""


class PumpLoad(msgspec.Struct, frozen=True, kw_only=True):
    """The load over speed and altitude, and what raises it, largest first."""

    points: tuple[LoadPoint, ...]
    pump: str
    """The pump that ``raisers`` is about."""
    at_rpm: float
    at_altitude_ft: float
    raisers: tuple[Raiser, ...]


class Share(msgspec.Struct, frozen=True, kw_only=True):
    """Air of one user, in cubic feet of free air a minute."""

    part: str
    use: Literal["instrument", "regulator", "leak", "other user", "standby", "slip"]
    cfm: float


class FlowBudget(msgspec.Struct, frozen=True, kw_only=True):
    """Where the air goes that the pumps take in. The shares add up to ``intake_cfm``."""

    rpm: float
    altitude_ft: float
    intake_cfm: float
    """What all pumps sweep, free air at ambient."""
    through_pumps_cfm: float
    """What of it leaves the pumps; the rest slips back inside them."""
    shares: tuple[Share, ...]
    """Instruments first, then by size."""
    unaccounted_cfm: float
    """What the shares leave over; the solver's own tolerance."""


def pump_load(
    description: AircraftDescription,
    rpms: Sequence[float],
    altitudes_m: Sequence[float],
    states: States | None = None,
    *,
    pump: str = "",
    at_rpm: float,
    at_altitude_m: float,
    engine: Engine = "numpy",
) -> PumpLoad:
    """Load at every engine speed [rpm] and altitude [m], and what raises that of ``pump`` (the first) at one point.

    ``states`` is how the parts are now. Raises InputError for an unknown state or a point outside the ranges.
    """
    packed = pack(description)
    now = dict(states or {})
    points = [OperatingPoint(engine_rpm=float(rpm), altitude_m=height) for height in altitudes_m for rpm in rpms]
    batch = cases(points, now)
    solution = solve_batch(packed, batch, engine)
    seen = observe(packed, batch, solution)
    name = pump or description.parts_of("pump")[0].id
    return PumpLoad(
        points=tuple(_point(packed, solution, seen, point, row) for row, point in enumerate(points)),
        pump=name,
        at_rpm=at_rpm,
        at_altitude_ft=at_altitude_m / M_PER_FT,
        raisers=_raisers(packed, name, now, OperatingPoint(engine_rpm=at_rpm, altitude_m=at_altitude_m), engine),
    )


def _point(
    packed: PackedNetwork, solution: BatchSolution, seen: Observables, point: OperatingPoint, row: int
) -> LoadPoint:
    def ratio(pump: str) -> float | None:
        high, low = (solution.pressure_pa[row, packed.junction(f"{pump}.{end}")] for end in ("delivery", "inlet"))
        return _number(high / low)

    return LoadPoint(
        rpm=point.engine_rpm,
        altitude_ft=point.altitude_m / M_PER_FT,
        gauge_inhg=_number(seen.gauge_pa[row] / PA_PER_INHG),
        load_inhg={pump: _number(load[row] / PA_PER_INHG) for pump, load in seen.pump_load_pa.items()},
        pressure_ratio={pump: ratio(pump) for pump in seen.pump_load_pa},
    )


def _raisers(
    packed: PackedNetwork, pump: str, now: Mapping[str, float], point: OperatingPoint, engine: Engine
) -> tuple[Raiser, ...]:
    tried = list(_tried(packed, pump))
    neutral = {f"{part}.{state}": packed.neutral(f"{part}.{state}") for part, state, _, _ in tried} | dict(now)
    rows = [neutral, *({**neutral, f"{part}.{state}": amount} for part, state, amount, _ in tried)]
    batch = cases([point] * len(rows), rows)
    seen = observe(packed, batch, solve_batch(packed, batch, engine))
    least = np.min(
        [drop for gyro, drop in seen.drop_pa.items() if not _is_turn(packed, gyro)] or [seen.gauge_pa], axis=0
    )

    def pair(values: Floats, row: int) -> tuple[float | None, float | None]:
        return _number(values[0] / PA_PER_INHG), _number(values[row] / PA_PER_INHG)

    found = [
        Raiser(
            part=part,
            state=state,
            amount=amount,
            words=words,
            load_inhg=pair(seen.pump_load_pa[pump], row),
            gauge_inhg=pair(seen.gauge_pa, row),
            least_drop_inhg=pair(least, row),
        )
        for row, (part, state, amount, words) in enumerate(tried, start=1)
    ]
    return tuple(sorted(found, key=_rise, reverse=True))


def _is_turn(packed: PackedNetwork, gyro: str) -> bool:
    return packed.owners[gyro].kind == "turn indicator"


def _rise(raiser: Raiser) -> float:
    before, after = raiser.load_inhg
    return -np.inf if before is None or after is None else after - before


def _tried(packed: PackedNetwork, pump: str) -> list[tuple[str, str, float, str]]:
    """Part, state, amount, words: of this pump and the lines on it, of every regulator and filter."""
    described = packed.description
    found = [
        (part.id, state, amount, words)
        for part in described.parts
        if part.kind != "pump" or part.id == pump
        for state, amount, words in _ON_PARTS.get(part.kind, ())
    ]
    regulated = {f"{part.id}.gyro_side" for part in described.parts_of("regulator")}
    ends = {f"{pump}.inlet", f"{pump}.outlet"} | regulated
    return found + [(line.id, *_ON_LINES) for line in described.lines if ends & {line.start, line.end}]


def flow_budget(
    description: AircraftDescription,
    point: OperatingPoint,
    states: States | None = None,
    *,
    engine: Engine = "numpy",
) -> FlowBudget:
    """Who takes how much of the pumps' air at one operating point. Raises NoAnswer where it was not solved.

    Counted at the boundary of the air between instruments and pumps: what crosses it is used, leaked, or admitted or
    dumped by the regulator. In suction duty everything that crosses reaches the pumps, in pressure duty it leaves them.
    """
    packed = pack(description)
    batch = cases([point], states or {})
    solution = solve_batch(packed, batch, engine)
    if solution.status[0] == 3:
        raise NoAnswer(
            Problem(
                where=f"{point.engine_rpm:,.0f} rpm at {point.altitude_m / M_PER_FT:,.0f} ft",
                expected="a balance of flow at every junction",
                found="none that the solver could vouch for",
                next_step="take the states back one by one; the last one out is the one to look at",
            )
        )
    flow = branch_flows(packed, batch, solution)[0] / _density(batch) / M3S_PER_CFM
    pumps = [packed.owners[part.id].branches for part in description.parts_of("pump")]
    swept = float(sum(flow[branches[""]] for branches in pumps))
    slip = [
        Share(part=part.id, use="slip", cfm=float(flow[packed.owners[part.id].branches["slip"]]))
        for part in description.parts_of("pump")
    ]
    crossing = sorted(_crossing(packed, flow), key=lambda share: (share.use != "instrument", -abs(share.cfm)))
    shares = (*crossing, *slip)
    return FlowBudget(
        rpm=point.engine_rpm,
        altitude_ft=point.altitude_m / M_PER_FT,
        intake_cfm=swept,
        through_pumps_cfm=swept - sum(share.cfm for share in slip),
        shares=shares,
        unaccounted_cfm=swept - sum(share.cfm for share in shares),
    )


def _density(batch: BatchCases) -> float:
    return float(atmosphere.density(batch.ambient_pa[0], batch.temperature_k[0]))


def _crossing(packed: PackedNetwork, flow: Floats) -> list[Share]:
    """What crosses into the air between instruments and pumps (suction duty), or out of it (pressure duty)."""
    suction = packed.description.duty == "suction"
    inside = _between(packed)
    owner_of = {
        number: (owner, suffix) for owner, entry in packed.owners.items() for suffix, number in entry.branches.items()
    }
    pumps = {part.id for part in packed.description.parts_of("pump")}
    amounts: dict[tuple[str, Literal["instrument", "regulator", "leak", "other user", "standby"]], float] = {}
    for number in range(packed.branches):
        owner, suffix = owner_of[number]
        ends = int(packed.branch_a[number]) in inside, int(packed.branch_b[number]) in inside
        if owner in pumps or ends[0] == ends[1]:
            continue
        inwards = float(flow[number]) if ends[1] else -float(flow[number])
        key = (owner, _use(packed.owners[owner].kind, suffix))
        amounts[key] = amounts.get(key, 0.0) + (inwards if suction else -inwards)
    shown = {"instrument", "regulator"}
    return [
        Share(part=part, use=use, cfm=cfm) for (part, use), cfm in amounts.items() if use in shown or abs(cfm) > 1e-6
    ]


def _use(kind: str, suffix: str) -> Literal["instrument", "regulator", "leak", "other user", "standby"]:
    if suffix in _LEAKS:
        return "leak"
    if "indicator" in kind:
        return "instrument"
    if kind == "regulator":
        return "regulator"
    return "standby" if kind in ("standby pump", "intake source") else "other user"


def _between(packed: PackedNetwork) -> set[int]:
    """Junctions joined to the pumps on the instruments' side without passing a pump or an instrument."""
    passed = {*gyros(packed.description)} | {
        part.id for part in packed.description.parts if part.kind in ("pump", "standby pump")
    }
    shut = {number for owner in passed for number in packed.owners[owner].branches.values()}
    near = "inlet" if packed.description.duty == "suction" else "outlet"
    inside = {packed.junction(f"{part.id}.{near}") for part in packed.description.parts_of("pump")}
    waiting = list(inside)
    ends = list(zip(packed.branch_a.tolist(), packed.branch_b.tolist(), strict=True))
    while waiting:
        here = waiting.pop()
        for number, (a, b) in enumerate(ends):
            if number in shut or here not in (a, b):
                continue
            other = b if here == a else a
            if other < packed.free and other not in inside:
                inside.add(other)
                waiting.append(other)
    return inside


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
