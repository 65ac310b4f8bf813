"""What each kind of part is to the solver: its branches, and the numbers their laws need.

A branch joins two junctions and follows one law (:class:`Law`). Its numbers are *geometry*, free of temperature and
engine speed, so that one packed network serves every operating point; the solver brings in the air's temperature and
viscosity. ``parameters`` takes plain numbers or arrays of shape (n,) alike, so the base network and a batch of
overrides go through the same formulas.

Geometry by law (unused places are zero):

========= =========== ======================================================================================
law       places      meaning
========= =========== ======================================================================================
orifice   area b s c  effective area [m2] as an ideal nozzle, critical pressure ratio, and two numbers that follow
                      from it: 1/(1 - b) and the slope of the linear core over the conductance
pipe      k m e u t r w
                      Karman factor D sqrt(D/(L R)), flow factor pi D/4, eps/(3.7 D), cap of the acceleration term's
                      argument (place t), Reynolds number r at the turbulent end of the link; (u + w ln(Ka^2))^2 is
                      twice the acceleration term's weight 2D/L over the friction factor that it is judged by
filter    a b g       laminar coefficient over viscosity, inertial coefficient, 1 open or 0 shut
valve     orifice p w as orifice, then the difference at which it starts to open [Pa] and its opening band [Pa]
pump      v           swept volume per engine revolution, filled share included [m3], over 60
========= =========== ======================================================================================
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from enum import IntEnum
from typing import Any, Final

import msgspec
import numpy as np

from vanewise.aircraft.description import Duty
from vanewise.quantities import PA_PER_INHG
from vanewise.values import ac_43_13_2a, air_lines, iso_6358
from vanewise.values import standard_atmosphere_1976 as usa76

Number = Any
"""A float, or an array of shape (n,): one value per scenario."""
Values = Mapping[str, Number]
Geometry = tuple[Number, ...]

PLACES: Final = 7
"""Numbers kept per branch."""
VALVE_START: Final = 4
"""Place of the difference at which a valve starts to open."""
VALVE_BAND: Final = 5
"""Place of its opening band."""


class Law(IntEnum):
    """The flow laws, in the order in which branches are packed."""

    ORIFICE = 0
    PIPE = 1
    FILTER = 2
    VALVE = 3
    PUMP = 4


class Zone(IntEnum):
    """Whose temperature the air in a branch has. The solver never computes temperatures."""

    CABIN = 0
    OUTSIDE = 1
    PUMP_OUTLET = 2


class BranchPlan(msgspec.Struct, frozen=True):
    """One branch of a part. ``start`` and ``end`` are port names of the part, an inner name, or ``@cabin``.

    ``suffix`` is empty for the branch that carries the part's own flow.
    """

    suffix: str
    law: Law
    start: str
    end: str
    only_when: tuple[str, ...] = ()
    """States (or fields) that bring it to life; empty when it always carries flow."""


MM2: Final = 1e-6
GAS_R: Final = usa76.GAS_CONSTANT.number
NOZZLE_K: Final = iso_6358.CHOKED_FLOW_CONSTANT.number
NOZZLE_B: Final = iso_6358.IDEAL_NOZZLE_CRITICAL_RATIO.number
_STANDARD_P: Final = usa76.SEA_LEVEL_PRESSURE.number
_STANDARD_T: Final = usa76.SEA_LEVEL_TEMPERATURE.number
_STANDARD_RHO: Final = usa76.SEA_LEVEL_DENSITY.number
_STANDARD_MU: Final = usa76.SUTHERLAND_BETA.number * _STANDARD_T**1.5 / (_STANDARD_T + usa76.SUTHERLAND_S.number)
_ELBOW: Final = ac_43_13_2a.ELBOW_LENGTH_OVER_BORE.number
_LEAST_OPEN: Final = 1e-6
_LEAST_AREA: Final = 1e-12


def ideal_nozzle_area(free_air_flow: Number, drop_pa: Number) -> Number:
    """Area [m2] of the ideal nozzle that passes a flow of free air [m3/s] at a drop from sea-level standard air.

    The flow counts at standard density, as instrument tables state it. Solved with the ISO 6358 ellipse, so that the
    network returns exactly the flow that was put in; within 0.3 % of the isentropic formula. Drops up to choking and
    beyond.
    """
    ratio = (_STANDARD_P - drop_pa) / _STANDARD_P
    excess = np.maximum(ratio - NOZZLE_B, 0.0) / (1.0 - NOZZLE_B)
    share = np.sqrt(1.0 - excess * excess)
    return free_air_flow * _STANDARD_RHO * math.sqrt(_STANDARD_T) / (NOZZLE_K * _STANDARD_P * share)


_SCALE: Final = 1.0 / (1.0 - NOZZLE_B)
_CORE_EXCESS: Final = (iso_6358.LINEAR_CORE_RATIO.number - NOZZLE_B) * _SCALE
_CORE_SLOPE: Final = math.sqrt(1.0 - _CORE_EXCESS**2) / (1.0 - iso_6358.LINEAR_CORE_RATIO.number)


def passage(area: Number) -> Geometry:
    """Geometry of an orifice of that effective area [m2]."""
    return (area, NOZZLE_B, _SCALE, _CORE_SLOPE)


def filter_coefficients(free_air_flow: Number, drop_pa: Number) -> tuple[Number, Number]:
    """The two coefficients of a filter whose drop is known at one flow of free air: laminar (over viscosity), inertial.

    Law: (pa^2 - pb^2) / (2 R T) = a mu m + b m^2. The laminar share is a judgement (values.air_lines).
    """
    mass_flow = free_air_flow * _STANDARD_RHO
    head = drop_pa * (_STANDARD_P - 0.5 * drop_pa) / (GAS_R * _STANDARD_T)
    share = air_lines.FILTER_LAMINAR_SHARE.number
    return share * head / (mass_flow * _STANDARD_MU), (1.0 - share) * head / (mass_flow * mass_flow)


def pipe_geometry(length: Number, bore: Number, elbows: Number, roughness: Number) -> Geometry:
    """Geometry of a line: elbows count as equivalent length by the one row of AC 43.13-2A table 11.2 that was read.

    (0.62 ft for a 0.416 in bore, so 17.9 bores an elbow, taken for every size.) Lengths in m.
    """
    total = length + elbows * _ELBOW * bore
    relative = np.minimum(roughness / bore, air_lines.LARGEST_RELATIVE_ROUGHNESS.number) / 3.7
    karman = air_lines.TURBULENT_FROM_KARMAN.number
    link_end = -2.0 * karman * np.log10(relative + 2.51 / karman)
    # 1/sqrt(f) for the acceleration term: a straight line in ln(Ka^2) through Colebrook at two Karman numbers.
    near, far = karman, 10.0 * karman
    at_near, at_far = (-2.0 * np.log10(relative + 2.51 / ka) for ka in (near, far))
    slope = (at_far - at_near) / math.log((far / near) ** 2)
    intercept = at_near - slope * math.log(near * near)
    weight = 2.0 * np.sqrt(bore / total)
    return (
        bore * np.sqrt(bore / (total * GAS_R)),
        0.25 * math.pi * bore,
        relative,
        weight * intercept,
        _acceleration_cap(total / bore),
        link_end,
        weight * slope,
    )


_LARGEST_CAP: Final = 0.2
"""Of the acceleration term, whatever the line (see :func:`_acceleration_cap`)."""
_RATIO_AT_LARGEST: Final = (1.0 + _LARGEST_CAP) / (1.0 - _LARGEST_CAP)
_LARGEST_FROM: Final = _RATIO_AT_LARGEST**2 - 1.0 - 2.0 * math.log(_RATIO_AT_LARGEST)
"""Least friction f L/D from which a line chokes so late that the largest cap holds: nearly every hose."""


def _acceleration_cap(length_over_bore: Number) -> Number:
    """Largest (pa - pb)/(pa + pb) for which the acceleration term still leaves the law monotone.

    An isothermal line chokes at the pressure ratio r with r^2 - 1 - 2 ln r = f L/D. With the least friction believed
    possible that ratio is never above the true one, so holding the term there keeps the law rising.
    """
    target = air_lines.FRICTION_FLOOR.number * length_over_bore
    if np.min(target) > _LARGEST_FROM:
        return np.minimum(target, _LARGEST_CAP)
    # The start lies above the root of a convex function, so Newton comes down on it and its steps only shrink.
    ratio = 1.0 + np.sqrt(target)
    for _ in range(30):
        step = (ratio * ratio - 1.0 - 2.0 * np.log(ratio) - target) / (2.0 * ratio - 2.0 / ratio)
        ratio = ratio - step
        if np.max(np.abs(step)) < 1e-12:
            break
    return np.minimum((ratio - 1.0) / (ratio + 1.0), _LARGEST_CAP)


def _gyro_plan(duty: Duty) -> tuple[BranchPlan, ...]:
    # The case is on the low side of its jets in suction duty and on their high side in pressure duty.
    leak = ("@cabin", "outlet") if duty == "suction" else ("inlet", "@cabin")
    return (
        BranchPlan("", Law.ORIFICE, "inlet", "outlet"),
        BranchPlan("case_leak", Law.ORIFICE, *leak, ("case_leak",)),
    )


def _gyro(v: Values) -> dict[str, Geometry]:
    connected = 1.0 - v["capped"]
    jets = ideal_nozzle_area(v["reference_flow"], v["reference_drop"]) * v["jet_fraction"]
    return {"": passage(jets * connected), "case_leak": passage(v["case_leak"] * MM2 * connected)}


def _filter_plan(upstream: str) -> Callable[[Duty], tuple[BranchPlan, ...]]:
    def plan(duty: Duty) -> tuple[BranchPlan, ...]:
        return (
            BranchPlan("", Law.FILTER, upstream, "clean"),
            BranchPlan("bypass", Law.ORIFICE, upstream, "clean", ("bypass_mm2",)),
        )

    return plan


def _filter(v: Values) -> dict[str, Geometry]:
    laminar, inertial = filter_coefficients(v["reference_flow"], v["reference_drop"])
    missing = v["missing"]
    resistance = v["loading"] * (1.0 - missing) + air_lines.FILTER_MISSING_SHARE.number * missing
    return {"": (laminar * resistance, inertial * resistance, 1.0), "bypass": passage(v["bypass_mm2"] * MM2)}


def _regulator_plan(duty: Duty) -> tuple[BranchPlan, ...]:
    # Its own filter stands between the surroundings and the seat, so what covers or clogs it starves a seat leak too.
    if duty == "suction":
        return (
            BranchPlan("filter", Law.FILTER, "air", "chamber"),
            BranchPlan("", Law.VALVE, "chamber", "gyro_side"),
            BranchPlan("held_open", Law.ORIFICE, "chamber", "gyro_side", ("held_open", "stuck_open")),
        )
    return (
        BranchPlan("filter", Law.FILTER, "chamber", "air"),
        BranchPlan("", Law.VALVE, "gyro_side", "chamber"),
        BranchPlan("held_open", Law.ORIFICE, "gyro_side", "chamber", ("held_open", "stuck_open")),
    )


def _regulator(v: Values) -> dict[str, Geometry]:
    laminar, inertial = filter_coefficients(
        air_lines.REGULATOR_FILTER_FLOW.number, air_lines.REGULATOR_FILTER_DROP.number
    )
    loading = v["filter_loading"]
    breathes = (1.0 - v["covered"]) * (1.0 - v["blanked"])
    # Stuck shut wins over stuck open; dirt under the seat lets air past in either.
    moves = v["flow_area"] * (1.0 - v["stuck_shut"])
    return {
        "filter": (laminar * loading, inertial * loading, breathes),
        "": (
            # A regulator that senses elsewhere has its opening found around the solver; others open by their own law.
            *passage(moves * (1.0 - v["stuck_open"]) * v.get("lift", 1.0)),
            v["preload"] + v["set_shift_inhg"] * PA_PER_INHG,
            v["droop"],
        ),
        "held_open": passage(v["held_open"] * MM2 + moves * v["stuck_open"]),
    }


def _check_valve_plan(duty: Duty) -> tuple[BranchPlan, ...]:
    return (
        BranchPlan("", Law.VALVE, "inlet", "outlet"),
        BranchPlan("stuck_open", Law.ORIFICE, "inlet", "outlet", ("stuck_open",)),
    )


def _check_valve(v: Values) -> dict[str, Geometry]:
    passes = 1.0 - v["stuck_shut"]
    cracks = air_lines.CHECK_VALVE_CRACKING_SHARE.number
    return {
        "": (
            *passage(v["flow_area"] * passes * (1.0 - v["stuck_open"])),
            cracks * v["opening"],
            (1.0 - cracks) * v["opening"],
        ),
        "stuck_open": passage(v["flow_area"] * passes * v["stuck_open"]),
    }


def _manifold_plan(duty: Duty) -> tuple[BranchPlan, ...]:
    leak = ("@cabin", "@body") if duty == "suction" else ("@body", "@cabin")
    return (BranchPlan("leak", Law.ORIFICE, *leak, ("leak",)),)


def _manifold(v: Values) -> dict[str, Geometry]:
    return {"leak": passage(v["leak"] * MM2)}


def _restrictor_plan(duty: Duty) -> tuple[BranchPlan, ...]:
    return (BranchPlan("", Law.ORIFICE, "inlet", "outlet"),)


def _restrictor(v: Values) -> dict[str, Geometry]:
    return {"": passage(v["area"])}


def _pump_plan(duty: Duty) -> tuple[BranchPlan, ...]:
    return (
        BranchPlan("", Law.PUMP, "inlet", "delivery"),
        BranchPlan("slip", Law.ORIFICE, "delivery", "inlet"),
        BranchPlan("exit", Law.ORIFICE, "delivery", "outlet"),
    )


def _pump(v: Values) -> dict[str, Geometry]:
    swept = v["displacement"] * v["displacement_factor"] * v["volumetric_efficiency"] * v["drive_ratio"]
    exit_area = air_lines.PUMP_OUTLET_AREA.number * np.maximum(1.0 - v["outlet_blocked"], 0.0)
    return {
        "": (swept * (1.0 - v["stopped"]) / 60.0,),
        "slip": passage(v["slip_area"] * v["slip"]),
        "exit": passage(exit_area),
    }


def _standby_pump(v: Values) -> dict[str, Geometry]:
    # Its motor's speed is its own, so the swept flow is per second; see ``problem`` for the engine speed it cancels.
    return {
        "": (v["free_flow"] * v["running"],),
        "slip": passage(v["slip_area"] * v["slip"]),
        "exit": passage(air_lines.PUMP_OUTLET_AREA.number),
    }


def _intake_source_plan(duty: Duty) -> tuple[BranchPlan, ...]:
    return (BranchPlan("", Law.ORIFICE, "inlet", "@intake", ("selected",)),)


def _intake_source(v: Values) -> dict[str, Geometry]:
    return {"": passage(v["flow_area"] * v["selected"])}


def _boots_plan(duty: Duty) -> tuple[BranchPlan, ...]:
    return (BranchPlan("", Law.ORIFICE, "supply", "@bay", ("inflating", "leak")),)


def _boots(v: Values) -> dict[str, Geometry]:
    return {"": passage(v["flow_area"] * v["inflating"] + v["leak"] * MM2)}


def _door_seal_plan(duty: Duty) -> tuple[BranchPlan, ...]:
    return (BranchPlan("", Law.ORIFICE, "supply", "@cabin"),)


def _door_seal(v: Values) -> dict[str, Geometry]:
    return {"": passage(v["leakage"] + v["leak"] * MM2)}


def _boots_valve(v: Values) -> dict[str, Geometry]:
    return {"": passage(np.maximum(v["flow_area"] * (1.0 - v["shut"]), _LEAST_AREA))}


def _relief_valve_plan(duty: Duty) -> tuple[BranchPlan, ...]:
    return (
        BranchPlan("", Law.VALVE, "inlet", "outlet"),
        BranchPlan("held_open", Law.ORIFICE, "inlet", "outlet", ("held_open",)),
    )


def _relief_valve(v: Values) -> dict[str, Geometry]:
    return {
        "": (*passage(v["flow_area"] * (1.0 - v["stuck_shut"])), v["setting"], v["band"]),
        "held_open": passage(v["held_open"] * MM2),
    }


def _line_plan(duty: Duty) -> tuple[BranchPlan, ...]:
    # '@pump_end' and '@far_end' are the line's two ends, told apart by the packer.
    near, far = ("@pump_end", "@far_end")
    ambient = "@cabin"
    if duty == "suction":
        ends = ((ambient, near), (ambient, far))
    else:
        ends = ((near, ambient), (far, ambient))
    return (
        BranchPlan("", Law.PIPE, "start", "end"),
        BranchPlan("leak", Law.ORIFICE, *ends[0], ("leak", "off")),
        BranchPlan("open_end", Law.ORIFICE, *ends[1], ("off",)),
    )


def _line(v: Values) -> dict[str, Geometry]:
    bore = v["bore"]
    open_share = np.maximum(v["open_fraction"], _LEAST_OPEN)
    karman, flow, *friction = pipe_geometry(v["length"], bore * np.sqrt(open_share), v["elbows"], v["roughness"])
    area = 0.25 * math.pi * bore * bore
    off = v["off"]
    open_port = area * air_lines.OPEN_END_AREA_SHARE.number
    # A hose that is off still leads the surroundings to its other end: its own friction counted into one jet.
    through_hose = area * open_share / np.sqrt(1.5 + 0.03 * v["length"] / bore)
    return {
        "": (karman, flow * (1.0 - off), *friction),
        "leak": passage(v["leak"] * MM2 * (1.0 - off) + open_port * off),
        "open_end": passage(through_hose * off),
    }


class Element(msgspec.Struct, frozen=True):
    """How one kind of part becomes branches."""

    plan: Callable[[Duty], tuple[BranchPlan, ...]]
    parameters: Callable[[Values], dict[str, Geometry]]
    one_cavity: bool = False
    """All its ports are one junction."""
    own_speed: bool = False
    """Its pump turns at a speed of its own, not the engine's."""
    derived: tuple[str, ...] = ()
    """Numbers that the packer finds, and that a batch may override, beside the description's fields."""


