"""From a description to a packed network.

Ports that share a cavity or open to the same surroundings are one junction. Every latent leak and fault has its
branch from the start, with size zero, so a state never changes the topology.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import msgspec
import numpy as np
from numpy.typing import NDArray

from vanewise.aircraft.description import AircraftDescription, Duty, Line, Part
from vanewise.aircraft.kinds import KINDS
from vanewise.errors import InputError, Problem
from vanewise.network.calibrate import calibrated
from vanewise.network.elements import ELEMENTS, BranchPlan, Law, Zone
from vanewise.network.elimination import minimum_degree_order, prepare
from vanewise.network.packed import (
    FIXED,
    INTAKE,
    WORKSHOP,
    Owner,
    PackedNetwork,
    Sensing,
    branch_geometry,
    did_you_mean,
)

PUMPS = ("pump", "standby pump")
_PLAIN_GUESS, _PLAIN_WARMTH = 0.9, 1.1


def pack(description: AircraftDescription, *, source_port: str = "", calibrate: bool = True) -> PackedNetwork:
    """The packed network of a description that has passed ``aircraft.checks``.

    ``source_port`` joins a workshop source (suction or low-pressure air, see :mod:`vanewise.network.source`) to a
    port. With ``calibrate`` the regulator's spring is set so that the sound system reads ``setting`` at
    ``set_at_rpm`` at the home field on a standard day.
    """
    packed = _assemble(description, source_port)
    if calibrate and description.parts_of("regulator"):
        return calibrated(packed)
    return packed


def _assemble(description: AircraftDescription, source_port: str) -> PackedNetwork:
    cavities = _cavities(description)
    near_pump = _pump_distance(description, cavities)
    plans: list[tuple[str, BranchPlan, str, str]] = []
    elsewhere = senses_elsewhere(description)
    for owner, kind, item in _owners(description):
        for plan in ELEMENTS[kind].plan(description.duty):
            if owner == elsewhere and plan.law is Law.VALVE:
                plan = msgspec.structs.replace(plan, law=Law.ORIFICE)
            start = _end_name(owner, item, plan.start, cavities, near_pump)
            end = _end_name(owner, item, plan.end, cavities, near_pump)
            plans.append((owner, plan, start, end))
    if source_port:
        if source_port not in cavities:
            raise InputError(
                Problem(
                    where="workshop source",
                    expected="a port of this aircraft, written part.port",
                    found=f'"{source_port}"',
                    next_step=did_you_mean(source_port, cavities),
                )
            )
        plans.append(
            ("workshop", BranchPlan("", Law.ORIFICE, "", ""), cavities[source_port], "workshop"),
        )
    plans.sort(key=lambda entry: entry[1].law)
    used = {INTAKE: bool(description.parts_of("intake source")), WORKSHOP: bool(source_port)}
    fixed = [name for name in FIXED if used.get(name, True)]
    free_names = sorted({name for _, _, a, b in plans for name in (a, b)} | set(cavities.values()))
    free_names = [name for name in free_names if name not in fixed]
    order = _order(free_names, plans)
    number = {name: i for i, name in enumerate((*order, *fixed))}
    branch_a = np.array([number[a] for _, _, a, _ in plans], np.int64)
    branch_b = np.array([number[b] for _, _, _, b in plans], np.int64)
    names = tuple(f"{owner}.{plan.suffix}" if plan.suffix else owner for owner, plan, _, _ in plans)
    owners = _owner_table(description, plans)
    if elsewhere:
        owners[elsewhere] = replace(owners[elsewhere], values={**owners[elsewhere].values, "lift": 1.0})
    return PackedNetwork(
        description=description,
        junction_names=tuple(number),
        alias={
            **{port: number[name] for port, name in cavities.items()},
            **{name: number[name] for name in number if name not in cavities.values()},
        },
        free=len(order),
        branch_names=names,
        law=np.array([plan.law for _, plan, _, _ in plans], np.int8),
        branch_a=branch_a,
        branch_b=branch_b,
        geometry=branch_geometry(owners, len(plans)),
        zone=_zones(description.duty, plans, number, owners),
        latent=np.array([bool(plan.only_when) for _, plan, _, _ in plans]),
        elimination=prepare(len(order), branch_a, branch_b),
        owners=owners,
        guess=np.full((1, len(order)), _PLAIN_GUESS),
        warmth=np.full(1, _PLAIN_WARMTH),
        source_port=source_port,
        sensing=_sensing(description, elsewhere, plans, cavities, number) if elsewhere else None,
    )


def senses_elsewhere(description: AircraftDescription) -> str:
    """Id of the regulator that senses another place than its own port; empty without one.

    Raises InputError for a second one: each could then hold the other open or shut, so there may be several answers.
    """
    found = [
        part.id
        for part in description.parts_of("regulator")
        if part.senses and part.senses not in (f"{part.id}.gyro_side", f"{part.id}.pump_side")
    ]
    if len(found) > 1:
        raise InputError(
            Problem(
                where=f"regulator {found[1]}",
                expected="at most one regulator that senses elsewhere than at its own port",
                found=f"{' and '.join(found)} do",
                next_step="have one of them computed as sensing at its own port",
            )
        )
    return found[0] if found else ""


def _sensing(
    description: AircraftDescription,
    owner: str,
    plans: Sequence[tuple[str, BranchPlan, str, str]],
    cavities: Mapping[str, str],
    number: Mapping[str, int],
) -> Sensing:
    """Where that regulator senses. Raises InputError where its own air and what it senses are not kept apart."""
    part = next(part for part in description.parts if part.id == owner)
    sensed, chamber = cavities.get(part.senses, ""), f"{owner}.chamber"
    through = {owner}
    own_air = _reach(
        [plan for plan in plans if plan[0] not in through or plan[1].suffix == "filter"],
        {chamber}, barred=set(), stop=set(),
    )  # fmt: skip
    if sensed in FIXED or sensed not in number or {sensed, f"{owner}.gyro_side"} & own_air:
        raise InputError(
            Problem(
                where=f"regulator {owner}, senses",
                expected="a port between the pump and the gyros, apart from the air that the regulator admits or dumps",
                found=f'"{part.senses}"',
                next_step="name the port where its sense line is joined; leave it out if it senses at its own port",
            )
        )
    branch = next(i for i, (name, plan, _, _) in enumerate(plans) if name == owner and not plan.suffix)
    ends = (number[chamber], number[sensed])
    return Sensing(owner, branch, *(ends if description.duty == "suction" else ends[::-1]))


def _owners(description: AircraftDescription) -> list[tuple[str, str, Part | Line]]:
    parts = [(part.id, part.kind, part) for part in description.parts if part.kind in ELEMENTS]
    return [*parts, *((line.id, "line", line) for line in description.lines)]


def _cavities(description: AircraftDescription) -> dict[str, str]:
    """Every ``part.port`` and both surroundings -> the name of the junction it belongs to."""
    cavity: dict[str, str] = {name: name for name in FIXED[:2]}
    for part in description.parts:
        element = ELEMENTS.get(part.kind)
        if element is None:
            continue
        for port in (*(spec.name for spec in KINDS[part.kind].ports), *part.extra_ports):
            name = f"{part.id}.{port}"
            if port in part.open:
                cavity[name] = part.open[port]
            elif element.one_cavity:
                cavity[name] = part.id
            elif part.kind == "regulator" and port in ("gyro_side", "pump_side"):
                cavity[name] = f"{part.id}.gyro_side"
            else:
                cavity[name] = name
    return cavity


def _end_name(
    owner: str, item: Part | Line, end: str, cavities: Mapping[str, str], near_pump: Mapping[str, int]
) -> str:
    if end == "@cabin":
        return item.runs_in if isinstance(item, Line) else "cabin"
    if end == "@bay":
        return "engine bay"
    if end == "@intake":
        return INTAKE
    if end == "@body":
        return owner
    if isinstance(item, Line):
        ends = (cavities[item.start], cavities[item.end])
        far_first = near_pump.get(ends[0], 10**6) <= near_pump.get(ends[1], 10**6)
        pump_end, far_end = ends if far_first else ends[::-1]
        return {"start": ends[0], "end": ends[1], "@pump_end": pump_end, "@far_end": far_end}[end]
    return cavities.get(f"{owner}.{end}", f"{owner}.{end}")


def _pump_distance(description: AircraftDescription, cavities: Mapping[str, str]) -> dict[str, int]:
    """Steps from the nearest pump port, through parts and lines, for every junction that is joined to one."""
    joined: dict[str, set[str]] = {}

    def join(names: Iterable[str]) -> None:
        inner = [name for name in names if name not in FIXED]
        for name in inner:
            joined.setdefault(name, set()).update(inner)

    for part in description.parts:
        if part.kind in ELEMENTS and part.kind not in PUMPS:
            join(name for port, name in cavities.items() if port.rpartition(".")[0] == part.id)
    for line in description.lines:
        join((cavities[line.start], cavities[line.end]))
    pumps = {part.id for kind in (*PUMPS, "intake source") for part in description.parts_of(kind)}
    starts = [name for port, name in cavities.items() if port.rpartition(".")[0] in pumps and name not in FIXED]
    distance = dict.fromkeys(starts, 0)
    queue = deque(starts)
    while queue:
        here = queue.popleft()
        for there in sorted(joined.get(here, ())):
            if there not in distance:
                distance[there] = distance[here] + 1
                queue.append(there)
    return distance


def _order(free: list[str], plans: Sequence[tuple[str, BranchPlan, str, str]]) -> list[str]:
    index = {name: i for i, name in enumerate(free)}
    edges = [(index[a], index[b]) for _, _, a, b in plans if a in index and b in index]
    return [free[i] for i in minimum_degree_order(len(free), edges)]


def _owner_table(
    description: AircraftDescription, plans: Sequence[tuple[str, BranchPlan, str, str]]
) -> dict[str, Owner]:
    """Numbers and neutral states by owner. A field without value or default (an air volume, say) is not a law's."""
    owners: dict[str, Owner] = {}
    for owner, kind, item in _owners(description):
        values = {}
        for field in KINDS[kind].fields:
            value = item.values.get(field.name, field.default)
            if value is not None:
                values[field.name] = value.number
        values.update({state.name: state.neutral for state in KINDS[kind].states})
        for name in ELEMENTS[kind].derived:
            values[name] = values["setting"]
        branches = {plan.suffix: i for i, (name, plan, _, _) in enumerate(plans) if name == owner}
        owners[owner] = Owner(kind=kind, values=values, branches=branches)
    return owners


