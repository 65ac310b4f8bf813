"""What a person could have been told before anything is solved: every contradiction of a description, by name.

Each finding has the four parts of :class:`~vanewise.errors.Problem`. The order is the one to mend them in: names,
numbers, ends of lines, ports, then the way the air goes, then the gauge.
"""

from __future__ import annotations

from vanewise.aircraft.description import AircraftDescription
from vanewise.aircraft.flow_checks import flow_problems
from vanewise.aircraft.gauge_checks import gauge_problems
from vanewise.aircraft.number_checks import number_problems
from vanewise.aircraft.wiring import Wiring
from vanewise.aircraft.wiring_checks import name_problems, wiring_problems
from vanewise.errors import InputError, Problem
from vanewise.quantities import HIGHEST_RPM, KELVIN_AT_0C, M_PER_FT, shown

LOWEST_RPM = 0.0
LOWEST_ALTITUDE_M, HIGHEST_ALTITUDE_M = -500.0, 40_000.0 * M_PER_FT
LOWEST_TEMPERATURE_K, HIGHEST_TEMPERATURE_K = KELVIN_AT_0C - 70.0, KELVIN_AT_0C + 60.0


def check(description: AircraftDescription) -> tuple[Problem, ...]:
    """Everything that keeps the description from being solved. Empty when it is sound; never raises."""
    wiring = Wiring(description)
    names = tuple(name_problems(description))
    return (
        *names,
        *number_problems(description),
        *wiring_problems(description, wiring),
        # Which way the air goes cannot be told while a name stands for two things or a kind is not known.
        *(() if names else flow_problems(description, wiring)),
        *gauge_problems(description, wiring),
    )


def refuse_unsound(description: AircraftDescription) -> AircraftDescription:
    """The description itself. Raises :class:`InputError` with everything :func:`check` finds."""
    problems = check(description)
    if problems:
        raise InputError(problems)
    return description


def check_operating_point(
    engine_rpm: float, altitude_m: float = 0.0, temperature_k: float | None = None
) -> tuple[Problem, ...]:
    """What is wrong with an operating point: engine speed [rpm], pressure altitude [m], outside temperature [K]."""
    asked = [
        ("rpm", "engine speed", "rpm", engine_rpm, LOWEST_RPM, HIGHEST_RPM),
        ("altitude", "pressure altitude", "altitude", altitude_m, LOWEST_ALTITUDE_M, HIGHEST_ALTITUDE_M),
    ]
    if temperature_k is not None:
        bounds = (LOWEST_TEMPERATURE_K, HIGHEST_TEMPERATURE_K)
        asked.append(("temperature", "outside air temperature", "temperature", temperature_k, *bounds))
    return tuple(
        Problem(
            where=where,
            expected=f"{meaning} from {shown(low, dimension)} to {shown(high, dimension)}",
            found=shown(number, dimension),
            next_step="look at the number and its unit again",
        )
        for where, meaning, dimension, number, low, high in asked
        if not low <= number <= high
    )
