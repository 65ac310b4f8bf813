"""NIST SP 811, Guide for the Use of the SI, appendix B.8: factors for units listed alphabetically.

The figures below are those of the table, to the digits it prints; ours must agree to its last digit.
"""

from __future__ import annotations

import pytest

from vanewise.quantities import to_si

TABLE_B_8 = [
    ("1 in", "length", 2.54e-02),
    ("1 ft", "length", 3.048e-01),
    ("1 in2", "area", 6.4516e-04),
    ("1 in3", "volume", 1.638706e-05),
    ("1 L", "volume", 1.0e-03),
    ("1 inHg", "pressure", 3.386389e03),
    ("1 psi", "pressure", 6.894757e03),
    ("1 mbar", "pressure", 1.0e02),
    ("1 cfm", "flow", 4.719474e-04),
    ("1 in-lb", "torque", 1.129848e-01),
    ("1 ft-lb", "torque", 1.355818e00),
]


@pytest.mark.parametrize(("text", "dimension", "factor"), TABLE_B_8)
def test_factor_is_that_of_the_table(text: str, dimension: str, factor: float) -> None:
    """NIST SP 811, B.8: inch, foot, square and cubic inch, litre, conventional inch of mercury, psi, millibar, cubic
    foot per minute, pound-force inch, pound-force foot."""
    assert to_si(text, dimension, "table B.8") == pytest.approx(factor, rel=4e-7)


@pytest.mark.parametrize(("text", "kelvin"), [("0 C", 273.15), ("-459.67 F", 0.0), ("32 F", 273.15), ("212 F", 373.15)])
def test_temperature_follows_the_formulas_of_the_table(text: str, kelvin: float) -> None:
    """NIST SP 811, B.8: T/K = t/C + 273.15; T/K = (t/F + 459.67)/1.8."""
    assert to_si(text, "temperature", "table B.8") == pytest.approx(kelvin, abs=1e-9)


def test_five_inches_of_mercury_are_about_two_and_a_half_psi() -> None:
    """The two factors of SP 811 B.8 together: 5 x 3 386.389 / 6 894.757 = 2.4558 psi."""
    assert to_si("5 inHg", "pressure", "x") / to_si("1 psi", "pressure", "x") == pytest.approx(2.4558, abs=5e-5)