def _zones(
    duty: Duty,
    plans: Sequence[tuple[str, BranchPlan, str, str]],
    number: Mapping[str, int],
    owners: Mapping[str, Owner],
) -> NDArray[np.int8]:
    """The zone whose temperature the air of each branch has.

    Suction duty: cabin air up to the pump, hot from its delivery on. Pressure duty: outside air into the pump, hot
    from its delivery to the regulator, cabin-warm from the regulator's gyro side on.
    """
    pumps = {owner for owner, entry in owners.items() if entry.kind in PUMPS}
    regulators = {f"{owner}.gyro_side" for owner, entry in owners.items() if entry.kind == "regulator"}
    hot = _reach(plans, {f"{pump}.delivery" for pump in pumps}, barred=pumps, stop=regulators)
    zones: list[Zone] = []
    for owner, plan, a, b in plans:
        if owner in pumps and plan.suffix != "exit":
            zones.append(Zone.CABIN if duty == "suction" else Zone.OUTSIDE)
        elif {a, b} & (hot - regulators) or (owner in {name.rpartition(".")[0] for name in regulators & hot}):
            zones.append(Zone.PUMP_OUTLET)
        else:
            zones.append(Zone.CABIN)
    if duty == "pressure":
        intake = _reach(plans, {b for o, p, b, _ in plans if o in pumps and not p.suffix}, barred=pumps, stop=set())
        zones = [
            Zone.OUTSIDE if zone is Zone.CABIN and {a, b} & intake else zone
            for zone, (_, _, a, b) in zip(zones, plans, strict=True)
        ]
    return np.array(zones, np.int8)


def _reach(
    plans: Sequence[tuple[str, BranchPlan, str, str]], start: set[str], *, barred: set[str], stop: set[str]
) -> set[str]:
    """Junctions joined to ``start`` by branches, not through the swept or slip path of a pump nor past ``stop``."""
    reached = set(start)
    queue = deque(sorted(start))
    while queue:
        here = queue.popleft()
        if here in stop:
            continue
        for owner, plan, a, b in plans:
            if here not in (a, b) or (owner in barred and plan.suffix != "exit"):
                continue
            there = b if here == a else a
            if there not in reached and there not in FIXED:
                reached.add(there)
                queue.append(there)
    return reached