_GYRO: Final = Element(_gyro_plan, _gyro)
ELEMENTS: Final[dict[str, Element]] = {
    "intake filter": Element(_filter_plan("air"), _filter),
    "inline filter": Element(_filter_plan("dirty"), _filter),
    "inlet filter": Element(_filter_plan("air"), _filter),
    "attitude indicator": _GYRO,
    "heading indicator": _GYRO,
    "turn indicator": _GYRO,
    "regulator": Element(_regulator_plan, _regulator, derived=("preload",)),
    "check valve": Element(_check_valve_plan, _check_valve),
    "manifold": Element(_manifold_plan, _manifold, one_cavity=True),
    "restrictor": Element(_restrictor_plan, _restrictor),
    "pump": Element(_pump_plan, _pump),
    "standby pump": Element(_pump_plan, _standby_pump, own_speed=True),
    "intake source": Element(_intake_source_plan, _intake_source),
    "de-ice boots": Element(_boots_plan, _boots),
    "door seal": Element(_door_seal_plan, _door_seal),
    "boots valve": Element(_restrictor_plan, _boots_valve),
    "relief valve": Element(_relief_valve_plan, _relief_valve),
    "line": Element(_line_plan, _line),
}
"""Kinds without an entry use no air (an autopilot with an electrical pickoff)."""
