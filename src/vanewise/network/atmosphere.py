"""Ambient air by pressure altitude: US Standard Atmosphere 1976, troposphere, geopotential altitude.

Altitude in this tool is pressure altitude, so pressure follows from it alone; on a warm or cold day only temperature,
density and viscosity differ. Tables of *geometric* height read slightly higher pressures at the same figure.
"""

from __future__ import annotations

import msgspec
import numpy as np
from numpy.typing import NDArray

from vanewise.errors import wrong
from vanewise.values import air_lines
from vanewise.values import standard_atmosphere_1976 as usa76

LOWEST_M = -1000.0
HIGHEST_M = usa76.TROPOPAUSE_ALTITUDE.number
COLDEST_K = 200.0
HOTTEST_K = 340.0


class Air(msgspec.Struct, frozen=True, kw_only=True):
    """Air at rest around the aircraft: pressure [Pa], temperature [K], density [kg/m3], viscosity [Pa s]."""

    pressure_pa: float
    temperature_k: float
    density_kg_m3: float
    viscosity_pa_s: float


def standard_temperature(altitude_m: float) -> float:
    """Temperature [K] of the standard day at a geopotential altitude [m]."""
    _check_altitude(altitude_m)
    return usa76.SEA_LEVEL_TEMPERATURE.number - usa76.LAPSE_RATE.number * altitude_m


def standard_temperatures(altitude_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """:func:`standard_temperature` of many altitudes [m] at once. Raises InputError where one is out of range."""
    for edge in (altitude_m.min(), altitude_m.max()) if altitude_m.size else ():
        _check_altitude(float(edge))
    return np.asarray(usa76.SEA_LEVEL_TEMPERATURE.number - usa76.LAPSE_RATE.number * altitude_m)


def pressure(altitude_m: float) -> float:
    """Pressure [Pa] at a pressure altitude [m]. Raises InputError outside -1000 m to 11,000 m."""
    ratio = standard_temperature(altitude_m) / usa76.SEA_LEVEL_TEMPERATURE.number
    return float(usa76.SEA_LEVEL_PRESSURE.number * ratio**usa76.PRESSURE_EXPONENT.number)


def pressures(altitude_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """:func:`pressure` of many altitudes [m] at once, same shape. Raises InputError where one is out of range."""
    ratio = standard_temperatures(altitude_m) / usa76.SEA_LEVEL_TEMPERATURE.number
    return np.asarray(usa76.SEA_LEVEL_PRESSURE.number * ratio**usa76.PRESSURE_EXPONENT.number)


def altitude(pressure_pa: float) -> float:
    """Pressure altitude [m] of an ambient pressure [Pa]: the inverse of :func:`pressure`."""
    ratio = (pressure_pa / usa76.SEA_LEVEL_PRESSURE.number) ** (1.0 / usa76.PRESSURE_EXPONENT.number)
    return float(usa76.SEA_LEVEL_TEMPERATURE.number * (1.0 - ratio) / usa76.LAPSE_RATE.number)


def density(pressure_pa: float, temperature_k: float) -> float:
    """Density of air [kg/m3], perfect gas."""
    return pressure_pa / (usa76.GAS_CONSTANT.number * temperature_k)


def viscosity(temperature_k: float) -> float:
    """Dynamic viscosity of air [Pa s], Sutherland's formula with the constants of the 1976 standard."""
    return float(usa76.SUTHERLAND_BETA.number * temperature_k**1.5 / (temperature_k + usa76.SUTHERLAND_S.number))


def standard(altitude_m: float) -> Air:
    """Air of the standard day at a geopotential altitude [m].

    Raises InputError outside -1000 m to 11,000 m.
    """
    return ambient(altitude_m)


def ambient(altitude_m: float, temperature_k: float | None = None) -> Air:
    """Air at a pressure altitude [m] on a day of ``temperature_k`` (None: the standard day).

    Raises InputError outside -1000 m to 11,000 m, or 200 K to 340 K.
    """
    temperature = standard_temperature(altitude_m) if temperature_k is None else temperature_k
    if not COLDEST_K <= temperature <= HOTTEST_K:
        raise wrong(
            "air temperature",
            f"{COLDEST_K - 273.15:.0f} C to {HOTTEST_K - 273.15:.0f} C",
            f"{temperature - 273.15:.1f} C",
            "give the outside air temperature, with its unit",
        )
    pressure_pa = pressure(altitude_m)
    return Air(
        pressure_pa=pressure_pa,
        temperature_k=temperature,
        density_kg_m3=density(pressure_pa, temperature),
        viscosity_pa_s=viscosity(temperature),
    )


def default_cabin_temperature(outside_k: float) -> float:
    """Cabin temperature [K] where nobody gave one: as outside, but heated to 15 C (judgement, values.air_lines)."""
    return max(outside_k, air_lines.CABIN_NOT_BELOW.number)


def _check_altitude(altitude_m: float) -> None:
    if not LOWEST_M <= altitude_m <= HIGHEST_M:
        raise wrong(
            "altitude",
            f"{LOWEST_M:.0f} m to {HIGHEST_M:.0f} m ({LOWEST_M / 0.3048:,.0f} ft to {HIGHEST_M / 0.3048:,.0f} ft)",
            f"{altitude_m:.0f} m ({altitude_m / 0.3048:,.0f} ft)",
            "give the pressure altitude, with its unit",
        )
