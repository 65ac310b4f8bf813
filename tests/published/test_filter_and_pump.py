"""Filter and pump laws held against what is published about them.

Filter: the quadratic head is Forchheimer's, and for a bed of grains its two coefficients are Ergun's (S. Ergun, "Fluid
flow through packed columns", 1952; 150 and 1.75, from memory). Pump: displacement times speed, from its definition.
"""

from __future__ import annotations

import numpy as np
import pytest

from vanewise.network import oracle

GAS_R, KELVIN, AMBIENT = 287.05287, 288.15, 101325.0
VISCOSITY, DENSITY = 1.7894e-5, 1.2250
"""Sea level, US Standard Atmosphere 1976, table 1."""
AREA, DEPTH, GRAIN, VOID = 4e-3, 8e-3, 120e-6, 0.42


def ergun_drop(velocity: float, density: float) -> float:
    """Pressure drop [Pa] of a bed at a superficial velocity [m/s]: laminar and inertial part."""
    laminar = 150.0 * (1.0 - VOID) ** 2 / VOID**3 * VISCOSITY * velocity / GRAIN**2
    inertial = 1.75 * (1.0 - VOID) / VOID**3 * density * velocity**2 / GRAIN
    return DEPTH * (laminar + inertial)


def flow_through(laminar: float, inertial: float, high: float, low: float) -> float:
    element = np.array([laminar, inertial, 1.0]).reshape(1, 1, 3)
    factor = np.array([[0.5 / (GAS_R * KELVIN)]])
    ends = np.array([[high]]), np.array([[low]])
    return float(oracle.filter_element(element, factor, np.array([[VISCOSITY]]), *ends)[0].item())


@pytest.mark.parametrize("velocity", [0.02, 0.1, 0.3, 0.8])
def test_a_bed_by_ergun(velocity: float):
    """Small drops, where the density is one number: Ergun's two terms are the law's two coefficients."""
    laminar = 150.0 * (1.0 - VOID) ** 2 / VOID**3 * DEPTH / (GRAIN**2 * AREA)
    inertial = 1.75 * (1.0 - VOID) / VOID**3 * DEPTH / (GRAIN * AREA**2)
    drop = ergun_drop(velocity, DENSITY)
    assert drop < 0.07 * AMBIENT
    found = flow_through(laminar, inertial, AMBIENT + 0.5 * drop, AMBIENT - 0.5 * drop)
    assert found == pytest.approx(velocity * AREA * DENSITY, rel=1e-3)


@pytest.mark.parametrize("low", [0.95, 0.8, 0.5])
def test_large_drops_by_darcy_for_a_gas(low: float):
    """Without inertia the isothermal gas law is m = K A (p1^2 - p2^2)/(2 mu R T L), K the permeability."""
    permeability = 3e-12
    expected = permeability * AREA * AMBIENT**2 * (1.0 - low**2) / (2.0 * VISCOSITY * GAS_R * KELVIN * DEPTH)
    laminar = DEPTH / (permeability * AREA)
    assert flow_through(laminar, 1e-9, AMBIENT, low * AMBIENT) == pytest.approx(expected, rel=1e-9)


def test_a_pump_moves_its_displacement():
    """Swept 40 cm3 a turn at 2,000 turns a minute, sea-level air: 1.3333 L/s, so 1.6333 g/s."""
    swept = np.array([40e-6 / 60.0]).reshape(1, 1, 1)
    gas = np.array([[1.0 / (GAS_R * KELVIN)]])
    flow, slope, beyond = oracle.pump(swept, np.array([[2000.0]]), gas, np.array([[AMBIENT]]))
    assert flow.item() == pytest.approx(1.6333e-3, rel=1e-4)
    assert slope.item() == pytest.approx(flow.item() / AMBIENT) and beyond.item() == 0.0
