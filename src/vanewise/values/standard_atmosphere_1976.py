"""US Standard Atmosphere, 1976: the constants of its troposphere, and of its viscosity formula.

The layer below 11 km of geopotential altitude is the same in ICAO Doc 7488. Constants are exact by definition in the
standard, so they carry no spread.
"""

from __future__ import annotations

from typing import Final

from vanewise.provenance import Source, Value

TABLE_2: Final = Source("U.S. Standard Atmosphere, 1976", "table 2, adopted constants")
SECTION_1_3: Final = Source("U.S. Standard Atmosphere, 1976", "section 1.3, viscosity (Sutherland)")


def _constant(number: float, dimension: str, source: Source, note: str) -> Value:
    return Value(number=number, dimension=dimension, standing="published", source=source, note=note)


SEA_LEVEL_PRESSURE: Final = _constant(101325.0, "Pa", TABLE_2, "pressure at sea level")
SEA_LEVEL_TEMPERATURE: Final = _constant(288.15, "K", TABLE_2, "temperature at sea level")
SEA_LEVEL_DENSITY: Final = _constant(1.2250, "kg/m3", TABLE_2, "density at sea level")
LAPSE_RATE: Final = _constant(0.0065, "K/m", TABLE_2, "fall of temperature with geopotential altitude to 11 km")
GAS_CONSTANT: Final = _constant(287.05287, "J/(kg K)", TABLE_2, "R* over the molecular mass of dry air")
PRESSURE_EXPONENT: Final = _constant(5.255876, "ratio", TABLE_2, "g0 M / (R* L)")
TROPOPAUSE_ALTITUDE: Final = _constant(11000.0, "m", TABLE_2, "top of the layer, geopotential")
SUTHERLAND_BETA: Final = _constant(1.458e-6, "kg/(s m K^0.5)", SECTION_1_3, "mu = beta T^1.5 / (T + S)")
SUTHERLAND_S: Final = _constant(110.4, "K", SECTION_1_3, "mu = beta T^1.5 / (T + S)")
HEAT_CAPACITY_RATIO: Final = _constant(1.4, "ratio", TABLE_2, "ratio of specific heats of air")
