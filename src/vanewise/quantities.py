"""Names, units and conversion, at the edge only.

Inside everything is SI and pressures are absolute. People read and write inHg (suction positive: ambient minus
line), cfm, rpm, feet, inches, in-lb, or the metric switch (hPa, L/min, m, mm, N m). A number a person writes always
carries its unit: ``"0.95 m"``, ``"5/8 in"``, ``"5.0 inHg"``. Only this module converts.

Conversion factors: inHg 3386.389 Pa (conventional inch of mercury, NIST SP 811 appendix B.8: 3.386 389 E+03);
foot 0.3048 m, inch 0.0254 m and pound-force inch 0.1129848 N m (NIST SP 811 B.8); psi 6894.757 Pa (same).
"""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import Final

from vanewise.errors import InputError, Problem

PA_PER_INHG: Final = 3386.389
PA_PER_PSI: Final = 6894.757
M_PER_FT: Final = 0.3048
M_PER_IN: Final = 0.0254
M3S_PER_CFM: Final = M_PER_FT**3 / 60.0
NM_PER_IN_LB: Final = 0.1129848
KELVIN_AT_0C: Final = 273.15

#: dimension -> unit as written -> factor to SI. Temperatures are handled apart (offset).
UNITS: Final = MappingProxyType(
    {
        "length": {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": M_PER_IN, "ft": M_PER_FT},
        "pressure": {"Pa": 1.0, "hPa": 100.0, "kPa": 1000.0, "inHg": PA_PER_INHG, "psi": PA_PER_PSI},
        "flow": {"m3/s": 1.0, "L/min": 1e-3 / 60.0, "cfm": M3S_PER_CFM},
        "area": {"m2": 1.0, "mm2": 1e-6, "in2": M_PER_IN**2},
        "volume": {"m3": 1.0, "L": 1e-3, "cm3": 1e-6, "in3": M_PER_IN**3},
        "torque": {"N m": 1.0, "in-lb": NM_PER_IN_LB, "ft-lb": 12 * NM_PER_IN_LB},
        "rpm": {"rpm": 1.0},
        "angle": {"deg": 1.0},
        "hours": {"h": 1.0},
        "minutes": {"min": 1.0, "h": 60.0, "s": 1.0 / 60.0},
        "temperature": {"K": 1.0, "C": 1.0, "F": 5.0 / 9.0},
        "ratio": {"": 1.0},
    }
)
_NUMBER: Final = re.compile(r"^\s*([+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?)(?:\s*/\s*(\d+))?\s*(.*?)\s*$")


def to_si(text: str | int | float, dimension: str, where: str) -> float:
    """The SI value of what a person wrote, such as ``"5/8 in"``.

    Raises :class:`InputError` naming ``where`` when the number or the unit cannot be read. A plain number is taken
    only where the dimension is a ratio.
    """
    units = UNITS[dimension]
    example = f'a number with a unit, like "1 {next(iter(units))}"' if dimension != "ratio" else "a plain number"
    known = ", ".join(unit for unit in units if unit) or "none"

    def refuse(found: str) -> InputError:
        return InputError(
            Problem(
                where=where,
                expected=f"{example}; units known for {dimension}: {known}",
                found=found,
                next_step="write the number and one of these units",
            )
        )

    if isinstance(text, bool):
        raise refuse(f"{text}")
    if isinstance(text, (int, float)):
        if dimension == "ratio":
            return float(text)
        raise refuse(f"{text} without a unit")
    match = _NUMBER.match(text)
    if match is None:
        raise refuse(f'"{text}"')
    number = float(match[1]) / (float(match[2]) if match[2] and float(match[2]) else 1.0)
    unit = match[3]
    if unit not in units:
        raise refuse(f'unit "{unit}" in "{text}"' if unit else f'"{text}" without a unit')
    if dimension == "temperature":
        return {"K": number, "C": number + KELVIN_AT_0C, "F": (number + 459.67) * 5.0 / 9.0}[unit]
    return number * units[unit]


def from_si(value: float, unit: str, dimension: str) -> float:
    """The number in ``unit`` of an SI ``value``."""
    if dimension == "temperature":
        return {"K": value, "C": value - KELVIN_AT_0C, "F": value * 9.0 / 5.0 - 459.67}[unit]
    return value / UNITS[dimension][unit]


def inhg(pressure_pa: float) -> float:
    """Pascal to inches of mercury (a difference, or an absolute pressure)."""
    return pressure_pa / PA_PER_INHG


def shown(value: float, dimension: str, metric: bool = False) -> str:
    """An SI value as people read it, unit included: ``5.0 inHg`` or, with the metric switch, ``169 hPa``."""
    unit, digits = _SHOWN[dimension][1 if metric else 0]
    number = from_si(value, unit, "length" if dimension == "altitude" else dimension)
    return f"{number:,.{digits}f} {unit}".strip()


_SHOWN: Final = MappingProxyType(
    {
        "length": (("in", 2), ("mm", 0)),
        "altitude": (("ft", 0), ("m", 0)),
        "pressure": (("inHg", 1), ("hPa", 0)),
        "flow": (("cfm", 2), ("L/min", 1)),
        "area": (("mm2", 1), ("mm2", 1)),
        "volume": (("in3", 1), ("cm3", 0)),
        "torque": (("in-lb", 0), ("N m", 1)),
        "rpm": (("rpm", 0), ("rpm", 0)),
        "angle": (("deg", 0), ("deg", 0)),
        "hours": (("h", 1), ("h", 1)),
        "minutes": (("min", 0), ("min", 0)),
        "temperature": (("F", 0), ("C", 0)),
        "ratio": (("", 2), ("", 2)),
    }
)
