"""U.S. Standard Atmosphere, 1976 (its troposphere is also that of ICAO Doc 7488): rows of its tables.

Heights are geopotential throughout. Of these rows the digits of ``SEEN`` were read in reprints of the table, which
cut some of them off instead of rounding; the rest of ``ROWS`` follows from the document's constants (table 2:
288.15 K, 101325 Pa, 0.0065 K/m, 287.05287 J/(kg K)), which are remembered, and was worked out by hand apart from this
code.

Two traps. One reprint in circulation prints 12.682 psi at 4,000 ft and -25.96 C at 4,572 m; both are wrong. And tables
of *geometric* height read slightly higher pressures at the same figure.
"""

from __future__ import annotations

import pytest

from vanewise.errors import InputError
from vanewise.network import atmosphere
from vanewise.quantities import M_PER_FT, PA_PER_INHG, PA_PER_PSI

# ft geopotential, inHg, psi, Pa, K, kg/m3
ROWS = [
    (0, 29.921, 14.6959, 101325.0, 288.150, 1.22500),
    (2000, 27.821, 13.6644, 94212.9, 284.188, 1.15490),
    (4000, 25.842, 12.6923, 87510.5, 280.225, 1.08791),
    (5000, 24.896, 12.2277, 84307.3, 278.244, 1.05555),
    (6000, 23.978, 11.7770, 81199.6, 276.263, 1.02393),
    (8000, 22.225, 10.9159, 75262.4, 272.300, 0.96287),
    (10000, 20.577, 10.1065, 69681.7, 268.338, 0.90464),
    (12000, 19.029, 9.3464, 64440.9, 264.376, 0.84914),
    (15000, 16.886, 8.2935, 57182.0, 258.432, 0.77082),
    (18000, 14.942, 7.3389, 50599.8, 252.488, 0.69815),
]
# ft, inHg, density in per cent of sea level
SEEN = [
    (2000, 27.82, 94.3),
    (4000, 25.84, 88.8),
    (6000, 23.98, 83.6),
    (8000, 22.22, 78.6),
    (10000, 20.57, 73.8),
    (12000, 19.02, 69.3),
]


@pytest.mark.parametrize(("feet", "inhg", "psi", "pascal", "kelvin", "density"), ROWS)
def test_rows_of_the_table(feet: float, inhg: float, psi: float, pascal: float, kelvin: float, density: float) -> None:
    """U.S. Standard Atmosphere, 1976, rows of geopotential height in feet, from the document's constants."""
    air = atmosphere.standard(feet * M_PER_FT)
    assert air.pressure_pa == pytest.approx(pascal, abs=0.5)
    assert air.pressure_pa / PA_PER_INHG == pytest.approx(inhg, abs=0.002)
    assert air.pressure_pa / PA_PER_PSI == pytest.approx(psi, abs=0.0003)
    assert air.temperature_k == pytest.approx(kelvin, abs=0.001)
    assert air.density_kg_m3 == pytest.approx(density, abs=2e-5)


@pytest.mark.parametrize(("feet", "inhg", "percent"), SEEN)
def test_digits_that_were_read(feet: float, inhg: float, percent: float) -> None:
    """U.S. Standard Atmosphere, 1976, as reprinted: pressure to 0.01 inHg (cut off or rounded), density to 0.1 %."""
    air = atmosphere.standard(feet * M_PER_FT)
    assert air.pressure_pa / PA_PER_INHG == pytest.approx(inhg, abs=0.0101)
    assert 100.0 * air.density_kg_m3 / 1.225 == pytest.approx(percent, abs=0.0501)


def test_top_of_the_troposphere() -> None:
    """U.S. Standard Atmosphere, 1976, base of the next layer: 216.65 K and 22632.1 Pa at 11 km."""
    air = atmosphere.standard(11_000.0)
    assert air.temperature_k == pytest.approx(216.65, abs=1e-9)
    assert air.pressure_pa == pytest.approx(22632.1, abs=0.1)


def test_no_answer_above_it() -> None:
    """Above 11 km the standard's temperature no longer falls, so this layer's formula may not be used there."""
    with pytest.raises(InputError):
        atmosphere.standard(11_001.0)


@pytest.mark.parametrize("feet", [row[0] for row in ROWS])
def test_pressure_altitude_is_the_inverse(feet: float) -> None:
    """The same rows read from right to left: the height at which the standard day has that pressure."""
    [pascal] = [row[3] for row in ROWS if row[0] == feet]
    assert atmosphere.altitude(pascal) / M_PER_FT == pytest.approx(feet, abs=0.5)


def test_first_trap_the_wrong_rows() -> None:
    """12.692 psi at 4,000 ft and -14.72 C nowhere near -25.96 C at 15,000 ft (4,572 m): the misprints are not ours."""
    assert atmosphere.standard(4000.0 * M_PER_FT).pressure_pa / PA_PER_PSI == pytest.approx(12.692, abs=0.001)
    assert atmosphere.standard(4572.0).temperature_k - 273.15 == pytest.approx(-14.72, abs=0.005)


@pytest.mark.parametrize(("feet", "geometric_psi"), [(10_000.0, 10.108), (15_000.0, 8.2965)])
def test_second_trap_geometric_height(feet: float, geometric_psi: float) -> None:
    """Tables of geometric height print 10.108 psi (10,000 ft) and 8.296 to 8.297 psi (15,000 ft).

    The standard turns geometric height z into geopotential height by r z/(r + z), r = 6,356,766 m (from memory). With
    that our pressure is theirs; without it, it is lower, as it must be for a pressure altitude.
    """
    radius, height = 6_356_766.0, feet * M_PER_FT
    geopotential = radius * height / (radius + height)
    assert atmosphere.pressure(geopotential) / PA_PER_PSI == pytest.approx(geometric_psi, abs=0.001)
    assert atmosphere.pressure(height) / PA_PER_PSI < geometric_psi - 0.001


def test_viscosity_at_sea_level() -> None:
    """U.S. Standard Atmosphere, 1976, table of viscosity: 1.7894e-5 Pa s at 288.15 K (from memory)."""
    assert atmosphere.standard(0.0).viscosity_pa_s == pytest.approx(1.7894e-5, rel=5e-5)
