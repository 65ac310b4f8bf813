"""Checks of the two points that the gauge and the lamp are connected across: they decide what each can see."""

from __future__ import annotations

from collections.abc import Iterator

from vanewise.aircraft.description import AircraftDescription, Duty
from vanewise.aircraft.wiring import AIR, Wiring
from vanewise.aircraft.wiring_checks import unknown_port
from vanewise.errors import Problem


def gauge_problems(description: AircraftDescription, wiring: Wiring) -> Iterator[Problem]:
    taps = [("gauge", description.gauge.high, description.gauge.low)]
    if description.lamp is not None:
        taps.append(("lamp", description.lamp.high, description.lamp.low))
    for what, high, low in taps:
        words = ("cabin", "unknown") if what == "gauge" else ("cabin",)
        unknown = [unknown_port(point, f"{what}.{key}", wiring, words) for key, point in (("high", high), ("low", low))]
        found = [problem for problem in unknown if problem is not None]
        yield from found
        if not found and "unknown" not in (high, low):
            yield from _pair_problems(what, high, low, description.duty, wiring)


def _pair_problems(what: str, high: str, low: str, duty: Duty, wiring: Wiring) -> Iterator[Problem]:
    if wiring.cavity(high) == wiring.cavity(low):
        yield Problem(
            where=f"{what}.low",
            expected=f"the {what} across two different air spaces",
            found=f'"{high}" and "{low}", which are the same air space: it would always read zero',
            next_step=f"follow both lines of the {what} by hand and name where each ends",
        )
    elif _reversed(high, low, duty, wiring):
        order = "from the cabin through the gyros to the pump" if duty == "suction" else "from the pump to the cabin"
        yield Problem(
            where=f"{what}.high",
            expected=f"the higher pressure at high: in {duty} duty it falls {order}",
            found=f'high "{high}", low "{low}": it would read below zero',
            next_step="swap high and low, or look at the duty: they are points of the system, not marks on a dial",
        )


def _reversed(high: str, low: str, duty: Duty, wiring: Wiring) -> bool:
    """True when the pressure at ``high`` is certainly the lower one."""
    if high in AIR or low in AIR:
        return (low if duty == "suction" else high) in AIR
    high_rank, low_rank = _gyros_before_pump(high, wiring), _gyros_before_pump(low, wiring)
    if high_rank is None or low_rank is None:
        return False
    if high_rank != low_rank:
        return (high_rank < low_rank) if duty == "suction" else (high_rank > low_rank)
    return _steps_fall(*((low, high) if duty == "suction" else (high, low)), wiring)


def _gyros_before_pump(node: str, wiring: Wiring) -> int | None:
    """0 where the air reaches a pump's gyro side without a gyro on the way, 1 beyond the gyros, None on no way."""
    pump_ports = wiring.pump_ports("inlet") | wiring.pump_ports("outlet")
    if wiring.reaches(node, pump_ports):
        return 0
    near = wiring.distances(node, through_gyros=True).keys()
    return 1 if near & pump_ports else None


def _steps_fall(far: str, near: str, wiring: Wiring) -> bool:
    """True when ``near`` lies on a shortest way from ``far`` to a pump, so that air passes one and then the other."""
    pump_ports = wiring.pump_ports("inlet") | wiring.pump_ports("outlet")

    def to_pump(node: str) -> int | None:
        steps = wiring.distances(node, through_gyros=True)
        return min((steps[port] for port in pump_ports if port in steps), default=None)

    between = wiring.distances(far, through_gyros=True).get(near)
    far_steps, near_steps = to_pump(far), to_pump(near)
    if between is None or far_steps is None or near_steps is None:
        return False
    return between > 0 and far_steps == between + near_steps
