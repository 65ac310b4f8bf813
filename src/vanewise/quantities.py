"""Names, units and conversion, at the edge only.

Inside everything is SI and pressures are absolute. People read and write inHg (suction positive: ambient minus
line), cfm, rpm, feet, inches, in-lb, or the metric switch (hPa, L/min, m, mm, N m). A number a person writes always
carries its unit: ``"0.95 m"``, ``"5/8 in"``, ``"5.0 inHg"``. Only this module converts.

Conversion factors: inHg 3386.389 Pa (conventional inch of mercury, NIST SP 811 appendix B.8: 3.386 389 E+03);
foot 0.3048 m, inch 0.0254 m and pound-force inch 0.1129848 N m (NIST SP 811 B.8); psi 6894.757 Pa (same).
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from vanewise.errors import InputError, wrong

PA_PER_INHG: Final = 3386.389
PA_PER_PSI: Final = 6894.757
M_PER_FT: Final = 0.3048
M_PER_IN: Final = 0.0254
M3S_PER_CFM: Final = M_PER_FT**3 / 60.0
NM_PER_IN_LB: Final = 0.1129848
KELVIN_AT_0C: Final = 273.15

HIGHEST_RPM: Final = 6000.0
"""Engine speeds above this are taken for a slip of the pen, wherever they are entered."""

#: dimension -> unit as written -> factor to SI. Temperatures are handled apart (offset). The first unit of each is
#: the one an example is given in.
UNITS: Final[Mapping[str, Mapping[str, float]]] = MappingProxyType(
    {
        "length": {"m": 1.0, "cm": 0.01, "mm": 0.001, "um": 1e-6, "in": M_PER_IN, "ft": M_PER_FT},
        "altitude": {"ft": M_PER_FT, "m": 1.0},
        "pressure": {"inHg": PA_PER_INHG, "Pa": 1.0, "hPa": 100.0, "kPa": 1000.0, "psi": PA_PER_PSI},
        "flow": {"cfm": M3S_PER_CFM, "L/min": 1e-3 / 60.0, "m3/s": 1.0},
        "area": {"mm2": 1e-6, "m2": 1.0, "in2": M_PER_IN**2},
        "volume": {"in3": M_PER_IN**3, "cm3": 1e-6, "L": 1e-3, "m3": 1.0},
        "torque": {"in-lb": NM_PER_IN_LB, "ft-lb": 12 * NM_PER_IN_LB, "N m": 1.0},
        "rpm": {"rpm": 1.0},
        "angle": {"deg": 1.0},
        "latitude": {"N": 1.0, "S": -1.0, "deg": 1.0},
        "hours": {"h": 1.0},
        "minutes": {"min": 1.0, "h": 60.0, "s": 1.0 / 60.0},
        "temperature": {"C": 1.0, "F": 5.0 / 9.0, "K": 1.0},
        "ratio": {"": 1.0, "%": 0.01},
    }
)

#: Other spellings people use, after :func:`_plain` (lower case, no spaces, dots, degree signs or hyphens).
_SPELLINGS: Final[Mapping[str, Mapping[str, str]]] = MappingProxyType(
    {
        "length": {
            **dict.fromkeys(("metre", "metres", "meter", "meters"), "m"),
            **dict.fromkeys(("inch", "inches", '"', "''", "″"), "in"),
            **dict.fromkeys(("foot", "feet", "'", "′"), "ft"),
            **dict.fromkeys(("µm", "μm", "micron", "microns"), "um"),
        },
        "altitude": {
            **dict.fromkeys(("foot", "feet", "'", "′"), "ft"),
            **dict.fromkeys(("metre", "metres", "meter", "meters"), "m"),
        },
        "pressure": {**dict.fromkeys(("inhg", '"hg', "inchhg", "inchesofmercury"), "inHg"), "mbar": "hPa"},
        "flow": {"cuft/min": "cfm", "ft3/min": "cfm", "lpm": "L/min", "litres/min": "L/min"},
        "area": {"sqmm": "mm2", "sqin": "in2"},
        "volume": {
            **dict.fromkeys(("cuin", "cubicinch", "cubicinches"), "in3"),
            **dict.fromkeys(("cc", "ccm", "ml"), "cm3"),
            **dict.fromkeys(("litre", "litres", "liter", "liters"), "L"),
        },
        "torque": {
            **dict.fromkeys(("inlbs", "lbin", "lbfin", "inchpounds", "poundinches"), "in-lb"),
            **dict.fromkeys(("ftlbs", "lbft", "lbfft", "footpounds"), "ft-lb"),
            **dict.fromkeys(("nm", "newtonmetres"), "N m"),
        },
        "rpm": {"rev/min": "rpm", "1/min": "rpm"},
        "angle": {"degree": "deg", "degrees": "deg"},
        "latitude": {
            **dict.fromkeys(("degn", "north", "degnorth"), "N"),
            **dict.fromkeys(("degs", "south", "degsouth"), "S"),
            "degrees": "deg",
        },
        "hours": {"hr": "h", "hrs": "h", "hour": "h", "hours": "h"},
        "minutes": {
            **dict.fromkeys(("mins", "minute", "minutes"), "min"),
            **dict.fromkeys(("sec", "secs", "second", "seconds"), "s"),
            **dict.fromkeys(("hr", "hrs", "hour", "hours"), "h"),
        },
        "temperature": {"celsius": "C", "degc": "C", "fahrenheit": "F", "degf": "F", "kelvin": "K"},
        "ratio": {"percent": "%", "x": "", "times": ""},
    }
)

#: Units in which a comma between groups of three digits can only be a thousands mark.
_GROUPED_UNITS: Final = frozenset({"rpm", "ft", "h"})
#: Dimensions that people also write in two steps: ``5 ft 3 in``, ``2 min 40 s``.
_IN_STEPS: Final = frozenset({"length", "minutes"})

_DIGITS: Final = r"\d+(?:,\d+)*(?:\.\d+)?|\.\d+"
_NUMBER: Final = re.compile(
    rf"^\s*([+-]|−)?\s*(?:({_DIGITS})(?:[eE]([+-]?\d{{1,3}}))?)(?:\s*/\s*(0|[1-9]\d*)|\s+(\d+)\s*/\s*(0|[1-9]\d*))?\s*(.*?)\s*$",
    re.DOTALL,
)
#: ``5 ft 3 1/2 in`` or ``2 min 40 s``: the larger unit first, and nothing else.
_STEPS: Final = re.compile(
    rf"^\s*(\d+\s*(?:ft|m|min|h))\s+((?:{_DIGITS})(?:\s+\d+\s*/\s*\d+|\s*/\s*\d+)?\s*(?:in|cm|s|min))\s*$"
)
_LONGEST_TEXT: Final = 200


def _plain(unit: str) -> str:
    """A unit as written, without what people add or leave out."""
    text = unit.strip().lower().replace("²", "2").replace("³", "3").replace("^", "").replace("°", "deg")
    return re.sub(r"[\s.·\-]", "", text)


def known_unit(unit: str, dimension: str) -> str | None:
    """The unit of ``dimension`` that a person means by ``unit``, or None."""
    units = UNITS[dimension]
    if unit in units:
        return unit
    plain = _plain(unit)
    if not plain:
        return None
    same = [name for name in units if _plain(name) == plain]
    return same[0] if same else _SPELLINGS.get(dimension, {}).get(plain)


def to_si(text: object, dimension: str, where: str, unit: str = "") -> float:
    """The SI value of what a person wrote, such as ``"5/8 in"``, ``"1 1/2 in"``, ``"5 ft 3 in"``, ``"1,800 rpm"``.

    ``unit`` is the unit to take when the text has none: only for a form that prints the unit beside its box.
    Raises :class:`InputError` naming ``where`` when the number or the unit cannot be read. A plain number is taken
    only where the dimension is a ratio.
    """
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise _refuse(dimension, where, f"{text!r}"[:_LONGEST_TEXT])
    if isinstance(text, (int, float)):
        if dimension != "ratio" and not unit:
            raise _refuse(dimension, where, f"{text} without a unit")
        text = repr(text)
    if len(text) > _LONGEST_TEXT:
        raise _refuse(dimension, where, f"a text of {len(text)} characters")
    steps = _STEPS.match(text) if dimension in _IN_STEPS else None
    if steps is not None:
        return sum(_one_step(step, dimension, where, "", text) for step in steps.groups())
    return _one_step(text, dimension, where, unit, text)


def _one_step(text: str, dimension: str, where: str, unit: str, whole: str) -> float:
    """One number with its unit; ``whole`` is what the person wrote, for the message."""
    match = _NUMBER.match(text)
    if match is None:
        raise _refuse(dimension, where, f'"{whole}"')
    written_unit = match[7] or unit
    name = known_unit(written_unit, dimension)
    if name is None:
        if not written_unit:
            raise _refuse(dimension, where, f'"{whole}" without a unit')
        raise _refuse(dimension, where, f'unit "{match[7]}" in "{whole}"', match[7])
    if "0" in (match[4], match[6]):
        raise _refuse(dimension, where, f'"{whole}", a fraction over nothing')
    number = _number(match, name)
    if number is None:
        raise wrong(
            where,
            "a point as decimal sign, and no other mark in the number",
            f'"{whole}"',
            "write 0.95 rather than 0,95, and 1250 rather than 1,250",
        )
    value = _in_si(number, name, dimension)
    if not math.isfinite(value):
        raise _refuse(dimension, where, f'"{whole}", which is no finite number')
    if dimension == "temperature" and value < 0.0:
        raise _refuse(dimension, where, f'"{whole}", which is below absolute zero')
    return value + 0.0  # so that "-0" is 0


def _shift(dimension: str, unit: str) -> int:
    """By how many decimal places a unit differs from the SI one; 0 when it is no power of ten.

    Moving the point instead of multiplying keeps ``"60 mm2"`` the very number 6e-5.
    """
    exponent = math.log10(abs(UNITS[dimension][unit]))
    return round(exponent) if dimension != "temperature" and math.isclose(exponent, round(exponent)) else 0


def _in_si(number: Decimal | float, unit: str, dimension: str) -> float:
    if dimension == "temperature":
        degrees = float(number)
        return {"K": degrees, "C": degrees + KELVIN_AT_0C, "F": (degrees + 459.67) * 5.0 / 9.0}[unit]
    shift = _shift(dimension, unit)
    if shift and isinstance(number, Decimal):
        return float(number.scaleb(shift))
    return float(number) * UNITS[dimension][unit]


def _number(match: re.Match[str], unit: str) -> Decimal | float | None:
    """The number of a match, or None when its marks can be read in two ways. Exact unless it is a fraction."""
    digits = match[2]
    if "," in digits:
        if unit not in _GROUPED_UNITS or not re.fullmatch(r"[1-9]\d{0,2}(,\d{3})+(\.\d+)?", digits):
            return None
        digits = digits.replace(",", "")
    sign = -1 if match[1] in ("-", "−") else 1
    number = Decimal(f"{digits}e{match[3] or 0}")
    if match[4] is not None:
        return sign * float(number) / int(match[4])
    if match[5] is not None:
        return sign * (float(number) + int(match[5]) / int(match[6]))
    return sign * number


def _refuse(dimension: str, where: str, found: str, unit: str = "") -> InputError:
    """The four parts for a number that cannot be read, with the nearest unit when one is near."""
    units = UNITS[dimension]
    first = next(iter(units))
    example = f'a number with a unit, like "{_EXAMPLE_NUMBER.get(dimension, 1)} {first}"'
    if dimension == "ratio":
        example = "a plain number"
    known = ", ".join(name for name in units if name) or "none"
    near = _nearest_unit(unit, dimension)
    next_step = f'write "{near}" if that is meant, else the number and one of these units' if near else _NEXT_STEP
    return wrong(where, f"{example}; units known for {dimension}: {known}", found, next_step)


_NEXT_STEP: Final = "write the number and one of these units"
_EXAMPLE_NUMBER: Final[Mapping[str, float]] = MappingProxyType(
    {"length": 0.95, "pressure": 5.0, "rpm": 1800, "altitude": 400, "hours": 2983.9, "latitude": 45}
)


def _nearest_unit(unit: str, dimension: str) -> str:
    names = {_plain(name): name for name in UNITS[dimension] if name} | dict(_SPELLINGS.get(dimension, {}))
    near = difflib.get_close_matches(_plain(unit), names, n=1, cutoff=0.5) if unit else []
    return names[near[0]] if near else ""


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
    if dimension == "latitude":
        return f"{abs(value):.0f} {'S' if value < 0 else 'N'}"
    unit, digits = _SHOWN[dimension][1 if metric else 0]
    return f"{from_si(value, unit, dimension):,.{digits}f} {unit}".strip()


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


def fraction_of_inch(value_m: float) -> str | None:
    """``5/8 in`` or ``1 1/2 in`` where a length is exactly one of the fractions a rule shows (to 1/32), else None."""
    inches = value_m / M_PER_IN
    for parts in (1, 2, 4, 8, 16, 32):
        count = round(inches * parts)
        if count > 0 and math.isclose(inches * parts, count, rel_tol=1e-9):
            whole, rest = divmod(count, parts)
            fraction = f"{rest}/{parts}" if rest else ""
            return f"{' '.join(text for text in (str(whole) if whole else '', fraction) if text)} in"
    return None


def written(value: float, dimension: str, unit: str = "") -> str:
    """The shortest text in ``unit`` that reads back as exactly this finite SI ``value``; in the SI unit if none does.

    Inches are written as the fraction of a rule where they are one.
    """
    unit = unit or next(iter(UNITS[dimension]))
    if unit == "in" and dimension == "length" and 0 < value < 2 * M_PER_IN:
        text = fraction_of_inch(value)
        if text is not None and _reads_back(text, dimension, value):
            return text
    if dimension == "latitude":
        unit = "S" if value < 0 else "N"
    number = from_si(value, unit, dimension)
    for digits in range(1, 18):
        text = f"{_decimal(number, digits)} {unit}".strip()
        if _reads_back(text, dimension, value):
            return text
    shift = _shift(dimension, unit)
    if shift and number:
        exact = Decimal(repr(value)).scaleb(-shift)
        return f"{exact:f} {unit}" if 1e-9 < abs(exact) < 1e15 else f"{exact} {unit}"
    si_unit = {"temperature": "K"}.get(dimension) or next(
        name for name, factor in UNITS[dimension].items() if factor == 1
    )
    return f"{value!r} {si_unit}".strip()


def _reads_back(text: str, dimension: str, value: float) -> bool:
    try:
        return to_si(text, dimension, "written") == value
    except InputError:
        return False


def _decimal(number: float, digits: int) -> str:
    """``number`` to so many significant digits, without an exponent while it stays readable."""
    text = f"{number:.{digits}g}"
    if "e" in text and 1e-4 <= abs(number) < 1e9:
        text = f"{float(text):.{max(digits - 1 - math.floor(math.log10(abs(number))), 0)}f}"
    return text


_HOURS: Final = re.compile(r"^\s*(\d{1,3}(?:,\d{3})+|\d{1,7})(?:\.(\d{1,2})0*)?\s*(.*?)\s*$")


def to_centihours(text: object, where: str, unit: str = "") -> int:
    """Hundredths of an hour, exactly, from what a meter shows: ``"2983.9 h"`` gives 298390.

    No binary fraction takes part. ``unit`` as in :func:`to_si`. Raises :class:`InputError` naming ``where``.
    """
    match = _HOURS.match(text) if isinstance(text, str) else None
    if match is None or known_unit(match[3] or unit, "hours") != "h":
        raise wrong(
            where,
            'hours as the meter shows them, in quotes and with the unit, like "2983.9 h", to hundredths at most',
            f'"{text}"' if isinstance(text, str) else f"{text}",
            "write the meter reading, a space and h, within quotes",
        )
    return int(match[1].replace(",", "")) * 100 + int((match[2] or "").ljust(2, "0"))


def centihours_text(centihours: int) -> str:
    """A meter reading as people write it: ``2983.9 h``, ``2983.95 h``. Reads back exactly."""
    whole, rest = divmod(abs(centihours), 100)
    digits = f"{rest:02d}" if rest % 10 else str(rest // 10)
    return f"{'-' if centihours < 0 else ''}{whole}.{digits} h"
